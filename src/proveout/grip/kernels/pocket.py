"""Points of a posed body that lie low enough, thinned out; and whether any of them lies in a wall."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def held_points(points: np.ndarray, turn: np.ndarray, shift: np.ndarray, top: float, cell: float) -> np.ndarray:
    """(n, 2) x and y of the first point of each square cell, of those points that lie no higher than `top`.

    points: (m, 3) of a body that is turned, then shifted.
    """
    own = np.empty((points.shape[0], 2))
    count = 0
    for row in range(points.shape[0]):
        a, b, c = points[row, 0], points[row, 1], points[row, 2]
        if turn[2, 0] * a + turn[2, 1] * b + turn[2, 2] * c + shift[2] > top:
            continue
        own[count, 0] = turn[0, 0] * a + turn[0, 1] * b + turn[0, 2] * c + shift[0]
        own[count, 1] = turn[1, 0] * a + turn[1, 1] * b + turn[1, 2] * c + shift[1]
        count += 1
    if count == 0:
        return own[:0]
    low = np.array([np.rint(own[:count, 0].min() / cell), np.rint(own[:count, 1].min() / cell)])
    wide = int(np.rint(own[:count, 0].max() / cell) - low[0]) + 1
    deep = int(np.rint(own[:count, 1].max() / cell) - low[1]) + 1
    seen = np.zeros((wide, deep), dtype=np.bool_)
    kept = 0
    for row in range(count):
        i, j = int(np.rint(own[row, 0] / cell) - low[0]), int(np.rint(own[row, 1] / cell) - low[1])
        if not seen[i, j]:
            seen[i, j] = True
            own[kept] = own[row]
            kept += 1
    return own[:kept].copy()


@njit(cache=True, nogil=True)
def is_clear(
    deep: np.ndarray, low: np.ndarray, cell: float, points: np.ndarray, x: float, y: float, limit: float
) -> bool:
    """Whether no point (n, 2), moved by x and y, lies deeper than `limit` in a wall.

    deep: (nx, ny) how deep the cells from `low` on lie in it; beside them there is no wall.
    """
    for row in range(points.shape[0]):
        i = int(np.floor((points[row, 0] + x - low[0]) / cell))
        j = int(np.floor((points[row, 1] + y - low[1]) / cell))
        if 0 <= i < deep.shape[0] and 0 <= j < deep.shape[1] and deep[i, j] > limit:
            return False
    return True


@njit(cache=True, nogil=True)
def first_blocked(
    deep: np.ndarray, tops: np.ndarray, low: np.ndarray, cell: float, points: np.ndarray, x: float, y: float,
    step: float, count: int, limit: float,
) -> int:  # fmt: skip
    """At which of `count` moves some point (n, 2) first lies deeper than `limit` in a wall; `count` at none of them.

    The points are moved by x, and by y less so many steps.   deep, low, cell: as in is_clear.   tops: (nx,) the last
    row of each column that is deeper than `limit`, -1 for none.
    """
    found = count
    for row in range(points.shape[0]):
        i = int(np.floor((points[row, 0] + x - low[0]) / cell))
        if i < 0 or i >= deep.shape[0] or tops[i] < 0:
            continue
        above = points[row, 1] + y - low[1] - cell * (tops[i] + 1)
        first = max(0, int(np.floor(above / step)))
        for move in range(first, found):
            j = int(np.floor((points[row, 1] + (y - step * move) - low[1]) / cell))
            if j < 0:
                break
            if j <= tops[i] and deep[i, j] > limit:
                found = move
                break
    return found
