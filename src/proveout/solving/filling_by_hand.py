"""Whole plans without a search: longest piece first into the first bar that has room, and fullest bar first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import msgspec

from proveout.solving.bars import Bar, Order, Taken, cheapest
from proveout.solving.filling import fullest
from proveout.solving.patterns import Pattern, first_fit_patterns


def plain_plan(bars: Sequence[Bar], order: Order) -> Taken | None:
    """The cheapest of: first fit, longest first, of each kind of bar alone; the fullest bars, of all kinds.

    None when none of these finds enough bars, which does not say that there are not enough.
    """
    plans = [_first_fit(at, bar, order) for at, bar in enumerate(bars)]
    return cheapest([*plans, fullest_first(bars, order), _long_bars_first(bars, order)], bars)


def _first_fit(at: int, bar: Bar, order: Order) -> Taken | None:
    if any(count and size > bar.room for size, count in zip(order.sizes, order.counts, strict=True)):
        return None
    filled = first_fit_patterns(lengths=order.sizes, room=bar.room, demand=order.counts)
    if bar.most_bars is not None and len(filled) > bar.most_bars:
        return None
    return Counter((at, pattern) for pattern in filled)


def fullest_first(bars: Sequence[Bar], order: Order) -> Taken | None:
    """The longest piece still asked for, and beside it whatever fills a bar at the least price for its metal."""
    left = list(order.counts)
    stock = [bar.most_bars for bar in bars]
    plan: Taken = Counter()
    while any(left):
        first = next(index for index, count in enumerate(left) if count)
        size = order.sizes[first]
        kinds = [at for at, bar in enumerate(bars) if bar.room >= size and stock[at] != 0]
        if not kinds:
            return None
        left[first] -= 1
        fillings = [fullest(order.sizes, left, bars[at].room - size) for at in kinds]
        left[first] += 1
        _, at, pattern = min((_price_of_metal(bars[at], order, size, pattern), at, pattern)
                             for at, pattern in zip(kinds, fillings, strict=True))  # fmt: skip
        pattern = tuple(n + (1 if index == first else 0) for index, n in enumerate(pattern))
        times = min(count // n for count, n in zip(left, pattern, strict=True) if n)
        most = stock[at]
        if most is not None:
            times = min(times, most)
            stock[at] = most - times
        left = [count - times * n for count, n in zip(left, pattern, strict=True)]
        plan[at, pattern] += times
    return plan


def _price_of_metal(bar: Bar, order: Order, size: int, pattern: Pattern) -> float:
    """Price of a bar for each step of it that becomes a piece or a kerf."""
    return bar.price / (size + sum(n * one for n, one in zip(pattern, order.sizes, strict=True)))


def _long_bars_first(bars: Sequence[Bar], order: Order) -> Taken | None:
    """All limited bars, the longest first, then the rest by the fullest bars: where bars are few this may suffice."""
    if all(bar.most_bars is None for bar in bars):
        return None
    left = order.counts
    plan: Taken = Counter()
    for at in sorted(range(len(bars)), key=lambda one: (-bars[one].room, one)):
        bar = bars[at]
        fitting = tuple(n if size <= bar.room else 0 for n, size in zip(left, order.sizes, strict=True))
        if not any(fitting):
            continue
        part = fullest_first(
            [msgspec.structs.replace(bar, most_bars=None)], msgspec.structs.replace(order, counts=fitting)
        )
        room = bar.most_bars
        for (_, pattern), times in (part or {}).items():
            taken = times if room is None else min(times, room)
            if taken:
                plan[at, pattern] += taken
                left = tuple(count - taken * n for count, n in zip(left, pattern, strict=True))
                room = None if room is None else room - taken
    return None if any(left) else plan
