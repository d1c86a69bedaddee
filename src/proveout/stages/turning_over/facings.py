"""The stages of every facing pass after the first clamping, and the slab that each leaves between the jaws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.grip.strip import reserve_told, varying_strip_load_n, weakest_moments_mm4
from proveout.model.fact import Fact
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce
from proveout.model.target import Target
from proveout.model.turned import Facing, FacingStage
from proveout.model.work import Blank, Clamping, Pass
from proveout.removal.meshing import mesh_fields

ROWS = 60
PITCHES = 120
LEVEL_MM = 1e-6
TOP_MM = 0.02
ALIKE_MM = 0.005
"""Stages that differ by less are the same but for the machine's resolution."""

Floats = NDArray[np.float64]


def facings(
    *, passes: Sequence[Pass], moves: Mapping[str, Moves], clampings: Sequence[Clamping], target: Target, blank: Blank,
    forces: Mapping[str, ClampForce | None], elastic_mpa: Fact | None,
) -> tuple[Facing, ...]:  # fmt: skip
    """Of every facing pass of a later clamping that is not tilted.

    forces: by clamping id the jaw force, None where nothing backs it.
    """
    by_id = {c.id: c for c in clampings}
    found: list[Facing] = []
    for one in passes:
        clamping = by_id[one.clamping_id]
        if one.kind != "face" or clamping.number == 1 or one.tilt_id != "a0-c0":
            continue
        heights = heights_mm(moves[one.moves_digest])
        if not heights:
            continue
        top = _top_mm(clamping, blank)
        slab = Slab(target, clamping)
        clamp = forces.get(clamping.id)
        force = None if clamp is None else clamp.force_n
        stages: list[FacingStage] = []
        for group, depth in alike(heights, top):
            low = high = None
            if force is not None and force.low > 0.0 and elastic_mpa is not None:
                low = slab.reserve(group[-1], elastic_mpa=elastic_mpa.low, force_n=force.high)
                high = slab.reserve(group[-1], elastic_mpa=elastic_mpa.high, force_n=force.low)
            stages.append(
                FacingStage(
                    count=len(group), height_mm=round(group[-1], 6), depth_mm=round(depth, 6),
                    above_jaws_mm=round(group[-1] - clamping.jaw_top_mm, 6), reserve_low=low, reserve_high=high,
                )
            )  # fmt: skip
        found.append(Facing(clamping_id=clamping.id, pass_id=one.id, count=len(heights), stages=tuple(stages)))
    return tuple(found)


def heights_mm(moves: Moves) -> tuple[float, ...]:
    """Heights at which a facing pass goes level at feed, highest first."""
    z = moves.points[:, 2]
    level = (moves.feed_mm_per_s[1:] > 0.0) & (np.abs(np.diff(z)) < LEVEL_MM)
    level &= np.hypot(*np.diff(moves.points[:, :2], axis=0).T) > LEVEL_MM
    return tuple(float(v) for v in np.unique(np.round(z[1:][level], 6))[::-1])


def alike(heights: Sequence[float], top_mm: float) -> list[tuple[list[float], float]]:
    """Heights one after the other that take alike much off, with the depth of the deepest."""
    found: list[tuple[list[float], float]] = []
    for height in heights:
        depth = top_mm - height
        top_mm = height
        if found and abs(found[-1][1] - depth) < ALIKE_MM:
            found[-1] = ([*found[-1][0], height], max(found[-1][1], depth))
        else:
            found.append(([height], depth))
    return found


def _top_mm(clamping: Clamping, blank: Blank) -> float:
    return float(clamping.frame.into(box_corners(blank.low_mm, blank.high_mm))[:, 2].max())


class Slab:
    """The finished work as strips across the jaws, with what still stands on its highest face."""

    def __init__(self, target: Target, clamping: Clamping) -> None:
        points = clamping.frame.into(target.vertices_mm)
        low, high = points.min(axis=0), points.max(axis=0)
        pitch = max(float((high - low)[:2].max()) / PITCHES, 0.1)
        rays = mesh_fields(points, target.triangles.astype(np.int64), low_mm=low, high_mm=high, pitch_mm=pitch)
        along, across = rays.rays_uv(2)
        starts, ends = rays.spans[2][:, :, 0], rays.spans[2][:, :, 1]
        used = np.arange(starts.shape[1])[None, :] < rays.counts[2][:, None]
        self._pieces = np.where(used, ends - starts, 0.0).reshape(along, across, -1)
        self._tops = np.where(used, ends, -np.inf).reshape(along, across, -1) >= high[2] - TOP_MM
        self._top_mm = float(high[2])
        self._cell_mm = float(rays.pitch_mm[0])
        self._y_mm = float(low[1]) + float(rays.pitch_mm[1]) * (np.arange(across) + 0.5)
        self._gap_mm = clamping.gap_mm
        pressed = round(clamping.patch_length_mm.low / self._cell_mm)
        self._pressed_count = max(1, min(along, pressed))

    def reserve(self, height_mm: float, *, elastic_mpa: float, force_n: float) -> float:
        """Times the jaw force at which what is left bows away, rounded down; far beyond it its value says nothing."""
        load_n = varying_strip_load_n(
            elastic_mpa=elastic_mpa, second_moments_mm4=self.moments_mm4(height_mm), length_mm=self._gap_mm
        )
        return reserve_told(load_n / force_n)

    def moments_mm4(self, height_mm: float) -> Floats:
        """Second moments of the strips across the jaws, at ROWS places from jaw to jaw.

        I = sum of dx t^3 / 12 over the pieces of metal above each other at every place along the jaws, each bending for
        itself: no more than what the section as a whole has.  Of the whole length of the work the weakest stretch as
        long as the patch is taken, at every place anew.  What no later pass has cut yet above the finished height
        stands only where the finished face is.
        """
        more = max(0.0, height_mm - self._top_mm)
        thick = self._pieces + np.where(self._tops, more, 0.0)
        rows = weakest_moments_mm4(thick, pressed_count=self._pressed_count, cell_mm=self._cell_mm)
        at = -self._gap_mm + self._gap_mm * (np.arange(ROWS) + 0.5) / ROWS
        nearest = np.abs(self._y_mm[None, :] - at[:, None]).argmin(axis=1)
        return rows[nearest]
