"""How many whole working days a further lot is away, from what lots before it say."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from scipy.special import ndtr

from proveout.learning.factors import Learned
from proveout.learning.prior import INSIDE_RATIO
from proveout.learning.spread import INSIDE_END, SPREADS
from proveout.quantities.bounds import above_zero, between
from proveout.quantities.errors import OutOfRange

MOST_DAYS = 1000
"""The last day of a row at most; what would be later counts there (our own)."""
BEYOND = 1e-9
"""Chance that is left beyond the last day of a row."""


class DaysChances(msgspec.Struct, frozen=True, kw_only=True):
    """How likely a lot is away for one day, two days and so on. chances: from the first day, of sum 1."""

    chances: tuple[float, ...]

    def inside_ratio(self, days: int) -> float:
        """What part of a day's chance lies inside the middle eight tenths of all: 1 well inside, 0 well outside.

        The two days at the ends share theirs, so that over lots which follow these chances its mean is 0.8 exactly.
        """
        if not 1 <= days <= len(self.chances):
            return 0.0
        own, below = self.chances[days - 1], math.fsum(self.chances[: days - 1])
        if own <= 0.0:
            return float(1.0 - INSIDE_END <= below <= INSIDE_END)
        inside = min(below + own, INSIDE_END) - max(below, 1.0 - INSIDE_END)
        return min(1.0, max(0.0, inside / own))

    def fewest_run(self) -> tuple[int, int, float]:
        """The fewest days in a row that hold at least eight lots of ten: first, last, and the share they hold."""
        below = np.concatenate(([0.0], np.cumsum(self.chances)))
        size = len(self.chances)
        for count in range(1, size + 1):
            held = below[count:] - below[: size + 1 - count]
            at = int(np.argmax(held))
            if held[at] >= INSIDE_RATIO:
                return at + 1, at + count, min(1.0, float(held[at]))
        raise OutOfRange("Chances of days have no sum of 1", value=str(below[-1]))


def days_chances(told: Learned, *, middle_days: float) -> DaysChances:
    """How likely a further lot is away for each count of whole working days.

    Formula:  p(d) = F(d + 1/2) - F(d - 1/2), p(1) = F(3/2); F(x) = sum w_s Phi((ln(x / m) - t) / sqrt(C_s + s^2)): t
              and C_s of the one factor and w_s of the spread s from batch to batch as learned
    Args:     told: of one factor, on the middle days.   middle_days: m, > 0.
    Returns:  chances from one day on, until nothing is left beyond or to day 1000; their sum is 1.
    Raises:   OutOfRange when there is more than one factor, or m is out of bounds.
    Valid:    days counted whole, each lot rounded by itself; to round is no scatter of lots, hence stands in no s.
    Source:   own-algorithm, our own derivation: a mixture of normal laws, counted in whole days; count_intervals, that
              ends of whole numbers share their chance where a band is to be checked, from memory.   Departs: nothing.
    Checked:  tests/laws/test_days_law.py
    """
    above_zero(middle_days=middle_days)
    between(low=1, high=1, factors_count=len(told.middles))
    sides = np.sqrt(told.covariances[:, 0, 0] + SPREADS**2)
    ends = np.log((np.arange(1, MOST_DAYS + 1) + 0.5) / middle_days) - math.log(told.middles[0])
    below = ndtr(ends[:, None] / sides) @ told.weights
    count = min(MOST_DAYS, int(np.searchsorted(below, 1.0 - BEYOND)) + 1)
    chances = np.diff(np.concatenate(([0.0], below[:count])))
    return DaysChances(chances=tuple(map(float, chances / chances.sum())))
