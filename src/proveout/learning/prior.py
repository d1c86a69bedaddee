"""What was written about a number before any batch was run, as a distribution of its logarithm."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero
from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]
INSIDE_RATIO = 0.8
"""Of the true numbers, what lies inside a written interval: our own reading of low and high."""
REACH = 1.2815515655446004
"""Standard deviations from the middle of a normal law to either end of INSIDE_RATIO of it."""
LONE_DEVIATION = 0.20
"""Of the logarithm of a number that was written without its ends: our own, it is a guess and no measurement."""
LEAST_DEVIATION = 0.02
"""Of any logarithm: nothing in a shop stands still to less than two percent (our own)."""
TOGETHER_RATIO = 0.5
"""Share of the variance that all kinds of one machine have together: a slow machine is slow in everything (our own)."""


class Prior(msgspec.Struct, frozen=True, kw_only=True):
    """A normal law of several logarithms. middles: (k,);  covariance: (k, k)."""

    middles: Array
    covariance: Array


def prior_deviation_ratio(*, low: float, nominal: float, high: float) -> float:
    """Standard deviation of the logarithm of a number that was written as an interval.

    Formula:  sqrt((ln(h / m)^2 + ln(m / l)^2) / 2) / z, at least 0.02; 0.2 where l = h
    Args:     low: l, > 0.   nominal: m, from l to h.   high: h.
    Returns:  of the logarithm, above 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    an interval that its owner takes to hold the number in eight cases of ten, z = 1.2816, as likely above m
              as below: half a normal law to either side, each with its own deviation, has the mean square of both
              about m. To read an uneven interval at its wider side alone would say that it holds more.
    Source:   own-algorithm, our own derivation: the quantile of a normal law.   Departs: nothing.
    Checked:  tests/laws/test_learning_laws.py
    """
    above_zero(low=low, nominal=nominal, high=high)
    if not low <= nominal <= high:
        raise OutOfRange("A fact's numbers must be in order", value=f"{low}, {nominal}, {high}")
    if low == high:
        return LONE_DEVIATION
    both = math.hypot(math.log(high / nominal), math.log(nominal / low))
    return max(LEAST_DEVIATION, both / (math.sqrt(2.0) * REACH))


def prior_of(intervals: tuple[tuple[float, float, float], ...]) -> Prior:
    """The law of several numbers of one machine or station, each given as low, nominal and high.

    Formula:  covariance of i and j: d_i d_j where i = j, c d_i d_j elsewhere, c = 0.5
    Args:     intervals: at least one, each above 0 and in order.
    Returns:  middles and covariance of the logarithms.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    numbers that are off together by as much as each alone.
    Source:   own-algorithm, our own derivation.   Departs: nothing.
    Checked:  tests/laws/test_learning_laws.py
    """
    middles = np.array([math.log(nominal) for _, nominal, _ in intervals])
    sides = np.array([prior_deviation_ratio(low=low, nominal=mid, high=high) for low, mid, high in intervals])
    shared = TOGETHER_RATIO * np.outer(sides, sides)
    return Prior(middles=middles, covariance=shared + (1.0 - TOGETHER_RATIO) * np.diag(sides**2))
