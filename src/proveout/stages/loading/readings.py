"""What a probe's ball reads on a body, on a grid of places: from above, and along the jaws or across them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.removal.fields import Fields
from proveout.stages.loading.metal import Cells

Floats = NDArray[np.float64]
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
    metal: Fields | Cells
    _above: dict[tuple[float, float], tuple[Floats, Floats]] = field(default_factory=dict)

    def above_mm(self, *, ball_mm: float, slop_mm: float) -> tuple[Floats, Floats]:
        """As from_above_mm, kept."""
        key = (ball_mm, slop_mm)
        if key not in self._above:
            self._above[key] = from_above_mm(self, ball_mm=ball_mm, slop_mm=slop_mm)
        return self._above[key]

    def entries_mm(self, *, axis: int, sense: float, level_mm: float) -> Floats:
        """(nx, ny) where metal begins at a level from each place on, along an axis; blocked places hold their own.

        As places times sense, so that they always lie ahead; inf where there is no metal ahead.
        """
        if isinstance(self.metal, Fields):
            return _entries_of_fields(self.metal, axis, sense, level_mm)
        return _entries_of_cells(self.metal, axis, sense, level_mm)


def shape_of_fields(metal: Fields) -> Shape:
    """A body whose intervals are exact."""
    counts, spans = metal.counts[2], metal.spans[2]
    last = np.maximum(counts - 1, 0)
    tops = np.where(counts > 0, spans[np.arange(len(counts)), last, 1], -np.inf)
    return Shape(
        low_mm=metal.low_mm[:2], cell_mm=metal.pitch_mm[:2], tops_mm=tops.reshape(metal.cells[:2]), coarse_mm=0.0,
        metal=metal,
    )  # fmt: skip


def shape_of_cells(metal: Cells) -> Shape:
    """A body that is known to a cell or two."""
    heights = metal.low_mm[2] + metal.cell_mm * (np.arange(metal.is_metal.shape[2]) + 1.0)
    tops = np.where(metal.is_metal, heights, -np.inf).max(axis=2)
    return Shape(
        low_mm=metal.low_mm[:2], cell_mm=np.full(2, metal.cell_mm), tops_mm=tops, coarse_mm=2.0 * metal.cell_mm,
        metal=metal,
    )  # fmt: skip


def from_above_mm(shape: Shape, *, ball_mm: float, slop_mm: float) -> tuple[Floats, Floats]:
    """(nx, ny) least and largest height of the ball's underside where it first touches, over places within the slop.

    Formula:  max over offsets d within the ball of (top at the offset + sqrt(r^2 - d^2)) - r
    """
    radius = ball_mm / 2.0
    found = np.full(shape.tops_mm.shape, -np.inf)
    for i, j, rise in _offsets(radius, shape.cell_mm):
        np.maximum(found, _shifted(shape.tops_mm, i, j, -np.inf) + (rise - radius), out=found)
    low, high = _within(found, slop_mm, shape.cell_mm)
    return low - shape.coarse_mm, high + shape.coarse_mm


def from_side_mm(
    shape: Shape, *, axis: int, sense: float, level_mm: float, ball_mm: float, slop_mm: float
) -> tuple[Floats, Floats]:  # fmt: skip
    """(nx, ny) least and largest place times sense of the ball's middle where it touches, for a start at each place.

    A start that is in metal already counts as a touch there.
    """
    radius = ball_mm / 2.0
    across = 1 - axis
    cell = float(shape.cell_mm[across])
    found = np.full(shape.tops_mm.shape, np.inf)
    step = max(cell, radius / 2.0)
    for up in np.arange(-math.floor(radius / step), math.floor(radius / step) + 1) * step:
        entries = shape.entries_mm(axis=axis, sense=sense, level_mm=level_mm + float(up))
        for side in range(-math.floor(radius / cell), math.floor(radius / cell) + 1):
            deep2 = radius**2 - up**2 - (side * cell) ** 2
            if deep2 < 0.0:
                continue
            i, j = (side, 0) if across == 0 else (0, side)
            np.minimum(found, _shifted(entries, i, j, np.inf) - math.sqrt(deep2), out=found)
    starts = sense * places_mm(shape, axis)
    starts = starts[:, None] if axis == 0 else starts[None, :]
    found = np.maximum(found, np.broadcast_to(starts, found.shape))
    low, high = _within(found, slop_mm, shape.cell_mm, axis=across)
    return low - shape.coarse_mm, high + shape.coarse_mm


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


def _within(values: Floats, slop: float, cell: Floats, *, axis: int | None = None) -> tuple[Floats, Floats]:
    """Least and largest value within the slop of each place, and a cell more: rays stand anywhere in their cells."""
    from scipy.ndimage import maximum_filter, minimum_filter

    size = [2 * math.ceil(slop / float(cell[k]) + 1.0 - 1e-9) + 1 if axis is None or axis == k else 1 for k in range(2)]
    return np.asarray(minimum_filter(values, size=size, mode="nearest")), np.asarray(
        maximum_filter(values, size=size, mode="nearest")
    )


def _entries_of_fields(metal: Fields, axis: int, sense: float, level: float) -> Floats:
    other = 1 - axis
    count = metal.cells
    row = int(np.clip(math.floor((level - metal.low_mm[2]) / metal.pitch_mm[2]), 0, count[2] - 1))
    lines = np.arange(count[other])
    rays = lines * count[2] + row if axis == 0 else row * count[0] + lines
    starts = metal.low_mm[axis] + metal.pitch_mm[axis] * (np.arange(count[axis]) + 0.5)
    found = np.full((count[other], count[axis]), np.inf)
    for slot in range(metal.spans[axis].shape[1]):
        there = metal.counts[axis][rays] > slot
        ends = metal.spans[axis][rays, slot]
        near, far = (ends[:, 0], ends[:, 1]) if sense > 0.0 else (-ends[:, 1], -ends[:, 0])
        near, far = np.where(there, near, np.inf)[:, None], np.where(there, far, -np.inf)[:, None]
        own = (sense * starts)[None, :]
        ahead = np.where(own < near, near, np.where(own <= far, own, np.inf))
        np.minimum(found, ahead, out=found)
    return found.T if axis == 0 else found


def _entries_of_cells(metal: Cells, axis: int, sense: float, level: float) -> Floats:
    row = int(np.clip(math.floor((level - metal.low_mm[2]) / metal.cell_mm), 0, metal.is_metal.shape[2] - 1))
    layer = metal.is_metal[:, :, row] if axis == 0 else metal.is_metal[:, :, row].T
    middles = metal.low_mm[axis] + metal.cell_mm * (np.arange(layer.shape[0]) + 0.5)
    if sense < 0.0:
        layer, middles = layer[::-1], middles[::-1]
    marks = np.where(layer, (sense * middles)[:, None], np.inf)
    found = np.minimum.accumulate(marks[::-1], axis=0)[::-1]
    if sense < 0.0:
        found = found[::-1]
    return found if axis == 0 else found.T
