"""Bars, what is asked of them, and which bars are taken, in whole numbers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from operator import le

import msgspec

from proveout.solving.patterns import Pattern

Key = tuple[int, Pattern]  # kind of bar, and what is sawn from it
Taken = Counter[Key]


class Bar(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of bar: length and room (usable length plus one kerf) in steps, price in steps, bars to be had."""

    length: int
    room: int
    price: int
    most_bars: int | None


class Order(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be sawn, longest first: piece plus kerf in steps, counts; kerf and trim in steps."""

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    kerf: int
    trim: int


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """Bars to take: (bar index, pattern) to count, their cost and the cost that nothing beats."""

    bars: Taken
    cost: int
    bound: int


def price_step(bars: Sequence[Bar]) -> int:
    """Every plan costs a multiple of this."""
    return math.gcd(*(bar.price for bar in bars)) or 1


def cost_of(taken: Mapping[Key, int], bars: Sequence[Bar]) -> int:
    """What the bars cost."""
    return sum(bars[at].price * count for (at, _), count in taken.items())


def cheapest(plans: Iterable[Taken | None], bars: Sequence[Bar]) -> Taken | None:
    """The cheapest of plans that may be missing, the first of those that cost the same; None where all are."""
    found = [plan for plan in plans if plan is not None]
    return min(found, key=lambda plan: cost_of(plan, bars), default=None)


def is_within(pattern: Pattern, counts: Sequence[int]) -> bool:
    """True when the pattern holds no more of a size than is asked for."""
    return all(map(le, pattern, counts))
