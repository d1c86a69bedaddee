"""Whole plans out of a relaxed one: take the whole bars of it, relax what is left again, and so on."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import msgspec

from proveout.solving.bars import Bar, Key, Order, Taken, cheapest, cost_of, is_within
from proveout.solving.columns import Relaxed, relax
from proveout.solving.filling_by_hand import plain_plan

WHOLE_SLACK = 1e-6


def rounded(bars: Sequence[Bar], order: Order, relaxed: Relaxed, enough: int) -> tuple[Taken | None, set[Key]]:
    """The cheapest whole plan met on the way down, and every filling that was met.

    At each level the plan is completed without a search as well.  enough: a cost at which to stop.
    """
    plan: Taken = Counter()
    left, stock = order.counts, [bar.most_bars for bar in bars]
    best: Taken | None = None
    met: set[Key] = set(relaxed.taken)
    now = relaxed
    while True:
        fixed = _whole_part(now, left, stock)
        for (at, pattern), times in fixed:
            plan[at, pattern] += times
            left = tuple(max(0, count - times * n) for count, n in zip(left, pattern, strict=True))
            most = stock[at]
            stock[at] = None if most is None else most - times
        few = [msgspec.structs.replace(bar, most_bars=most) for bar, most in zip(bars, stock, strict=True)]
        rest = msgspec.structs.replace(order, counts=left)
        end = plain_plan(few, rest) if any(left) else Counter[Key]()
        if end is not None:
            whole = plan + end
            met.update(whole)
            best = cheapest((best, whole), bars)
        if not any(left) or not fixed or (best is not None and cost_of(best, bars) <= enough):
            return best, met
        now = relax(few, rest, sorted(key for key in met if is_within(key[1], left)))
        met.update(now.taken)


def _whole_part(now: Relaxed, left: Sequence[int], stock: Sequence[int | None]) -> list[tuple[Key, int]]:
    """Every filling as often as the relaxation takes it whole; where it takes none whole, the most taken once."""
    fixed: list[tuple[Key, int]] = []
    counts, room = list(left), list(stock)
    order = sorted(now.taken.items(), key=lambda one: (-one[1], one[0]))
    for is_once in (False, True):
        for (at, pattern), share in order:
            times = 1 if is_once else math.floor(share + WHOLE_SLACK)
            most = room[at]
            if most is not None:
                times = min(times, most)
            if times <= 0 or not is_within(pattern, counts) or (is_once and share < WHOLE_SLACK):
                continue
            times = min(times, *(count // n for count, n in zip(counts, pattern, strict=True) if n))
            counts = [count - times * n for count, n in zip(counts, pattern, strict=True)]
            room[at] = None if most is None else most - times
            fixed.append(((at, pattern), times))
            if is_once:
                break
        if fixed:
            break
    return fixed
