"""Two columns of views, their places reckoned by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.sheets.svg import Fit
from proveout.sheets.two_columns import row_heights, two_columns


def view(height_mm: float) -> Fit:
    """A view that is so tall on the paper: 40 wide of 60, its margins 10."""
    points = np.array([[0.0, 0.0], [40.0, height_mm - 20.0]])
    made = Fit(points, width_mm=60.0, height_mm=500.0, margin_mm=10.0)
    assert made.height_mm == pytest.approx(height_mm)
    return made


def test_the_taller_of_a_row_says_how_tall_it_is_and_the_other_stands_in_its_middle() -> None:
    fits = [view(50.0), view(30.0), view(24.0)]
    assert row_heights(fits, name_mm=6.0) == pytest.approx([56.0, 30.0])
    spots, end = two_columns(fits, column_mm=60.0, name_mm=6.0, head_mm=16.0)
    assert [tuple(spot.shift_mm) for spot in spots] == [
        pytest.approx((0.0, 16.0)), pytest.approx((60.0, 26.0)), pytest.approx((0.0, 72.0))
    ]  # fmt: skip
    assert [spot.middle_mm for spot in spots] == [30.0, 90.0, 30.0]
    assert [spot.foot_mm for spot in spots] == pytest.approx([66.0, 66.0, 96.0])
    assert end == pytest.approx(16.0 + 56.0 + 30.0)


def test_no_views_take_no_room_below_the_head() -> None:
    assert two_columns([], column_mm=60.0, name_mm=6.0, head_mm=16.0) == ([], 16.0)


@given(st.lists(st.floats(21.0, 60.0), min_size=1, max_size=9))
def test_no_view_reaches_into_another_or_into_a_name(heights: list[float]) -> None:
    fits = [view(height) for height in heights]
    spots, end = two_columns(fits, column_mm=60.0, name_mm=6.0)
    for place, (fit, spot) in enumerate(zip(fits, spots, strict=True)):
        above = spots[place - 2].foot_mm + 6.0 if place >= 2 else 0.0
        assert spot.shift_mm[1] >= above - 1e-9
        assert spot.shift_mm[1] + fit.height_mm <= spot.foot_mm + 1e-9
        assert spot.foot_mm + 6.0 <= end + 1e-9
        assert spot.shift_mm[0] == 60.0 * (place % 2)
