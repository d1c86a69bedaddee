"""What a probe's ball reads on a body: from above on a grid of places, along the jaws or across them at given ones."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.removal.fields import Fields
from proveout.removal.touching import Lines, cells_in_lines, fields_in_lines, read_from_side
from proveout.stages.loading.metal import Cells, PosedCells

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
ALONG = ((0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0))
"""Axes and senses of touches from the side."""


@dataclass(frozen=True)
class Shape:
    """A body in its pose, as a probe meets it. coarse_mm: how far a reading of it may be off, beyond the slop.

    low_mm, cell_mm: corner and size of the cells that places are counted in, x then y.  tops_mm: (nx, ny) of the metal
    in each, -inf where there is none.
    """

    low_mm: Floats
    cell_mm: Floats
    tops_mm: Floats
    coarse_mm: float
    metal: Fields | Cells | PosedCells
    _above: dict[tuple[float, float], tuple[Floats, Floats]] = field(default_factory=dict)
    _lines: dict[int, Lines] = field(default_factory=dict)

    def above_mm(self, *, ball_mm: float, slop_mm: float) -> tuple[Floats, Floats]:
        """As from_above_mm, kept."""
        key = (ball_mm, slop_mm)
        if key not in self._above:
            self._above[key] = from_above_mm(self, ball_mm=ball_mm, slop_mm=slop_mm)
        return self._above[key]

    def lines(self, axis: int) -> Lines:
        """Its metal on rays along x or y, kept."""
        if axis not in self._lines:
            own = self.metal
            self._lines[axis] = (
                fields_in_lines(own, axis=axis)
                if isinstance(own, Fields)
                else cells_in_lines(own.is_metal, axis=axis, low_mm=own.low_mm, cell_mm=own.cell_mm)
            )
        return self._lines[axis]


def shape_of_fields(metal: Fields) -> Shape:
    """A body whose intervals are exact."""
    counts, spans = metal.counts[2], metal.spans[2]
    last = np.maximum(counts - 1, 0)
    tops = np.where(counts > 0, spans[np.arange(len(counts)), last, 1], -np.inf)
    return Shape(
        low_mm=metal.low_mm[:2], cell_mm=metal.pitch_mm[:2], tops_mm=tops.reshape(metal.cells[:2]), coarse_mm=0.0,
        metal=metal,
    )  # fmt: skip


def shape_of_cells(metal: Cells | PosedCells) -> Shape:
    """A body that is known to a cell or two."""
    return Shape(
        low_mm=metal.low_mm[:2], cell_mm=np.full(2, metal.cell_mm), tops_mm=metal.tops_mm(),
        coarse_mm=2.0 * metal.cell_mm, metal=metal,
    )  # fmt: skip


def from_above_mm(shape: Shape, *, ball_mm: float, slop_mm: float) -> tuple[Floats, Floats]:
    """(nx, ny) least and largest height of the ball's underside where it first touches, over places within the slop.

    Formula:  max over offsets d within the ball of (top at the offset + sqrt(r^2 - d^2)) - r
    """
    low, high = _within(undersides_mm(shape, ball_mm=ball_mm), slop_mm, shape.cell_mm)
    return low - shape.coarse_mm, high + shape.coarse_mm


def undersides_mm(shape: Shape, *, ball_mm: float) -> Floats:
    """(nx, ny) height of the ball's underside where it first touches, over the middle of each cell and nowhere else."""
    radius = ball_mm / 2.0
    found = np.full(shape.tops_mm.shape, -np.inf)
    for i, j, rise in _offsets(radius, shape.cell_mm):
        np.maximum(found, _shifted(shape.tops_mm, i, j, -np.inf) + (rise - radius), out=found)
    return found


def from_side_mm(
    shape: Shape, *, axis: int, sense: float, level_mm: float, ball_mm: float, slop_mm: float, i: Integers, j: Integers
) -> tuple[Floats, Floats]:  # fmt: skip
    """(n,) least and largest place times sense of the ball's middle where it touches, for starts at cells i, j.

    A start that is in metal already counts as a touch there.
    """
    along, across = (i, j) if axis == 0 else (j, i)
    low, high = read_from_side(
        shape.lines(axis), sense=sense, level_mm=level_mm, ball_mm=ball_mm,
        reach=_cells_within(slop_mm, float(shape.cell_mm[1 - axis])), lines=across,
        starts_mm=sense * places_mm(shape, axis)[along],
    )  # fmt: skip
    return low - shape.coarse_mm, high + shape.coarse_mm


def cells_at(shape: Shape, axis: int, places: Floats) -> Integers:
    """(n,) numbers of the cells along x or y in which places lie, the nearest for those beside."""
    found = np.floor((places - shape.low_mm[axis]) / shape.cell_mm[axis]).astype(np.int64)
    return np.clip(found, 0, shape.tops_mm.shape[axis] - 1)


def places_mm(shape: Shape, axis: int) -> Floats:
    """Middles of the cells along x or y."""
    return shape.low_mm[axis] + shape.cell_mm[axis] * (np.arange(shape.tops_mm.shape[axis]) + 0.5)


def _offsets(radius: float, cell: Floats) -> list[tuple[int, int, float]]:
    found: list[tuple[int, int, float]] = []
    for i in range(-math.floor(radius / cell[0]), math.floor(radius / cell[0]) + 1):
        for j in range(-math.floor(radius / cell[1]), math.floor(radius / cell[1]) + 1):
            rest = radius**2 - (i * cell[0]) ** 2 - (j * cell[1]) ** 2
            if rest >= 0.0:
                found.append((i, j, math.sqrt(rest)))
    return found


def _shifted(values: Floats, i: int, j: int, beside: float) -> Floats:
    """What stands i rows and j columns on, `beside` beyond the edge."""
    found = np.full(values.shape, beside)
    rows, columns = values.shape
    a, b = max(0, -i), min(rows, rows - i)
    c, d = max(0, -j), min(columns, columns - j)
    if a < b and c < d:
        found[a:b, c:d] = values[a + i : b + i, c + j : d + j]
    return found


def _within(values: Floats, slop: float, cell: Floats) -> tuple[Floats, Floats]:
    """Least and largest value within the slop of each place, and a cell more: rays stand anywhere in their cells."""
    from scipy.ndimage import maximum_filter, minimum_filter

    size = [2 * _cells_within(slop, float(one)) + 1 for one in cell]
    return np.asarray(minimum_filter(values, size=size, mode="nearest")), np.asarray(
        maximum_filter(values, size=size, mode="nearest")
    )


def _cells_within(slop: float, cell: float) -> int:
    return math.ceil(slop / cell + 1.0 - 1e-9)
