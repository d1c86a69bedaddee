"""Whether a cutter and its holder have room over a face at a tilt: a few places tried on target and jaws."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import BOX_TRIANGLES, box_corners
from proveout.geometry.facets import Facet
from proveout.geometry.upward import Upward
from proveout.model.shop import Cutter
from proveout.model.work import Clamping, Tilt

Array = NDArray[np.float64]

TRIED_COUNT = 6
"""Triangles of a face that are tried, the largest."""
WEIGHTS = np.array([[1 / 3, 1 / 3, 1 / 3], [0.9, 0.05, 0.05], [0.05, 0.9, 0.05], [0.05, 0.05, 0.9]])
HOLDER_GAP_MM = 0.5
EASE_MM = 0.05
JAW_MM = 60.0
JAW_MORE_MM = 40.0


class Room:
    """Target and jaws as one tilt sees them. points (v, 3) in the tilt's frame, triangles (t, 3)."""

    def __init__(self, *, points: Array, triangles: NDArray[np.int32], clamping: Clamping, tilt: Tilt) -> None:
        self.points = points
        self.triangles = triangles
        low_x, high_x = _ends(points, clamping, tilt)
        low_x, high_x = low_x - JAW_MORE_MM, high_x + JAW_MORE_MM
        if clamping.jaw_length_mm > 0.0:
            half = clamping.jaw_length_mm / 2.0
            low_x, high_x = clamping.jaw_middle_mm - half, clamping.jaw_middle_mm + half
        solids, rows = [points], [triangles.astype(np.int64)]
        for low, high in _jaws(clamping, low_x=low_x, high_x=high_x):
            rows.append(BOX_TRIANGLES + sum(len(s) for s in solids))
            solids.append(tilt.frame.into(clamping.frame.out_of(box_corners(low, high))))
        self._upward = Upward(np.vstack(solids), np.vstack(rows))

    def share(self, facet: Facet, cutter: Cutter) -> float:
        """Share of the places tried on a face over which this cutter can stand."""
        rows = self.triangles[facet.rows]
        corners = self.points[rows]
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.linalg.norm(cross, axis=1)
        good = total = 0.0
        for k in np.argsort(-size, kind="stable")[:TRIED_COUNT]:
            if size[k] <= 1e-9:
                continue
            for place in WEIGHTS @ corners[k]:
                total += float(size[k])
                good += float(size[k]) * self._stands(place, cross[k] / size[k], facet, cutter)
        return good / total if total > 0.0 else 0.0

    def _stands(self, place: Array, normal: Array, facet: Facet, cutter: Cutter) -> bool:
        radius = cutter.diameter_mm / 2.0
        if facet.seen == "wall":
            spot = place + (radius + EASE_MM) * normal
            return self._free(spot[0], spot[1], float(facet.low_mm[2]), cutter)
        if facet.seen != "floor":
            centre = place + (radius + EASE_MM) * normal
            return self.holder_free(centre[0], centre[1], float(centre[2]) - radius, cutter)
        turns = np.arange(8) * math.pi / 4.0
        spots = np.vstack([[0.0, 0.0], (radius - EASE_MM) * np.column_stack([np.cos(turns), np.sin(turns)])])
        return any(self._free(place[0] + x, place[1] + y, float(place[2]), cutter) for x, y in spots)

    def _free(self, x: float, y: float, z: float, cutter: Cutter) -> bool:
        top = self._upward.top_mm(x_mm=x, y_mm=y, radius_mm=cutter.diameter_mm / 2.0 - EASE_MM)
        return top <= z + EASE_MM and self.holder_free(x, y, z, cutter)

    def holder_free(self, x: float, y: float, z: float, cutter: Cutter) -> bool:
        """Whether the holder meets nothing with the tip there."""
        if cutter.holder_length_mm <= 0.0:
            return True
        radius = cutter.holder_diameter_mm / 2.0 + HOLDER_GAP_MM
        return self._upward.top_mm(x_mm=x, y_mm=y, radius_mm=radius) <= z + cutter.stick_out_mm


def _ends(points: Array, clamping: Clamping, tilt: Tilt) -> tuple[float, float]:
    along = clamping.frame.into(tilt.frame.out_of(points))[:, 0]
    return float(along.min()), float(along.max())


def _jaws(
    clamping: Clamping, *, low_x: float, high_x: float
) -> list[tuple[tuple[float, float, float], tuple[float, float, float]]]:
    """Fixed jaw, moving jaw and seat as boxes in the clamping's frame."""
    top, gap = clamping.jaw_top_mm, clamping.gap_mm
    return [
        ((low_x, 0.0, -JAW_MM), (high_x, JAW_MM, top)),
        ((low_x, -gap - JAW_MM, -JAW_MM), (high_x, -gap, top)),
        ((low_x, -gap, -JAW_MM), (high_x, 0.0, 0.0)),
    ]
