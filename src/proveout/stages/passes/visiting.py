"""In which order places are visited: a short way through all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
EXACT_COUNT = 9
"""Up to so many places the shortest way of all is found; beyond, one that no exchange of two legs makes shorter."""
IMPROVED_COUNT = 200
MOVED_COUNT = 60
LESS_MM = 1e-6


def short_way(places_mm: Array) -> list[int]:
    """Order of places (n, 2) mm on a way from the first of them to the last.

    Formula:  the sum of straight distances: for up to 9 places least of all orders, by the best way to each set of
              places and its last one; for more, from the nearest to the nearest and then every stretch turned round
              that makes the way shorter, until none does; for more than 200 from the nearest to the nearest alone.
    Args:     places_mm: (n, 2).
    Returns:  the rows, each once; of equally long ways the first by number.
    Valid:    rapid moves at one height.
    Source:   own derivation after the recursion of Held and Karp.   Departs: nothing.
    Checked:  tests/stages/passes/test_visiting.py
    """
    count = len(places_mm)
    if count < 2:
        return list(range(count))
    between = np.linalg.norm(places_mm[:, None, :] - places_mm[None, :, :], axis=2)
    return _exact(between, (0,) * count) if count <= EXACT_COUNT else _improved(between)


def short_way_in_turn(starts_mm: Array, ends_mm: Array, before: Sequence[int]) -> list[int]:
    """Order of runs that begin at one place and end at another, each after those that come before it.

    Formula:  the sum of straight distances from each end to the next start: for up to 9 runs least of all orders; for
              more the shorter of the order given and of the one from the nearest to the nearest, and then every single
              run put elsewhere where that makes the way shorter; for more than 60 without that last.
    Args:     starts_mm, ends_mm: (n, 2).   before: of each run, as bits, those that come before it; never one that
              is given after it.
    Returns:  the rows, each once; of equally long ways the first by number.
    Valid:    rapid moves at one height.
    Source:   own derivation after the recursion of Held and Karp.   Departs: nothing.
    Checked:  tests/stages/passes/test_visiting.py
    """
    count = len(starts_mm)
    if count < 2:
        return list(range(count))
    between = np.linalg.norm(ends_mm[:, None, :] - starts_mm[None, :, :], axis=2)
    if count <= EXACT_COUNT:
        return _exact(between, before)
    order = min(list(range(count)), _nearest_in_turn(between, before), key=lambda way: round(_length(between, way), 6))
    return _moved(between, before, order) if count <= MOVED_COUNT else order


def _exact(between: Array, before: Sequence[int]) -> list[int]:
    count = len(between)
    best = {(1 << k, k): (0.0, -1) for k in range(count) if not before[k]}
    for mask in range(1, 1 << count):
        for last in range(count):
            here = best.get((mask, last))
            if here is None:
                continue
            for after in range(count):
                if mask >> after & 1 or before[after] & ~mask:
                    continue
                key, length = (mask | 1 << after, after), here[0] + float(between[last, after])
                if key not in best or length < best[key][0] - LESS_MM:
                    best[key] = length, last
    mask = (1 << count) - 1
    last = min((k for k in range(count) if (mask, k) in best), key=lambda k: (round(best[mask, k][0], 6), k))
    order: list[int] = []
    while last >= 0:
        order.append(last)
        mask, last = mask ^ 1 << last, best[mask, last][1]
    return order[::-1]


def _improved(between: Array) -> list[int]:
    count = len(between)
    order = [0]
    left = np.ones(count, dtype=bool)
    left[order[0]] = False
    while left.any():
        away = np.where(left, between[order[-1]], np.inf)
        order.append(int(np.argmin(away)))
        left[order[-1]] = False
    better = count <= IMPROVED_COUNT
    while better:
        better = False
        for first in range(count - 1):
            for last in range(first + 1, count):
                before = 0.0 if first == 0 else between[order[first - 1], order[first]]
                instead = 0.0 if first == 0 else between[order[first - 1], order[last]]
                if last + 1 < count:
                    before = before + between[order[last], order[last + 1]]
                    instead = instead + between[order[first], order[last + 1]]
                if instead < before - LESS_MM:
                    order[first : last + 1] = order[first : last + 1][::-1]
                    better = count <= IMPROVED_COUNT
    return order


def _length(between: Array, order: Sequence[int]) -> float:
    return float(between[list(order[:-1]), list(order[1:])].sum())


def _nearest_in_turn(between: Array, before: Sequence[int]) -> list[int]:
    order, done = [0], 1
    while len(order) < len(between):
        free = [k for k in range(len(between)) if not done >> k & 1 and not before[k] & ~done]
        order.append(min(free, key=lambda k: (float(between[order[-1], k]), k)))
        done |= 1 << order[-1]
    return order


def _moved(between: Array, before: Sequence[int], order: list[int]) -> list[int]:
    """The order without a run that would lie better elsewhere."""
    length, better = _length(between, order), True
    while better:
        better = False
        for one in list(order):
            rest = [k for k in order if k != one]
            # after all that come before it, and before all that it comes before
            first = max((rest.index(k) + 1 for k in rest if before[one] >> k & 1), default=0)
            last = min((rest.index(k) for k in rest if before[k] >> one & 1), default=len(rest))
            for at in range(first, last + 1):
                tried = [*rest[:at], one, *rest[at:]]
                if _length(between, tried) < length - LESS_MM:
                    order, length, better = tried, _length(between, tried), True
    return order
