"""A number with its interval, unit, source and strength."""

from __future__ import annotations

import math
from typing import Literal, get_args

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

# keys of docs/sources.toml for what an owner wrote; alone it means that no source was written beside the number,
# with a colon behind it the owner's own words follow
OWNER_FILES = ("shop-file", "job-file")


class Fact(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number that carries where it comes from.

    Args:     low, nominal, high: same unit, low <= nominal <= high.   unit: as printed, e.g. "mm".
              source: a key of docs/sources.toml, or such a key, a colon and words.   strength: how well it is known.
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

    @property
    def is_backed(self) -> bool:
        """True when a source was written, the ends lie apart and nobody merely assumed it.

        Where people can get hurt nothing less counts as known: a lone number says nothing of how far it may be off.
        """
        return self.source not in ("", *OWNER_FILES) and self.strength != "assumed" and self.low < self.high

    @property
    def lack_words(self) -> str:
        """Why a fact that is not backed is not, after "the number"."""
        if self.strength == "assumed":
            return "is only assumed"
        return "has no lowest and highest" if self.low == self.high else "has no source"


def exact_fact(value: float, unit: str, source: str, strength: Strength) -> Fact:
    """A fact without spread."""
    return Fact(low=value, nominal=value, high=value, unit=unit, source=source, strength=strength)


def spread_fact(value: float, share: float, unit: str, source: str, strength: Strength) -> Fact:
    """A fact of plus and minus `share` of its nominal, share in 0..1."""
    half = abs(value) * share
    return Fact(low=value - half, nominal=value, high=value + half, unit=unit, source=source, strength=strength)


def weaker_of(one: Strength, other: Strength) -> Strength:
    """The weaker of two strengths: what is reckoned from several numbers is known no better than the worst of them."""
    order: tuple[Strength, ...] = get_args(Strength)
    return one if order.index(one) >= order.index(other) else other
