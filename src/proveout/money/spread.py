"""One uncertain number as a distribution between two ends, and its value at shares of the draws."""

from __future__ import annotations

import math
from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.fact import Fact
from proveout.quantities.distribution import triangular_mean, triangular_sd
from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]
Shape = Literal["exact", "triangular", "uniform"]
# what nobody measured or guessed has no likeliest value that could be trusted: even between its ends, which is wider
EVEN = ("assumed", "common practice")


class Spread(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Low end, likely value and high end, one unit. exact: the three are one; uniform: the likely value is not used."""

    low: float
    likely: float
    high: float
    shape: Shape

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise OutOfRange(
                "A spread must be in order low <= likely <= high", value=f"{self.low}, {self.likely}, {self.high}"
            )

    @property
    def mean(self) -> float:
        """Its mean."""
        if self.shape == "uniform":
            return 0.5 * (self.low + self.high)
        return triangular_mean(low=self.low, likely=self.likely, high=self.high)

    @property
    def sd(self) -> float:
        """Its standard deviation."""
        if self.shape == "uniform":
            return (self.high - self.low) / math.sqrt(12.0)
        return triangular_sd(low=self.low, likely=self.likely, high=self.high)

    def at(self, shares: Array) -> Array:
        """The values below which those shares of all draws lie: the distribution turned round."""
        if self.high <= self.low:
            return np.full(shares.shape, self.likely)
        width = self.high - self.low
        if self.shape == "uniform":
            return self.low + width * shares
        turn = (self.likely - self.low) / width
        rising = self.low + np.sqrt(np.maximum(shares * width * (self.likely - self.low), 0.0))
        falling = self.high - np.sqrt(np.maximum((1.0 - shares) * width * (self.high - self.likely), 0.0))
        return np.where(shares < turn, rising, falling)


ONE = Spread(low=1.0, likely=1.0, high=1.0, shape="exact")


def exact(value: float) -> Spread:
    """A number without spread."""
    return Spread(low=value, likely=value, high=value, shape="exact")


def spread_of(fact: Fact) -> Spread:
    """A fact as a distribution: triangular about its nominal where somebody knows it, else even between its ends."""
    if fact.low == fact.high:
        return exact(fact.nominal)
    return Spread(
        low=fact.low, likely=fact.nominal, high=fact.high, shape="uniform" if fact.strength in EVEN else "triangular"
    )
