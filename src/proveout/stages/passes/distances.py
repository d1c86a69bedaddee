"""Exact distances from ball centres to the triangles that a ball could gouge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Nearness:
    """Distances to the triangles with a corner above a plane: the ball rolls on that plane's upper side.

    plane: (point, unit normal).  Triangles wholly on or below the plane cannot be met and are left out.
    """

    def __init__(
        self, points: Array, triangles: NDArray[np.int32], *, plane: tuple[Array, Array], radius_mm: float
    ) -> None:
        corners = points[triangles]
        above = ((corners - plane[0]) @ plane[1]).max(axis=1) > 1e-5
        self.corners = corners[above]
        self.low = self.corners.min(axis=1) - radius_mm if above.any() else np.zeros((0, 3))
        self.high = self.corners.max(axis=1) + radius_mm if above.any() else np.zeros((0, 3))

    def distances(self, centres: Array) -> Array:
        """(n,) distance to the nearest of the triangles, inf when none comes within the radius."""
        found = np.full(len(centres), np.inf)
        if len(self.corners) == 0 or len(centres) == 0:
            return found
        low, high = centres.min(axis=0), centres.max(axis=0)
        close = self.corners[((self.low <= high) & (self.high >= low)).all(axis=1)]
        block = max(1, 400_000 // max(len(centres), 1))
        for k in range(0, len(close), block):
            found = np.minimum(found, to_triangles(centres, close[k : k + block]).min(axis=1))
        return found


def to_triangles(points: Array, triangles: Array) -> Array:
    """(n, t) distances between points (n, 3) and triangles (t, 3, 3)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    nearest = np.minimum(np.minimum(_to_lines(points, a, b), _to_lines(points, b, c)), _to_lines(points, c, a))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    unit = normal / np.maximum(size, 1e-300)[:, None]
    height = points @ unit.T - (a * unit).sum(axis=1)
    inside = np.ones_like(height, dtype=bool)
    for p, q in ((a, b), (b, c), (c, a)):
        side = np.cross(unit, q - p)
        inside &= points @ side.T - (p * side).sum(axis=1) >= 0.0
    return np.where(inside & (size > 1e-12), np.abs(height), nearest)


def _to_lines(points: Array, start: Array, end: Array) -> Array:
    along = end - start
    square = np.maximum((along**2).sum(axis=1), 1e-300)
    share = np.clip((points @ along.T - (start * along).sum(axis=1)) / square, 0.0, 1.0)
    gap = points[:, None, :] - start[None] - share[..., None] * along[None]
    return np.linalg.norm(gap, axis=2)


class NearBlocks:
    """Distances to all triangles, worked out for few neighbouring places at a time.

    radius_mm: beyond this distance the answer may be inf.
    """

    PLACES = 16

    def __init__(self, points: Array, triangles: NDArray[np.int32], *, radius_mm: float) -> None:
        self.corners = points[triangles]
        self.low = self.corners.min(axis=1) - radius_mm
        self.high = self.corners.max(axis=1) + radius_mm

    def distances(self, centres: Array) -> Array:
        """(n,) distance to the nearest triangle that comes within the radius of a place's neighbourhood."""
        found = np.full(len(centres), np.inf)
        for k in range(0, len(centres), self.PLACES):
            block = centres[k : k + self.PLACES]
            low, high = block.min(axis=0), block.max(axis=0)
            close = self.corners[((self.low <= high) & (self.high >= low)).all(axis=1)]
            if len(close):
                found[k : k + self.PLACES] = to_triangles(block, close).min(axis=1)
        return found
