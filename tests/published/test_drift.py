"""A line through readings and the checks that its slope asks for; worked by hand.

Worked: (0, 1), (1, 2), (2, 2), (3, 4): means 1.5, 2.25; sum of products 4.5, of squares 5: slope 0.9, start 0.9; left
over 0.1, 0.2, -0.7, 0.4: squares 0.70 on 2 degrees, deviation 0.5916; slope's own 0.2646; t of 2 at 0.975 is 4.3027:
-+1.1384.
"""

from __future__ import annotations

import pytest

from proveout.gauging.drift import line_through, pieces_between_checks_count
from proveout.quantities.errors import OutOfRange

PLACES, READINGS = (0.0, 1.0, 2.0, 3.0), (1.0, 2.0, 2.0, 4.0)


def test_a_line_is_worked_by_hand() -> None:
    line = line_through(places=PLACES, readings=READINGS, confidence_ratio=0.95)
    assert (line.slope, line.start) == pytest.approx((0.9, 0.9))
    assert line.deviation == pytest.approx(0.35**0.5)
    assert line.slope_error == pytest.approx((0.35 / 5.0) ** 0.5)
    assert (line.slope_low, line.slope_high) == pytest.approx((0.9 - 1.13839, 0.9 + 1.13839), abs=1e-4)
    assert line.start_error == pytest.approx((0.35 * (1.0 / 4.0 + 2.25 / 5.0)) ** 0.5)
    assert line.freedom_count == 2


def test_a_size_may_move_a_quarter_of_the_accepted_width_between_checks() -> None:
    """Worked: 0.040 / 4 = 0.010; at 0.0012 a piece 8, at 0.01 one, at 0.02 still every piece."""
    for moved, count in ((0.0012, 8), (0.01, 1), (0.02, 1), (0.0001, 100)):
        assert pieces_between_checks_count(accepted_mm=0.040, moved_mm=moved) == count


def test_readings_that_make_no_line_are_refused() -> None:
    with pytest.raises(OutOfRange, match="too few"):
        line_through(places=(1.0, 2.0), readings=(1.0, 2.0), confidence_ratio=0.95)
    with pytest.raises(OutOfRange, match="one place"):
        line_through(places=(1.0, 1.0, 1.0), readings=(1.0, 2.0, 3.0), confidence_ratio=0.95)
    with pytest.raises(OutOfRange, match="its place"):
        line_through(places=PLACES, readings=READINGS[:3], confidence_ratio=0.95)
    with pytest.raises(OutOfRange, match="out of range"):
        pieces_between_checks_count(accepted_mm=0.0, moved_mm=0.1)
