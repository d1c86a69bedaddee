"""Laws of intervals, spreads and coats."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.model.fact import exact_fact, spread_fact
from proveout.quantities.coat import GROWTH_BY_SIZE, before_coat_window
from proveout.quantities.distribution import common_cause_sd, triangular_mean, triangular_sd
from proveout.quantities.errors import OutOfRange
from proveout.quantities.interval import Interval, corners, ends
from proveout.quantities.limits import GENERAL_LOWEST_MM, general_deviation_mm, grade_mm


def test_corners_take_the_ends_of_facts_and_leave_the_rest_alone() -> None:
    """Worked: (8..12) - (1..3) + 5 is 10..16."""
    found = corners(
        lambda a, b, c, name: a - b + c if name == "kept" else math.nan,
        a=spread_fact(10.0, 0.2, "", "test", "assumed"),
        b=spread_fact(2.0, 0.5, "", "test", "assumed"),
        c=5.0,
        name="kept",
    )
    assert found == (10.0, 16.0)


def test_a_fact_is_an_interval_and_a_number_its_own_ends() -> None:
    assert isinstance(exact_fact(1.0, "", "test", "assumed"), Interval)
    assert ends(3) == (3.0, 3.0)
    assert corners(lambda x: x, x=2.0) == (2.0, 2.0)


def test_swapped_ends_are_refused() -> None:
    class Swapped:
        low, high = 2.0, 1.0

    with pytest.raises(OutOfRange, match="swapped"):
        ends(Swapped())


@given(st.floats(-1e3, 1e3), st.floats(0.0, 1e3), st.floats(0.0, 1e3), st.floats(-100.0, 100.0), st.floats(0.01, 100.0))
def test_triangular_moments_move_and_stretch_with_their_points(
    low: float, first: float, second: float, shift: float, scale: float
) -> None:
    points = {"low": low, "likely": low + first, "high": low + first + second}
    moved = {name: shift + scale * value for name, value in points.items()}
    moved["likely"] = max(moved["likely"], moved["low"])
    moved["high"] = max(moved["high"], moved["likely"])
    assert triangular_mean(**moved) == pytest.approx(shift + scale * triangular_mean(**points), rel=1e-9, abs=1e-6)
    assert triangular_sd(**moved) == pytest.approx(scale * triangular_sd(**points), rel=1e-6, abs=1e-6)
    assert low - 1e-9 <= triangular_mean(**points) <= points["high"] + 1e-9


@given(st.lists(st.floats(0.0, 100.0), max_size=8), st.floats(0.0, 1.0))
def test_a_sum_spreads_between_no_common_cause_and_one_for_all(sds: list[float], correlation: float) -> None:
    found = common_cause_sd(sds=sds, correlation_ratio=correlation)
    assert found >= math.sqrt(sum(s * s for s in sds)) * (1.0 - 1e-9)
    assert found <= sum(sds) * (1.0 + 1e-9)
    assert common_cause_sd(sds=sds, correlation_ratio=1.0) == pytest.approx(sum(sds), rel=1e-9)


@given(
    st.sampled_from(sorted(GROWTH_BY_SIZE)),
    st.floats(0.0, 0.1),
    st.floats(0.0, 0.1),
    st.floats(0.0, 0.5),
    st.floats(0.0, 0.5),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_a_size_of_the_window_ends_within_limits_whatever_coat_comes(
    size: str, thin: float, more: float, share: float, wider: float, at: float, coat_at: float, share_at: float
) -> None:
    window = before_coat_window(
        size=size,  # type: ignore[arg-type]
        finished_low_mm=10.0,
        finished_high_mm=10.4,
        thickness_low_mm=thin,
        thickness_high_mm=thin + more,
        share_low_ratio=share,
        share_high_ratio=share + wider,
    )
    if window.is_empty:
        assert window.width_mm < 0.0
        return
    machined = window.low_mm + at * window.width_mm
    finished = machined + GROWTH_BY_SIZE[size] * (thin + coat_at * more) * (share + share_at * wider)
    assert 10.0 - 1e-9 <= finished <= 10.4 + 1e-9


@pytest.mark.parametrize("size", sorted(GROWTH_BY_SIZE))
def test_without_coat_the_window_is_the_finished_limits(size: str) -> None:
    window = before_coat_window(
        size=size,  # type: ignore[arg-type]
        finished_low_mm=10.0,
        finished_high_mm=10.4,
        thickness_low_mm=0.0,
        thickness_high_mm=0.0,
        share_low_ratio=0.45,
        share_high_ratio=0.55,
    )
    assert (window.low_mm, window.high_mm) == (10.0, 10.4)


def test_swapped_coat_ends_are_refused() -> None:
    with pytest.raises(OutOfRange, match="swapped"):
        before_coat_window(
            size="bore",
            finished_low_mm=1.0,
            finished_high_mm=2.0,
            thickness_low_mm=0.06,
            thickness_high_mm=0.04,
            share_low_ratio=0.5,
            share_high_ratio=0.5,
        )


@given(st.floats(0.01, 315.0), st.floats(0.01, 315.0), st.integers(6, 13))
def test_tolerance_grades_widen_with_size_and_number(first: float, second: float, grade: int) -> None:
    small, large = sorted((first, second))
    assert grade_mm(grade=grade, size_mm=small) <= grade_mm(grade=grade, size_mm=large)
    assert grade_mm(grade=grade, size_mm=small) < grade_mm(grade=grade + 1, size_mm=small)


@given(st.floats(GENERAL_LOWEST_MM, 2000.0), st.floats(GENERAL_LOWEST_MM, 2000.0))
def test_general_deviations_widen_with_size_and_from_fine_to_medium(first: float, second: float) -> None:
    small, large = sorted((first, second))
    fine, medium = (general_deviation_mm(size_mm=small, general_class=name) for name in ("f", "m"))
    assert fine < medium
    assert medium <= general_deviation_mm(size_mm=large, general_class="m")
