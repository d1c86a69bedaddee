"""Means and spreads of guesses with three points, and of sums whose parts share a cause."""

from __future__ import annotations

import math
from collections.abc import Sequence

from proveout.quantities.bounds import between, zero_or_more
from proveout.quantities.errors import OutOfRange

NORMAL_MAD = 1.482602218505602
"""A normal law's standard deviation over its median distance from the middle; robust_summaries."""
MEDIAN_ERROR = math.sqrt(0.5 * math.pi)
"""Standard error of a median over that of a mean, of many normal numbers; from memory."""


def _in_order(low: float, likely: float, high: float) -> None:
    if not low <= likely <= high:
        raise OutOfRange("Three points must be in order low <= likely <= high", value=f"{low}, {likely}, {high}")


def triangular_mean(*, low: float, likely: float, high: float) -> float:
    """Mean of a triangular distribution.

    Formula:  (low + likely + high) / 3
    Args:     low: any number.   likely: at least low.   high: at least likely.
    Returns:  the unit of the arguments.
    Raises:   OutOfRange when the three are not in order.
    Valid:    everywhere; three equal points give that point.
    Source:   probability_identities, triangular distribution.   Departs: nothing.
    Checked:  tests/published/test_probability_identities.py
    """
    _in_order(low, likely, high)
    return (low + likely + high) / 3.0


def triangular_sd(*, low: float, likely: float, high: float) -> float:
    """Standard deviation of a triangular distribution.

    Formula:  sqrt((l^2 + m^2 + h^2 - l m - l h - m h) / 18)
    Args:     low: any number.   likely: at least low.   high: at least likely.
    Returns:  the unit of the arguments, >= 0.
    Raises:   OutOfRange when the three are not in order.
    Valid:    everywhere; three equal points give 0.
    Source:   probability_identities, triangular distribution.   Departs: the sum is formed from differences, which
              keeps digits when the points are close together.
    Checked:  tests/published/test_probability_identities.py
    """
    _in_order(low, likely, high)
    return math.sqrt(((high - low) ** 2 + (likely - low) ** 2 + (high - likely) ** 2) / 36.0)


def three_point_mean(*, low: float, likely: float, high: float) -> float:
    """Mean of a three-point guess that weighs the likely value four times.

    Formula:  (low + 4 likely + high) / 6
    Args:     low: any number.   likely: at least low.   high: at least likely.
    Returns:  the unit of the arguments.
    Raises:   OutOfRange when the three are not in order.
    Valid:    everywhere.
    Source:   probability_identities, three-point estimate.   Departs: nothing.
    Checked:  tests/published/test_probability_identities.py
    """
    _in_order(low, likely, high)
    return (low + 4.0 * likely + high) / 6.0


def three_point_sd(*, low: float, likely: float, high: float) -> float:
    """Standard deviation that goes with the three-point mean.

    Formula:  (high - low) / 6
    Args:     low: any number.   likely: at least low.   high: at least likely.
    Returns:  the unit of the arguments, >= 0.
    Raises:   OutOfRange when the three are not in order.
    Valid:    everywhere.
    Source:   probability_identities, three-point estimate.   Departs: nothing.
    Checked:  tests/published/test_probability_identities.py
    """
    _in_order(low, likely, high)
    return (high - low) / 6.0


def common_cause_sd(*, sds: Sequence[float], correlation_ratio: float) -> float:
    """Standard deviation of a sum whose parts share a cause.

    Formula:  sqrt((1 - r) sum s_i^2 + r (sum s_i)^2); for k equal parts sqrt(k s^2 (1 + (k - 1) r))
    Args:     sds: standard deviation of each part, each >= 0, one unit.   correlation_ratio: r, 0..1, the same between
              every two parts.
    Returns:  the unit of sds, >= 0; 0 for no parts.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere within the bounds.
    Source:   probability_identities, variance of a sum.   Departs: nothing.
    Checked:  tests/published/test_probability_identities.py
    """
    between(low=0.0, high=1.0, correlation_ratio=correlation_ratio)
    for value in sds:
        zero_or_more(sds=value)
    apart = math.fsum(value * value for value in sds)
    together = math.fsum(sds) ** 2
    return math.sqrt((1.0 - correlation_ratio) * apart + correlation_ratio * together)
