"""Left-over where the cutter that finishes a face cannot stand without cutting the part: inside corners and gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.geometry.upward import Upward
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.removal.comparing import point_deviation

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

CELL_MM = 0.1
"""Of the points of a face that lie in one cell, the highest is asked for all."""
TURNS_COUNT = 240
"""Places round a point at which a mill is stood: R25 comes within 0.003 mm of the best of all."""
BALL_COUNT = 1500
"""Places over a point at which a ball is stood: R5 comes within 0.005 mm of the best of all."""
SLIM_MM = 0.003
"""How much narrower all round the cutter is taken: the mesh's chords and our own rounding must not keep it out."""
ROUNDING_MM = 1e-6
FLAT_KINDS = ("end mill", "face mill", "counterbore", "reamer")


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A cutter that finishes a face, and the frame of its tilt."""

    cutter: Cutter
    frame: Frame


class Corners:
    """Where cutters can stand on a target. The target seen from each tilt is made once."""

    def __init__(self, target: Target) -> None:
        self._target = target
        self._upward: dict[Frame, Upward] = {}

    def cannot_enter(self, points_mm: Floats, standing: Sequence[Standing], depths_mm: Floats) -> Bools:
        """(n,) points that no cutter takes away, with the metal about them to a depth, and cuts nothing of the target.

        points_mm (n, 3) part frame.  depths_mm (n,) > 0: how deep inside the cutter a point must lie, sideways and
        down.  A cutter without a flat or round end counts as able: what it leaves is no corner.
        """
        kept_out = np.ones(len(points_mm), dtype=bool)
        for one in standing:
            rows = np.flatnonzero(kept_out)
            if len(rows) == 0:
                break
            kept_out[rows] = ~self._takes(one, points_mm[rows], depths_mm[rows])
        return kept_out if standing else np.zeros(len(points_mm), dtype=bool)

    def _takes(self, one: Standing, points_mm: Floats, depths_mm: Floats) -> Bools:
        """(n,) points that lie so deep in the cutter at some place where it cuts nothing of the target."""
        upward = self._seen_from(one.frame)
        radius, own = one.cutter.diameter_mm / 2.0, one.frame.into(points_mm)
        reach = np.maximum(radius - depths_mm, 0.0)[:, None, None]
        if one.cutter.kind in FLAT_KINDS:
            turn = 2.0 * math.pi * np.arange(TURNS_COUNT) / TURNS_COUNT
            around = reach * np.column_stack([np.cos(turn), np.sin(turn)])[None]
            return upward.stands_at_any(
                own[:, None, :2] + around, own[:, 2] - depths_mm + ROUNDING_MM, radius_mm=radius - SLIM_MM
            )  # fmt: skip
        if one.cutter.kind == "ball":
            centres = (own[:, None] + reach * _half_sphere(BALL_COUNT)[None]).reshape(-1, 3)
            free = self._distance_mm(one.frame.out_of(centres)) >= radius - SLIM_MM
            over = centres[free]
            free[free] = upward.stands_at_any(over[:, None, :2], over[:, 2] + SLIM_MM, radius_mm=radius - SLIM_MM)
            return np.asarray(free.reshape(len(own), -1).any(axis=1))
        return np.ones(len(points_mm), dtype=bool)

    def _distance_mm(self, points_mm: Floats) -> Floats:
        target = self._target
        return point_deviation(
            points_mm, vertices=target.vertices_mm, triangles=target.triangles, triangle_face=target.triangle_face,
            face_offset_mm=np.zeros(len(target.face_ids)),
        ).deviation_mm  # fmt: skip

    def _seen_from(self, frame: Frame) -> Upward:
        if frame not in self._upward:
            self._upward[frame] = Upward(frame.into(self._target.vertices_mm), self._target.triangles)
        return self._upward[frame]


def highest_of_cells(points_mm: Floats, heights_mm: Floats) -> NDArray[np.int64]:
    """Rows of the highest point in each cell of space, the highest first; points_mm (n, 3), heights_mm (n,)."""
    order = np.lexsort((np.arange(len(heights_mm)), -heights_mm))
    cells = np.floor(points_mm[order] / CELL_MM).astype(np.int64)
    _, first = np.unique(cells, axis=0, return_index=True)
    return order[np.sort(first)]


def _half_sphere(count: int) -> Floats:
    """Unit vectors that look up or sideways, spread evenly."""
    k = np.arange(count)
    up = (k + 0.5) / count
    turn = math.pi * (3.0 - math.sqrt(5.0)) * k
    flat = np.sqrt(1.0 - up**2)
    return np.column_stack([flat * np.cos(turn), flat * np.sin(turn), up])
