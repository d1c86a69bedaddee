"""Faces that a pass says it finishes: what is left on them, in the open and in corners that its cutter cannot enter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import PassPlan
from proveout.removal.comparing import Deviation
from proveout.stages.removal_check.corners import Corners, Standing, highest_of_cells

Floats = NDArray[np.float64]

FINISHED_LIMIT_MM = 0.02
"""What may be left in the open of a finished face."""
UNFINISHED_KINDS = ("rough", "rough corners", "spot", "tap", "mill thread")
HALVINGS = 9
BLOCK_COUNT = 64
"""Places asked at once, the highest first: most faces are decided by the first few."""


@dataclass(frozen=True, kw_only=True)
class Left:
    """What is left on a finished face, mm: in the open, and in corners that none of its cutters (ids) enters."""

    open_mm: float
    corner_mm: float
    cutters: tuple[str, ...]


def claimed(
    plan: PassPlan, *, cutters: Mapping[str, Cutter], frames: Mapping[tuple[str, str], Frame]
) -> dict[str, tuple[Standing, ...]]:
    """Face id to the cutters of the passes that finish it, largest first; faces that the plan lists as not cut apart.

    frames: of the tilts, by (clamping id, tilt id).
    """
    not_cut = {f for n in plan.not_cut for f in n.face_ids}
    found: dict[str, dict[tuple[str, str, str], Standing]] = {}
    for one in plan.passes:
        if one.kind in UNFINISHED_KINDS:
            continue
        key = (one.clamping_id, one.tilt_id)
        standing = Standing(cutter=cutters[one.cutter_id], frame=frames[key])
        for face_id in one.face_ids:
            if face_id not in not_cut:
                found.setdefault(face_id, {})[(*key, one.cutter_id)] = standing
    return {
        face_id: tuple(sorted(own.values(), key=lambda s: (-s.cutter.diameter_mm, s.cutter.id)))
        for face_id, own in found.items()
    }


def left_on(found: Deviation, target: Target, claims: Mapping[str, tuple[Standing, ...]]) -> dict[str, Left]:
    """What is left on each claimed face, by face id; a face that no point is judged by has nothing in the open.

    found: of the surface of the work, by the target's faces in order.
    """
    corners = Corners(target)
    order = np.argsort(found.face, kind="stable")
    bounds = np.searchsorted(found.face[order], np.arange(len(target.face_ids) + 1))
    result: dict[str, Left] = {}
    for index, face_id in enumerate(target.face_ids):
        if face_id not in claims:
            continue
        rows = order[bounds[index] : bounds[index + 1]]
        result[face_id] = _left(found.points_mm[rows], found.deviation_mm[rows], claims[face_id], corners)
    return result


def _left(points_mm: Floats, heights_mm: Floats, standing: tuple[Standing, ...], corners: Corners) -> Left:
    high = np.flatnonzero(heights_mm > FINISHED_LIMIT_MM)
    low = heights_mm[heights_mm <= FINISHED_LIMIT_MM]
    open_mm = max(0.0, float(low.max())) if len(low) else 0.0
    corner_mm = 0.0
    asked = high[highest_of_cells(points_mm[high], heights_mm[high])]
    for first in range(0, len(asked), BLOCK_COUNT):
        block = asked[first : first + BLOCK_COUNT]
        if float(heights_mm[block].max()) <= open_mm:
            break  # the highest come first: none of the rest can show more
        kept_out = corners.cannot_enter(points_mm[block], standing, np.full(len(block), FINISHED_LIMIT_MM))
        if kept_out.any():
            corner_mm = max(corner_mm, float(heights_mm[block[kept_out]].max()))
        if not kept_out.all():
            free = block[~kept_out]
            more = _excess_mm(points_mm[free], heights_mm[free], standing, corners)
            open_mm = max(open_mm, float(more.max()))
            corner_mm = max(corner_mm, float((heights_mm[free] - more).max()))
    return Left(open_mm=open_mm, corner_mm=corner_mm, cutters=tuple(s.cutter.id for s in standing))


def _excess_mm(points_mm: Floats, heights_mm: Floats, standing: tuple[Standing, ...], corners: Corners) -> Floats:
    """(n,) how much more could be taken at points where it is known to be more than the limit, up to their heights."""
    low, high = np.full(len(points_mm), FINISHED_LIMIT_MM), heights_mm.copy()
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        taken = ~corners.cannot_enter(points_mm, standing, middle)
        low, high = np.where(taken, middle, low), np.where(taken, high, middle)
    return high
