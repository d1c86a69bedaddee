"""Capability: how a spread of readings lies within limits, and what so many readings prove of it."""

from __future__ import annotations

import math

import msgspec

from proveout.quantities.bounds import above_zero, inside_zero_and_one
from proveout.quantities.errors import OutOfRange

_HALVINGS = 200


class Between(msgspec.Struct, frozen=True, kw_only=True):
    """Confidence limits: both together hold the true value with the confidence asked for."""

    low: float
    high: float


def in_order(low: float | None, high: float | None) -> None:
    """OutOfRange when there are two limits and they are not finite or the low one does not lie below the high one."""
    if low is None or high is None:
        return
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise OutOfRange("The low limit lies below the high one", value=f"{low:g} and {high:g}", do="swap the two")


def capability_ratio(*, low: float, high: float, deviation: float) -> float:
    """Width between the limits over six standard deviations: Cp by the spread within groups, Pp by the whole spread.

    Formula:  (U - L) / (6 s)
    Args:     low: L, any number.   high: U, above low.   deviation: s, > 0; all in one unit.
    Returns:  above 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings of a process that stands still.
    Source:   capability_review, seen directly.   Departs: nothing.
    Checked:  tests/published/test_capability.py
    """
    in_order(low, high)
    above_zero(deviation=deviation)
    return (high - low) / (6.0 * deviation)


def worse_side_ratio(*, low: float | None, high: float | None, mean: float, deviation: float) -> float:
    """Distance of the mean from the nearer limit over three standard deviations: Cpk, or Ppk by the whole spread.

    Formula:  min((U - m) / (3 s), (m - L) / (3 s)); with one limit that side alone
    Args:     low: L.   high: U, above low; either may be missing, not both.   mean: m.   deviation: s, > 0.
    Returns:  any sign; below 0 where the mean lies outside.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as capability_ratio.
    Source:   capability_review, seen directly.   Departs: nothing.
    Checked:  tests/published/test_capability.py
    """
    above_zero(deviation=deviation)
    in_order(low, high)
    sides: list[float] = []
    if high is not None:
        sides.append(high - mean)
    if low is not None:
        sides.append(mean - low)
    if not sides:
        raise OutOfRange("There is no limit to compare with", value="neither", limit="a low or a high one, or both")
    return min(sides) / (3.0 * deviation)


def capability_limits(*, found_ratio: float, freedom_count: int, confidence_ratio: float) -> Between:
    """Confidence limits of Cp or Pp.

    Formula:  Cp sqrt(chi2((1 - C) / 2; v) / v) to Cp sqrt(chi2((1 + C) / 2; v) / v)
    Args:     found_ratio: Cp, > 0.   freedom_count: v, degrees of freedom of its standard deviation, >= 1.
              confidence_ratio: C, above 0 and below 1.
    Returns:  the two limits, exact for normal readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings; the standard deviation from squares, not from ranges.
    Source:   capability_review, chi-square.   Departs: nothing.
    Checked:  tests/published/test_capability.py; tests/laws/test_gauging_laws.py
    """
    from scipy.special import chdtri

    above_zero(found_ratio=found_ratio)
    _freedom(freedom_count, confidence_ratio)
    tail = 0.5 * (1.0 - confidence_ratio)
    low, high = (float(chdtri(freedom_count, upper)) for upper in (1.0 - tail, tail))
    return Between(
        low=found_ratio * math.sqrt(low / freedom_count), high=found_ratio * math.sqrt(high / freedom_count)
    )  # fmt: skip


def worse_side_limits(
    *, found_ratio: float, readings_count: int, freedom_count: int, confidence_ratio: float
) -> Between:  # fmt: skip
    """Approximate confidence limits of Cpk or Ppk.

    Formula:  Cpk -+ z sqrt(1 / (9 n) + Cpk^2 / (2 v)), z the normal quantile of (1 + C) / 2
    Args:     found_ratio: Cpk.   readings_count: n, of the mean, >= 2.   freedom_count: v, of the standard deviation,
              >= 1.   confidence_ratio: C, above 0 and below 1.
    Returns:  the two limits, by a normal law for what is not quite normal.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings, some tens of them; with few the lower limit by worse_side_low_ratio holds.
    Source:   capability_review, after Bissell 1990, seen directly.   Departs: v stands for n - 1 where the standard
              deviation is that within groups.
    Checked:  tests/published/test_capability.py
    """
    from scipy.special import ndtri

    _freedom(freedom_count, confidence_ratio)
    if readings_count < 2:
        raise OutOfRange("There are too few readings", value=f"{readings_count}", limit="2 or more")
    reach = float(ndtri(0.5 * (1.0 + confidence_ratio))) * math.sqrt(
        1.0 / (9.0 * readings_count) + found_ratio * found_ratio / (2.0 * freedom_count)
    )
    return Between(low=found_ratio - reach, high=found_ratio + reach)


def worse_side_low_ratio(
    *, found_ratio: float, readings_count: int, freedom_count: int, confidence_ratio: float
) -> float:  # fmt: skip
    """What Cpk or Ppk is at least, with such a confidence.

    Formula:  the c at which a non-central t of v degrees and centre 3 c sqrt(n) stays below 3 Cpk sqrt(n) with
              probability C
    Args:     found_ratio: Cpk.   readings_count: n, of the mean, >= 2.   freedom_count: v, of the standard deviation,
              >= 1.   confidence_ratio: C, above 0 and below 1.
    Returns:  exact for one limit and normal readings; with two limits the true one is at least that with C or more.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings of a process whose mean stands still.
    Source:   capability_review, after Chou, Owen and Borrego 1990, as quoted.   Departs: one side's law for both, which
              errs to the lower.
    Checked:  tests/published/test_capability.py; tests/laws/test_gauging_laws.py
    """
    from scipy.special import nctdtr

    _freedom(freedom_count, confidence_ratio)
    if readings_count < 2:
        raise OutOfRange("There are too few readings", value=f"{readings_count}", limit="2 or more")
    scale = 3.0 * math.sqrt(readings_count)
    seen = scale * found_ratio
    # below the smallest centre tried the law is left of the seen value all but surely
    low, high = seen - 10.0 - abs(seen), seen + 10.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        below = float(nctdtr(freedom_count, middle, seen))
        low, high = (middle, high) if below > confidence_ratio else (low, middle)
    return low / scale


def _freedom(freedom_count: int, confidence_ratio: float) -> None:
    if freedom_count < 1:
        raise OutOfRange("A spread needs one degree of freedom", value=f"{freedom_count}", limit="1 or more")
    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
