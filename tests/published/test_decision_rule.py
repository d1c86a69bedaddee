"""Deciding by a reading: ASME B89.7.3.1-2001 as reproduced; 10 +-0.05 with U 0.01 is 5 to 1, drawn in 9.96 to 10.04."""

from __future__ import annotations

import math

import pytest

from proveout.gauging.deciding import accepted_mm, gauge_ratio
from proveout.quantities.errors import OutOfRange


def test_the_ratio_counts_the_whole_interval() -> None:
    """Q13: 5 to 1."""
    assert gauge_ratio(window_mm=0.10, uncertainty_mm=0.01) == pytest.approx(5.0)
    assert math.isinf(gauge_ratio(window_mm=0.10, uncertainty_mm=0.0))


def test_a_guard_band_of_the_whole_uncertainty_draws_both_limits_in() -> None:
    """Q13: 9.96 to 10.04."""
    whole = accepted_mm(low_mm=9.95, high_mm=10.05, uncertainty_mm=0.01, guard_ratio=1.0)
    assert (whole.low_mm, whole.high_mm) == pytest.approx((9.96, 10.04))
    simple = accepted_mm(low_mm=9.95, high_mm=10.05, uncertainty_mm=0.01, guard_ratio=0.0)
    assert (simple.low_mm, simple.high_mm) == (9.95, 10.05)


def test_a_gauge_may_leave_no_reading_at_all() -> None:
    none = accepted_mm(low_mm=9.99, high_mm=10.00, uncertainty_mm=0.01, guard_ratio=1.0)
    assert none.low_mm > none.high_mm
    with pytest.raises(OutOfRange, match="below the high one"):
        accepted_mm(low_mm=10.0, high_mm=9.0, uncertainty_mm=0.01, guard_ratio=1.0)
    with pytest.raises(OutOfRange, match="guard_ratio"):
        accepted_mm(low_mm=9.0, high_mm=10.0, uncertainty_mm=0.01, guard_ratio=-0.1)
