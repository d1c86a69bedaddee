"""Distances from the centres of a ball to the triangles that it could gouge."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.cells import Cells

Array = NDArray[np.float64]

CELLS_MOST = 64
"""Cells along the longest side."""
ITEMS_A_TRIANGLE = 64
"""Cells that a triangle with the air about it meets on the mean before the cells are made larger."""


class Nearness:
    """Triangles (t, 3, 3) listed by the cells that they come near to.

    points (v, 3), triangles (t, 3).  radius_mm: beyond this distance an answer may be too large or inf, never too
    small.  plane: (point, unit normal); triangles wholly on or below it, as a ball that rolls on its upper side cannot
    meet, are left out.
    """

    def __init__(
        self, points: Array, triangles: NDArray[np.int32], *, radius_mm: float, plane: tuple[Array, Array] | None = None
    ) -> None:
        corners = np.asarray(points, dtype=np.float64)[triangles]
        if plane is not None:
            corners = corners[((corners - plane[0]) @ plane[1]).max(axis=1) > 1e-5]
        self._corners = np.ascontiguousarray(corners)
        if not len(corners):
            return
        low, high = corners.min(axis=1) - radius_mm, corners.max(axis=1) + radius_mm
        size = np.maximum(high.max(axis=0) - low.min(axis=0), 1e-6)
        cell_mm = max(float(size.max()) / CELLS_MOST, math.cbrt(float(size.prod()) / (8.0 * len(corners))))
        self._cells = Cells(low, high, cell_mm=cell_mm, items_a_box=ITEMS_A_TRIANGLE)

    def distances(self, centres: Array) -> Array:
        """(n,) distance from centres (n, 3) to the nearest triangle, inf when none comes near."""
        from proveout.geometry.kernels.nearest import nearest

        if not len(self._corners) or not len(centres):
            return np.full(len(centres), np.inf)
        cells = self._cells
        return nearest(
            self._corners, cells.starts, cells.items, cells.origin, cells.cell_mm, cells.counts,
            np.ascontiguousarray(centres, dtype=np.float64),
        )  # fmt: skip
