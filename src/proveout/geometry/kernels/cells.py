"""Boxes listed by the cells of space that they meet."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def boxes_by_cell(
    low: np.ndarray, high: np.ndarray, origin: np.ndarray, cell: float, counts: np.ndarray, most: int
) -> tuple[np.ndarray, np.ndarray]:
    """Which boxes meet which cells of space.

    low, high (t, 3) mm; cell (i, j, k) covers origin + (i..i+1, j..j+1, k..k+1) x cell, the outermost ones all
    beyond; counts (3,) cells each way.  Returns starts (cells + 1,) and items: the boxes of cell c, c = (i counts[1]
    + j) counts[2] + k, are items[starts[c]:starts[c + 1]].  Both are empty when there would be more than `most` items.
    """
    boxes = low.shape[0]
    span = np.empty((boxes, 3, 2), dtype=np.int64)
    total = 0
    for t in range(boxes):
        size = 1
        for a in range(3):
            for end in range(2):
                at = int(np.floor(((low[t, a] if end == 0 else high[t, a]) - origin[a]) / cell))
                span[t, a, end] = min(max(at, 0), counts[a] - 1)
            size *= span[t, a, 1] - span[t, a, 0] + 1
        total += size
    if total > most:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    starts = np.zeros(counts[0] * counts[1] * counts[2] + 1, dtype=np.int64)
    for t in range(boxes):
        for i in range(span[t, 0, 0], span[t, 0, 1] + 1):
            for j in range(span[t, 1, 0], span[t, 1, 1] + 1):
                for k in range(span[t, 2, 0], span[t, 2, 1] + 1):
                    starts[(i * counts[1] + j) * counts[2] + k + 1] += 1
    for c in range(starts.shape[0] - 1):
        starts[c + 1] += starts[c]
    free = starts[:-1].copy()
    items = np.empty(total, dtype=np.int64)
    for t in range(boxes):
        for i in range(span[t, 0, 0], span[t, 0, 1] + 1):
            for j in range(span[t, 1, 0], span[t, 1, 1] + 1):
                for k in range(span[t, 2, 0], span[t, 2, 1] + 1):
                    c = (i * counts[1] + j) * counts[2] + k
                    items[free[c]] = t
                    free[c] += 1
    return starts, items
