"""The moves of a clamping against the machine's travels, hand-worked; what a dry run alone can tell is not shown."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, MILL, VISE, fact
from tilting import TILTING_VISE, laid, of, tilting

from proveout.model.moves import Moves
from proveout.model.proof import Decision, MoveAt
from proveout.model.shop import Machine, Vise
from proveout.model.work import Clamping, Pass, PassPlan
from proveout.stages import clampings

STANDS = msgspec.structs.replace(
    TILTING_VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
)
Row = tuple[str, str, list[tuple[float, float, float]]]
LOW, HIGH = (0.0, -40.0, 5.0), (100.0, 0.0, 35.0)


def plan_of(clamping: Clamping, *rows: Row) -> PassPlan:
    """One pass a row: cutter, tilt, tip positions; the last move of each is a rapid."""
    passes: list[Pass] = []
    moves: dict[str, Moves] = {}
    for number, (cutter_id, tilt_id, points) in enumerate(rows):
        feeds = np.full(len(points), 20.0)
        feeds[[0, -1]] = 0.0
        its = Moves(points=np.array(points), feed_mm_per_s=feeds)
        moves[its.digest] = its
        passes.append(
            Pass(
                id=f"{clamping.id}/{tilt_id}/{cutter_id}/rough/{number}", kind="rough", clamping_id=clamping.id,
                tilt_id=tilt_id, cutter_id=cutter_id, feature="", face_ids=(), speed_rad_per_s=300.0,
                tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0, moves_digest=its.digest, moves_count=len(points),
                cut_length_mm=1.0,
            )
        )  # fmt: skip
    return PassPlan(passes=tuple(passes), not_cut=(), moves=moves)


def travelled(
    clamping: Clamping, plan: PassPlan, *, machine: Machine, vise: Vise, dry_run: str = "", mark: str = ""
) -> Decision[str]:
    return clampings.travels(
        plan=plan, clampings=(clamping,), machines=(machine,), vises=(vise,), cutters=CUTTERS, dry_run=dry_run,
        dry_run_mark=mark,
    )  # fmt: skip


def upright(travel_mm: tuple[float, float, float]) -> Decision[str]:
    """Two passes on a 3-axis mill: mill 12 is 38 + 50 mm long, spot 30 + 50 mm."""
    machine = msgspec.structs.replace(MILL, travel_mm=travel_mm)
    (clamping,) = laid(tilting()).value.clampings
    clamping = msgspec.structs.replace(clamping, machine_id=machine.id, vise_id=VISE.id)
    plan = plan_of(
        clamping, ("mill 12", "a0-c0", [(0.0, -40.0, 35.0), LOW, HIGH]),
        ("spot", "a0-c0", [(10.0, -20.0, 30.0), (10.0, -20.0, 10.0), (10.0, -20.0, 30.0)]),
    )  # fmt: skip
    return travelled(clamping, plan, machine=machine, vise=VISE)


def test_the_span_of_the_moves_fits_the_travels_or_fails() -> None:
    """Worked: x 0 to 100, y -40 to 0; nose up to 35 + 88, down to the lower of 5 + 88 and 10 + 80: 123 - 90 = 33."""
    fits = upright((100.0, 40.0, 33.0))
    assert [(of(fits, f"moves {k}").found_high, of(fits, f"moves {k}").verdict) for k in "xyz"] == [
        (100.0, "holds"), (40.0, "holds"), (33.0, "holds"),
    ]  # fmt: skip
    short = upright((99.9, 39.9, 32.9))
    assert [(of(short, f"moves {k}").verdict, of(short, f"moves {k}").blocks_release) for k in "xyz"] == [
        ("fails", True), ("fails", True), ("fails", True),
    ]  # fmt: skip


def test_the_passes_and_moves_that_go_furthest_are_named() -> None:
    """Worked: along x the mill goes from 0 to 100; along z the spot's nose comes down lowest, to 10 + 80."""
    short = upright((99.9, 39.9, 32.9))
    mill, spot = (p.id for p in plan_of(laid(tilting()).value.clampings[0], ("mill 12", "a0-c0", [LOW]),
                                        ("spot", "a0-c0", [LOW])).passes)  # fmt: skip
    far, up = of(short, "moves x"), of(short, "moves z")
    assert far.basis.formula.endswith(f"; lowest in {mill}, move 1, highest in {mill}, move 2")
    assert up.basis.formula.endswith(f"; lowest in {spot}, move 1, highest in {mill}, move 2")
    assert far.basis.move == MoveAt(pass_id=mill, row=2)


def test_how_low_and_how_high_the_spindle_must_come_is_told_in_numbers() -> None:
    proof = of(upright((600.0, 450.0, 400.0)), "spindle nose above the jaw seat")
    assert (proof.verdict, proof.blocks_release) == ("not shown", False)
    assert "down to 90 mm above the jaw seat and go up to 123 mm" in proof.decides
    assert [p.id for p in upright((600.0, 450.0, 400.0)).proofs if "every tilt" in p.id] == []


def tilted(machine: Machine, vise: Vise, **more: Any) -> Decision[str]:
    """The block cut from above and from its back, at A 90: there the work's z is machine -y and its y machine z."""
    clamping = laid(machine, (0.0, 1.0, 0.0)).value.clampings[0]
    clamping = msgspec.structs.replace(clamping, vise_id=vise.id)
    deep = more.pop("deep", -21.0)
    plan = plan_of(
        clamping, ("mill 12", "a0-c0", [(0.0, -40.0, 35.0), (0.0, -40.0, 5.0), (60.0, 0.0, 35.0)]),
        ("mill 12", "a90.000-c0.000", [(0.0, -21.0, 5.0), (60.0, 0.0, -3.0), (60.0, deep, 5.0)]),
    )  # fmt: skip
    return travelled(clamping, plan, machine=machine, vise=vise, **more)


def test_tilts_turn_the_work_about_the_axes_with_the_vise() -> None:
    """Worked, y from the pivot: upright -40 to 0 and 24 either way; at A 90 -21 to 0, less 108 to 112. So -133 to 24.

    Pivot at Y -225 of -450 to 0: -358 to -201, so 92 mm are left below and 201 above: 450 - 92 = 358 are needed.
    x: 0 to 60 less 30 for the jaws' middle, and 24 either way: -54 to 54 about 300 of 0 to 600; 246 left: 354.
    z, nose: upright 5 + 88 + 108 = 201 to 35 + 88 + 112 = 235; at A 90 -3 + 88 - 24 = 61 to 5 + 88 + 24 = 117: 174.
    """
    found = tilted(tilting(), STANDS)
    assert [of(found, f"moves {k}").found_high for k in "xyz"] == pytest.approx([354.0, 358.0, 174.0])
    assert {of(found, f"moves {k}").verdict for k in "xyz"} == {"holds"}
    assert "down to 61 mm above the A axis and go up to 235 mm" in of(found, "spindle nose above the A axis").decides


def test_a_pivot_near_the_end_of_the_travel_is_run_beyond() -> None:
    """Worked: at Y -100 the tilted tips would lie at -233 to -76; at Y -20 the upright ones reach +4 with 24 aside."""
    fits = tilted(tilting(pivot_in_machine_mm=(300.0, -100.0, -350.0)), STANDS)
    assert of(fits, "moves y").verdict == "holds"
    over = of(tilted(tilting(pivot_in_machine_mm=(300.0, -20.0, -350.0)), STANDS), "moves y")
    # the vise may stand the other way from the axis: what is over at worst is not over at best
    assert (over.verdict, over.found_high) == ("not shown", pytest.approx(454.0))
    far = of(tilted(tilting(pivot_in_machine_mm=(300.0, -440.0, -350.0)), STANDS), "moves y")
    assert far.verdict == "fails"


@pytest.mark.parametrize(("pivot", "number", "row"), [(-20.0, 0, 2), (-440.0, 1, 2)])
def test_the_move_that_goes_beyond_the_nearer_end_is_named(pivot: float, number: int, row: int) -> None:
    """Worked: near zero the upright tips at y 0 go beyond, near the far end the tilted one at -22 in the machine."""
    turned = tilted(tilting(pivot_in_machine_mm=(300.0, pivot, -350.0)), STANDS, deep=-22.0)
    move = of(turned, "moves y").basis.move
    assert move is not None
    assert (move.pass_id.endswith(f"/{number}"), move.row) == (True, row)


def test_without_the_vise_s_place_or_the_pivot_the_tilts_are_not_shown() -> None:
    bare = tilted(tilting(), TILTING_VISE)
    assert {(of(bare, f"moves {k}").verdict, of(bare, f"moves {k}").blocks_release) for k in "xyz"} == {
        ("not shown", True)
    }
    assert "from_c_axis_mm and above_a_axis_mm" in of(bare, "moves z").decides
    unmeasured = tilted(tilting(pivot_in_machine_mm=None), STANDS)
    assert of(unmeasured, "moves x").verdict == "not shown"
    assert "pivot_x_mm" in of(unmeasured, "moves x").decides
    assert (of(unmeasured, "pivot").verdict, of(unmeasured, "range of A").verdict) == ("not shown", "holds")
    small = msgspec.structs.replace(tilting(), travel_mm=(59.0, 450.0, 400.0))
    assert of(tilted(small, TILTING_VISE), "moves x").verdict == "fails"


def test_only_a_recorded_dry_run_of_these_very_moves_shows_that_head_and_table_keep_clear() -> None:
    asked = of(tilted(tilting(), STANDS), "clear at every tilt")
    assert (asked.verdict, asked.blocks_release) == ("not shown", True)
    mark = tilted(tilting(), STANDS).value
    assert f'tilts_mark = "{mark}"' in asked.decides
    run = of(tilted(tilting(), STANDS, dry_run="2026-01-12, an operator", mark=mark), "clear at every tilt")
    assert run.verdict == "holds"
    assert "2026-01-12, an operator" in run.basis.formula
    deeper = of(tilted(tilting(), STANDS, deep=-22.0, dry_run="2026-01-12, an operator", mark=mark), "every tilt")
    assert deeper.verdict == "not shown"
    assert "was of other moves" in deeper.decides
    nobody = of(tilted(tilting(), STANDS, mark=mark), "clear at every tilt")
    assert nobody.verdict == "not shown"


def test_a_tilt_that_no_pass_stands_at_is_left_out() -> None:
    (clamping,) = laid(tilting(), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)).value.clampings
    plan = plan_of(clamping, ("mill 12", "a90.000-c90.000", [LOW, HIGH]))
    (kept,) = clampings.without_idle_tilts((clamping,), plan)
    assert [t.id for t in kept.tilts] == ["a90.000-c90.000"]
    (none,) = clampings.without_idle_tilts((clamping,), plan_of(clamping))
    assert [t.id for t in none.tilts] == ["a0-c0"]
