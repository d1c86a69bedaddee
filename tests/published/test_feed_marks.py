"""Marks of feed: R_t = f^2 / (8 r), Ra = f^2 / (32 r); A. Ghosh, A. K. Mallik, Manufacturing Science, 2nd ed. 2010,
sample problems 24 (p. 260) and 25 (p. 262), as a public companion transcribes them. Values worked."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from proveout.cutting.feed_marks import (
    MEAN_OF_CUSP_RATIO,
    nose_mark_height_mm,
    nose_mark_mean_mm,
    side_mark_height_mm,
    straight_edge_mark_height_mm,
)
from proveout.quantities.errors import OutOfRange


def test_a_nose_of_0_8_at_0_2_a_turn(agrees: Callable[..., None]) -> None:
    """Worked. 0.04 / 6.4 mm and a quarter of that, in micrometres."""
    agrees(1000.0 * nose_mark_height_mm(feed_mm=0.2, nose_radius_mm=0.8), "6.25")
    agrees(1000.0 * nose_mark_mean_mm(feed_mm=0.2, nose_radius_mm=0.8), "1.5625")


def test_problem_24(agrees: Callable[..., None]) -> None:
    """Worked. psi 30, lambda 7 degrees, f 0.125: 0.125 / (0.57735 + 8.14435); r 0.7: 0.015625 / 5.6."""
    found = straight_edge_mark_height_mm(
        feed_mm=0.125, side_edge_rad=math.radians(30.0), end_edge_rad=math.radians(7.0)
    )
    agrees(found, "0.014332")
    agrees(nose_mark_height_mm(feed_mm=0.125, nose_radius_mm=0.7), "0.002790")


def test_problem_25(agrees: Callable[..., None]) -> None:
    """Worked. 25 mm/min, d 100, 60 turns, 12 teeth: f_z 0.034722 mm; 625 / (4 100 3600 144) mm."""
    agrees(1e6 * side_mark_height_mm(tooth_feed_mm=25.0 / (60.0 * 12.0), diameter_mm=100.0), "3.014")


def test_the_mean_of_a_row_of_parabolas() -> None:
    """By summing: mean distance from the mean line of y = x^2, over its height. 0.2566, where the rule says 1 / 4."""
    x = np.linspace(-1.0, 1.0, 200_001)
    heights = x * x
    assert np.abs(heights - heights.mean()).mean() == pytest.approx(MEAN_OF_CUSP_RATIO, rel=1e-4)
    assert pytest.approx(0.2566, abs=5e-5) == MEAN_OF_CUSP_RATIO


def test_marks_of_a_nose_lie_near_the_exact_cusp() -> None:
    """The circle's own height, r - sqrt(r^2 - f^2 / 4), where the feed is small against the nose."""
    exact = 0.8 - math.sqrt(0.64 - 0.01)
    assert nose_mark_height_mm(feed_mm=0.2, nose_radius_mm=0.8) == pytest.approx(exact, rel=0.01)


def test_a_feed_wider_than_the_nose_is_refused() -> None:
    with pytest.raises(OutOfRange, match="feed_mm"):
        nose_mark_height_mm(feed_mm=1.7, nose_radius_mm=0.8)
    with pytest.raises(OutOfRange, match="tooth_feed_mm"):
        side_mark_height_mm(tooth_feed_mm=11.0, diameter_mm=10.0)
