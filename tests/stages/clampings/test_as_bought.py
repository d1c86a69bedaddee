"""Parts with sides that stay as bought: held by them, and finished in one clamping where nothing else is to be made."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, fact, solid_of, target_of
from stages.clampings.test_clampings import the_blank
from tilting import TILTING, TILTING_VISE

from proveout.geometry.frames import Frame
from proveout.model.bodies import Bed
from proveout.model.choice_of_clampings import ClampingChoice, Placed
from proveout.model.job import Pin
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import AsBought
from proveout.model.work import Clamping, Vector
from proveout.stages import clampings, survey
from proveout.stages.clampings.located import located_proofs
from proveout.stages.removal_check.bodies import SEAT, bodies_about

SOME = fact(1.0, 2.0, 3.0, "mm")
ALL_BUT_TOP = ("-x", "+x", "-y", "+y", "-z")
BLANKS: tuple[tuple[Vector | None, float | None], ...] = (
    (None, 3.0), *((side, 4.0) for side in ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0),
    (0.0, 0.0, 1.0), (0.0, 0.0, -1.0))),
)  # fmt: skip
BED = Bed(length_mm=300.0, width_mm=125.0, behind_mm=70.0, below_mm=30.0, height_mm=60.0)


def plate(*, with_step: bool = False) -> Any:
    shape = cut_box(box(60.0, 40.0, 20.0), (20, 10, 15), (40, 30, 21))
    if with_step:  # only from below
        shape = cut_box(shape, (20, 15, -1), (40, 25, 3))
    return drilled(shape, at=(10, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)


def chosen(
    solid: Solid, sides: tuple[str, ...], *, pins: tuple[Pin, ...] = (), machine: Machine = MILL, vise: Vise = VISE
) -> Decision[ClampingChoice]:
    return clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=(machine,),
        vises=(vise,), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD, pins=pins, run=Run(),
        bought=tuple(f for side in sides for f in solid.faces_on(side)), blanks=BLANKS,
    )  # fmt: skip


def laid_on(
    solid: Solid, sides: tuple[str, ...], *, jaws: Jaws = SOFT, vise: Vise = VISE, pins: tuple[Pin, ...] = ()
) -> Decision[Placed]:
    sequence = chosen(solid, sides, pins=pins).value.sequences[0]
    blank = msgspec.structs.replace(
        the_blank(), low_mm=(0.0, 0.0, 0.0), high_mm=(60.0, 40.0, 21.0), grip_side=None
    )  # fmt: skip
    return clampings.place(
        sequence=sequence, blank=blank, target=target_of(solid), machines=(MILL,), vises=(vise,), jaws=(TOOTHED, jaws),
        bars=(),
    )  # fmt: skip


def placed(solid: Solid, sides: tuple[str, ...], *, jaws: Jaws = SOFT, vise: Vise = VISE) -> Clamping:
    laid = laid_on(solid, sides, jaws=jaws, vise=vise)
    assert all(p.verdict == "holds" for p in laid.proofs if p.id.endswith("jaws suit"))
    return laid.value.clampings[0]


def test_one_clamping_is_enough_where_only_the_top_is_cut() -> None:
    solid = solid_of(plate())
    decision = chosen(solid, ALL_BUT_TOP)
    best = decision.value.sequences[0]
    assert [h.up for h in best.holds] == [(0.0, 0.0, 1.0)]
    assert best.holds[0].grip is not None
    assert not best.keeps_strip
    assert best.unreached == ()
    made = set(best.holds[0].makes_faces)
    assert not made & {f for side in ALL_BUT_TOP for f in solid.faces_on(side)}
    assert set(solid.faces_on("+z")) <= made
    assert next(p for p in decision.proofs if p.id.endswith("every face reached")).verdict == "holds"


def test_what_is_cut_from_below_takes_a_second_one() -> None:
    best = chosen(solid_of(plate(with_step=True)), ALL_BUT_TOP).value.sequences[0]
    assert len(best.holds) == 2
    assert best.unreached == ()


def test_a_pin_is_refused_with_what_the_jaws_hide_at_the_tilts_that_it_leaves() -> None:
    """A blind hole 4 above the seat in a side: the jaws stand before it, and no tilt of one clamping gets past them."""
    shape = cut_box(box(60.0, 40.0, 20.0), (20, 10, 15), (40, 30, 21))
    solid = solid_of(drilled(shape, at=(30, 0, 4), along=(0, 1, 0), dia=5.0, deep=9))
    decision = chosen(
        solid, ALL_BUT_TOP, pins=(Pin(quantity="ups", value="+z"),), machine=TILTING, vise=TILTING_VISE
    )  # fmt: skip
    proof = next(p for p in decision.proofs if p.id == "clampings:pin:ups")
    assert proof.verdict == "fails"
    bore = next(f.id for f in solid.faces if f.surface.kind == "cylinder")
    assert f"{bore}: jaws and seat of clamping 1 keep every cutter off it from -y" in proof.basis.formula
    assert decision.value.sequences[0].unreached == ()


def test_without_such_sides_a_strip_is_faced_off() -> None:
    best = chosen(solid_of(plate()), ()).value.sequences[0]
    assert len(best.holds) == 2
    assert best.holds[0].grip is None


def test_a_side_that_stays_carries_no_strip() -> None:
    for sequence in chosen(solid_of(plate(with_step=True)), ("-z",)).value.sequences:
        first = sequence.holds[0]
        assert first.grip is not None or first.up != (0.0, 0.0, 1.0)


def test_it_lies_on_the_blank_and_holds_no_strip() -> None:
    clamping = placed(solid_of(plate()), ALL_BUT_TOP)
    assert clamping.surface == "raw"
    assert not clamping.holds_strip
    assert not clamping.removes_grip
    assert clamping.patch_height_mm.low < clamping.patch_height_mm.high
    assert np.allclose(clamping.frame.into(np.array([[0.0, 40.0, 0.0]])), 0.0)


def test_the_seat_reaches_all_the_way_where_nobody_measured_it() -> None:
    clamping = placed(solid_of(plate()), ALL_BUT_TOP)
    assert clamping.seats_mm == ((-40.0, 0.0),)


@pytest.mark.parametrize(("step", "height", "seats"), [(8.0, 60.0, 2), (8.0, 30.0, 2), (8.0, None, 1), (25.0, 60.0, 1)])
def test_between_measured_steps_it_is_free_down_to_the_bed(step: float, height: float | None, seats: int) -> None:
    jaws, vise = (
        msgspec.structs.replace(SOFT, step_mm=step, blank_height_mm=height),
        msgspec.structs.replace(VISE, bed=BED),
    )
    clamping = placed(solid_of(plate()), ALL_BUT_TOP, jaws=jaws, vise=vise)
    assert len(clamping.seats_mm) == seats
    assert clamping.below_mm == pytest.approx(min(30.0, height - clamping.jaw_top_mm) if height else 0.0)
    found = [b for b in bodies_about(clamping, vise, MILL, (None, None, None)) if b.name == SEAT]
    if seats == 2:
        assert [(b.low_mm[1], b.high_mm[1], b.high_mm[2]) for b in found] == [
            (-8.0, 0.0, 0.0), (-40.0, -32.0, 0.0), (-40.0, 0.0, -clamping.below_mm),
        ]  # fmt: skip
    else:
        assert len(found) == 1


@pytest.mark.parametrize(("step", "found"), [(5.0, 0.0), (12.0, 1.0)])
def test_a_foot_between_the_steps_stands_on_nothing(step: float, found: float) -> None:
    """A foot 20 mm wide in the middle of 40 mm: a step of 5 mm ends before it, one of 12 mm reaches under it."""
    shape = cut_box(cut_box(box(60.0, 40.0, 20.0), (-1, -1, -1), (61, 10, 4)), (-1, 30, -1), (61, 41, 4))
    solid = solid_of(shape)
    jaws = msgspec.structs.replace(SOFT, step_mm=step, blank_height_mm=60.0)
    laid = laid_on(
        solid,
        ALL_BUT_TOP,
        jaws=jaws,
        vise=msgspec.structs.replace(VISE, bed=BED),
        pins=(Pin(quantity="up", value="+z"),),
    )
    assert next(p for p in laid.proofs if p.id == "clampings:c1-z+:seat").found_low == found


def test_clampings_that_stop_at_opposite_sides_as_bought_are_told() -> None:
    low, high = (
        Clamping(
            id=f"c{n}", number=n, machine_id="m", vise_id="v", jaws_id="j", surface="raw",
            frame=Frame(x=x, y=(0.0, 1.0, 0.0), z=z, origin_mm=(0.0, 0.0, 0.0)), tilts=(), jaw_top_mm=5.0,
            patch_length_mm=SOME, patch_height_mm=SOME, gap_mm=40.0, grip_faces=(), seat_text="", zero_text="",
            makes_faces=(), makes_holes=(), removes_grip=False,
        )
        for n, x, z in ((1, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)), (2, (-1.0, 0.0, 0.0), (0.0, 0.0, -1.0)))
    )  # fmt: skip
    along = {p.id.rpartition(" ")[2]: p for p in located_proofs((low, high), AsBought(sides=("-x", "+x", "-y", "+y")))}
    assert set(along) == {"x", "y"}
    assert (along["x"].verdict, along["y"].verdict) == ("not shown", "holds")
    assert "clamping 1 by -x, clamping 2 by +x" in along["x"].claim
    assert located_proofs((low,), AsBought(sides=("-x", "+x"))) == ()
