"""Moves of cutters that take a removed body off, worked out from the body, and what they take off the solid before.

A hole is plunged: each of its cylinders and cones is a cutter of that outline. Everything else is milled with a flat
end: at each floor's height the middle of the cutter may be wherever it touches no metal that is to stay, which is the
outside of the shadow of that metal offset by the cutter's radius; it runs round that region and then in rings inside.
The cutter reaches from its floor through the top of the solid, so that a shank in metal shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from kinds import Kind, floors
from removed import Removed
from shadows import Circle, Path, corners_of, frame_along, parts_of, path_along, projected, rings_of, shadow
from shapely.geometry.base import BaseGeometry

from proveout.model.cutter import Piece
from proveout.removal.arcs import cut_arcs
from proveout.removal.comparing import difference_mm3
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.solids.mesh import Mesh

DIAMETERS_MM = (63.0, 50.0, 40.0, 32.0, 25.0, 20.0, 16.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0)
REACH_RATIO = 5.0  # a mill cuts no deeper than so many of its diameters, and is no wider than the body
PLANNED_LEFT_RATIO = 2e-4  # of the body: the largest mill that leaves no more in the corners is taken
OVER_MM = 1.0  # beyond the top of the solid
RING_RATIO = 0.9  # of the radius, from ring to ring
NEAR_RATIO = 1.05  # of the radius: as far from what is to be cleared the middle may be
CIRCLE_SEGMENTS = 64
LEAST_RADIUS_MM = 0.02
ROOM_MM = 0.5
SPLINTER_MM = 0.002
WIDE_RATIO = 1.0 / 3.0  # of the rays, for what is beyond the body


@dataclass(frozen=True, kw_only=True, eq=False)
class Cut:
    """Moves of one cutter: pieces with the tip at 0, axis (3,), starts, ends, centres (n, 3), turns (n,)."""

    pieces: tuple[Piece, ...]
    axis: np.ndarray
    starts: np.ndarray
    ends: np.ndarray
    centres: np.ndarray
    turns: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Expressed:
    """What the moves took off, by each of three fields, against the exact volume; no moves: a reason instead.

    worst_ratio: the worst of the three fields.   left_ratio, gouge_ratio: of the body, against the mesh of the solid
    after, the greatest of the three fields.   struck_mm3: taken off other solids of the file.
    """

    moves_count: int
    arcs_count: int
    diameters_mm: tuple[float, ...]
    pitch_mm: float
    removed_mm3: tuple[float, ...]
    worst_ratio: float
    left_ratio: float
    gouge_ratio: float
    struck_mm3: float


def moves_for(body: Removed, kind: Kind) -> list[Cut]:
    """The cutters and their moves; none when no mill of the list reaches."""
    assert kind.direction is not None
    return _plunges(body, kind) if kind.is_turned else _mill(body, kind.direction)


def _top(body: Removed, direction: np.ndarray) -> float:
    """The highest point of the solid before, along a direction."""
    return float((body.before.vertices_mm @ direction).max()) + OVER_MM


def _plunges(body: Removed, kind: Kind) -> list[Cut]:
    assert kind.direction is not None
    assert kind.axis_mm is not None
    way, foot = kind.direction, kind.axis_mm
    across = foot - (foot @ way) * way
    top = _top(body, way)
    found = []
    for face in body.faces:
        if not face.wall or face.surface.kind not in ("cylinder", "cone"):
            continue
        heights = face.triangles_mm.reshape(-1, 3) @ way
        low, high = float(heights.min()), float(heights.max())
        if face.surface.kind == "cylinder":
            pieces = [_frustum(0.0, top - low, face.surface.radius_mm, face.surface.radius_mm)]
        else:
            apex = float(np.array(face.surface.origin_mm) @ way)
            slope = math.tan(face.surface.half_angle_rad)
            small, large = abs(low - apex) * slope, abs(high - apex) * slope
            pieces = [_frustum(0.0, high - low, small, large), _frustum(high - low, top - low, large, large)]
        end = across + low * way
        found.append((pieces, end))
    cuts = []
    for pieces, end in sorted(found, key=lambda one: -float(one[1] @ way)):
        start = end + (top - float(end @ way)) * way
        cuts.append(
            Cut(
                pieces=tuple(pieces), axis=way, starts=start[None], ends=end[None], centres=end[None],
                turns=np.zeros(1, dtype=np.int64),
            )
        )  # fmt: skip
    return cuts


def _frustum(low: float, high: float, r_low: float, r_high: float) -> Piece:
    return Piece(kind="frustum", z_low_mm=low, z_high_mm=high, r_low_mm=r_low, r_high_mm=r_high)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Level:
    """A floor: its height along w, what is to be cleared there and what stands above it."""

    height: float
    region: BaseGeometry
    stays: BaseGeometry


def _mill(body: Removed, direction: np.ndarray) -> list[Cut]:
    frame = frame_along(direction)
    own = np.concatenate([f.triangles_mm.reshape(-1, 3) for f in body.faces]) @ frame.T
    top = float(own[:, 2].max())
    widest = float((own[:, :2].max(axis=0) - own[:, :2].min(axis=0)).max())
    fitting = [diameter for diameter in DIAMETERS_MM if diameter <= widest]
    room = NEAR_RATIO * max(fitting, default=0.0) + 2.0 * ROOM_MM
    low, high = own[:, :2].min(axis=0) - room, own[:, :2].max(axis=0) + room
    levels = [
        _Level(
            height=height, region=projected(triangles),
            stays=shadow((*body.after, *body.obstacles), frame, above_mm=height, low=low, high=high),
        )
        for height, triangles in floors(body, frame)
    ]  # fmt: skip
    depth = top - min(level.height for level in levels)
    best: tuple[float, float] | None = None
    for diameter in fitting:
        if diameter * REACH_RATIO < depth:
            break
        left = sum(_left_mm2(level, 0.5 * diameter) * (top - level.height) for level in levels) / body.volume_mm3
        if best is None or left < best[0]:
            best = (left, diameter)
        if left <= PLANNED_LEFT_RATIO:
            best = (left, diameter)
            break
    if best is None:
        return []
    circles = _circles(body, frame, levels)
    return [cut for level in levels for cut in _level_cuts(body, frame, level, 0.5 * best[1], circles)]


def _middles(level: _Level, radius: float) -> BaseGeometry:
    """Where the cutter's middle may be at a floor: near what is to be cleared, clear of what stays."""
    # a little farther than it can be of use, so that no part of this rim runs along the rim of what stays
    near = level.region.buffer(NEAR_RATIO * radius, quad_segs=CIRCLE_SEGMENTS)
    free = near.difference(level.stays.buffer(radius, quad_segs=CIRCLE_SEGMENTS))
    # between two walls that a cutter just fits there are only splinters, made of the chords of the mesh
    return shapely.union_all([part for part in parts_of(free) if not part.buffer(-SPLINTER_MM).is_empty])


def _left_mm2(level: _Level, radius: float) -> float:
    """Area of a floor that no place of the cutter covers, less what the chords of its rim make of it."""
    swept = _middles(level, radius).buffer(radius, quad_segs=CIRCLE_SEGMENTS)
    left = level.region.difference(swept)
    return float(left.buffer(-0.002).buffer(0.002).area)


def _circles(body: Removed, frame: np.ndarray, levels: Sequence[_Level]) -> list[Circle]:
    """Round walls along w, with a radius that is negative for a bore, and the corners of what stays."""
    found: set[Circle] = set()
    for face in body.faces:
        surface = face.surface
        if face.wall and surface.kind == "cylinder" and abs(np.array(surface.axis) @ frame[2]) > 1.0 - 1e-9:
            u, v = frame[:2] @ np.array(surface.origin_mm)
            found.add((float(u), float(v), surface.radius_mm * (1.0 if face.inward else -1.0)))
    for level in levels:
        found.update(corners_of(level.stays))
    return sorted(found)


def _level_cuts(
    body: Removed, frame: np.ndarray, level: _Level, radius: float, circles: Sequence[Circle]
) -> list[Cut]:  # fmt: skip
    region = _middles(level, radius)
    exact = [(u, v, abs(r + radius)) for u, v, r in circles if abs(r + radius) > LEAST_RADIUS_MM]
    paths: list[Path] = []
    inner, rings = region, 0
    while not inner.is_empty:
        paths += [path_along(ring, exact if rings == 0 else ()) for ring in rings_of(inner)]
        rings += 1
        inner = region.buffer(-rings * RING_RATIO * radius, quad_segs=8)
    top = _top(body, frame[2])
    pieces = (_frustum(0.0, top - level.height, radius, radius),)

    def lifted(flat: np.ndarray) -> np.ndarray:
        return flat @ frame[:2] + level.height * frame[2]

    return [
        Cut(
            pieces=pieces, axis=frame[2], starts=lifted(path.starts), ends=lifted(path.ends),
            centres=lifted(path.centres), turns=path.turns,
        )
        for path in paths
        if len(path.turns)
    ]  # fmt: skip


def run(body: Removed, cuts: Sequence[Cut], *, rays_count: float) -> Expressed:
    """The moves on the solid before: finely about the body, and once more in a box that holds all they can touch.

    What is taken off beyond the body is gouged; the wider box is for that and for other solids of the file.
    """
    low, high = (corner + side * ROOM_MM for corner, side in zip(body.box_mm, (-1.0, 1.0), strict=True))
    pitch = _pitch(low, high, rays_count)
    removed, left, gouge = _run_within(body, cuts, low, high, pitch)
    wide_low, wide_high = _box(body, cuts)
    wide_pitch = _pitch(wide_low, wide_high, WIDE_RATIO * rays_count)
    if np.any(wide_low < low) or np.any(wide_high > high):
        gouge = np.maximum(gouge, _run_within(body, cuts, wide_low, wide_high, wide_pitch)[2])
    struck = 0.0
    for other in body.obstacles:
        points = other.vertices_mm
        if np.all(points.max(axis=0) > wide_low) and np.all(points.min(axis=0) < wide_high):
            struck += float(_apply(_fields((other,), wide_low, wide_high, wide_pitch), cuts).max())
    worst = float(np.abs(removed / body.volume_mm3 - 1.0).max())
    return Expressed(
        moves_count=sum(len(c.turns) for c in cuts), arcs_count=sum(int(np.count_nonzero(c.turns)) for c in cuts),
        diameters_mm=tuple(sorted({2.0 * p.r_high_mm for c in cuts for p in c.pieces})), pitch_mm=pitch,
        removed_mm3=tuple(float(v) for v in removed), worst_ratio=worst,
        left_ratio=float(left.max()) / body.volume_mm3, gouge_ratio=float(gouge.max()) / body.volume_mm3,
        struck_mm3=struck,
    )  # fmt: skip


def _pitch(low: np.ndarray, high: np.ndarray, rays_count: float) -> float:
    """The pitch at which a box has so many rays in its three fields together."""
    size = high - low
    return math.sqrt(float(size[0] * size[1] + size[1] * size[2] + size[2] * size[0]) / rays_count)


def _run_within(
    body: Removed, cuts: Sequence[Cut], low: np.ndarray, high: np.ndarray, pitch: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Removed, left and gouged mm3 by each of three fields within a box."""
    work = _fields((body.before,), low, high, pitch)
    removed = _apply(work, cuts)
    return removed, *difference_mm3(work, _fields(body.after, low, high, pitch))


def _box(body: Removed, cuts: Sequence[Cut]) -> tuple[np.ndarray, np.ndarray]:
    """All that the cutters sweep, as far as the solid before goes; the body at least."""
    low, high = body.box_mm
    for cut in cuts:
        radius = max(piece.r_high_mm for piece in cut.pieces)
        reach = max(piece.z_high_mm for piece in cut.pieces) * cut.axis
        for points in (cut.starts, cut.ends, cut.starts + reach, cut.ends + reach):
            low = np.minimum(low, points.min(axis=0) - radius)
            high = np.maximum(high, points.max(axis=0) + radius)
        if np.any(cut.turns):
            about = np.linalg.norm(cut.starts - cut.centres, axis=1)[cut.turns != 0]
            low = np.minimum(low, (cut.centres[cut.turns != 0] - about[:, None] - radius).min(axis=0))
            high = np.maximum(high, (cut.centres[cut.turns != 0] + about[:, None] + radius).max(axis=0))
    solid_low, solid_high = body.before.vertices_mm.min(axis=0), body.before.vertices_mm.max(axis=0)
    margin = ROOM_MM
    return np.maximum(low, solid_low) - margin, np.minimum(high, solid_high) + margin


def _fields(meshes: Sequence[Mesh], low: np.ndarray, high: np.ndarray, pitch: float) -> Fields:
    """Solids that lie apart as one set of fields."""
    counts = np.cumsum([0, *(len(m.vertices_mm) for m in meshes)])
    return mesh_fields(
        np.concatenate([m.vertices_mm for m in meshes]),
        np.concatenate([m.triangles + first for m, first in zip(meshes, counts[:-1], strict=True)]),
        low_mm=low, high_mm=high, pitch_mm=pitch,
    )  # fmt: skip


def _apply(work: Fields, cuts: Sequence[Cut]) -> np.ndarray:
    removed = np.zeros(3)
    for cut in cuts:
        removed += cut_arcs(
            work, pieces=cut.pieces, axis=cut.axis, starts_mm=cut.starts, ends_mm=cut.ends, centres_mm=cut.centres,
            turns=cut.turns,
        ).sum(axis=0)  # fmt: skip
    return removed
