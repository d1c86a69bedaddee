"""What the proofs of walls before hollows say of the moments of a clamping."""

from __future__ import annotations

import re
from typing import Any

import msgspec
import pytest
from shapes import TOOTHED, VISE, fact
from stages.gripped import BLOCK, CLAMPING, PRESSURE, YIELD, held

from proveout.model.limits import Limits
from proveout.model.proof import Proof
from proveout.model.shop import Vise
from proveout.model.wall_reading import WallReading
from proveout.model.walls_left import Wall, WallsLeft
from proveout.model.work import Clamping
from proveout.stages.holding.gripping import grip_of
from proveout.stages.holding.move_words import Room, _harder_words
from proveout.stages.holding.walls import wall_force_n, wall_proofs

AFTER = "c1/t/mill 6/rough/pocket"
FIRM = msgspec.structs.replace(VISE, preload_n=fact(15_000.0, 17_500.0, 20_000.0, "N"))  # 12.5 MPa on 80 x 20
LYING = msgspec.structs.replace(CLAMPING, surface="finished")
MODULUS = fact(60e3, 70e3, 80e3, "MPa")
STANDING = Wall(
    jaw="fixed", thick_mm=4.0, height_mm=12.0, standing_bend_mm=500.0, standing_stress_mpa=12.0, span_mm=None,
    up_span_mm=None,
)  # fmt: skip


def left(*walls: Wall, after: str = AFTER, touch_mm2: float = 5000.0, is_followed: bool = True) -> WallsLeft:
    return WallsLeft(
        clamping_id="c1", pass_id=after, walls=walls, touch_mm2=touch_mm2, through_mm2=5000.0, is_followed=is_followed
    )


def judged(
    *moments: WallsLeft, vise: Vise = FIRM, width_mm: float | None = 1.0, elastic: Any = MODULUS,
    clamping: Clamping = LYING, **read: Any,
) -> list[Proof]:  # fmt: skip
    grip = grip_of(
        clamping=clamping, vise=vise, jaws=TOOTHED, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=Limits()
    )  # fmt: skip
    return wall_proofs(grip, moments, elastic, width_mm, **read)


def test_a_standing_wall_worked_by_hand() -> None:
    """Worked. 20 kN on 80 x 20: 12.5 MPa; 12.5 500 / 60 000 = 0.10417 mm, 12.5 12 = 150 MPa."""
    bend, pull = judged(left(after=""), left(STANDING))
    assert (bend.found_low, bend.found_high) == (0.0, pytest.approx(0.104167, abs=1e-6))
    assert (bend.verdict, bend.limit, bend.blocks_release) == ("holds", 0.5, True)
    assert (pull.found_high, pull.limit, pull.verdict) == (pytest.approx(150.0), 240.0, "holds")
    assert bend.subject == f"clamping 1, after {AFTER}"
    assert bend.basis.inputs["c"].nominal == 500.0


def test_the_worst_moment_counts_and_one_far_over_the_limit_asks_for_a_softer_vise() -> None:
    """Worked. k 120: 1500 MPa of three times 240: 0.48 of the force, in steps 0.45. Bend 0.104167 of five times 0.02:
    in steps 0.95."""
    worse = msgspec.structs.replace(STANDING, standing_stress_mpa=120.0)
    bend, pull = judged(left(worse, after=""), left(STANDING), width_mm=0.04)
    assert (pull.verdict, pull.blocks_release, pull.subject) == ("not shown", True, "clamping 1, as it is put in")
    assert pull.tighten is not None
    assert (pull.tighten.subject, pull.tighten.quantity, pull.tighten.bound) == ("c1", "preload_ratio", 0.45)
    assert bend.tighten is not None
    assert (bend.verdict, bend.tighten.bound) == ("not shown", 0.95)
    assert "indicator" in bend.decides
    by_hand = msgspec.structs.replace(FIRM, is_hand_tight=True)
    assert judged(left(worse), vise=by_hand)[1].tighten is None


def test_a_bound_over_its_limit_by_no_more_than_bounds_are_off_is_told_and_blocks_nothing() -> None:
    """Worked. k 24: 300 MPa of 240, and 0.104167 of 0.1: a first piece tells; at k 58 it is 725 of 720."""
    over = msgspec.structs.replace(STANDING, standing_stress_mpa=24.0)
    for found in judged(left(over), width_mm=0.2):
        assert (found.verdict, found.blocks_release, found.tighten) == ("not shown", False, None)
    # what reaches through bears 20 kN on 80 mm2 at 250 of 240: the wall must help, and nothing over is let pass
    thin = msgspec.structs.replace(left(over), through_mm2=80.0)
    assert [p.blocks_release for p in judged(thin, width_mm=0.2)] == [True, True]
    firm = msgspec.structs.replace(left(over), through_mm2=84.0)
    assert [p.blocks_release for p in judged(firm, width_mm=0.2)] == [False, False]
    far = msgspec.structs.replace(STANDING, standing_stress_mpa=58.0)
    assert [p.blocks_release for p in judged(left(far), width_mm=0.2)] == [False, True]


def test_less_metal_at_the_jaws_than_the_patch_raises_the_pressure() -> None:
    """Worked. 800 mm2 in place of 1600: twice."""
    assert judged(left(STANDING, touch_mm2=800.0))[1].found_high == pytest.approx(300.0)


def test_the_least_of_the_ways_to_hold_it_counts_and_holes_raise_each() -> None:
    """Worked. Along the jaws 20 long and 4 thick: 12.5 (6 20 28 / 8 / 16 + 0.25 4 / 20) = 328.75; upright 8: 12.5
    (6 8 16 / 8 / 16 + 0.25 4 / 8) = 76.5625 MPa."""
    both = msgspec.structs.replace(
        STANDING, height_mm=None, standing_bend_mm=None, standing_stress_mpa=None, span_mm=20.0
    )
    assert judged(left(both))[1].found_high == pytest.approx(328.75, rel=1e-6)
    upright = msgspec.structs.replace(both, up_span_mm=8.0)
    assert judged(left(upright))[1].found_high == pytest.approx(76.5625, rel=1e-6)
    bored = msgspec.structs.replace(both, along_pierced_ratio=1.5)
    assert judged(left(bored))[1].found_high == pytest.approx(1.5 * 328.75, rel=1e-6)
    # a stocky one carries round its holes
    bored = msgspec.structs.replace(upright, up_pierced_ratio=2.0, along_pierced_ratio=9.0)
    assert judged(left(bored))[1].found_high == pytest.approx(76.5625, rel=1e-6)
    # no less than on what reaches through: 20 kN on 40 mm2
    thin = msgspec.structs.replace(left(upright), through_mm2=40.0)
    assert judged(thin)[1].found_high == pytest.approx(500.0)
    # standing or spanning, whichever is less
    assert judged(left(msgspec.structs.replace(STANDING, span_mm=20.0)))[1].found_high == pytest.approx(150.0)
    # evenly pressed (5 22^4 / 384 / 5.333 + 3.24 22^2 / 32) 12.5 / 60 000 = 0.129; but a flat jaw goes no farther than
    # 0.02 + 20 000 40 / (60 000 400) = 0.0533, which pulls no less: 16 80 000 4 0.0533 / 400 = 682.7
    assert judged(left(both))[0].found_high == pytest.approx(0.1294, abs=1e-4)
    stopped = msgspec.structs.replace(both, beside_mm2=400.0)
    assert judged(left(stopped))[0].found_high == pytest.approx(0.053334, abs=1e-6)
    assert judged(left(stopped))[1].found_high == judged(left(both))[1].found_high
    long = msgspec.structs.replace(stopped, span_mm=80.0, thick_mm=2.0)
    assert judged(left(long))[0].found_high == pytest.approx(0.02 + 20e3 * 40.0 / (60e3 * 400.0), abs=1e-5)
    assert judged(left(long))[1].found_high == pytest.approx(16.0 * 80e3 * 2.0 * 0.053333 / 6400.0, rel=1e-3)


def test_what_nobody_knows_is_not_shown_and_blocks() -> None:
    for found in (
        judged(left(STANDING), elastic=None),
        judged(left(STANDING), vise=msgspec.structs.replace(FIRM, preload_n=None)),
        judged(left(is_followed=False), left(STANDING)),
        judged(
            left(msgspec.structs.replace(STANDING, height_mm=None, standing_bend_mm=None, standing_stress_mpa=None))
        ),
    ):
        assert [p.verdict for p in found] == ["not shown", "not shown"]
        assert [p.blocks_release for p in found] == [True, True]
        assert all(p.tighten is None for p in found)
    # without any wall nothing of that is asked
    assert [p.verdict for p in judged(left(), elastic=None)] == ["holds", "holds"]
    assert judged() == []
    assert not judged(left(STANDING), width_mm=None)[0].blocks_release


def test_no_torque_is_named_at_which_a_wall_may_bend() -> None:
    """Worked. 150 of 240 MPa at 20 kN: 32 kN; 0.10417 of 0.1 mm: 19.2 kN. A move that lacks half its grip asks for
    30 to 40 kN: the rating would bear it, a wall of 150 MPa does not."""
    grip = grip_of(
        clamping=LYING, vise=FIRM, jaws=TOOTHED, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=Limits()
    )  # fmt: skip
    assert wall_force_n(grip, (left(STANDING),), MODULUS, None) == pytest.approx(32e3)
    assert wall_force_n(grip, (left(STANDING),), MODULUS, 0.2) == pytest.approx(19.2e3)
    assert wall_force_n(grip, (left(),), None, 0.2) == float("inf")
    assert wall_force_n(grip, (left(is_followed=False),), MODULUS, 0.2) == 0.0
    assert wall_force_n(grip, (left(STANDING),), None, 0.2) == 0.0
    room = Room(crush_n=1e6, bow_n=1e6, wall_n=32e3)
    rated = msgspec.structs.replace(grip, vise=msgspec.structs.replace(FIRM, rating_n=60_000.0))
    assert "may bend a wall before a hollow" in _harder_words(0.5, rated, room)
    assert "wall" not in _harder_words(0.9, rated, room)


def test_the_stage_judges_the_walls_of_each_clamping_by_the_sizes_cut_in_it() -> None:
    work = msgspec.structs.replace(BLOCK, walls=(left(STANDING),), widths_mm={"f": 0.01})
    found = {p.id: p for p in held(work=work, vise=FIRM, clamping=LYING).proofs}
    assert not found["holding:c1:wall bent in"].blocks_release  # no pass there cuts f
    assert found["holding:c1:wall yields"].verdict == "holds"
    assert not any("wall" in p.id for p in held(work=BLOCK, clamping=LYING).proofs)


def test_a_strip_of_the_raw_bar_has_no_walls_to_keep() -> None:
    """Nothing of it is left in the part: whatever a drill through leaves beside a jaw there is cut away."""
    assert judged(left(STANDING), clamping=CLAMPING) == []
    assert not any("wall" in p.id for p in held(work=msgspec.structs.replace(BLOCK, walls=(left(STANDING),))).proofs)


READ = WallReading(operation=1, bent_mm=0.03, stays_mm=0.0, uncertainty_mm=0.002, by="2026-01-07, A", mark="abcd1234")


def test_what_an_indicator_read_goes_before_what_is_reckoned() -> None:
    """Worked. 0.030 read within 0.002, of at most 0.1; nothing stays within 0.002, of at most 0.01."""
    bend, pull = judged(left(STANDING), width_mm=0.2, readings=(READ,), mark="abcd1234")
    assert (bend.verdict, bend.found_low, bend.found_high, bend.limit) == ("holds", 0.028, 0.032, 0.1)
    assert (pull.verdict, pull.found_high, pull.limit, pull.unit) == ("holds", 0.002, 0.01, "mm")
    assert [p.blocks_release for p in (bend, pull)] == [True, True]
    worse = msgspec.structs.replace(READ, bent_mm=0.103, stays_mm=0.02)
    assert [p.verdict for p in judged(left(STANDING), width_mm=0.2, readings=(worse,), mark="abcd1234")] == [
        "fails", "fails"
    ]  # fmt: skip
    near = msgspec.structs.replace(READ, bent_mm=0.099)
    assert judged(left(STANDING), width_mm=0.2, readings=(near,), mark="abcd1234")[0].verdict == "not shown"


def test_a_reading_of_another_grip_or_operation_is_not_leant_on() -> None:
    worse = msgspec.structs.replace(STANDING, standing_stress_mpa=24.0)
    for read in (msgspec.structs.replace(READ, mark="other"), msgspec.structs.replace(READ, operation=2)):
        pull = judged(left(worse), readings=(read,), mark="abcd1234")[1]
        assert (pull.verdict, pull.unit) == ("not shown", "MPa")
        assert 'mark = "abcd1234"' in pull.decides
    assert "of another vise, grip or moves" in judged(
        left(worse), readings=(msgspec.structs.replace(READ, mark="other"),), mark="abcd1234"
    )[1].decides  # fmt: skip


def test_the_mark_changes_with_jaw_force_and_moves_and_the_stage_reads_by_it() -> None:
    read = msgspec.structs.replace(BLOCK, walls=(left(STANDING),), wall_readings=(READ,))
    asked = {p.id: p for p in held(work=read, vise=FIRM, clamping=LYING).proofs}["holding:c1:wall yields"]
    assert asked.unit == "MPa"
    mark = re.search(r'mark = "(\w+)"', asked.decides)
    assert mark is not None
    right = msgspec.structs.replace(read, wall_readings=(msgspec.structs.replace(READ, mark=mark[1]),))
    assert {p.id: p for p in held(work=right, vise=FIRM, clamping=LYING).proofs}["holding:c1:wall yields"].unit == "mm"
    softer = msgspec.structs.replace(FIRM, preload_n=fact(10_000.0, 12_500.0, 15_000.0, "N"))
    assert {p.id: p for p in held(work=right, vise=softer, clamping=LYING).proofs}[
        "holding:c1:wall yields"
    ].unit == "MPa"  # fmt: skip
