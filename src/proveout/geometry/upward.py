"""The upward triangles of a closed mesh: what lies above a height seen along z, and how high it stands under a disc."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PLACE_MM = 1e-6
"""Points over each other this closely count as one place seen from above."""
TREE_FROM = 40
"""Asked more often than this for heights, a body gets a tree of its triangles' boxes."""
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
        flat = self.points[self.rows][:, :, :2]
        self.border = _border(self.rows, len(self.points))
        self._place = _places(self.points)
        self._asked = 0
        self._tree: Any = None
        self.box_low, self.box_high = flat.min(axis=1), flat.max(axis=1)

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
        near = self._near(x_mm - radius_mm, y_mm - radius_mm, x_mm + radius_mm, y_mm + radius_mm)
        if not len(near):
            return -math.inf
        corners = self.points[self.rows[near]] - np.array([x_mm, y_mm, 0.0])
        found = [_most(corners.reshape(-1, 3), radius_mm)]
        starts, ends = corners.reshape(-1, 3), np.roll(corners, -1, axis=1).reshape(-1, 3)
        way = ends - starts
        square = (way[:, :2] ** 2).sum(axis=1)
        half = (starts[:, :2] * way[:, :2]).sum(axis=1)
        rest = (starts[:, :2] ** 2).sum(axis=1) - radius_mm**2
        root = half**2 - square * rest
        crossed = (root >= 0.0) & (square > 1e-18)
        for sign in (-1.0, 1.0):
            share = (-half[crossed] + sign * np.sqrt(root[crossed])) / square[crossed]
            on = (share >= 0.0) & (share <= 1.0)
            heights = starts[crossed, 2][on] + share[on] * way[crossed, 2][on]
            found.append(float(heights.max()) if len(heights) else -math.inf)
        found.append(_inside_top(corners, radius_mm))
        return max(found)

    def _near(self, x_low: float, y_low: float, x_high: float, y_high: float) -> NDArray[np.int64]:
        """Triangles whose box meets a box; by a tree once it has been asked often enough to be worth one."""
        self._asked += 1
        if self._tree is None and self._asked > TREE_FROM:
            import shapely

            self._tree = shapely.STRtree(
                shapely.box(self.box_low[:, 0], self.box_low[:, 1], self.box_high[:, 0], self.box_high[:, 1])
            )
        if self._tree is not None:
            import shapely

            return np.sort(self._tree.query(shapely.box(x_low, y_low, x_high, y_high)))
        met = (self.box_low <= [x_high, y_high]) & (self.box_high >= [x_low, y_low])
        return np.flatnonzero(met.all(axis=1))


def _turned(rows: NDArray[np.int64], over: NDArray[np.bool_], count: int) -> NDArray[np.int64]:
    """The triangles with that many corners above, turned so that these come first."""
    pick = over.sum(axis=1) == count
    chosen, marks = rows[pick], over[pick]
    first = np.argmax(marks, axis=1) if count == 1 else (np.argmin(marks, axis=1) + 1) % 3
    order = (first[:, None] + np.arange(3)[None]) % 3
    return np.take_along_axis(chosen, order, axis=1)


def _border(rows: NDArray[np.int64], size: int) -> NDArray[np.int64]:
    """Directed edges (n, 2) of the triangles whose opposite edge belongs to none of them."""
    edges = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    ahead, back = edges[:, 0] * size + edges[:, 1], edges[:, 1] * size + edges[:, 0]
    return edges[~np.isin(ahead, back)]


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


def _loops(edges: NDArray[np.int64]) -> list[list[int]]:
    """Closed loops of directed edges (n, 2)."""
    after: dict[int, list[int]] = {}
    for a, b in edges[np.lexsort((edges[:, 1], edges[:, 0]))].tolist():
        if a != b:
            after.setdefault(a, []).append(b)
    loops: list[list[int]] = []
    for start in sorted(after):
        while after[start]:
            loop, here = [start], after[start].pop()
            while here != start and after.get(here):
                loop.append(here)
                here = after[here].pop()
            if len(loop) >= 3:
                loops.append(loop)
    return loops


def _most(points: Array, radius_mm: float) -> float:
    met = (points[:, :2] ** 2).sum(axis=1) <= radius_mm**2
    return float(points[met, 2].max()) if met.any() else -math.inf


def _inside_top(corners: Array, radius_mm: float) -> float:
    """Highest of the triangles (t, 3, 3) at the place under the disc where their plane is highest, if they hold it."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    uphill = -normal[:, :2]
    steep = np.linalg.norm(uphill, axis=1)
    spot = np.where(
        steep[:, None] > 1e-12 * np.abs(normal[:, 2:]), radius_mm * uphill / np.maximum(steep, 1e-300)[:, None], 0.0
    )
    inside = np.ones(len(corners), dtype=bool)
    for k in range(3):
        a, b = corners[:, k, :2], corners[:, (k + 1) % 3, :2]
        inside &= (b[:, 0] - a[:, 0]) * (spot[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (spot[:, 0] - a[:, 0]) >= 0.0
    if not inside.any():
        return -math.inf
    base = corners[inside, 0]
    rise = -((spot[inside] - base[:, :2]) * normal[inside, :2]).sum(axis=1) / normal[inside, 2]
    return float((base[:, 2] + rise).max())
