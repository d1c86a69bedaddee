"""Boxes found by the cells of space that they meet, so that a search asks only those near by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CELLS_MOST = 1 << 18
"""Cells in all."""


class Cells:
    """Boxes (t, 3) low to high, mm, listed by equal cubes in their own order; the outermost cubes hold all beyond.

    cell_mm: side of a cube, made larger until boxes lie in items_a_box of them on the mean, or CELLS_MOST are enough.
    """

    def __init__(self, low: Array, high: Array, *, cell_mm: float, items_a_box: int) -> None:
        from proveout.geometry.kernels.cells import boxes_by_cell

        self.origin = low.min(axis=0)
        size = np.maximum(high.max(axis=0) - self.origin, 1e-6)
        self.cell_mm = cell_mm
        while True:
            self.counts = np.ceil(size / self.cell_mm).astype(np.int64)
            self.starts, self.items = np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
            if int(self.counts.prod()) <= CELLS_MOST:
                self.starts, self.items = boxes_by_cell(
                    low, high, self.origin, self.cell_mm, self.counts, items_a_box * len(low)
                )
            if len(self.starts):
                return
            self.cell_mm *= 1.5
