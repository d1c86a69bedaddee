"""Deciding by a reading: whether a gauge can tell a window at all, and which readings are accepted."""

from __future__ import annotations

import math

import msgspec

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange


class Accepted(msgspec.Struct, frozen=True, kw_only=True):
    """Readings accepted, from low to high in mm; low is above high where the gauge leaves none."""

    low_mm: float
    high_mm: float


def gauge_ratio(*, window_mm: float, uncertainty_mm: float) -> float:
    """Width of the window over the gauge's uncertainty interval.

    Formula:  W / (2 U)
    Args:     window_mm: W, > 0.   uncertainty_mm: U, half-width of the interval at k = 2, >= 0.
    Returns:  above 0; infinite for a perfect gauge.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere within the bounds.
    Source:   decision_rule_text, N to 1 by the whole interval, as quoted.   Departs: nothing.
    Checked:  tests/published/test_decision_rule.py
    """
    above_zero(window_mm=window_mm)
    zero_or_more(uncertainty_mm=uncertainty_mm)
    return window_mm / (2.0 * uncertainty_mm) if uncertainty_mm > 0.0 else math.inf


def accepted_mm(*, low_mm: float, high_mm: float, uncertainty_mm: float, guard_ratio: float) -> Accepted:
    """Readings that are accepted, each limit drawn in by a share of the gauge's uncertainty.

    Formula:  L + g U to H - g U, g 0 for simple acceptance and 1 for a guard band of the whole U
    Args:     low_mm: L.   high_mm: H, at least L.   uncertainty_mm: U at k = 2, >= 0.   guard_ratio: g, 0..2.
    Returns:  mm; none is left where low lies above high.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a gauge that reads right on the average. With g = 1 a piece on its limit passes about once in 40 readings;
              with g = 0 every second time.
    Source:   decision_rule_text, acceptance zone, as quoted.   Departs: nothing.
    Checked:  tests/published/test_decision_rule.py; tests/laws/test_gauging_laws.py
    """
    zero_or_more(uncertainty_mm=uncertainty_mm)
    between(low=0.0, high=2.0, guard_ratio=guard_ratio)
    if not low_mm <= high_mm:
        raise OutOfRange("The low limit lies below the high one", value=f"{low_mm:g} and {high_mm:g} mm")
    guard = guard_ratio * uncertainty_mm
    return Accepted(low_mm=low_mm + guard, high_mm=high_mm - guard)
