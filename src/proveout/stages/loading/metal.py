"""A body on a coarse grid of cells, with the distance of every cell from its surface: for a first look at any pose."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proveout.removal.apart import rays_through
from proveout.removal.fields import Fields
from proveout.removal.posing import posed_depths_mm, posed_tops
from proveout.removal.touching import cell_tops_mm

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
AROUND_COUNT = 2
"""Cells of air about a body."""


@dataclass(frozen=True)
class Cells:
    """Which cells of a grid are metal. low_mm: (3,) corner of the first cell.  is_metal: (nx, ny, nz)."""

    low_mm: Floats
    cell_mm: float
    is_metal: Bools

    @cached_property
    def inside_mm(self) -> Floats:
        """How deep the middle of each cell lies inside the metal, below 0 outside; good to a cell."""
        from scipy.ndimage import distance_transform_edt

        deep = np.asarray(distance_transform_edt(self.is_metal)) - np.asarray(distance_transform_edt(~self.is_metal))
        return deep * self.cell_mm

    def tops_mm(self) -> Floats:
        """(nx, ny) heights of its metal, -inf where there is none."""
        return cell_tops_mm(self.is_metal, low_mm=float(self.low_mm[2]), cell_mm=self.cell_mm)

    def posed(self, turn: Floats, shift_mm: Floats, grid: Cells) -> Floats:
        """How deep the middles of another grid's cells lie inside this body, turned and shifted."""
        nx, ny, nz = grid.is_metal.shape
        return posed_depths_mm(
            self.inside_mm, low_mm=self.low_mm, cell_mm=self.cell_mm, turn=turn, shift_mm=shift_mm,
            grid_low_mm=grid.low_mm, grid_cell_mm=grid.cell_mm, shape=(nx, ny, nz),
        )  # fmt: skip

    def middle_mm(self, at: int) -> Floats:
        """(3,) the middle of the cell of that number."""
        index = np.unravel_index(at, self.is_metal.shape)
        return self.low_mm + self.cell_mm * (np.array(index) + 0.5)


@dataclass(frozen=True)
class PosedCells:
    """A body in a pose on another grid, looked at no farther than is asked.

    low_mm, cell_mm, shape: corner, size and numbers of that grid's cells.   first, last: (3,) those about the posed
    body; all others are air.
    """

    body: Cells
    turn: Floats
    shift_mm: Floats
    low_mm: Floats
    cell_mm: float
    shape: tuple[int, int, int]
    first: NDArray[np.int64]
    last: NDArray[np.int64]

    @cached_property
    def is_metal(self) -> Bools:
        """(nx, ny, nz) which cells' middles lie in it."""
        found = np.zeros(self.shape, dtype=np.bool_)
        low, shape = self._window
        if all(shape):
            own = Cells(low_mm=low, cell_mm=self.cell_mm, is_metal=np.empty(shape, dtype=np.bool_))
            found[self._part] = self.body.posed(self.turn, self.shift_mm, own) > 0.0
        return found

    def tops_mm(self) -> Floats:
        """(nx, ny) heights of its metal, -inf where there is none; what lies below them is not looked at."""
        found = np.full(self.shape[:2], -np.inf)
        low, shape = self._window
        if all(shape):
            layers = posed_tops(
                self.body.is_metal, low_mm=self.body.low_mm, cell_mm=self.body.cell_mm, turn=self.turn,
                shift_mm=self.shift_mm, grid_low_mm=low, grid_cell_mm=self.cell_mm, shape=shape,
            )  # fmt: skip
            heights = self.low_mm[2] + self.cell_mm * (self.first[2] + layers + 1.0)
            found[self._part[:2]] = np.where(layers >= 0, heights, -np.inf)
        return found

    @property
    def _part(self) -> tuple[slice, ...]:
        return tuple(slice(int(a), int(b)) for a, b in zip(self.first, self.last, strict=True))

    @property
    def _window(self) -> tuple[Floats, tuple[int, int, int]]:
        """Corner and numbers of the cells about it."""
        nx, ny, nz = (int(n) for n in self.last - self.first)
        return self.low_mm + self.first * self.cell_mm, (nx, ny, nz)


def grid_size(low_mm: Floats, high_mm: Floats, cell_mm: float) -> tuple[Floats, Floats]:
    """A box of whole cells about a box, with air around it."""
    low = low_mm - AROUND_COUNT * cell_mm
    count = np.ceil((high_mm - low) / cell_mm) + AROUND_COUNT
    return low, low + count * cell_mm


def cells_of(fields: Fields) -> Cells:
    """The cells whose middles lie in the metal of fields with equal pitches, by the rays along z."""
    cell = float(fields.pitch_mm[0])
    shape = fields.cells
    middles = np.stack(
        np.meshgrid(*(fields.low_mm[k] + cell * (np.arange(shape[k]) + 0.5) for k in range(2)), indexing="ij"), axis=-1
    ).reshape(-1, 2)
    rays = rays_through(fields, 2, np.column_stack([middles, np.zeros(len(middles))]))
    heights = fields.low_mm[2] + cell * (np.arange(shape[2]) + 0.5)
    metal = np.zeros((len(middles), shape[2]), dtype=bool)
    for slot in range(fields.spans[2].shape[1]):
        spans = fields.spans[2][rays, slot]
        there = fields.counts[2][rays] > slot
        metal |= there[:, None] & (spans[:, :1] <= heights) & (heights <= spans[:, 1:])
    return Cells(low_mm=fields.low_mm, cell_mm=cell, is_metal=metal.reshape(shape))


def thick_apart_mm(body: Cells, turn: Floats, shift_mm: Floats, right: Cells, swept: Cells) -> tuple[float, Floats]:
    """How thick, at least, a posed body differs from the right one where it matters, and where.

    What the posed body has and the right one has not matters everywhere: the cutter would meet it. What it lacks
    matters where this clamping does not cut.  swept: what this clamping cuts, on the grid of `right`.
    Returns:  mm, the diameter of a ball that lies within the difference, less two cells; 0 when it may be nothing.
    """
    posed, own = body.posed(turn, shift_mm, right), right.inside_mm
    extra = np.minimum(posed, -own)
    lacking = np.minimum(np.minimum(-posed, own), -swept.inside_mm)
    depth = np.maximum(extra, lacking)
    at = int(np.argmax(depth))
    return max(0.0, 2.0 * (float(depth.flat[at]) - 2.0 * right.cell_mm)), right.middle_mm(at)
