"""Laws of the window before the coat: nothing inside it leaves the finished limits, and it is the largest such.

The corners are gone through here surface by surface, by other sums than the code's: each surface of a size gets its own
thickness, share and etch from the ends of their intervals.
"""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.quantities.coat import (
    GROWTH_BY_SIZE,
    STEP,
    CoatedSize,
    SizeWindow,
    before_coat_window,
    build_up_mm,
    coat_spread_ratio,
    etch_room_mm,
    size_growth_mm,
)
from proveout.quantities.errors import OutOfRange

# what the growth of each surface of a size does to it, one number a surface; a flank of a 60 deg thread moves the pitch
# diameter by 1 / sin 30 deg = 2
SURFACES: dict[CoatedSize, tuple[float, ...]] = {
    "shaft": (1.0, 1.0), "bore": (-1.0, -1.0), "external thread": (2.0, 2.0), "internal thread": (-2.0, -2.0),
    "one face": (1.0,), "one inside face": (-1.0,), STEP: (1.0, -1.0),
}  # fmt: skip
LOW, HIGH = 10.0, 10.2
SLACK = 1e-9
ends = st.tuples(st.floats(0.0, 0.1), st.floats(0.0, 0.1)).map(sorted)
shares = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)).map(sorted)
etches = st.tuples(st.floats(0.0, 0.03), st.floats(0.0, 0.03)).map(sorted)


def window_of(size: CoatedSize, thick: list[float], share: list[float], etch: list[float]) -> SizeWindow:
    return before_coat_window(
        size=size, finished_low_mm=LOW, finished_high_mm=HIGH, thickness_low_mm=thick[0], thickness_high_mm=thick[1],
        share_low_ratio=share[0], share_high_ratio=share[1], etch_low_mm=etch[0], etch_high_mm=etch[1],
    )  # fmt: skip


def finished(
    size: CoatedSize, machined: float, thick: list[float], share: list[float], etch: list[float]
) -> list[float]:
    """The size after the coat at every corner: two ends of three intervals for each of its surfaces."""
    corners = list(product(thick, share, etch))
    return [
        machined + sum(sign * (t * s - e) for sign, (t, s, e) in zip(SURFACES[size], chosen, strict=True))
        for chosen in product(corners, repeat=len(SURFACES[size]))
    ]


def test_every_kind_of_size_is_gone_through() -> None:
    assert set(SURFACES) == {*GROWTH_BY_SIZE, STEP}


@given(st.sampled_from(sorted(SURFACES)), ends, shares, etches, st.floats(0.0, 1.0))
def test_no_size_of_the_window_leaves_its_limits_at_any_corner(
    size: CoatedSize, thick: list[float], share: list[float], etch: list[float], at: float
) -> None:
    window = window_of(size, thick, share, etch)
    if window.is_empty:
        assert window.width_mm < 0.0
        return
    found = finished(size, window.low_mm + at * window.width_mm, thick, share, etch)
    assert min(found) >= LOW - SLACK
    assert max(found) <= HIGH + SLACK


@given(st.sampled_from(sorted(SURFACES)), ends, shares, etches, st.floats(1e-6, 0.1))
def test_every_size_outside_the_window_leaves_its_limits_at_some_corner(
    size: CoatedSize, thick: list[float], share: list[float], etch: list[float], beyond: float
) -> None:
    window = window_of(size, thick, share, etch)
    assert min(finished(size, window.low_mm - beyond, thick, share, etch)) < LOW
    assert max(finished(size, window.high_mm + beyond, thick, share, etch)) > HIGH


@given(st.sampled_from(sorted(SURFACES)), ends, shares, etches)
def test_an_etch_that_is_even_moves_a_window_and_does_not_narrow_it(
    size: CoatedSize, thick: list[float], share: list[float], etch: list[float]
) -> None:
    none, even, wide = (window_of(size, thick, share, e) for e in ([0.0, 0.0], [etch[1]] * 2, etch))
    assert even.width_mm == pytest.approx(none.width_mm, abs=1e-9)
    lost = sum(abs(sign) for sign in SURFACES[size]) * (etch[1] - etch[0])
    assert wide.width_mm == pytest.approx(none.width_mm - lost, abs=1e-9)


def test_an_etch_makes_a_shaft_smaller() -> None:
    """Worked: a coat of 0.050 at an exact half adds 0.050 to a diameter; an etch of 0.010 takes 0.020 of it back."""
    low, high = build_up_mm(
        thickness_low_mm=0.05, thickness_high_mm=0.05, share_low_ratio=0.5, share_high_ratio=0.5, etch_low_mm=0.01,
        etch_high_mm=0.01,
    )  # fmt: skip
    assert (low, high) == pytest.approx((0.015, 0.015), abs=1e-12)
    assert size_growth_mm(size="shaft", build_low_mm=low, build_high_mm=high) == pytest.approx((0.03, 0.03), abs=1e-12)


def test_a_step_between_two_coated_faces_keeps_its_middle() -> None:
    """Worked: each face grows 0.018 to 0.033, so the step changes by -0.015 to +0.015."""
    assert size_growth_mm(size=STEP, build_low_mm=0.018, build_high_mm=0.033) == pytest.approx((-0.015, 0.015))


@given(st.floats(0.011, 0.3), st.sampled_from((1.0, 2.0, 4.0)))
def test_the_room_for_an_etch_leaves_just_what_is_held(width: float, surfaces: float) -> None:
    room = etch_room_mm(window_width_mm=width, held_width_mm=0.01, surfaces_ratio=surfaces)
    assert width - surfaces * room == pytest.approx(0.01, abs=1e-9)


def test_a_window_too_narrow_has_no_room_for_an_etch() -> None:
    assert etch_room_mm(window_width_mm=0.003, held_width_mm=0.01, surfaces_ratio=2.0) == 0.0


@given(st.floats(0.0, 0.1), st.floats(0.01, 0.1), st.floats(0.3, 0.5), st.floats(0.5, 0.7), st.sampled_from((2.0, 4.0)))
def test_a_coat_tightened_to_its_ratio_spreads_by_just_what_is_allowed(
    allowed: float, thick: float, low: float, high: float, surfaces: float
) -> None:
    ratio = coat_spread_ratio(
        allowed_mm=allowed, thickness_mm=thick, share_low_ratio=low, share_high_ratio=high, surfaces_ratio=surfaces
    )
    spread = surfaces * thick * ((1.0 + ratio) * high - (1.0 - ratio) * low)
    assert spread == pytest.approx(allowed, abs=1e-9)


@pytest.mark.parametrize("etch", [(0.02, 0.01), (-0.01, 0.01)])
def test_an_etch_the_wrong_way_round_is_refused(etch: tuple[float, float]) -> None:
    with pytest.raises(OutOfRange):
        window_of("shaft", [0.04, 0.06], [0.45, 0.55], list(etch))
