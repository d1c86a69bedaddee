"""Constants of control charts from the normal law itself: how wide ranges of small groups are, and how they scatter."""

from __future__ import annotations

import math
from functools import cache

import msgspec
import numpy as np

from proveout.quantities.errors import OutOfRange

GROUP_LEAST, GROUP_MOST = 2, 100
_REACH = 9.0  # beyond so many standard deviations a normal law holds less than 1e-18
_STEP = 1.0 / 64.0
_NODES = 160  # of the range's own integral


class ChartFactors(msgspec.Struct, frozen=True, kw_only=True):
    """Factors of one group size. a2, d3_low, d4: of the mean range;  a3, b3, b4: of the mean standard deviation."""

    a2: float
    a3: float
    b3: float
    b4: float
    d3_low: float
    d4: float


def _group(group_count: int) -> None:
    if not GROUP_LEAST <= group_count <= GROUP_MOST:
        raise OutOfRange(
            "A group holds several readings", where="group_count", value=f"{group_count}",
            limit=f"{GROUP_LEAST} to {GROUP_MOST}",
        )  # fmt: skip


def mean_range_ratio(*, group_count: int) -> float:
    """Mean of the range of a group of normal readings, in their standard deviations; called d2.

    Formula:  d2 = integral of 1 - F^n - (1 - F)^n over x, F the normal distribution function
    Args:     group_count: n, 2 to 100.
    Returns:  above 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    independent normal readings of one mean and one standard deviation.
    Source:   range_of_normal_readings.   Departs: by sums of even steps, which for this integrand are exact to
              rounding.
    Checked:  tests/published/test_control_chart_factors.py
    """
    return _moments(group_count)[0]


def range_spread_ratio(*, group_count: int) -> float:
    """Standard deviation of the range of a group of normal readings, in their standard deviations; called d3.

    Formula:  d3^2 = 2 integral of w (1 - G(w)) over w > 0 - d2^2, G(w) = n integral of f(x) (F(x + w) - F(x))^(n - 1)
    Args:     group_count: n, 2 to 100.
    Returns:  above 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as mean_range_ratio.
    Source:   range_of_normal_readings.   Departs: nothing.
    Checked:  tests/published/test_control_chart_factors.py
    """
    return _moments(group_count)[1]


def mean_deviation_ratio(*, group_count: int) -> float:
    """Mean of the standard deviation of a group of normal readings, in their true one; called c4.

    Formula:  c4 = sqrt(2 / (n - 1)) Gamma(n / 2) / Gamma((n - 1) / 2)
    Args:     group_count: n, 2 or more.
    Returns:  above 0, below 1.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    independent normal readings.
    Source:   range_of_normal_readings.   Departs: nothing.
    Checked:  tests/published/test_control_chart_factors.py
    """
    if group_count < GROUP_LEAST:
        raise OutOfRange(
            "A group holds several readings", where="group_count", value=f"{group_count}", limit="2 or more"
        )
    n = group_count
    return math.sqrt(2.0 / (n - 1.0)) * math.exp(math.lgamma(n / 2.0) - math.lgamma((n - 1.0) / 2.0))


def mean_of_ranges_ratio(*, group_count: int, ranges_count: int) -> float:
    """Root of the mean square of a mean of several ranges, in standard deviations of the readings; called d2*.

    Formula:  d2* = sqrt(d2^2 + d3^2 / g)
    Args:     group_count: n, 2 to 100.   ranges_count: g, 1 or more.
    Returns:  above 0; d2 for very many ranges.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as mean_range_ratio.
    Source:   range_of_normal_readings; gauge_study_manual as quoted, whose factors K2 and K3 are its inverse for g = 1.
    Departs:  nothing.
    Checked:  tests/published/test_gauge_study.py
    """
    if ranges_count < 1:
        raise OutOfRange("A mean is of one range or more", where="ranges_count", value=f"{ranges_count}", limit="1")
    mean, spread = _moments(group_count)
    return math.sqrt(mean * mean + spread * spread / ranges_count)


def chart_factors(*, group_count: int) -> ChartFactors:
    """Factors of the limits of charts of means, ranges and standard deviations, three standard deviations out.

    Formula:  A2 = 3 / (d2 sqrt n), A3 = 3 / (c4 sqrt n), D3 and D4 = 1 -+ 3 d3 / d2, B3 and B4 = 1 -+ 3 sqrt(1 - c4^2)
              / c4; none below 0
    Args:     group_count: n, 2 to 100.
    Returns:  the six factors.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as mean_range_ratio.
    Source:   control_chart_factors, seen directly.   Departs: computed, where the source prints three places.
    Checked:  tests/published/test_control_chart_factors.py
    """
    d2, d3 = _moments(group_count)
    c4 = mean_deviation_ratio(group_count=group_count)
    root = math.sqrt(group_count)
    reach = 3.0 * math.sqrt(1.0 - c4 * c4) / c4
    return ChartFactors(
        a2=3.0 / (d2 * root), a3=3.0 / (c4 * root), b3=max(0.0, 1.0 - reach), b4=1.0 + reach,
        d3_low=max(0.0, 1.0 - 3.0 * d3 / d2), d4=1.0 + 3.0 * d3 / d2,
    )  # fmt: skip


@cache
def _moments(group_count: int) -> tuple[float, float]:
    """Mean and standard deviation of the range."""
    from scipy.special import ndtr

    _group(group_count)
    n = group_count
    x = np.arange(-_REACH, _REACH + _STEP / 2.0, _STEP)
    below = ndtr(x)
    above = ndtr(-x)
    d2 = _STEP * float(np.sum(1.0 - below**n - above**n))
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    widths = _REACH * (nodes + 1.0)
    density = np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
    within = ndtr(x[None, :] + widths[:, None]) - below[None, :]
    reached = n * _STEP * np.sum(density * within ** (n - 1), axis=1)
    square = 2.0 * _REACH * float(np.sum(weights * widths * (1.0 - reached)))
    return d2, math.sqrt(square - d2 * d2)
