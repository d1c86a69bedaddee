"""What a probe's ball reads on metal given as intervals, for touches from the side at given places."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.removal.kernels.touching import read_beside

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Lines:
    """Intervals of metal on rays along x or y, in rows of one height.

    counts: (rays,) int32.   spans: (rays, capacity, 2) float64, mm, in rising order.   The ray of a line and a row has
    the number line * line_step + row * row_step; lines lie line_mm apart.   low_mm, row_mm, rows_count: of the rows.
    """

    counts: NDArray[np.int32]
    spans: Floats
    lines_count: int
    line_step: int
    line_mm: float
    row_step: int
    low_mm: float
    row_mm: float
    rows_count: int

    def row_of(self, level_mm: float) -> int:
        """The row at a height, the nearest one above or below the grid."""
        return int(np.clip(math.floor((level_mm - self.low_mm) / self.row_mm), 0, self.rows_count - 1))


def read_from_side(
    metal: Lines, *, sense: float, level_mm: float, ball_mm: float, reach: int, lines: Integers, starts_mm: Floats
) -> tuple[Floats, Floats]:  # fmt: skip
    """(sites,) least and largest place times sense of the ball's middle where it first touches.

    Formula:  max(start, min over slices of the ball of (metal ahead on the ray - rise of its surface there))
    Args:     sense: 1 or -1, along the rays.   level_mm: height of the ball's middle.   reach: lines to either side
              over which the least and largest are taken.   lines, starts_mm: (sites,) where each touch begins, the
              place times sense; a start that is in metal counts as a touch there.
    Returns:  mm; inf where there is no metal ahead.
    Valid:    slices of the ball stand a line apart, or half its radius in height where lines lie closer.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/removal/test_touching.py
    """
    radius = ball_mm / 2.0
    step = max(metal.line_mm, radius / 2.0)
    ups = np.arange(-math.floor(radius / step), math.floor(radius / step) + 1) * step
    sides = math.floor(radius / metal.line_mm)
    rises = np.full((len(ups), 2 * sides + 1), -1.0)
    for k, up in enumerate(ups):
        for side in range(-sides, sides + 1):
            deep2 = radius**2 - up**2 - (side * metal.line_mm) ** 2
            if deep2 >= 0.0:
                rises[k, side + sides] = math.sqrt(deep2)
    rows = np.array([metal.row_of(level_mm + float(up)) for up in ups], dtype=np.int64)
    low, high = np.empty(len(lines)), np.empty(len(lines))
    read_beside(
        metal.counts, metal.spans, metal.lines_count, metal.line_step, rows, metal.row_step, float(sense), rises,
        np.ascontiguousarray(lines, dtype=np.int64), np.ascontiguousarray(starts_mm, dtype=np.float64), reach, low, high,
    )  # fmt: skip
    return low, high
