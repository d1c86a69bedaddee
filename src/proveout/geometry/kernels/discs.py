"""The highest place of triangles under discs set down on them, by cells of the plane."""

from __future__ import annotations

import numpy as np
from numba import njit

FLAT = 1e-12  # a plane that climbs less than this a mm counts as level


@njit(cache=True, nogil=True)
def top_under(
    corners: np.ndarray,
    highest: np.ndarray,
    starts: np.ndarray,
    items: np.ndarray,
    origin: np.ndarray,
    cell: float,
    counts: np.ndarray,
    spots: np.ndarray,
    radius: float,
) -> np.ndarray:
    """(n,) greatest height of upward triangles under a disc at each spot, -inf where there is none.

    corners (t, 3, 3) mm, counter-clockwise seen from above; highest (t,) mm, falling: a cell's list ends early once no
    later triangle reaches higher.  starts, items, origin, cell, counts: of
    cells.boxes_by_cell, one cell high.  spots (n, 2) mm.
    """
    found = np.empty(spots.shape[0])
    for n in range(spots.shape[0]):
        x, y = spots[n, 0], spots[n, 1]
        best = -np.inf
        i_low, i_high, j_low, j_high = _cells_under(origin, cell, counts, x, y, radius)
        for i in range(i_low, i_high + 1):
            for j in range(j_low, j_high + 1):
                for k in range(starts[i * counts[1] + j], starts[i * counts[1] + j + 1]):
                    t = items[k]
                    if highest[t] <= best:
                        break
                    best = max(best, _top_of(corners[t], x, y, radius))
        found[n] = best
    return found


@njit(cache=True, nogil=True)
def stands_at_any(
    corners: np.ndarray,
    highest: np.ndarray,
    starts: np.ndarray,
    items: np.ndarray,
    origin: np.ndarray,
    cell: float,
    counts: np.ndarray,
    spots: np.ndarray,
    limits: np.ndarray,
    radius: float,
) -> np.ndarray:
    """(n,) whether a disc can be set down to limits (n,) mm at one of the spots (n, m, 2) mm at least.

    The triangles as for top_under.
    """
    found = np.zeros(spots.shape[0], dtype=np.bool_)
    for n in range(spots.shape[0]):
        for m in range(spots.shape[1]):
            if not _is_over(
                corners, highest, starts, items, origin, cell, counts, spots[n, m, 0], spots[n, m, 1], radius, limits[n]
            ):
                found[n] = True
                break
    return found


@njit(cache=True, nogil=True)
def _is_over(
    corners: np.ndarray,
    highest: np.ndarray,
    starts: np.ndarray,
    items: np.ndarray,
    origin: np.ndarray,
    cell: float,
    counts: np.ndarray,
    x: float,
    y: float,
    radius: float,
    limit: float,
) -> bool:
    """Whether some triangle under a disc stands higher than a limit."""
    i_low, i_high, j_low, j_high = _cells_under(origin, cell, counts, x, y, radius)
    for i in range(i_low, i_high + 1):
        for j in range(j_low, j_high + 1):
            for k in range(starts[i * counts[1] + j], starts[i * counts[1] + j + 1]):
                t = items[k]
                if highest[t] <= limit:
                    break
                if _top_of(corners[t], x, y, radius) > limit:
                    return True
    return False


@njit(cache=True, nogil=True)
def _cells_under(
    origin: np.ndarray, cell: float, counts: np.ndarray, x: float, y: float, radius: float
) -> tuple[int, int, int, int]:
    """First and last cell along x, and along y, that a disc meets."""
    return (
        min(max(int(np.floor((x - radius - origin[0]) / cell)), 0), counts[0] - 1),
        min(max(int(np.floor((x + radius - origin[0]) / cell)), 0), counts[0] - 1),
        min(max(int(np.floor((y - radius - origin[1]) / cell)), 0), counts[1] - 1),
        min(max(int(np.floor((y + radius - origin[1]) / cell)), 0), counts[1] - 1),
    )


@njit(cache=True, nogil=True)
def _top_of(triangle: np.ndarray, x: float, y: float, radius: float) -> float:
    """Greatest height of one triangle under a disc: at a corner, where an edge leaves the disc, or uphill inside."""
    best = -np.inf
    square = radius * radius
    for a in range(3):
        b = (a + 1) % 3
        ax, ay, az = triangle[a, 0] - x, triangle[a, 1] - y, triangle[a, 2]
        wx, wy, wz = triangle[b, 0] - x - ax, triangle[b, 1] - y - ay, triangle[b, 2] - az
        rest = ax * ax + ay * ay - square
        if rest <= 0.0:
            best = max(best, az)
        long = wx * wx + wy * wy
        half = ax * wx + ay * wy
        root = half * half - long * rest
        if long > 1e-18 and root >= 0.0:
            reach = np.sqrt(root)
            for share in ((-half - reach) / long, (-half + reach) / long):
                if 0.0 <= share <= 1.0:
                    best = max(best, az + share * wz)
    ux, uy = triangle[1, 0] - triangle[0, 0], triangle[1, 1] - triangle[0, 1]
    vx, vy = triangle[2, 0] - triangle[0, 0], triangle[2, 1] - triangle[0, 1]
    uz, vz = triangle[1, 2] - triangle[0, 2], triangle[2, 2] - triangle[0, 2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    steep = np.sqrt(nx * nx + ny * ny)
    px, py = 0.0, 0.0
    if steep > FLAT * abs(nz):
        px, py = -radius * nx / steep, -radius * ny / steep
    for a in range(3):
        b = (a + 1) % 3
        ax, ay = triangle[a, 0] - x, triangle[a, 1] - y
        bx, by = triangle[b, 0] - x, triangle[b, 1] - y
        if (bx - ax) * (py - ay) - (by - ay) * (px - ax) < 0.0:
            return best
    inside = triangle[0, 2] - ((px - triangle[0, 0] + x) * nx + (py - triangle[0, 1] + y) * ny) / nz
    return max(best, inside)
