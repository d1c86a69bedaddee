"""Finishing inclined flat faces with a ball, line by line, every position checked against the whole target."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.scallop import step_over_mm
from proveout.geometry.facets import Facet
from proveout.geometry.nearest import Nearness
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import shape_of, without
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.swift import run_swiftly
from proveout.stages.passes.task import Task
from proveout.stages.passes.track import Track

Array = NDArray[np.float64]

SAMPLE_MM = 0.4
TOUCH_MM = 1e-4
DONE_RATIO = 0.98
STEEP_RATIO = 0.6
"""Faces whose normal's share along the cutter is below this may be stepped down by an end mill."""
STAIRS_MAX = 200
STRIP_MM, WIDER_MM = 0.3, 0.1
"""What roughing leaves of an inclined face at a height is so wide at most; so much more is still met swiftly."""


def finish_surfaces(task: Task, *, cutter: Cutter, mills: tuple[Cutter, ...] = ()) -> None:
    """Finishes the promised inclined flat faces that this ball reaches.

    What the ball's underside keeps from steep faces near jaws, seat or a floor is stepped down by an end mill's corner.
    """
    for facet in task.open_facets("inclined"):
        task.check(f"surface {task.face_ids[facet.index]}")
        face_id = task.face_ids[facet.index]
        track = task.track()
        share, low, left = _scan(task, track, facet, cutter)
        extra = task.track()
        mill = mills[0] if mills else None
        mill_speeds = None
        if mill is not None:
            mill_speeds = task.pacer(mill).strip(
                wide_mm=STRIP_MM + WIDER_MM, axial_mm=_drop_mm(facet, task.view.cusp_mm)
            )
        if left and mill is not None and mill_speeds is not None and float(facet.normal[2]) < STEEP_RATIO:
            share += _stairs(task, extra, facet, mill, left, mill_speeds)
        if share < DONE_RATIO:
            task.reasons[face_id] = (
                f"Ø{cutter.diameter_mm:g} ball reaches {100.0 * share:.0f} % of the face: the rest lies against a"
                f" neighbour, or too near jaws or seat (lowest contact reached at z {low:.2f} mm)"
            )
        else:
            task.done.add(facet.index)
            task.reasons.pop(face_id, None)
        task.add(
            kind="finish surface",
            cutter=cutter,
            feature=face_id,
            face_ids=(face_id,),
            track=track,
            speeds=task.speeds(cutter),
            radial_mm=step_mm(cutter.diameter_mm / 2.0, task.view.cusp_mm),
            axial_mm=0.5,
        )
        if mill is not None and mill_speeds is not None:
            task.add(
                kind="finish surface",
                cutter=mill,
                feature=face_id,
                face_ids=(face_id,),
                track=extra,
                speeds=mill_speeds,
                radial_mm=STRIP_MM,
                axial_mm=_drop_mm(facet, task.view.cusp_mm),
            )
        if share >= DONE_RATIO:
            _take(task, facet)


def over_ball_mm(centre_mm: float) -> float:
    """Height from which the shank is looked at: up to 0.1 mm over the centre, where a ball of R2 is 3 µm narrower."""
    return math.ceil(centre_mm * 10.0) / 10.0


def step_mm(radius_mm: float, cusp_mm: float) -> float:
    """Distance between lines for the cusp allowed."""
    return step_over_mm(radius_mm=radius_mm, scallop_height_mm=min(cusp_mm, radius_mm))


def _scan(
    task: Task, track: Track, facet: Facet, cutter: Cutter
) -> tuple[float, float, list[tuple[float, float, float]]]:
    """Lays the lines; returns the share of the face that was reached, its lowest height, and the spans missed.

    A missed span is (height of the contact, start and end along the face's level direction).
    """
    import shapely

    view, radius = task.view, cutter.diameter_mm / 2.0
    normal = facet.normal
    level = np.array([-normal[1], normal[0], 0.0]) / math.hypot(normal[0], normal[1])
    slope = np.cross(normal, level)  # points up the face
    corners = view.points[view.triangles[facet.rows]]
    base = corners.reshape(-1, 3)[0]
    flat = np.stack([(corners - base) @ level, (corners - base) @ slope], axis=2)
    face = shapely.union_all([p for p in shapely.get_parts(shapely.polygons(flat)) if p.area > 1e-9]).buffer(1e-6)
    if face.is_empty:
        return 0.0, math.inf, []
    u_low, v_low, u_high, v_high = face.bounds
    count = max(1, math.ceil((v_high - v_low) / step_mm(radius, view.cusp_mm)))
    heights = [v_high - (v_high - v_low) * k / count for k in range(count + 1)]
    near = Nearness(view.points, view.triangles, plane=(base, normal), radius_mm=radius)
    speeds = task.speeds(cutter)
    wanted = reached = 0.0
    lowest = math.inf
    missed: list[tuple[float, float, float]] = []
    for k, v in enumerate(heights):
        inside = min(max(v, v_low + 1e-4), v_high - 1e-4)
        line = shapely.LineString([(u_low - 1.0, inside), (u_high + 1.0, inside)])
        for part in _parts(face.intersection(line)):
            wanted += part[1] - part[0]
            start, end = part[0] - 0.5, part[1] + 0.5
            runs = _free(task, near, cutter, base, level, slope, normal, v, start, end)
            edges = [part[0], *(e for run in runs for e in run), part[1]]
            for a, b in zip(edges[::2], edges[1::2], strict=True):
                if b - a > SAMPLE_MM:
                    missed.append((float((base + v * slope)[2]), a, b))
            for a, b in runs:
                reached += max(0.0, min(b, part[1]) - max(a, part[0]))
                tips = [base + u * level + v * slope + radius * normal - [0.0, 0.0, radius] for u in (a, b)]
                lowest = min(lowest, float((base + v * slope)[2]))
                if k % 2:
                    tips.reverse()
                _line(task, track, tips[0], tips[1], speeds, radius)
    return (reached / wanted if wanted > 0.0 else 0.0), lowest, missed


def _drop_mm(facet: Facet, cusp_mm: float) -> float:
    """From one level of an end mill to the next."""
    return cusp_mm / max(float(facet.normal[2]), 0.05)


def _stairs(
    task: Task, track: Track, facet: Facet, mill: Cutter, missed: list[tuple[float, float, float]], speeds: Speeds
) -> float:  # fmt: skip
    """Steps an end mill's corner down the missed spans, level by level; returns the share of the face it reached."""
    import shapely

    view, radius, normal = task.view, mill.diameter_mm / 2.0, facet.normal
    flat = math.hypot(normal[0], normal[1])
    out = np.array([normal[0], normal[1]]) / flat
    level = np.array([-out[1], out[0]])
    base = view.points[view.triangles[facet.rows]].reshape(-1, 3)[0]
    tall = float(facet.high_mm[2] - facet.low_mm[2])
    top = max(m[0] for m in missed)
    band = step_mm(4.0, task.view.cusp_mm) * flat * 2.0
    top, low = min(top + band, float(facet.high_mm[2])), float(facet.low_mm[2])
    count = max(1, math.ceil((top - low) * float(normal[2]) / view.cusp_mm))
    if count > STAIRS_MAX:
        return 0.0
    start = min(m[1] for m in missed) - 0.5 + float(base[:2] @ level)
    end = max(m[2] for m in missed) + 0.5 + float(base[:2] @ level)
    got = 0.0
    for k in range(1, count + 1):
        z = top + (low - top) * k / count
        across = float(base[:2] @ out) - (z - float(base[2])) * float(normal[2]) / flat + radius
        line = np.array([start * level + across * out, end * level + across * out])
        if k % 2:
            line = line[::-1]
        blocked = shape_of(view.obstacle(z, cutter=mill, allowance_mm=-0.002))
        for piece in without([line], blocked, least_mm=0.1):
            here = track.here
            near = here is not None and math.hypot(here[0] - piece[0, 0], here[1] - piece[0, 1]) < 0.5
            if near:
                track.feed(float(piece[0, 0]), float(piece[0, 1]), z, speeds.feed_mm_per_s)
            else:
                away = piece[0] + out * (radius + 2.0)
                if shapely.LineString([away, piece[0]]).intersects(blocked):
                    away = piece[0]
                highest = view.top_at(x_mm=float(away[0]), y_mm=float(away[1]), radius_mm=radius)
                over = max(z, highest if math.isfinite(highest) else z) + 0.5
                track.enter(
                    x_mm=float(away[0]), y_mm=float(away[1]), z_mm=z, feed_mm_per_s=speeds.plunge_mm_per_s, from_mm=over
                )
                track.feed(float(piece[0, 0]), float(piece[0, 1]), z, speeds.ramp_mm_per_s)
            # the face lies at the side that its normal points away from
            way = piece[1] - piece[0]
            run_swiftly(
                track, speeds, piece, z_mm=z, metal=view.metal(z), radius_mm=radius, wide_mm=STRIP_MM + WIDER_MM,
                is_on_right=bool(way[0] * out[1] - way[1] * out[0] > 0.0),
            )  # fmt: skip
            got += max(0.0, float(np.linalg.norm(piece[1] - piece[0])) - 1.0) / max(end - start - 1.0, 1e-9)
    lines = sorted({m[0] for m in missed})
    whole = len(lines) * step_mm(4.0, task.view.cusp_mm) * flat / max(tall, 1e-9)
    return min(1.0, got / count) * min(1.0, whole)


def _parts(shape: Any) -> list[tuple[float, float]]:
    import shapely

    spans = [(g.bounds[0], g.bounds[2]) for g in shapely.get_parts(shape) if not g.is_empty]
    return sorted(s for s in spans if s[1] - s[0] > 1e-4)


def _free(
    task: Task,
    near: Nearness,
    cutter: Cutter,
    base: Array,
    level: Array,
    slope: Array,
    normal: Array,
    v: float,
    start: float,
    end: float,
) -> list[tuple[float, float]]:
    """Spans of u where the ball and its shank meet nothing."""
    import shapely

    view, radius = task.view, cutter.diameter_mm / 2.0
    us = np.linspace(start, end, max(3, math.ceil((end - start) / SAMPLE_MM)))
    centres = base + us[:, None] * level + v * slope + radius * normal
    good = near.distances(centres) >= radius - TOUCH_MM
    z = float(centres[0, 2])
    zone = view.ball_zone(over_ball_mm(z), z - radius, cutter=cutter, narrower_mm=1e-3)
    if not zone.is_empty:
        good &= ~shapely.contains_xy(zone, centres[:, 0], centres[:, 1])
    runs: list[tuple[float, float]] = []
    k = 0
    while k < len(us):
        if not good[k]:
            k += 1
            continue
        first = k
        while k + 1 < len(us) and good[k + 1]:
            k += 1
        if k > first:
            runs.append((float(us[first]), float(us[k])))
        k += 1
    return runs


def _line(task: Task, track: Track, first: Array, last: Array, speeds: Any, radius: float) -> None:
    here = track.here
    near = here is not None and float(np.linalg.norm(np.subtract(here, first))) < 3.0 * step_mm(
        radius, task.view.cusp_mm
    )
    if near:
        track.feed(float(first[0]), float(first[1]), float(first[2]), speeds.feed_mm_per_s)
    else:
        top = task.view.top_at(x_mm=float(first[0]), y_mm=float(first[1]), radius_mm=radius)
        start = max(float(first[2]), top if math.isfinite(top) else float(first[2])) + 0.5
        track.enter(
            x_mm=float(first[0]),
            y_mm=float(first[1]),
            z_mm=float(first[2]),
            feed_mm_per_s=speeds.plunge_mm_per_s,
            from_mm=start,
        )
    track.feed(float(last[0]), float(last[1]), float(last[2]), speeds.feed_mm_per_s)


def _take(task: Task, facet: Facet) -> None:
    """Takes everything above the face away from the work."""
    import manifold3d

    view = task.view
    area = view.outline(facet)
    if area.is_empty():
        return
    n = facet.normal
    base = view.points[view.triangles[facet.rows]].reshape(-1, 3)[0]
    gone = float(n @ base) / float(n[2])
    column = manifold3d.Manifold.extrude(area, view.clear_mm - float(facet.low_mm[2]) + 1.0)
    lean = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [-n[0] / n[2], -n[1] / n[2], 1.0, gone]])
    view.take(column.transform(lean))
