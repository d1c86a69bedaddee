"""Control charts: the middle and the limits of a run of groups or single readings, and what in it is out of order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from proveout.gauging.constants import chart_factors, mean_deviation_ratio, mean_range_ratio
from proveout.gauging.summary import deviation_of, finite, mean_of
from proveout.quantities.errors import OutOfRange


class ControlLimits(msgspec.Struct, frozen=True, kw_only=True):
    """Points of one chart with its middle and its limits; in the unit of the readings."""

    points: tuple[float, ...]
    middle: float
    low: float
    high: float


class ControlChart(msgspec.Struct, frozen=True, kw_only=True):
    """Two charts of one run. places: means of groups, or single readings;  spreads: ranges or standard deviations.

    deviation: standard deviation of a single reading, from the spreads.   group_count: readings in each group.
    """

    places: ControlLimits
    spreads: ControlLimits
    deviation: float
    group_count: int


class Signal(msgspec.Struct, frozen=True, kw_only=True):
    """A point out of order, counted from 0, and by which rule; the point is the last of its run."""

    at: int
    rule: str


BEYOND = "beyond a limit"
TWO_OF_THREE = "two of three in a row beyond two thirds of the way to one limit"
FOUR_OF_FIVE = "four of five in a row beyond a third of the way to one limit"
EIGHT = "eight in a row on one side of the middle"


def chart_of_ranges(groups: Sequence[Sequence[float]]) -> ControlChart:
    """Charts of means and ranges of groups of one size.

    Formula:  m -+ A2 R for the means, D3 R and D4 R for the ranges, R the mean range; s = R / d2
    Args:     groups: at least two, of one size from 2 to 25, finite.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings, each group made one after the other; limits of fewer than 20 to 25 groups are a trial.
    Source:   control_chart_factors, seen directly.   Departs: factors computed, not rounded to three places.
    Checked:  tests/published/test_piston_rings.py; tests/outside/test_statistics.py
    """
    size = _one_size(groups, most=25)
    factors = chart_factors(group_count=size)
    return _of_groups(
        groups, tuple(max(group) - min(group) for group in groups), reach=factors.a2,
        ends=(factors.d3_low, factors.d4), ratio=mean_range_ratio(group_count=size),
    )  # fmt: skip


def chart_of_deviations(groups: Sequence[Sequence[float]]) -> ControlChart:
    """Charts of means and standard deviations of groups of one size.

    Formula:  m -+ A3 S for the means, B3 S and B4 S for the deviations, S their mean; s = S / c4
    Args:     groups: at least two, of one size from 2 to 100, finite.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as chart_of_ranges.
    Source:   control_chart_factors, seen directly.   Departs: factors computed, not rounded to three places.
    Checked:  tests/published/test_piston_rings.py; tests/outside/test_statistics.py
    """
    size = _one_size(groups, most=100)
    factors = chart_factors(group_count=size)
    return _of_groups(
        groups, tuple(deviation_of(group) for group in groups), reach=factors.a3, ends=(factors.b3, factors.b4),
        ratio=mean_deviation_ratio(group_count=size),
    )  # fmt: skip


def chart_of_singles(readings: Sequence[float]) -> ControlChart:
    """Charts of single readings and of the range from each to the next.

    Formula:  m -+ 3 R / d2 for the readings, 0 and D4 R for the ranges, R the mean range of two, d2 and D4 for two
    Args:     readings: in the order they were made, at least three, finite.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings; ranges that share a reading lean on each other, so that limits of few are a trial.
    Source:   control_chart_factors, seen directly.   Departs: factors computed, not rounded to three places.
    Checked:  tests/published/test_piston_rings.py
    """
    finite(readings, least=3)
    factors = chart_factors(group_count=2)
    ranges = tuple(abs(after - before) for before, after in pairwise(readings))
    middle, wide = mean_of(readings), mean_of(ranges)
    deviation = wide / mean_range_ratio(group_count=2)
    return ControlChart(
        places=ControlLimits(
            points=tuple(readings), middle=middle, low=middle - 3.0 * deviation, high=middle + 3.0 * deviation
        ),
        spreads=ControlLimits(points=ranges, middle=wide, low=0.0, high=factors.d4 * wide),
        deviation=deviation, group_count=1,
    )  # fmt: skip


def signals(limits: ControlLimits, *, runs: bool) -> tuple[Signal, ...]:
    """Points out of order, in their order.

    Formula:  beyond a limit; two of three beyond 2/3, four of five beyond 1/3 of the way to the same limit; eight in a
              row on one side of the middle
    Args:     limits: the chart.   runs: whether runs count, as on a chart of means; on one of spreads, whose limits lie
              unevenly, only points beyond a limit do.
    Returns:  each with its rule; a point may stand for several.
    Valid:    points in the order they were made. Of 100 good means about one is called out of order by these rules.
    Source:   run_rules, as quoted.   Departs: nothing.
    Checked:  tests/published/test_run_rules.py
    """
    found: list[Signal] = []
    # how far each point lies towards the high limit (1) or the low one (-1)
    spans = (limits.high - limits.middle, limits.middle - limits.low)
    shares = [_share(point - limits.middle, *spans) for point in limits.points]
    rules = ((TWO_OF_THREE, 3, 2, 2.0 / 3.0), (FOUR_OF_FIVE, 5, 4, 1.0 / 3.0), (EIGHT, 8, 8, 0.0))
    for at, share in enumerate(shares):
        if abs(share) > 1.0:
            found.append(Signal(at=at, rule=BEYOND))
        if not runs:
            continue
        for rule, span, least, reach in rules:
            window = shares[max(0, at - span + 1) : at + 1]
            is_run = any(
                side * share > reach and sum(side * one > reach for one in window) >= least for side in (1.0, -1.0)
            )
            if is_run:
                found.append(Signal(at=at, rule=rule))
    return tuple(found)


def _of_groups(
    groups: Sequence[Sequence[float]], spreads: tuple[float, ...], *, reach: float, ends: tuple[float, float],
    ratio: float,
) -> ControlChart:  # fmt: skip
    """The charts of means and spreads. By the mean spread: reach of the means, ends of the spreads;  ratio: its own."""
    means = tuple(mean_of(group) for group in groups)
    middle, wide = mean_of(means), mean_of(spreads)
    return ControlChart(
        places=ControlLimits(points=means, middle=middle, low=middle - reach * wide, high=middle + reach * wide),
        spreads=ControlLimits(points=spreads, middle=wide, low=ends[0] * wide, high=ends[1] * wide),
        deviation=wide / ratio, group_count=len(groups[0]),
    )  # fmt: skip


def _share(apart: float, above: float, below: float) -> float:
    span = above if apart > 0.0 else below
    if apart == 0.0:
        return 0.0
    return apart / span if span > 0.0 else math.copysign(math.inf, apart)


def _one_size(groups: Sequence[Sequence[float]], *, most: int) -> int:
    if len(groups) < 2:
        raise OutOfRange("There are too few groups", value=f"{len(groups)}", limit="2 or more", do="gauge more groups")
    sizes = {len(group) for group in groups}
    if len(sizes) > 1 or not 2 <= min(sizes) <= most:
        raise OutOfRange(
            "The groups of a chart are of one size", value=", ".join(str(size) for size in sorted(sizes)),
            limit=f"one size from 2 to {most}", do="leave out groups that are not whole",
        )  # fmt: skip
    for group in groups:
        finite(group, least=2)
    return sizes.pop()
