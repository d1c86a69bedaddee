"""A printed factor of a tolerance interval beside ours.

Printed: the worked example of the NIST/SEMATECH e-Handbook 7.2.6.3, as reproduced: 43 readings, 90 % of all pieces at
99 % confidence, two sides, k2 = 2.2173159.
"""

from __future__ import annotations

import pytest

from proveout.gauging.tolerance import pieces_between, tolerance_factor_ratio


def test_the_worked_example_of_43_readings() -> None:
    found = tolerance_factor_ratio(mean_count=43, freedom=42, inside_ratio=0.90, confidence_ratio=0.99)
    assert found == pytest.approx(2.2173159, abs=0.5e-7)


def test_ends_of_two_lots_worked_by_hand() -> None:
    """Worked: means 1 and 3, so B = 2; W = 2 of F 2, n = 2; d^2 = 2 + 0.5 * 2 = 3, f = 9 / (4 / 1 + 1 / 2) = 2."""
    found = pieces_between([(0.0, 2.0), (2.0, 4.0)], uncertainty=0.0, inside_ratio=0.9, confidence_ratio=0.95)
    assert found.middle == 2.0
    assert found.deviation == pytest.approx(3.0**0.5)
    assert found.freedom == pytest.approx(2.0)
    factor = tolerance_factor_ratio(mean_count=2, freedom=2, inside_ratio=0.9, confidence_ratio=0.95)
    assert found.high - 2.0 == pytest.approx(factor * 3.0**0.5)
    gauged = pieces_between([(0.0, 2.0), (2.0, 4.0)], uncertainty=0.5, inside_ratio=0.9, confidence_ratio=0.95)
    assert gauged.high - found.high == pytest.approx(0.5)  # beside the scatter, which is wider than the gauge's
