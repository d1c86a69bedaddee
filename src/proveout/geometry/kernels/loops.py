"""Borders of triangles, and directed edges walked into closed loops."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def without_opposite(edges: np.ndarray, count: int) -> np.ndarray:
    """(n,) True for each directed edge (n, 2) of points 0..count-1 that no other edge runs back along."""
    starts = np.zeros(count + 1, dtype=np.int64)
    for k in range(edges.shape[0]):
        starts[edges[k, 0] + 1] += 1
    for k in range(count):
        starts[k + 1] += starts[k]
    free = starts[:-1].copy()
    ends = np.empty(edges.shape[0], dtype=np.int64)
    for k in range(edges.shape[0]):
        ends[free[edges[k, 0]]] = edges[k, 1]
        free[edges[k, 0]] += 1
    alone = np.ones(edges.shape[0], dtype=np.bool_)
    for k in range(edges.shape[0]):
        for m in range(starts[edges[k, 1]], starts[edges[k, 1] + 1]):
            if ends[m] == edges[k, 0]:
                alone[k] = False
                break
    return alone


@njit(cache=True, nogil=True)
def walk_loops(ends: np.ndarray, starts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Walks every directed edge once, from point to point, into loops.

    The edges that leave point p end at ends[starts[p]:starts[p + 1]]; of several the last is taken first.  Returns
    the points of all loops one after the other, and where each loop ends among them; a way that leads nowhere ends
    its loop there.
    """
    count = starts.shape[0] - 1
    free = starts[1:].copy()
    points = np.empty(ends.shape[0] + count, dtype=np.int64)
    stops = np.empty(ends.shape[0], dtype=np.int64)
    filled, loops = 0, 0
    for start in range(count):
        while free[start] > starts[start]:
            points[filled] = start
            filled += 1
            free[start] -= 1
            here = ends[free[start]]
            while here != start and free[here] > starts[here]:
                points[filled] = here
                filled += 1
                free[here] -= 1
                here = ends[free[here]]
            stops[loops] = filled
            loops += 1
    return points[:filled], stops[:loops]
