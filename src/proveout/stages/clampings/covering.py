"""What each way of looking at the work reaches, as sets of sample points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import face_samples
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Access, Hole, Survey, Vector
from proveout.reach.reaching import HeightMap, Stick, height_map, is_touched, look_frame, lowest_touch, widened

PER_FACE = 24
PITCH_MM = 0.5
SLACK_MM = 0.06
SHARE_DONE = 0.97
FIT_RATIO = 0.8
DRILL_FIT_MM = 0.05

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Samples:
    """Points on every face: (n, 3) part frame, outward normals (n, 3), face index (n,)."""

    points: NDArray[np.float64]
    normals: NDArray[np.float64]
    face: NDArray[np.int32]
    hole_of: dict[int, Hole]


@dataclass(frozen=True)
class Obstacle:
    """A box of metal that is not the part: strip or jaw; corners (8, 3) in the part frame."""

    corners: NDArray[np.float64]


def samples_of(solid: Solid, target: Target, survey: Survey) -> Samples:
    """The sample points of the target, PER_FACE a face."""
    points, normals, face = face_samples(
        target.vertices_mm, target.triangles, target.triangle_face, faces_count=len(solid.faces), per_face=PER_FACE
    )
    # facets of a round wall lean by its chords' height; the wall itself does not
    for surface_face in solid.faces:
        if surface_face.surface.kind == "cylinder":
            rows = face == surface_face.index
            axis = np.array(surface_face.surface.axis)
            level = normals[rows] - np.outer(normals[rows] @ axis, axis)
            normals[rows] = level / np.maximum(np.linalg.norm(level, axis=1, keepdims=True), 1e-12)
    holes = {h.id: h for h in survey.holes}
    hole_of = {note.index: holes[note.hole_id] for note in survey.faces if note.hole_id}
    return Samples(points=points, normals=normals, face=face, hole_of=hole_of)


def box_mesh(corners: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """The 12 triangles of a box given as its 8 corners in binary order (x fastest)."""
    quads = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
    triangles = [t for q in quads for t in ((q[0], q[1], q[2]), (q[0], q[2], q[3]))]
    return corners, np.array(triangles, dtype=np.int32)


def sticks_of(cutters: tuple[Cutter, ...]) -> list[tuple[Cutter, Stick]]:
    """Milling cutters from the narrowest to the widest; one per size and stick-out."""
    mills = [c for c in cutters if c.kind in ("end mill", "ball")]
    mills.sort(key=lambda c: (c.diameter_mm, -c.stick_out_mm, c.id))
    seen: set[tuple[float, float]] = set()
    out: list[tuple[Cutter, Stick]] = []
    for cutter in mills:
        key = (round(cutter.diameter_mm, 3), round(cutter.stick_out_mm, 1))
        if key in seen:
            continue
        seen.add(key)
        out.append(
            (cutter, Stick(cutter.diameter_mm / 2.0, cutter.stick_out_mm, max(cutter.holder_diameter_mm, 1.0) / 2.0))
        )
    return out


def reached_from(
    direction: Vector,
    *,
    target: Target,
    samples: Samples,
    obstacles: tuple[Obstacle, ...],
    cutters: tuple[Cutter, ...],
    solid: Solid,
    run: Run,
) -> tuple[Bools, list[Access]]:
    """(n,) samples reached from a direction past the part itself and the obstacles, and one Access a face."""
    vertices, triangles = [target.vertices_mm], [target.triangles]
    count = len(target.vertices_mm)
    for obstacle in obstacles:
        v, t = box_mesh(obstacle.corners)
        vertices.append(v)
        triangles.append((t + count).astype(np.int32))
        count += len(v)
    widest = max((c.diameter_mm for c in cutters), default=10.0)
    shape = height_map(
        np.vstack(vertices), np.vstack(triangles), frame=look_frame(direction), pitch_mm=PITCH_MM,
        margin_mm=min(widest, 16.0) + 2.0,
    )  # fmt: skip
    n = len(samples.points)
    reached = np.zeros(n, dtype=bool)
    best: dict[int, tuple[float, str]] = {}
    cosine = samples.normals @ np.array(direction)
    in_hole = np.array([int(f) in samples.hole_of for f in samples.face], dtype=bool)
    # what cannot even be seen needs no cutter tried on it
    bare_map = widened(shape.heights, radius_px=1.5, highest=False)
    todo = (cosine > -1e-3) & ~in_hole
    todo &= is_touched(shape, bare_map, samples.points, samples.normals, slack_mm=SLACK_MM)
    counts = np.bincount(samples.face, minlength=len(solid.faces)).astype(float)
    for cutter, stick in sticks_of(cutters):
        run.check("clampings", "reach")
        if not np.any(todo & ~reached):
            break
        # a pixel map cannot decide a fit: radii below two pixels are left to the exact corner radii
        lowest = lowest_touch(shape, stick)
        hit = is_touched(shape, lowest, samples.points, samples.normals, slack_mm=SLACK_MM) & todo
        share = np.bincount(samples.face[hit], minlength=len(solid.faces)) / np.maximum(counts, 1.0)
        for face in np.flatnonzero(share > 0.0):
            if share[face] > best.get(int(face), (0.0, ""))[0] + 0.02:
                best[int(face)] = (float(share[face]), cutter.id)
        reached |= hit
    reached |= _undercut(direction, shape=shape, samples=samples, cutters=cutters, solid=solid, best=best)
    reached |= _holes(direction, shape=shape, samples=samples, cutters=cutters, best=best)
    access = [
        Access(
            face_id=solid.faces[face].id,
            direction=direction,
            manner=_manner(direction, samples, face),
            cutter_id=cutter_id,
            reached_ratio=round(ratio, 4),
        )
        for face, (ratio, cutter_id) in sorted(best.items())
    ]
    return reached, access


def _manner(direction: Vector, samples: Samples, face: int):  # noqa: ANN202 - one of Access.manner
    if face in samples.hole_of:
        return "hole"
    cosine = samples.normals[samples.face == face] @ np.array(direction)
    if np.all(cosine > math.cos(math.radians(0.5))):
        return "floor"
    if np.all(np.abs(cosine) < math.sin(math.radians(0.5))):
        return "wall"
    return "inclined"


def _undercut(
    direction: Vector,
    *,
    shape: HeightMap,
    samples: Samples,
    cutters: tuple[Cutter, ...],
    solid: Solid,
    best: dict[int, tuple[float, str]],
) -> Bools:
    """Planes that lean under by exactly the flank angle of an undercut cutter, with room beside them."""
    out = np.zeros(len(samples.points), dtype=bool)
    for cutter in (c for c in cutters if c.kind == "undercut"):
        stick = Stick(cutter.diameter_mm / 2.0, cutter.stick_out_mm, max(cutter.holder_diameter_mm, 1.0) / 2.0)
        lowest = None
        for face in solid.faces:
            lean = -math.asin(max(-1.0, min(1.0, float(np.dot(face.normal, direction)))))
            if face.surface.kind != "plane" or abs(lean - cutter.tip_angle_rad) > math.radians(0.1):
                continue
            rows = np.flatnonzero(samples.face == face.index)
            seen = shape.frame.into(samples.points[rows])
            height = float(seen[:, 2].max() - seen[:, 2].min())
            if height > cutter.flute_length_mm + 1e-6:
                continue
            if lowest is None:
                lowest = lowest_touch(shape, stick)
            away = shape.frame.turn @ np.array(face.normal)
            away = away[:2] / np.linalg.norm(away[:2])
            place = seen[:, :2] + away * (cutter.diameter_mm / 2.0 + shape.pitch_mm)
            i = np.floor((place[:, 0] - shape.low_x_mm) / shape.pitch_mm).astype(int)
            j = np.floor((place[:, 1] - shape.low_y_mm) / shape.pitch_mm).astype(int)
            nx, ny = shape.heights.shape
            free = (i < 0) | (j < 0) | (i >= nx) | (j >= ny)
            i, j = np.clip(i, 0, nx - 1), np.clip(j, 0, ny - 1)
            ok = free | (lowest[i, j] <= float(seen[:, 2].min()) + SLACK_MM)
            out[rows] |= ok
            share = float(ok.mean()) if len(rows) else 0.0
            if share > best.get(face.index, (0.0, ""))[0]:
                best[face.index] = (share, cutter.id)
    return out


def _holes(
    direction: Vector,
    *,
    shape: HeightMap,
    samples: Samples,
    cutters: tuple[Cutter, ...],
    best: dict[int, tuple[float, str]],
) -> Bools:
    """Hole faces whose hole runs along the direction, is open on this side, and has a cutter that fits."""
    out = np.zeros(len(samples.points), dtype=bool)
    for hole in {h.id: h for h in samples.hole_of.values()}.values():
        along = float(np.dot(hole.outward, direction))
        if not (along > 0.99999 or (hole.is_through and along < -0.99999)):
            continue
        cutter = hole_cutter(hole, cutters)
        if cutter is None:
            continue
        # from the far side only a plain hole can be made: its wider steps open the other way
        plain = len({round(s.diameter_mm, 3) for s in hole.steps if s.kind == "cylinder"}) == 1
        if along < 0.0 and not plain:
            continue
        entry = np.array(hole.entry_mm)
        if along < 0.0:
            entry = entry - np.array(hole.outward) * hole.depth_mm
        seen = shape.frame.into(entry[None, :])[0]
        radius_px = max(1.0, 0.45 * hole.diameter_mm / shape.pitch_mm)
        i = int((seen[0] - shape.low_x_mm) / shape.pitch_mm)
        j = int((seen[1] - shape.low_y_mm) / shape.pitch_mm)
        r = math.ceil(radius_px)
        window = shape.heights[max(0, i - r) : i + r + 1, max(0, j - r) : j + r + 1]
        wide = math.ceil(max(cutter.holder_diameter_mm, 1.0) / 2.0 / shape.pitch_mm)
        around = shape.heights[max(0, i - wide) : i + wide + 1, max(0, j - wide) : j + wide + 1]
        bottom = seen[2] - hole.depth_mm
        widest = max(s.diameter_mm for s in hole.steps) / 2.0
        if window.size == 0 or float(window.max()) > seen[2] + widest + 0.3:
            continue
        if float(around.max()) > bottom + cutter.stick_out_mm:
            continue
        for face, owner in samples.hole_of.items():
            if owner.id == hole.id:
                out |= samples.face == face
                best[face] = (1.0, cutter.id)
    return out


def hole_cutter(hole: Hole, cutters: tuple[Cutter, ...]) -> Cutter | None:
    """The drill that matches the hole, else the widest mill that fits in it; None when the shop has neither."""
    size = hole.diameter_mm
    drills = [c for c in cutters if c.kind == "drill" and abs(c.diameter_mm - size) <= DRILL_FIT_MM]
    if drills:
        return min(drills, key=lambda c: (abs(c.diameter_mm - size), -c.flute_length_mm, c.id))
    mills = [
        c
        for c in cutters
        if c.kind == "end mill" and c.diameter_mm <= FIT_RATIO * size and c.stick_out_mm >= hole.depth_mm
    ]
    return max(mills, key=lambda c: (c.diameter_mm, c.id)) if mills else None
