"""A number with its interval, unit, source and strength."""

from __future__ import annotations

import math
from typing import Literal

import msgspec

from proveout.quantities.errors import OutOfRange

Strength = Literal[
    "measured here",
    "published and seen",
    "published as quoted",
    "from memory",
    "common practice",
    "owner's guess",
    "assumed",
]


class Fact(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number that carries where it comes from.

    Args:     low, nominal, high: same unit, low <= nominal <= high.   unit: as printed, e.g. "mm".
              source: a key of docs/sources.toml, or who said so.   strength: how well it is known.
    Raises:   OutOfRange when the three are not finite or not in order.
    """

    low: float
    nominal: float
    high: float
    unit: str
    source: str
    strength: Strength

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.nominal) and math.isfinite(self.high)):
            raise OutOfRange("A fact needs finite numbers", value=f"{self.low}, {self.nominal}, {self.high}")
        if not self.low <= self.nominal <= self.high:
            raise OutOfRange(
                "A fact's numbers must be in order low <= nominal <= high",
                value=f"{self.low}, {self.nominal}, {self.high} {self.unit}",
                do="swap the ends or correct the number",
            )


def exact_fact(value: float, unit: str, source: str, strength: Strength) -> Fact:
    """A fact without spread."""
    return Fact(low=value, nominal=value, high=value, unit=unit, source=source, strength=strength)


def spread_fact(value: float, share: float, unit: str, source: str, strength: Strength) -> Fact:
    """A fact of plus and minus `share` of its nominal, share in 0..1."""
    half = abs(value) * share
    return Fact(low=value - half, nominal=value, high=value + half, unit=unit, source=source, strength=strength)
