"""A grid of depths looked up at the cells of another grid, turned and shifted; and points seen on a page."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def pose_depths(
    depths: np.ndarray, low: np.ndarray, cell: float, turn: np.ndarray, shift: np.ndarray, first: np.ndarray,
    step: float, found: np.ndarray,
) -> None:  # fmt: skip
    """Fills found (nx, ny, nz) with the depth of the body at the middle of each cell of a grid.

    depths: of the body in its own frame, by cells of size `cell` from `low`, below 0 outside.   A point p of the body
    lies at turn p + shift.   first: the middle of the first cell asked for; step: from cell to cell.
    Beside the body's grid a place is as deep outside as it lies from it.
    """
    counts = depths.shape
    at = np.empty(3)
    for i in range(found.shape[0]):
        for j in range(found.shape[1]):
            for k in range(found.shape[2]):
                x = first[0] + step * i - shift[0]
                y = first[1] + step * j - shift[1]
                z = first[2] + step * k - shift[2]
                beside = 0.0
                a, b, c = 0, 0, 0
                for axis in range(3):
                    at[axis] = (turn[0, axis] * x + turn[1, axis] * y + turn[2, axis] * z - low[axis]) / cell
                    own = int(np.floor(at[axis]))
                    own = min(max(own, 0), counts[axis] - 1)
                    beside = max(beside, abs(at[axis] - (own + 0.5)) - 0.5)
                    if axis == 0:
                        a = own
                    elif axis == 1:
                        b = own
                    else:
                        c = own
                deep = depths[a, b, c]
                if beside > 1e-9:
                    deep = min(deep, 0.0) - beside * cell
                found[i, j, k] = deep


@njit(cache=True, nogil=True)
def splat(
    points: np.ndarray, turn: np.ndarray, shift: np.ndarray, above: float, page: np.ndarray, low: np.ndarray,
    cell: float, near: np.ndarray,
) -> None:  # fmt: skip
    """Raises near (columns, rows) to the nearest point of the posed body in each cell of a page.

    points: (n, 3) of the body.   above: of the posed points only those at least so high count.   page: rows are the
    directions to the right, up the page and towards the eye.
    """
    for row in range(points.shape[0]):
        x = turn[0, 0] * points[row, 0] + turn[0, 1] * points[row, 1] + turn[0, 2] * points[row, 2] + shift[0]
        y = turn[1, 0] * points[row, 0] + turn[1, 1] * points[row, 1] + turn[1, 2] * points[row, 2] + shift[1]
        z = turn[2, 0] * points[row, 0] + turn[2, 1] * points[row, 1] + turn[2, 2] * points[row, 2] + shift[2]
        if z < above:
            continue
        u = int(np.floor((page[0, 0] * x + page[0, 1] * y + page[0, 2] * z - low[0]) / cell))
        v = int(np.floor((page[1, 0] * x + page[1, 1] * y + page[1, 2] * z - low[1]) / cell))
        if u < 0 or v < 0 or u >= near.shape[0] or v >= near.shape[1]:
            continue
        near[u, v] = max(near[u, v], page[2, 0] * x + page[2, 1] * y + page[2, 2] * z)
