"""Walls that lean under: a cutter widest at its tip, entered from outside, in stages."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.choice import LIP_RATIO
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import area_of, grown, shape_of, without
from proveout.stages.passes.roughing import WALL_MM
from proveout.stages.passes.task import Task

Array = NDArray[np.float64]

ANGLE_RAD = math.radians(0.1)
DOWN_MM = 2.0
"""Height of the metal that one level takes: the flank above it already lies on the finished face."""
GOUGE_MM = 0.005
DONE_RATIO = 0.98


def undercut(task: Task, *, cutter: Cutter) -> None:
    """Cuts the promised flat faces that lean under by the cutter's own angle."""
    for facet in task.open_facets("under"):
        face_id = task.face_ids[facet.index]
        task.check(f"undercut {face_id}")
        lean = math.asin(min(1.0, -float(facet.normal[2])))
        if abs(lean - cutter.tip_angle_rad) > ANGLE_RAD:
            task.reasons.setdefault(
                face_id, f"leans under by {math.degrees(lean):.2f} degrees: no undercut cutter of that angle"
            )
            continue
        track = task.track()
        share = _cut(task, track, facet, cutter)
        task.add(
            kind="undercut",
            cutter=cutter,
            feature=face_id,
            face_ids=(face_id,),
            track=track,
            speeds=task.speeds(cutter),
            radial_mm=_stage_mm(task, cutter),
            axial_mm=min(DOWN_MM, cutter.flute_length_mm, float(facet.high_mm[2] - facet.low_mm[2])),
        )
        if share >= DONE_RATIO:
            task.done.add(facet.index)
            task.reasons.pop(face_id, None)
        else:
            task.reasons[face_id] = (
                f"{cutter.id} reaches {100.0 * share:.0f} % of the leaning face from outside;"
                " jaws, neighbours or its own neck forbid the rest"
            )


def _cut(task: Task, track: Any, facet: Facet, cutter: Cutter) -> float:
    """Lays the stages; returns the share of the face reached."""
    import shapely

    view, radius, lean = task.view, cutter.diameter_mm / 2.0, cutter.tip_angle_rad
    speeds = task.speeds(cutter)
    out = facet.normal[:2] / float(np.linalg.norm(facet.normal[:2]))
    along = np.array([out[1], -out[0]])
    points = view.points[np.unique(view.triangles[facet.rows])]
    low, high = float(facet.low_mm[2]), float(facet.high_mm[2])
    base = points[int(np.argmin(points[:, 2]))]
    u_low, u_high = float((points[:, :2] @ along).min()), float((points[:, :2] @ along).max())
    count = max(1, math.ceil((high - low) / min(DOWN_MM, 0.9 * cutter.flute_length_mm)))
    stage = _stage_mm(task, cutter)
    reached = 0.0
    for k in range(count - 1, -1, -1):
        z = low + (high - low) * k / count
        wedge = (high - z) * math.tan(lean) + WALL_MM
        stages = max(0, math.ceil(wedge / stage) - 1)
        # the plane recedes towards its foot: at height z it stands out by (z - low) tan(lean) from its lowest point
        across = float(base[:2] @ out) + (z - float(base[2])) * math.tan(lean) + radius
        blocked = _blocked(view, cutter, z)
        shapely.prepare(blocked)
        entry = shape_of(grown(view.metal(z) + view.shadow(z), radius + 0.1))
        shapely.prepare(entry)
        got = 0.0
        for step in range(stages, -1, -1):
            away = across + step * stage
            line = np.array([along * (u_low - radius) + out * away, along * (u_high + radius) + out * away])
            for piece in without([line], blocked, least_mm=0.1):
                start = piece[0] + out * (wedge - min(wedge, step * stage) + 2.0 * radius + 2.0)
                end = piece[-1] + out * float((start - piece[0]) @ out)
                if entry.contains(shapely.Point(start)) or blocked.intersects(shapely.LineString([start, piece[0]])):
                    continue
                track.enter(x_mm=float(start[0]), y_mm=float(start[1]), z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
                track.feed(float(piece[0, 0]), float(piece[0, 1]), z, speeds.ramp_mm_per_s)
                track.feed(float(piece[-1, 0]), float(piece[-1, 1]), z, speeds.feed_mm_per_s)
                if not blocked.intersects(shapely.LineString([piece[-1], end])):
                    track.feed(float(end[0]), float(end[1]), z, speeds.air_mm_per_s)
                else:
                    track.feed(float(piece[0, 0]), float(piece[0, 1]), z, speeds.feed_mm_per_s)
                    track.feed(float(start[0]), float(start[1]), z, speeds.air_mm_per_s)
                if step == 0:
                    ends = sorted((float(piece[0] @ along), float(piece[-1] @ along)))
                    got += max(0.0, min(ends[1], u_high) - max(ends[0], u_low))
        reached += got / max(u_high - u_low, 1e-9) / count
    return reached


def _stage_mm(task: Task, cutter: Cutter) -> float:
    """Width that one run takes."""
    return task.limit("radial_ratio", cutter, LIP_RATIO) * cutter.diameter_mm


def _blocked(view: Any, cutter: Cutter, z: float) -> Any:
    """Where the tip may not stand: cutter, neck, shank and holder as thin discs against slices of the target."""
    radius, lean = cutter.diameter_mm / 2.0, cutter.tip_angle_rad
    area = view.held_off(z, cutter=cutter, radius_mm=radius)
    flute = cutter.flute_length_mm
    discs = [(flute * k / 8.0 + 1e-3, radius - flute * k / 8.0 * math.tan(lean)) for k in range(8)]
    neck, shank = cutter.neck_or_shank_mm / 2.0 + 0.05, cutter.shank_diameter_mm / 2.0 + 0.05
    behind = cutter.stick_out_mm if cutter.neck_length_mm is None else cutter.shank_from_mm
    discs += [(flute + 1.0 * k, neck) for k in range(int(behind - flute) + 1)]
    discs += [(behind + 1.0 * k, shank) for k in range(int(cutter.stick_out_mm - behind) + 1)]
    for height, size in discs:
        if z + height >= float(view.high_mm[2]):
            break
        contours = view.body.slice(z + height).to_polygons()
        if contours and size > GOUGE_MM:
            area = area + grown(area_of(contours), size - GOUGE_MM)
    area = area + view.grown_shadow(z + cutter.stick_out_mm, cutter.holder_diameter_mm / 2.0 + 0.5)
    return shape_of(area)
