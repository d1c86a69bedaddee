"""Distances from places to the triangles about them, found by cells of space."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def nearest(
    corners: np.ndarray,
    starts: np.ndarray,
    items: np.ndarray,
    origin: np.ndarray,
    cell: float,
    counts: np.ndarray,
    places: np.ndarray,
) -> np.ndarray:
    """(n,) mm from each place (n, 3) to the nearest triangle (t, 3, 3) that its cell lists; inf where it lists none.

    starts, items, origin, cell, counts: of cells.boxes_by_cell, whose boxes must hold all places
    that a triangle matters to.
    """
    found = np.empty(places.shape[0])
    for n in range(places.shape[0]):
        c = 0
        for a in range(3):
            at = int(np.floor((places[n, a] - origin[a]) / cell))
            c = c * counts[a] + min(max(at, 0), counts[a] - 1)
        best = np.inf
        for m in range(starts[c], starts[c + 1]):
            best = min(best, _square_to(corners[items[m]], places[n]))
        found[n] = np.sqrt(best)
    return found


@njit(cache=True, nogil=True)
def _square_to(triangle: np.ndarray, place: np.ndarray) -> float:
    """Square of the distance from a place to a triangle (3, 3), mm²."""
    best = np.inf
    for k in range(3):
        p, q = triangle[k], triangle[(k + 1) % 3]
        along, square = 0.0, 0.0
        for a in range(3):
            along += (place[a] - p[a]) * (q[a] - p[a])
            square += (q[a] - p[a]) * (q[a] - p[a])
        share = min(max(along / max(square, 1e-300), 0.0), 1.0)
        gap = 0.0
        for a in range(3):
            gap += (place[a] - p[a] - share * (q[a] - p[a])) ** 2
        best = min(best, gap)
    ux, uy, uz = triangle[1, 0] - triangle[0, 0], triangle[1, 1] - triangle[0, 1], triangle[1, 2] - triangle[0, 2]
    vx, vy, vz = triangle[2, 0] - triangle[0, 0], triangle[2, 1] - triangle[0, 1], triangle[2, 2] - triangle[0, 2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    size = nx * nx + ny * ny + nz * nz
    if size <= 1e-24:
        return best
    for k in range(3):
        p, q = triangle[k], triangle[(k + 1) % 3]
        ex, ey, ez = q[0] - p[0], q[1] - p[1], q[2] - p[2]
        px, py, pz = place[0] - p[0], place[1] - p[1], place[2] - p[2]
        side = nx * (ey * pz - ez * py) + ny * (ez * px - ex * pz) + nz * (ex * py - ey * px)
        if side < 0.0:
            return best
    height = (
        (place[0] - triangle[0, 0]) * nx + (place[1] - triangle[0, 1]) * ny + (place[2] - triangle[0, 2]) * nz
    )  # fmt: skip
    return min(best, height * height / size)
