"""Flat rectangles of a lattice's mesh drawn with few triangles: their rim is kept, what lies inside it goes."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def flat_quads(
    places: np.ndarray, corners: np.ndarray, axes: np.ndarray, sums: np.ndarray, vertices: np.ndarray, level: float,
    flat: np.ndarray,
) -> None:  # fmt: skip
    """Sets flat (n,) to 1 where all four cells about a crossing know nothing but the one level plane."""
    for e in range(places.shape[0]):
        axis = axes[e]
        diagonal = 0 if axis == 0 else (3 if axis == 1 else 5)
        height = vertices[corners[e, 0], axis]
        flat[e] = 1
        for turn in range(4):
            cell = corners[e, turn]
            row = sums[cell]
            if row[12] != 4.0 or abs(row[diagonal] - 4.0) > level or abs(vertices[cell, axis] - height) > level:
                flat[e] = 0
                break


@njit(cache=True, nogil=True)
def _fits(at: int, quad_at: np.ndarray, flat: np.ndarray, leaves: np.ndarray, sense: int) -> bool:
    other = quad_at[at]
    return other >= 0 and flat[other] == 1 and leaves[other] == sense


@njit(cache=True, nogil=True)
def merge_rectangles(
    places: np.ndarray, leaves: np.ndarray, flat: np.ndarray, quad_at: np.ndarray, cell_of: np.ndarray, stride_u: int,
    stride_v: int, begin: int, stop: int, triangles: np.ndarray, found: int,
) -> int:  # fmt: skip
    """Draws flat rectangles of two quads or more a side; returns how many triangles are filled then.

    Of the crossings begin..stop of one axis.   flat: 1 for those that may be merged, set to 2 where that was done.
    quad_at: (padded nodes,) the crossing at a node of this axis, -1 for none.   triangles: (m, 3) of cells, filled on.
    """
    for e in range(begin, stop):
        if flat[e] != 1:
            continue
        sense, base = leaves[e], places[e]
        wide = 1
        while _fits(base + wide * stride_v, quad_at, flat, leaves, sense):
            wide += 1
        long, grows = 1, True
        while grows:
            for n in range(wide):
                if not _fits(base + long * stride_u + n * stride_v, quad_at, flat, leaves, sense):
                    grows = False
                    break
            if grows:
                long += 1
        if wide < 2 or long < 2:
            continue
        for m in range(long):
            for n in range(wide):
                flat[quad_at[base + m * stride_u + n * stride_v]] = 2
        low = base - stride_u - stride_v
        middle = cell_of[low + (long // 2) * stride_u + (wide // 2) * stride_v]
        rim = 2 * (long + wide)
        last = cell_of[low]
        for n in range(1, rim + 1):
            if n <= long:
                u, v = n, 0
            elif n <= long + wide:
                u, v = long, n - long
            elif n <= 2 * long + wide:
                u, v = 2 * long + wide - n, wide
            else:
                u, v = 0, rim - n
            here = cell_of[low + u * stride_u + v * stride_v]
            triangles[found, 0] = middle
            triangles[found, 1] = last if sense == 1 else here
            triangles[found, 2] = here if sense == 1 else last
            last = here
            found += 1
    return found
