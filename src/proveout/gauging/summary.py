"""Mean and spread of readings, to all digits that double precision holds, and figures that one stray reading spares."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

import msgspec

from proveout.quantities.distribution import NORMAL_MAD
from proveout.quantities.errors import OutOfRange

STRAY_RATIO = 3.5
"""Robust standard deviations from the middle beyond which a reading is pointed at."""


class Summary(msgspec.Struct, frozen=True, kw_only=True):
    """Of readings, in their own unit. middle: the median;  calm: standard deviation from the median distance to it.

    strays: places of the readings that lie farther out than all others would have it, counted from 0.
    values_count: how many different readings there are.
    """

    readings_count: int
    mean: float
    deviation: float
    low: float
    high: float
    middle: float
    calm: float
    values_count: int
    strays: tuple[int, ...]


class Pooled(msgspec.Struct, frozen=True, kw_only=True):
    """The spread within groups. freedom_count: degrees of freedom."""

    deviation: float
    freedom_count: int


def finite(readings: Sequence[float], *, least: int) -> None:
    """OutOfRange when there are fewer readings than `least`, or one is no finite number."""
    if len(readings) < least:
        raise OutOfRange(
            "There are too few readings", value=f"{len(readings)}", limit=f"{least} or more", do="gauge more pieces"
        )
    for at, reading in enumerate(readings):
        if not math.isfinite(reading):
            raise OutOfRange("A reading is no number", where=f"reading {at + 1}", value=f"{reading}")


def mean_of(readings: Sequence[float]) -> float:
    """Mean of readings.

    Formula:  sum of x / n
    Args:     readings: x, at least one, finite.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   nist_strd, certified means.   Departs: nothing; statistics.fmean rounds the sum once.
    Checked:  tests/published/test_small_summaries.py; tests/outside/test_statistics.py
    """
    finite(readings, least=1)
    return statistics.fmean(readings)


def squares_about(readings: Sequence[float], mean: float) -> float:
    """Sum of the squared distances of readings from their mean.

    Formula:  sum of (x - m)^2 - (sum of (x - m))^2 / n
    Args:     readings: x, at least one.   mean: m, as mean_of gives it.
    Returns:  the unit of the readings squared, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere; the second term takes back what rounding left in the mean.
    Source:   nist_strd, certified standard deviations.   Departs: nothing.
    Checked:  tests/published/test_small_summaries.py; tests/outside/test_statistics.py
    """
    finite(readings, least=1)
    apart = [reading - mean for reading in readings]
    return max(0.0, math.fsum(one * one for one in apart) - math.fsum(apart) ** 2 / len(readings))


def deviation_of(readings: Sequence[float]) -> float:
    """Standard deviation of readings about their own mean.

    Formula:  sqrt(sum of (x - mean)^2 / (n - 1))
    Args:     readings: x, at least two, finite.
    Returns:  the unit of the readings, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   nist_strd, certified standard deviations.   Departs: nothing; statistics.stdev reckons in fractions and
              rounds once, the root.
    Checked:  tests/published/test_small_summaries.py; tests/outside/test_statistics.py
    """
    finite(readings, least=2)
    return statistics.stdev(readings)


def pooled_deviation(groups: Sequence[Sequence[float]]) -> Pooled:
    """Standard deviation within groups, each about its own mean.

    Formula:  sqrt(sum of all (x - mean of its group)^2 / sum of (n_i - 1))
    Args:     groups: readings of each, finite; groups of one add nothing.
    Returns:  the unit of the readings, with its degrees of freedom.
    Raises:   OutOfRange when no group has two readings.
    Valid:    one standard deviation in all groups; their means may differ.
    Source:   nist_strd, certified residual standard deviations of the analyses of variance.   Departs: nothing.
    Checked:  tests/published/test_small_summaries.py; tests/outside/test_statistics.py
    """
    freedom = sum(len(group) - 1 for group in groups if group)
    if freedom < 1:
        raise OutOfRange("No group has two readings", value=f"{len(groups)} groups", limit="one group of two or more")
    squares = math.fsum(squares_about(group, mean_of(group)) for group in groups if group)
    return Pooled(deviation=math.sqrt(squares / freedom), freedom_count=freedom)


def median_of(readings: Sequence[float]) -> float:
    """Middle reading, or half-way between the two middle ones.

    Formula:  the reading of rank (n + 1) / 2
    Args:     readings: at least one, finite.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   robust_summaries.   Departs: nothing; statistics.median takes half the sum of the two middle ones.
    Checked:  tests/published/test_small_summaries.py
    """
    finite(readings, least=1)
    return statistics.median(readings)


def summary_of(readings: Sequence[float]) -> Summary:
    """Mean, spread and middle of readings, and which of them lie strangely far out.

    Formula:  calm = 1.4826 median |x - median|; stray where |x - median| > 3.5 calm
    Args:     readings: at least two, finite.
    Returns:  the unit of the readings; nothing is called stray where more than half of the readings are equal.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a stray reading is a question to whoever gauged it, never left out here.
    Source:   robust_summaries.   Departs: nothing.
    Checked:  tests/published/test_small_summaries.py
    """
    middle = median_of(readings)
    calm = NORMAL_MAD * median_of([abs(reading - middle) for reading in readings])
    far = STRAY_RATIO * calm
    return Summary(
        readings_count=len(readings), mean=mean_of(readings), deviation=deviation_of(readings), low=min(readings),
        high=max(readings), middle=middle, calm=calm, values_count=len(set(readings)),
        strays=tuple(at for at, one in enumerate(readings) if calm > 0.0 and abs(one - middle) > far),
    )  # fmt: skip
