"""Parts with sides that stay as bought: held by them, and finished in one clamping where nothing else is to be made."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of
from stages.clampings.test_clampings import the_blank

from proveout.model.bodies import Bed
from proveout.model.choice_of_clampings import ClampingChoice
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Jaws, Vise
from proveout.model.solid import Solid
from proveout.model.work import Clamping, Vector
from proveout.stages import clampings, survey
from proveout.stages.removal_check.bodies import SEAT, bodies_about

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


def chosen(solid: Solid, sides: tuple[str, ...]) -> Decision[ClampingChoice]:
    return clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=(MILL,),
        vises=(VISE,), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD, pins=(), run=Run(),
        bought=tuple(f for side in sides for f in solid.faces_on(side)), blanks=BLANKS,
    )  # fmt: skip


def placed(solid: Solid, sides: tuple[str, ...], *, jaws: Jaws = SOFT, vise: Vise = VISE) -> Clamping:
    sequence = chosen(solid, sides).value.sequences[0]
    blank = msgspec.structs.replace(
        the_blank(), low_mm=(0.0, 0.0, 0.0), high_mm=(60.0, 40.0, 21.0), grip_side=None
    )  # fmt: skip
    laid = clampings.place(
        sequence=sequence, blank=blank, target=target_of(solid), machines=(MILL,), vises=(vise,), jaws=(TOOTHED, jaws),
        bars=(),
    )  # fmt: skip
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


@pytest.mark.parametrize(("step", "seats"), [(8.0, 2), (25.0, 1)])
def test_between_measured_steps_it_is_free_down_to_the_bed(step: float, seats: int) -> None:
    jaws, vise = msgspec.structs.replace(SOFT, step_mm=step), msgspec.structs.replace(VISE, bed=BED)
    clamping = placed(solid_of(plate()), ALL_BUT_TOP, jaws=jaws, vise=vise)
    found = [b for b in bodies_about(clamping, vise, MILL, (None, None, None)) if b.name == SEAT]
    assert len(found) == len(clamping.seats_mm) == seats
    if seats == 2:
        assert clamping.below_mm == 30.0
        assert [(b.low_mm[1], b.high_mm[1]) for b in found] == [(-8.0, 0.0), (-40.0, -32.0)]
