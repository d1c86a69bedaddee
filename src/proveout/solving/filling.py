"""The most valuable pieces that go into one bar, for every room at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from proveout.solving.patterns import Pattern

DENSE_CELLS = 4096
COARSE_CELLS = 2048


def fullest(sizes: Sequence[int], most: Sequence[int], room: int) -> Pattern:
    """The pieces that leave the least of one room: sums that can be reached, kept as the bits of a whole number.

    sizes: piece plus kerf, whole steps.  most: pieces of each size at most.  Of equal sums the one with more of the
    sizes named first.
    """
    cell = math.gcd(*sizes)
    cells = max(0, room // cell)
    within = (1 << (cells + 1)) - 1
    reach, steps = 1, list[tuple[int, int, int, int]]()
    for index, size in enumerate(sizes):
        for taken in _doubled(min(most[index], room // size)):
            steps.append((index, taken, taken * size // cell, reach))
            reach |= (reach << (taken * size // cell)) & within
    at, counts = reach.bit_length() - 1, [0] * len(sizes)
    for index, taken, width, before in reversed(steps):
        if not before >> at & 1:
            counts[index] += taken
            at -= width
    return tuple(counts)


def _doubled(count: int) -> Iterator[int]:
    """1, 2, 4 ... and the rest: every number up to the count is a sum of some of them."""
    left, copies = count, 1
    while left > 0:
        yield min(copies, left)
        left -= copies
        copies *= 2


class Filler:
    """Fills bars with pieces of fixed sizes.

    sizes: piece plus kerf, whole steps, longest first.  room: the largest room that will be asked for, same steps.
    is_coarse: sizes are rounded up and rooms down to about two thousand cells: every filling fits, the best may be
    missed.
    """

    def __init__(self, sizes: Sequence[int], room: int, *, is_coarse: bool = False) -> None:
        """Choose the cell: the sizes' common divisor, or a coarser one."""
        self._cell = math.gcd(*sizes)
        if is_coarse:
            self._cell = max(self._cell, -(-room // COARSE_CELLS))
        self._sizes = [-(-size // self._cell) for size in sizes]
        self._room = room // self._cell
        self._is_dense = self._room <= DENSE_CELLS

    def best(self, values: Sequence[int], most: Sequence[int], rooms: Sequence[int]) -> list[tuple[int, Pattern]]:
        """Largest value and its pattern for each room.

        values: of one piece of each size, whole numbers whose sum stays below 2**62.  most: pieces of each size at
        most.
        """
        if self._is_dense:
            return self._dense(values, most, rooms)
        return self._sparse(values, most, rooms)

    def _parts(self, values: Sequence[int], most: Sequence[int]) -> list[tuple[int, int, int, int]]:
        """Each size's copies as 1, 2, 4 ... and the rest: index, copies, cells, value."""
        parts: list[tuple[int, int, int, int]] = []
        for index, (size, value) in enumerate(zip(self._sizes, values, strict=True)):
            count = min(most[index], self._room // size) if value > 0 else 0
            parts += [(index, taken, taken * size, taken * value) for taken in _doubled(count)]
        return parts

    def _dense(self, values: Sequence[int], most: Sequence[int], rooms: Sequence[int]) -> list[tuple[int, Pattern]]:
        worth = np.zeros(self._room + 1, dtype=np.int64)
        steps: list[tuple[int, int, int, np.ndarray]] = []
        for index, copies, cells, value in self._parts(values, most):
            with_it = worth[:-cells] + value
            is_better = with_it > worth[cells:]
            np.maximum(with_it, worth[cells:], out=worth[cells:])
            steps.append((index, copies, cells, is_better))
        found: list[tuple[int, Pattern]] = []
        for room in rooms:
            left = max(0, room // self._cell)
            value, counts = int(worth[left]), [0] * len(self._sizes)
            for index, copies, cells, is_better in reversed(steps):
                if left >= cells and is_better[left - cells]:
                    counts[index] += copies
                    left -= cells
            found.append((value, tuple(counts)))
        return found

    def _sparse(self, values: Sequence[int], most: Sequence[int], rooms: Sequence[int]) -> list[tuple[int, Pattern]]:
        """The same over the sums that can be reached, each with its largest value; what is dominated is dropped."""
        sums, worth = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
        steps: list[tuple[int, int, np.ndarray, int]] = []
        for index, copies, cells, value in self._parts(values, most):
            reach = int(np.searchsorted(sums, self._room - cells, side="right"))
            all_sums = np.concatenate([sums, sums[:reach] + cells])
            all_worth = np.concatenate([worth, worth[:reach] + value])
            order = np.argsort(all_sums, kind="stable")
            highest = np.maximum.accumulate(all_worth[order])
            is_kept = np.concatenate([[True], highest[1:] > highest[:-1]])
            order = order[is_kept]
            steps.append((index, copies, order, len(sums)))
            sums, worth = all_sums[order], all_worth[order]
        found: list[tuple[int, Pattern]] = []
        for room in rooms:
            at = int(np.searchsorted(sums, max(0, room // self._cell), side="right")) - 1
            value, counts = int(worth[at]), [0] * len(self._sizes)
            for index, copies, order, before in reversed(steps):
                at = int(order[at])
                if at >= before:
                    counts[index] += copies
                    at -= before
            found.append((value, tuple(counts)))
        return found
