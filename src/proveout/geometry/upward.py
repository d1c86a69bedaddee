"""The upward triangles of a closed mesh: what lies above a height seen along z, and how high it stands under a disc."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.cells import Cells

Array = NDArray[np.float64]

PLACE_MM = 1e-6
"""Points over each other this closely count as one place seen from above."""
CELLS_MOST = 512
"""Cells along the longer side of a body, to find triangles in."""
ITEMS_A_TRIANGLE = 12
"""Cells that a triangle meets on the mean before the cells are made larger."""
SPAN = 1 << 32
"""More places than the largest body is wide: 2 m to either side of the origin."""


class Upward:
    """The triangles of a closed mesh that look up: every vertical line that meets the body leaves it through one.

    points (v, 3), triangles (t, 3) counter-clockwise from outside.
    """

    def __init__(self, points: Array, triangles: NDArray[Any]) -> None:
        self.points = np.asarray(points, dtype=np.float64)
        rows = np.asarray(triangles, dtype=np.int64)
        corners = self.points[rows][:, :, :2]
        first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        self.rows = rows[first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0] > 0.0]
        heights = self.points[:, 2][self.rows]
        self.low, self.high = heights.min(axis=1), heights.max(axis=1)

    @cached_property
    def border(self) -> NDArray[np.int64]:
        """Directed edges (n, 2) of the upward triangles whose opposite edge belongs to none of them."""
        return _border(self.rows, len(self.points))

    @cached_property
    def _place(self) -> NDArray[np.int64]:
        return _places(self.points)

    def contours_above(self, z: float) -> list[Array]:
        """Shadow of what lies above a height as closed contours (k, 2), counter-clockwise outside, free to overlap.

        It is the border of the upward triangles, cut off at the height: where two of them meet, their edges take each
        other away, and only the border's edges and the cut itself are left. The rims of an upright wall, one over the
        other and run in opposite senses, take each other away too.
        """
        height = self.points[:, 2] - z
        rows = self.rows[(self.high > z) & (self.low <= z)]
        over = height[rows] > 0.0
        one, two = _turned(rows, over, 1), _turned(rows, over, 2)
        start, end = self.border[:, 0], self.border[:, 1]
        first, last = height[start] > 0.0, height[end] > 0.0
        falls, rises, stays = first & ~last, ~first & last, first & last
        pairs = [
            *((one[:, a], one[:, b]) for a, b in ((0, 1), (2, 0))),
            *((two[:, a], two[:, b]) for a, b in ((1, 2), (2, 0))),
            (start[falls], end[falls]),
            (start[rises], end[rises]),
        ]
        size = len(self.points)
        keys = [np.minimum(a, b) * size + np.maximum(a, b) for a, b in pairs]
        names, where = np.unique(np.concatenate(keys), return_inverse=True)
        cuts = np.split(size + where, np.cumsum([len(k) for k in keys])[:-1])
        place = self._place
        edges = [_unpaired(place[self.border[stays]], size), *(np.column_stack(p) for p in (cuts[:2], cuts[2:4]))]
        edges += [np.column_stack([place[start[falls]], cuts[4]]), np.column_stack([cuts[5], place[end[rises]]])]
        low, high = names // size, names % size
        share = (height[low] / (height[low] - height[high]))[:, None]
        flat = self.points[:, :2]
        places = np.vstack([flat, flat[low] * (1.0 - share) + flat[high] * share])
        return [places[loop] for loop in _loops(np.concatenate(edges))]

    def top_mm(self, *, x_mm: float, y_mm: float, radius_mm: float) -> float:
        """Greatest height of the body under a disc, -inf where there is none."""
        return float(self.tops_mm(np.array([[x_mm, y_mm]]), radius_mm=radius_mm)[0])

    def tops_mm(self, spots_mm: Array, *, radius_mm: float) -> Array:
        """(n,) greatest height of the body under a disc set down at each of the spots (n, 2), -inf where none."""
        from proveout.geometry.kernels.discs import top_under

        if not len(self.rows) or not len(spots_mm):
            return np.full(len(spots_mm), -math.inf)
        corners, highest, cells = self._by_place
        spots = np.ascontiguousarray(spots_mm, dtype=np.float64)
        return top_under(
            corners, highest, cells.starts, cells.items, cells.origin, cells.cell_mm, cells.counts, spots,
            float(radius_mm),
        )  # fmt: skip

    def stands_at_any(self, spots_mm: Array, limits_mm: Array, *, radius_mm: float) -> NDArray[np.bool_]:
        """(n,) whether a disc comes down to limits (n,) without meeting the body at any of the spots (n, m, 2)."""
        from proveout.geometry.kernels.discs import stands_at_any

        if not len(self.rows) or not spots_mm.size:
            return np.full(len(spots_mm), spots_mm.shape[1] > 0)
        corners, highest, cells = self._by_place
        return stands_at_any(
            corners, highest, cells.starts, cells.items, cells.origin, cells.cell_mm, cells.counts,
            np.ascontiguousarray(spots_mm, dtype=np.float64), np.ascontiguousarray(limits_mm, dtype=np.float64),
            float(radius_mm),
        )  # fmt: skip

    @cached_property
    def _by_place(self) -> tuple[Array, Array, Cells]:
        """The triangles (t, 3, 3) and their upper ends (t,), the highest first, and where each lies seen from above."""
        order = np.argsort(-self.high, kind="stable")
        corners = np.ascontiguousarray(self.points[self.rows[order]])
        low, high = corners.min(axis=1), corners.max(axis=1)
        low[:, 2], high[:, 2] = 0.0, 0.0
        wide, deep = np.maximum((high.max(axis=0) - low.min(axis=0))[:2], 1e-6)
        cell_mm = max(math.sqrt(float(wide * deep) / len(order)), float(max(wide, deep)) / CELLS_MOST)
        return corners, self.high[order], Cells(low, high, cell_mm=cell_mm, items_a_box=ITEMS_A_TRIANGLE)


def _turned(rows: NDArray[np.int64], over: NDArray[np.bool_], count: int) -> NDArray[np.int64]:
    """The triangles with that many corners above, turned so that these come first."""
    pick = over.sum(axis=1) == count
    chosen, marks = rows[pick], over[pick]
    first = np.argmax(marks, axis=1) if count == 1 else (np.argmin(marks, axis=1) + 1) % 3
    order = (first[:, None] + np.arange(3)[None]) % 3
    return np.take_along_axis(chosen, order, axis=1)


def _border(rows: NDArray[np.int64], size: int) -> NDArray[np.int64]:
    """Directed edges (n, 2) of the triangles whose opposite edge belongs to none of them."""
    from proveout.geometry.kernels.loops import without_opposite

    edges = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    return edges[without_opposite(edges, size)]


def _places(points: Array) -> NDArray[np.int64]:
    """For each point (v, 3) the first of those that lie over or under it within PLACE_MM."""
    grid = np.round(points[:, :2] / PLACE_MM).astype(np.int64)
    _, first, which = np.unique(grid[:, 0] * SPAN + grid[:, 1], return_index=True, return_inverse=True)
    return first[which.reshape(-1)].astype(np.int64)


def _unpaired(edges: NDArray[np.int64], size: int) -> NDArray[np.int64]:
    """Directed edges (n, 2) without those that another one runs back along, one for one."""
    ways, counts = np.unique(edges[:, 0] * size + edges[:, 1], return_counts=True)
    first, last = ways // size, ways % size
    back = last * size + first
    at = np.minimum(np.searchsorted(ways, back), max(len(ways) - 1, 0))
    against = np.where(ways[at] == back, counts[at], 0) if len(ways) else counts
    left = np.where(first == last, 0, np.maximum(counts - against, 0))
    return np.repeat(np.column_stack([first, last]), left, axis=0)


def _loops(edges: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Closed loops of directed edges (n, 2), the points of each; loops of fewer than three points are left out."""
    from proveout.geometry.kernels.loops import walk_loops

    edges = edges[edges[:, 0] != edges[:, 1]]
    if not len(edges):
        return []
    size = int(edges.max()) + 1
    keys = np.sort(edges[:, 0] * size + edges[:, 1])
    starts = np.searchsorted(keys, np.arange(size + 1, dtype=np.int64) * size)
    points, stops = walk_loops(keys % size, starts)
    return [loop for loop in np.split(points, stops[:-1]) if len(loop) >= 3]
