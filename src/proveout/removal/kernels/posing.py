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
    nx, ny, nz = depths.shape
    for i in range(found.shape[0]):
        x = first[0] + step * i - shift[0]
        for j in range(found.shape[1]):
            y = first[1] + step * j - shift[1]
            u = turn[0, 0] * x + turn[1, 0] * y
            v = turn[0, 1] * x + turn[1, 1] * y
            w = turn[0, 2] * x + turn[1, 2] * y
            for k in range(found.shape[2]):
                z = first[2] + step * k - shift[2]
                at_x = (u + turn[2, 0] * z - low[0]) / cell
                at_y = (v + turn[2, 1] * z - low[1]) / cell
                at_z = (w + turn[2, 2] * z - low[2]) / cell
                if 0.0 <= at_x < nx and 0.0 <= at_y < ny and 0.0 <= at_z < nz:
                    found[i, j, k] = depths[int(at_x), int(at_y), int(at_z)]
                    continue
                a = int(min(max(np.floor(at_x), 0.0), nx - 1.0))
                b = int(min(max(np.floor(at_y), 0.0), ny - 1.0))
                c = int(min(max(np.floor(at_z), 0.0), nz - 1.0))
                beside = max(abs(at_x - (a + 0.5)), abs(at_y - (b + 0.5)), abs(at_z - (c + 0.5))) - 0.5
                deep = depths[a, b, c]
                if beside > 1e-9:
                    deep = min(deep, 0.0) - beside * cell
                found[i, j, k] = deep


@njit(cache=True, nogil=True)
def pose_tops(
    is_metal: np.ndarray, low: np.ndarray, cell: float, turn: np.ndarray, shift: np.ndarray, first: np.ndarray,
    step: float, layers: int, found: np.ndarray,
) -> None:  # fmt: skip
    """Fills found (nx, ny) with the number of the highest layer of a grid with metal of the body, -1 for none.

    is_metal: cells of the body, with air beside them.   layers: of the grid, from first[2] up, the others as of
    pose_depths. The middle of a cell lies in metal where pose_depths is above 0; what lies lower is not looked at.
    """
    nx, ny, nz = is_metal.shape
    for i in range(found.shape[0]):
        x = first[0] + step * i - shift[0]
        for j in range(found.shape[1]):
            y = first[1] + step * j - shift[1]
            u = turn[0, 0] * x + turn[1, 0] * y
            v = turn[0, 1] * x + turn[1, 1] * y
            w = turn[0, 2] * x + turn[1, 2] * y
            found[i, j] = -1
            for k in range(layers - 1, -1, -1):
                z = first[2] + step * k - shift[2]
                at_x = (u + turn[2, 0] * z - low[0]) / cell
                at_y = (v + turn[2, 1] * z - low[1]) / cell
                at_z = (w + turn[2, 2] * z - low[2]) / cell
                is_within = 0.0 <= at_x < nx and 0.0 <= at_y < ny and 0.0 <= at_z < nz
                if is_within and is_metal[int(at_x), int(at_y), int(at_z)]:
                    found[i, j] = k
                    break


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
