"""Distances from the centres of a ball to the triangles that it could gouge."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

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
        from proveout.geometry.kernels.distances import boxes_by_cell

        corners = np.asarray(points, dtype=np.float64)[triangles]
        if plane is not None:
            corners = corners[((corners - plane[0]) @ plane[1]).max(axis=1) > 1e-5]
        self._corners = np.ascontiguousarray(corners)
        if not len(corners):
            return
        low, high = corners.min(axis=1) - radius_mm, corners.max(axis=1) + radius_mm
        self._origin = low.min(axis=0)
        size = np.maximum(high.max(axis=0) - self._origin, 1e-6)
        self._cell_mm = max(float(size.max()) / CELLS_MOST, math.cbrt(float(size.prod()) / (8.0 * len(corners))))
        while True:
            self._counts = np.ceil(size / self._cell_mm).astype(np.int64)
            most = ITEMS_A_TRIANGLE * len(corners)
            self._starts, self._items = boxes_by_cell(low, high, self._origin, self._cell_mm, self._counts, most)
            if len(self._starts):
                return
            self._cell_mm *= 1.5

    def distances(self, centres: Array) -> Array:
        """(n,) distance from centres (n, 3) to the nearest triangle, inf when none comes near."""
        from proveout.geometry.kernels.distances import nearest

        if not len(self._corners) or not len(centres):
            return np.full(len(centres), np.inf)
        return nearest(
            self._corners, self._starts, self._items, self._origin, self._cell_mm, self._counts,
            np.ascontiguousarray(centres, dtype=np.float64),
        )  # fmt: skip
