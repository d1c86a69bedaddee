"""Least squares against the closed form of a straight line."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solving.least_squares import least_squares

X = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
Y = np.array([1.1, 2.9, 5.2, 6.8, 9.0])
WIDE = {"low": np.full(2, -100.0), "high": np.full(2, 100.0)}


def test_a_line_has_its_closed_values_and_deviations() -> None:
    """Worked: slope sum((x - 2) y) / 10 = 19.7 / 10, middle 5.0; deviations s / sqrt(10) and s sqrt(1/5 + 4/10)."""
    found = least_squares(lambda v: (v[0] + v[1] * X - Y) / 0.2, start=np.zeros(2), **WIDE)
    assert found.values == pytest.approx((5.0 - 2.0 * 1.97, 1.97), abs=1e-6)
    left = (1.06 + 1.97 * X - Y) / 0.2
    scale = math.sqrt(max(1.0, float(left @ left) / 3.0))
    assert found.deviations == pytest.approx(
        (0.2 * scale * math.sqrt(0.6), 0.2 * scale / math.sqrt(10.0)), rel=1e-4
    )  # fmt: skip


def test_what_no_measurement_moves_with_is_left_open() -> None:
    found = least_squares(lambda v: v[0] * X - Y, start=np.ones(2), **WIDE)
    assert math.isinf(found.deviations[1])
    assert math.isfinite(found.deviations[0])


def test_fewer_measurements_than_numbers_are_refused() -> None:
    with pytest.raises(OutOfRange, match="fewer measurements"):
        least_squares(lambda v: v[:1], start=np.zeros(2), **WIDE)
