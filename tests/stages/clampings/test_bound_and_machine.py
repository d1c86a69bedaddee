"""What a clamping costs at the least decides the order of sequences, and the machine of a later clamping."""

from __future__ import annotations

import msgspec
import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of
from tilting import TILTING, TILTING_VISE

from proveout.model.choice_of_clampings import ClampingChoice
from proveout.model.run import Run
from proveout.model.shop import Machine
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Survey
from proveout.stages import clampings, survey

Plate = tuple[Solid, Target, Survey]


@pytest.fixture(scope="module")
def plate() -> Plate:
    shape = cut_box(box(60.0, 40.0, 20.0), (10, 10, 12), (40, 30, 21))
    solid = solid_of(drilled(shape, at=(50, 20, -1), along=(0, 0, 1), dia=6.6, deep=30))
    return solid, target_of(solid), survey.decide(solid=solid, run=Run()).value


def chosen(plate: Plate, *machines: Machine, quantity: int = 50) -> ClampingChoice:
    solid, target, seen = plate
    return clampings.decide(
        solid=solid, target=target, survey=seen, machines=machines, vises=(VISE, TILTING_VISE), jaws=(TOOTHED, SOFT),
        cutters=CUTTERS, quantity=quantity, load_s=LOAD, pins=(), run=Run(),
    ).value  # fmt: skip


def test_the_bound_is_set_up_quickest_load_and_the_jaws_made(plate: Plate) -> None:
    """Worked: 2400 s / 50 and 20 s at 90 an hour are 1.70; two clampings 3.40. 30 s would be 3.90.

    Soft jaws: 20 for the plates and 1800 s at 90 an hour make 65, shared by 50 pieces 1.30.
    """
    assert chosen(plate, MILL).sequences[0].bound_each == pytest.approx(3.40 + 1.30)


@pytest.mark.parametrize(
    ("setup_s", "rate_per_h", "later"),
    [(2400.0, 90.0, "mill"), (1800.0, 90.0, "tilting"), (2400.0, 80.0, "tilting"), (3000.0, 90.0, "mill")],
)
def test_a_later_clamping_goes_where_set_up_and_load_cost_least(
    plate: Plate, setup_s: float, rate_per_h: float, later: str
) -> None:
    """The 3-axis mill is set up in 2400 s at 90 an hour; of two alike the one without rotary axes is taken."""
    other = msgspec.structs.replace(TILTING, setup_s=setup_s, rate_per_h=rate_per_h)
    best, *others = chosen(plate, other, MILL).sequences
    assert [h.machine_id for h in best.holds[1:]] == [later] * (len(best.holds) - 1)
    assert all(best.foreseen_each <= other.foreseen_each for other in others)


def test_a_dear_set_up_loses_against_a_dear_hour_in_a_small_order_only(plate: Plate) -> None:
    """Worked, 600 s at 120 an hour against 2400 s at 90: for one piece 20.7 and 60.5, for a thousand 0.69 and 0.56."""
    other = msgspec.structs.replace(MILL, id="quick", setup_s=600.0, rate_per_h=120.0)
    shared = msgspec.structs.replace(VISE, machines=("mill", "quick"))
    solid, target, seen = plate
    for quantity, later in ((1, "quick"), (1000, "mill")):
        best = clampings.decide(
            solid=solid, target=target, survey=seen, machines=(other, MILL), vises=(shared,), jaws=(TOOTHED, SOFT),
            cutters=CUTTERS, quantity=quantity, load_s=LOAD, pins=(), run=Run(),
        ).value.sequences[0]  # fmt: skip
        assert {h.machine_id for h in best.holds} == {later}
