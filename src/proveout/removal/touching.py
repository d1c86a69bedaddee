"""What a probe's ball reads on metal given as intervals, for touches from the side at given places."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from proveout.removal.fields import Fields
from proveout.removal.kernels.sights import tops_of
from proveout.removal.kernels.touching import read_beside, runs_of

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
        return min(max(math.floor((level_mm - self.low_mm) / self.row_mm), 0), self.rows_count - 1)


def cell_tops_mm(is_metal: NDArray[np.bool_], *, low_mm: float, cell_mm: float) -> Floats:
    """(nx, ny) heights of a body known by its cells (nx, ny, nz) from low_mm up, -inf where there is no metal."""
    return tops_of(is_metal, low_mm, cell_mm)


def cells_in_lines(is_metal: NDArray[np.bool_], *, axis: int, low_mm: Floats, cell_mm: float) -> Lines:
    """A body known by its cells (nx, ny, nz): each run of them is metal from the middle of the first to the last's."""
    count = is_metal.shape
    along = is_metal.transpose((1, 2, 0) if axis == 0 else (2, 0, 1)).reshape(-1, count[axis])
    middles = low_mm[axis] + cell_mm * (np.arange(count[axis]) + 0.5)
    counts, spans = runs_of(np.ascontiguousarray(along), middles)
    line_step, row_step = (count[2], 1) if axis == 0 else (1, count[0])
    return Lines(
        counts=counts, spans=spans, lines_count=count[1 - axis], line_step=line_step, line_mm=cell_mm,
        row_step=row_step, low_mm=float(low_mm[2]), row_mm=cell_mm, rows_count=count[2],
    )  # fmt: skip


def fields_in_lines(metal: Fields, *, axis: int) -> Lines:
    """The rays of fields along x or y as they are."""
    other = 1 - axis
    line_step, row_step = (metal.cells[2], 1) if axis == 0 else (1, metal.cells[0])
    return Lines(
        counts=metal.counts[axis], spans=metal.spans[axis], lines_count=metal.cells[other], line_step=line_step,
        line_mm=float(metal.pitch_mm[other]), row_step=row_step, low_mm=float(metal.low_mm[2]),
        row_mm=float(metal.pitch_mm[2]), rows_count=metal.cells[2],
    )  # fmt: skip


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
    Checked:  tests/stages/loading/test_readings.py
    """
    ups, rises = _slices(ball_mm, metal.line_mm)
    rows = np.array([metal.row_of(level_mm + up) for up in ups], dtype=np.int64)
    own_lines, own_starts = np.ascontiguousarray(lines, dtype=np.int64), np.ascontiguousarray(starts_mm)
    low, high = np.empty(len(lines)), np.empty(len(lines))
    read_beside(
        metal.counts, metal.spans, metal.lines_count, metal.line_step, rows, metal.row_step, float(sense), rises,
        own_lines, own_starts, reach, low, high,
    )  # fmt: skip
    return low, high


@lru_cache(maxsize=64)
def _slices(ball_mm: float, line_mm: float) -> tuple[tuple[float, ...], Floats]:
    """Heights of the slices of a ball above its middle, and how far its surface stands before it; -1 where it ends."""
    radius = ball_mm / 2.0
    step = max(line_mm, radius / 2.0)
    ups = tuple(float(up) for up in np.arange(-math.floor(radius / step), math.floor(radius / step) + 1) * step)
    sides = math.floor(radius / line_mm)
    rises = np.full((len(ups), 2 * sides + 1), -1.0)
    for k, up in enumerate(ups):
        for side in range(-sides, sides + 1):
            deep2 = radius**2 - up**2 - (side * line_mm) ** 2
            if deep2 >= 0.0:
                rises[k, side + sides] = math.sqrt(deep2)
    rises.flags.writeable = False
    return ups, rises
