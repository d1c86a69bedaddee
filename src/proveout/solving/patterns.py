"""Ways to fill one bar with pieces: all of them, or those of first fit, longest piece first."""

from __future__ import annotations

from collections.abc import Sequence

Pattern = tuple[int, ...]


class TooManyPatternsError(Exception):
    """More patterns than the caller is willing to list; caught inside solving and never shown."""


def all_patterns(*, lengths: Sequence[int], room: int, most: Sequence[int], limit: int) -> list[Pattern]:
    """Every pattern with at least one piece, full or not.

    lengths: piece plus kerf, whole steps, longest first; room: usable length plus one kerf, same steps; most: pieces
    of each length worth having. Raises TooManyPatternsError beyond `limit`.
    """
    found: list[Pattern] = []

    def fill(index: int, left: int, taken: tuple[int, ...]) -> None:
        if index == len(lengths):
            if any(taken):
                found.append(taken)
                if len(found) > limit:
                    raise TooManyPatternsError
            return
        for count in range(min(most[index], left // lengths[index]), -1, -1):
            fill(index + 1, left - count * lengths[index], (*taken, count))

    fill(0, room, ())
    return found


def first_fit_patterns(*, lengths: Sequence[int], room: int, demand: Sequence[int]) -> list[Pattern]:
    """Bars filled by putting each piece, longest first, into the first bar that has room; one pattern per bar."""
    bars: list[list[int]] = []
    left: list[int] = []
    for index, count in enumerate(demand):
        for _ in range(count):
            place = next((at for at, free in enumerate(left) if free >= lengths[index]), None)
            if place is None:
                bars.append([0] * len(lengths))
                left.append(room)
                place = len(bars) - 1
            bars[place][index] += 1
            left[place] -= lengths[index]
    return [tuple(bar) for bar in bars]
