"""What is eased begins from the depth that the pass was laid with, and ends little below what its limit allows."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.cutting import easing
from proveout.cutting.easing import tighten_cut
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.pace import Pace
from proveout.model.work import Pass, PassKind
from proveout.stages.passes import roughing

NAMES = {"pass_id": "p", "clamping_id": "c"}


def load() -> PassLoad:
    return PassLoad(
        **NAMES, is_tilted=False, tangential_n=300.0, plane_n=350.0, axial_n=100.0,
        torque_n_mm=900.0, power_mw=1e5, height_mm=20.0, along_mm=10.0, across_mm=10.0, radial_mm=1.0, axial_mm=7.5,
    )  # fmt: skip


def laid(kind: PassKind, pace: Pace | None = None, feature: str = "") -> Pass:
    return Pass(
        id="p", kind=kind, clamping_id="c", tilt_id="t", cutter_id="EM5", feature=feature, face_ids=(),
        speed_rad_per_s=1e3, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=7.5, moves_digest="", moves_count=2,
        cut_length_mm=1.0, pace=pace,
    )  # fmt: skip


def chosen(axial_ratio: float, feed_floor_ratio: float) -> Pace:
    return Pace(speed_by="", feed_by="", depth_by="", axial_ratio=axial_ratio, feed_floor_ratio=feed_floor_ratio)


@pytest.mark.parametrize(("kind", "usual"), [("rough", 0.5), ("rough corners", 1.5)])
def test_corners_are_eased_from_their_own_depth(kind: PassKind, usual: float) -> None:
    # worked: a reserve of 0.8 takes 0.98 of four fifths of the depth there was, in hundredths
    step = tighten_cut(load(), 0.8, laid(kind), 5.0, Limits())
    assert step is not None
    assert (step.quantity, step.bound) == ("axial_ratio", pytest.approx(0.78 * usual))


def test_a_depth_that_was_chosen_is_eased_from_there() -> None:
    """Worked. 1.2 diameters, reserve 0.5: 0.49 of 1.2; a limit of 0.6 in force counts before that."""
    pass_ = laid("rough", chosen(1.2, 0.4))
    step = tighten_cut(load(), 0.5, pass_, 5.0, Limits())
    assert step is not None
    assert step.bound == pytest.approx(0.588)
    step = tighten_cut(load(), 0.5, pass_, 5.0, Limits(axial_ratio={"c/EM5": 0.6}))
    assert step is not None
    assert step.bound == pytest.approx(0.294)


@pytest.mark.parametrize(
    ("kind", "feature", "deep_mm", "diameter_mm"), [("face", "top", 1.5, 80.0), ("rough", "stairs", 0.8, 40.0)]
)
def test_faces_and_stairs_are_eased_by_the_ratio_that_their_depth_goes_by(
    kind: PassKind, feature: str, deep_mm: float, diameter_mm: float
) -> None:
    """Worked. 1.5 of 80 mm and 0.8 of 40 are about the least of a level, 0.02, but 0.5 is what the depth goes by.

    Reserve 0.8: 0.78 of it, of a ratio of 0.2 that the pass was laid with 0.156, of a limit of 0.1 in force 0.078.
    """
    shallow = msgspec.structs.replace(load(), axial_mm=deep_mm)
    for pace, limit, bound in ((None, 0.5, 0.39), (chosen(0.2, 0.4), 0.5, 0.156), (chosen(0.2, 0.4), 0.1, 0.078)):
        limits = Limits(axial_ratio={"c/EM5": limit})
        step = tighten_cut(shallow, 0.8, laid(kind, pace, feature), diameter_mm, limits)
        assert step is not None
        assert (step.quantity, step.bound) == ("axial_ratio", pytest.approx(bound))
    assert tighten_cut(shallow, 0.8, laid("rough", None, "levels"), diameter_mm, Limits()) is None


def test_a_feed_is_not_eased_below_the_thinnest_chip() -> None:
    """Worked. Reserve 0.35: 0.98 of it is 0.343, in hundredths 0.34; a chip window of 4 to 10 stops at 0.4."""
    step = tighten_cut(load(), 0.35, laid("finish floor"), 5.0, Limits())
    assert step is not None
    assert (step.quantity, step.bound) == ("feed_ratio", pytest.approx(0.34))
    step = tighten_cut(load(), 0.35, laid("finish floor", chosen(0.0, 0.4)), 5.0, Limits())
    assert step is not None
    assert step.bound == pytest.approx(0.4)
    assert tighten_cut(load(), 0.5, laid("finish floor"), 5.0, Limits(feed_ratio={"c/EM5": 0.3})) is None


def test_a_wall_that_was_chosen_is_eased_by_its_feed_first() -> None:
    """Worked. Reserve 0.8: 0.98 of it is 0.784, in hundredths 0.78; at the thinnest chip, 0.4, it gets shallower."""
    pass_ = laid("finish wall", chosen(1.0, 0.4))
    step = tighten_cut(load(), 0.8, pass_, 5.0, Limits())
    assert step is not None
    assert (step.quantity, step.bound) == ("wall_feed_ratio", pytest.approx(0.78))
    last = tighten_cut(load(), 0.8, pass_, 5.0, Limits(wall_feed_ratio={"c/EM5": 0.4}))
    assert last is not None
    assert last.quantity == "wall_ratio"
    kept = tighten_cut(load(), 0.8, laid("finish wall"), 5.0, Limits())
    assert kept is not None
    assert kept.quantity == "wall_ratio"


@given(start=st.floats(0.02, 0.999), exponent=st.floats(0.6, 1.0))
def test_a_depth_ends_within_a_tenth_of_what_the_grip_bears_in_few_rounds(start: float, exponent: float) -> None:
    """A force that goes with a power of the depth: the reserve ends from 1 to 1.1, in no more rounds than there are."""
    rounds_most = 10
    limits, depth, reserve, rounds = Limits(), 0.5, start, 0
    while reserve < 1.0:
        step = tighten_cut(load(), reserve, laid("rough"), 5.0, limits)
        if step is None:
            assert depth <= easing.AXIAL_FLOOR + easing.STEP_WORTH
            return
        limits, depth, rounds = limits.tightened((step,)), step.bound, rounds + 1
        reserve = start * (0.5 / depth) ** exponent
    assert reserve <= 1.1 or depth <= easing.AXIAL_FLOOR + 1e-9
    assert rounds < rounds_most


def test_both_begin_from_the_same_depths() -> None:
    assert easing.AXIAL_DEFAULT == roughing.AXIAL_RATIO
    assert easing.CORNER_DEFAULT == roughing.CORNER_AXIAL_RATIO


def test_a_stair_at_its_highest_is_eased_from_the_ratio_that_makes_it_so_high() -> None:
    """Worked. 0.12 of half of 20 mm would be 1.2, so 0.8, which is 0.12 of a third of 20; at 0.2 it is 0.48."""
    assert roughing.stair_of(0.5, diameter_mm=20.0) == pytest.approx((0.8, 1.0 / 3.0))
    assert roughing.stair_of(0.2, diameter_mm=20.0) == pytest.approx((0.48, 0.2))
