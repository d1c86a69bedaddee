"""Drift: how a size moves as its cutter wears, and how often that asks for a check."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from proveout.gauging.summary import finite, mean_of, squares_about
from proveout.quantities.bounds import above_zero, inside_zero_and_one
from proveout.quantities.errors import OutOfRange

FREE_RATIO = 0.25
"""Of the accepted width, at each end: as far a size may move from one check to the next."""


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """A straight line through readings. start: at 0;  slope: per unit of the other axis, with its confidence limits.

    start_error, slope_error: standard deviations of the two.   deviation: of the readings about the line.
    """

    start: float
    slope: float
    start_error: float
    slope_error: float
    slope_low: float
    slope_high: float
    deviation: float
    freedom_count: int

    @property
    def is_shown(self) -> bool:
        """Whether the limits of the slope leave out 0."""
        return not self.slope_low <= 0.0 <= self.slope_high


def line_through(*, places: Sequence[float], readings: Sequence[float], confidence_ratio: float) -> Line:
    """The straight line of least squares through readings, and between what slopes the true one lies.

    Formula:  b = sum (x - mx)(y - my) / sum (x - mx)^2, a = my - b mx, s^2 = sum (y - a - b x)^2 / (n - 2),
              b -+ t s / sqrt(sum (x - mx)^2), t of n - 2 degrees
    Args:     places: x, finite, at least two different ones.   readings: y, as many, at least three.
              confidence_ratio: C, above 0 and below 1.
    Returns:  the line with its errors.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    readings that scatter about a straight line independently, with one standard deviation.
    Source:   nist_strd, certified lines.   Departs: sums rounded once, about the means.
    Checked:  tests/published/test_drift.py; tests/outside/test_statistics.py
    """
    from scipy.special import stdtrit

    finite(readings, least=3)
    finite(places, least=3)
    if len(places) != len(readings):
        raise OutOfRange("Each reading has its place", value=f"{len(places)} places, {len(readings)} readings")
    inside_zero_and_one("A confidence", confidence_ratio=confidence_ratio)
    mx, my = mean_of(places), mean_of(readings)
    wide = squares_about(places, mx)
    if wide <= 0.0:
        raise OutOfRange("All readings stand at one place", value=f"{places[0]:g}", limit="two places or more")
    slope = math.fsum((x - mx) * (y - my) for x, y in zip(places, readings, strict=True)) / wide
    left = [(y - my) - slope * (x - mx) for x, y in zip(places, readings, strict=True)]
    freedom = len(readings) - 2
    deviation = math.sqrt(math.fsum(one * one for one in left) / freedom)
    error = deviation / math.sqrt(wide)
    reach = float(stdtrit(freedom, 0.5 * (1.0 + confidence_ratio))) * error
    return Line(
        start=my - slope * mx, slope=slope,
        start_error=deviation * math.sqrt(1.0 / len(readings) + mx * mx / wide), slope_error=error,
        slope_low=slope - reach, slope_high=slope + reach, deviation=deviation, freedom_count=freedom,
    )  # fmt: skip


def pieces_between_checks_count(*, accepted_mm: float, moved_mm: float) -> int:
    """Pieces from one check to the next so that the size moves by no more than a quarter of the accepted width.

    Formula:  n = floor(W / 4 / d), at least 1
    Args:     accepted_mm: W, from the lowest to the highest reading accepted, > 0.   moved_mm: d, how far the size
              moves from piece to piece at the worst, > 0.
    Returns:  pieces, >= 1; 1 also where one piece moves it farther.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    wear that goes on evenly. A reading inside the middle half then stays inside the accepted width up to the
              next check, as far as wear alone goes.
    Source:   own-algorithm, a quarter at each end.   Departs: nothing.
    Checked:  tests/published/test_drift.py
    """
    above_zero(accepted_mm=accepted_mm, moved_mm=moved_mm)
    return max(1, min(1_000_000, math.floor(FREE_RATIO * accepted_mm / moved_mm + 1e-9)))
