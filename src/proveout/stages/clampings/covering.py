"""What each way of looking at the work reaches, as sets of sample points."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import face_samples
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Access, Hole, Survey, Vector
from proveout.reach.outline import stacked, tip_of
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import EQUAL_MM, INCLINED, LEVEL, SQUARE, Rooms, Shapes, rooms_of
from proveout.reach.standing import REACHED, Look, Relief, free_at, mills_first, short_flutes
from proveout.reach.under import floor_under, is_beside, is_under, nearest_axes, ways_in

PER_FACE = 24
PITCH_MM = 0.5
FIT_RATIO = 0.8
DRILL_FIT_MM = 0.05
ENTRY_MM = 0.3
"""By so much more than its own radius metal may stand over the entry of a hole in a round or leaning face."""
HOLE_ASIDE_MM = 0.06
HOLDER_AIR_MM, THROUGH_MM = 0.5, 0.5
"""Passes keep a holder so far off metal, and take a drill so far out of a through hole. Common practice, no source."""
FLANK_RATIO = 0.9
HEIGHT_DIGITS = 6
ROOM_LEAST_MM = 10.0
"""Radii are told apart up to the widest cutter's, and at least up to this."""

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Samples:
    """Points on every face: (n, 3) part frame, outward normals (n, 3), face index (n,).

    shapes: the faces' closed surfaces.   rooms: what was found of each direction, filled as they are looked along.
    """

    points: NDArray[np.float64]
    normals: NDArray[np.float64]
    face: NDArray[np.int32]
    hole_of: dict[int, Hole]
    shapes: Shapes
    rooms: dict[Vector, Rooms] = field(default_factory=dict)
    looks: dict[tuple[Vector, float], Look] = field(default_factory=dict)

    def rooms_from(self, direction: Vector, cutters: tuple[Cutter, ...]) -> Rooms:
        """The exact room at every point along a direction, worked out once; always for the same cutters."""
        if direction not in self.rooms:
            most = max((c.diameter_mm / 2.0 + EQUAL_MM for c in mills_first(cutters)), default=0.0)
            self.rooms[direction] = rooms_of(
                self.shapes, self.points, self.normals, self.face, frame=look_frame(direction),
                most_mm=max(most * 1.01, ROOM_LEAST_MM), narrowest=True
            )  # fmt: skip
        return self.rooms[direction]

    def look_along(self, direction: Vector, cutters: tuple[Cutter, ...], *, pitch_mm: float) -> Look:
        """The part alone looked at along a direction, worked out once; always for the same cutters."""
        key = (direction, pitch_mm)
        if key not in self.looks:
            target, frame = self.shapes.target, look_frame(direction)
            part = np.ascontiguousarray(frame.into(target.vertices_mm)[target.triangles])
            self.looks[key] = Look(frame, part, self.rooms_from(direction, cutters), cutters, pitch_mm=pitch_mm)
        return self.looks[key]


@dataclass(frozen=True)
class Obstacle:
    """A box of metal that is not the part: strip or jaw; corners (8, 3) in the part frame."""

    corners: NDArray[np.float64]


def samples_of(solid: Solid, target: Target, survey: Survey) -> Samples:
    """The sample points of the target, PER_FACE a face."""
    points, normals, face = face_samples(
        target.vertices_mm, target.triangles, target.triangle_face, faces_count=len(solid.faces), per_face=PER_FACE
    )
    shapes = Shapes(solid, target)
    # facets of a round face lean by its chords; the face itself does not
    points, normals, _ = shapes.on_surface(points, normals, face)
    holes = {h.id: h for h in survey.holes}
    hole_of = {note.index: holes[note.hole_id] for note in survey.faces if note.hole_id}
    return Samples(points=points, normals=normals, face=face, hole_of=hole_of, shapes=shapes)


def box_mesh(corners: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """The 12 triangles of a box given as its 8 corners in binary order (x fastest)."""
    quads = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
    triangles = [t for q in quads for t in ((q[0], q[1], q[2]), (q[0], q[2], q[3]))]
    return corners, np.array(triangles, dtype=np.int32)


def held_by(look: Look, obstacles: tuple[Obstacle, ...]) -> list[Relief] | None:
    """The look's heights with what holds the part; None when nothing does."""
    if not obstacles:
        return None
    return look.past(np.concatenate([look.frame.into(v)[t] for v, t in (box_mesh(o.corners) for o in obstacles)]))


def reached_from(
    direction: Vector,
    *,
    target: Target,  # noqa: ARG001 - the samples' own
    samples: Samples,
    obstacles: tuple[Obstacle, ...],
    cutters: tuple[Cutter, ...],
    solid: Solid,
    run: Run,
    pitch_mm: float = PITCH_MM,
) -> tuple[Bools, list[Access]]:
    """(n,) samples reached from a direction past the part itself and the obstacles, and one Access a face.

    Fits are decided by the faces' own surfaces; what shank, holder, strip and jaws allow by a map of pitch_mm.
    """
    look = samples.look_along(direction, cutters, pitch_mm=pitch_mm)
    held = held_by(look, obstacles)
    n = len(samples.points)
    reached = np.zeros(n, dtype=bool)
    best: dict[int, tuple[float, str]] = {}
    in_hole = np.array([int(f) in samples.hole_of for f in samples.face], dtype=bool)
    todo = look.in_sight & ~in_hole
    counts = np.bincount(samples.face, minlength=len(solid.faces)).astype(float)
    for cutter in mills_first(cutters):
        run.check("clampings", "reach")
        lacking = np.bincount(samples.face[todo & ~reached], minlength=len(solid.faces)) > 0
        asked = todo & lacking[samples.face]
        if not np.any(asked):
            continue
        hit = (look.of(cutter, asked, held) == REACHED) & ~short_flutes(cutter, look.rooms)
        hit &= ~by_edge_alone(cutter, samples, look.rooms)
        share = np.bincount(samples.face[hit], minlength=len(solid.faces)) / np.maximum(counts, 1.0)
        for face in np.flatnonzero(share > 0.0):
            if share[face] > best.get(int(face), (0.0, ""))[0] + 0.02:
                best[int(face)] = (float(share[face]), cutter.id)
        reached |= hit
    for cutter in (c for c in cutters if c.kind == "edge break"):
        asked = todo & ~reached & chamfers(look, samples, cutter)
        if np.any(asked):
            hit = look.of(cutter, asked, held) == REACHED
            share = np.bincount(samples.face[hit], minlength=len(solid.faces)) / np.maximum(counts, 1.0)
            for face in np.flatnonzero(share > 0.0):
                if share[face] > best.get(int(face), (0.0, ""))[0] + 0.02:
                    best[int(face)] = (float(share[face]), cutter.id)
            reached |= hit
    special, mask = special_reach(direction, look=look, held=held, samples=samples, cutters=cutters)
    best |= special
    reached |= mask
    access = [
        Access(
            face_id=solid.faces[face].id,
            direction=direction,
            manner=manner_of(direction, samples, face),
            cutter_id=cutter_id,
            reached_ratio=round(ratio, 4),
        )
        for face, (ratio, cutter_id) in sorted(best.items())
    ]
    return reached, access


def by_edge_alone(cutter: Cutter, samples: Samples, rooms: Rooms) -> Bools:
    """(n,) points of leaning round faces, which a sharp end mill meets with its edge alone: no pass is laid so."""
    surfaces = samples.shapes.surfaces
    is_round = np.array([surface.kind != "plane" for surface in surfaces], dtype=np.bool_)
    sharp = cutter.kind == "end mill" and cutter.corner_radius_mm <= 0.0
    leans = (rooms.way == INCLINED) | (rooms.flank_mm > 0.0)
    return is_round[samples.face] & leans & np.bool_(sharp)


def heights_of(part: NDArray[np.float64], samples: Samples) -> NDArray[np.float64]:
    """(f,) height along the cutter of every face, from its triangles (t, 3, 3) in the look frame."""
    faces, count = samples.shapes.target.triangle_face, len(samples.shapes.solid.faces)
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, faces, part[:, :, 2].min(axis=1))
    np.maximum.at(high, faces, part[:, :, 2].max(axis=1))
    return high - low


def chamfers(look: Look, samples: Samples, cutter: Cutter) -> Bools:
    """Points of flat leaning faces no higher than most of the flank of a pointed cutter."""
    tip = tip_of(cutter)
    flank = FLANK_RATIO * (tip.radius_mm - tip.flat_mm) / math.tan(tip.half_rad)
    low = np.array([f.surface.kind == "plane" for f in samples.shapes.solid.faces], dtype=np.bool_)
    low &= heights_of(look.part, samples) <= flank
    return (look.rooms.way == INCLINED) & low[samples.face]


def special_reach(
    direction: Vector, *, look: Look, held: list[Relief] | None, samples: Samples, cutters: tuple[Cutter, ...]
) -> tuple[dict[int, tuple[float, str]], Bools]:  # fmt: skip
    """Faces that undercut cutters and drills make, by index: share and cutter; and (n,) the points of them reached."""
    grounds = held or [ground for *_, ground in look.tiles]
    best: dict[int, tuple[float, str]] = {}
    mask = _undercut(direction, look=look, grounds=grounds, samples=samples, cutters=cutters, best=best)
    mask |= _ceilings(look=look, grounds=grounds, samples=samples, cutters=cutters, best=best)
    mask |= _holes(direction, look=look, grounds=grounds, samples=samples, cutters=cutters, best=best)
    return best, mask


def manner_of(direction: Vector, samples: Samples, face: int) -> Literal["floor", "wall", "inclined", "hole"]:
    """How a face is met from a direction."""
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
    look: Look,
    grounds: list[Relief],
    samples: Samples,
    cutters: tuple[Cutter, ...],
    best: dict[int, tuple[float, str]],
) -> Bools:
    """Planes that lean under by exactly the flank angle of an undercut cutter, with room beside them to go down in."""
    out = np.zeros(len(samples.points), dtype=bool)
    for cutter in (c for c in cutters if c.kind == "undercut"):
        for face in samples.shapes.solid.faces:
            if not leans_under(face.normal, direction, cutter) or face.surface.kind != "plane":
                continue
            rows = np.flatnonzero(samples.face == face.index)
            seen = look.rooms.points[rows]
            corners = look.part[samples.shapes.target.triangle_face == face.index]
            foot, top = float(corners[:, :, 2].min()), float(corners[:, :, 2].max())
            if top - foot > cutter.flute_length_mm + 1e-6:
                continue
            away = look.rooms.normals[rows][:, :2]
            away = away / np.linalg.norm(away, axis=1, keepdims=True)
            # beside the lip, from where it goes in sideways
            aside = cutter.diameter_mm / 2.0 + (top - seen[:, 2]) * math.tan(cutter.tip_angle_rad)
            places = np.column_stack([seen[:, :2] + away * aside[:, None], np.full(len(rows), foot)])
            ok = np.all([free_at(ground, places, stacked(cutter)) for ground in grounds], axis=0)
            # and with its flank on the point neck, shank and holder meet nothing above the lip
            along = cutter.diameter_mm / 2.0 - (seen[:, 2] - foot) * math.tan(cutter.tip_angle_rad)
            places[:, :2] = seen[:, :2] + away * along[:, None]
            ok &= np.all([free_at(ground, places, _body_with_air(cutter)) for ground in grounds], axis=0)
            out[rows] |= ok
            share = float(ok.mean()) if len(rows) else 0.0
            if share > best.get(face.index, (0.0, ""))[0]:
                best[face.index] = (share, cutter.id)
    return out


def _ceilings(
    *, look: Look, grounds: list[Relief], samples: Samples, cutters: tuple[Cutter, ...],
    best: dict[int, tuple[float, str]],
) -> Bools:  # fmt: skip
    """Flat faces that look straight down, under which a T-slot cutter's head has room, its neck a slot, and a way in,
    and the walls and floors of the rooms under them.

    What holds the part is held against neck and holder where the head stands, not on its way there.
    """
    out = np.zeros(len(samples.points), dtype=bool)
    for cutter in sorted((c for c in cutters if c.kind == "T-slot"), key=lambda c: (c.diameter_mm, c.id)):
        own = np.zeros(len(samples.points), dtype=bool)
        ways = WaysIn(look.part, cutter)
        rooms: set[tuple[float, float]] = set()
        for face in samples.shapes.solid.faces:
            rows = np.flatnonzero(samples.face == face.index)
            if face.surface.kind != "plane" or not len(rows) or look.rooms.normals[rows[0], 2] > -SQUARE:
                continue
            own[rows] = _under(ways, look.rooms.points[rows], grounds)
            if own[rows].any():
                points = look.rooms.points[rows]
                rooms.add((round(float(points[0, 2]), 4), round(floor_under(look.part, points), 4)))
        for top, floor in rooms:
            own |= _round_room(look, samples, ways, top, floor)
        for face in np.unique(samples.face[own]):
            share = float(own[samples.face == face].mean())
            if share > best.get(int(face), (0.0, ""))[0]:
                best[int(face)] = (share, cutter.id)
        out |= own
    return out


class WaysIn:
    """The ways in of one cutter into a part (t, 3, 3), each height looked at once."""

    def __init__(self, part: NDArray[np.float64], cutter: Cutter) -> None:
        self.part, self.cutter = part, cutter
        self._known: dict[float, Any] = {}

    def at(self, top: float) -> Any:
        """As ways_in; faces that lie level differ by the last digits of their heights alone."""
        height = round(top, HEIGHT_DIGITS)
        if height not in self._known:
            self._known[height] = ways_in(self.part, top, self.cutter, air_mm=HOLDER_AIR_MM)
        return self._known[height]


def _round_room(look: Look, samples: Samples, ways: WaysIn, top: float, floor: float) -> Bools:
    """(n,) points of the walls and the floor of a room that a T-slot cutter's head touches, low in it and high.

    Walls in sight are left to mills.
    """
    points, normals, cutter = look.rooms.points, look.rooms.normals, ways.cutter
    head = cutter.flute_length_mm
    out = np.zeros(len(points), dtype=bool)
    if not math.isfinite(floor) or head > top - floor + EQUAL_MM:
        return out
    low, high = ways.at(floor + head), ways.at(top)
    inside = (points[:, 2] > floor - EQUAL_MM) & (points[:, 2] < top + EQUAL_MM)
    inside &= np.array([int(f) not in samples.hole_of for f in samples.face], dtype=bool)
    rows = np.flatnonzero(inside & ~look.in_sight & (np.abs(normals[:, 2]) < LEVEL))
    by_low, by_high = (is_beside(way, points[rows], cutter) for way in (low, high))
    is_low, is_high = points[rows, 2] <= floor + head + EQUAL_MM, points[rows, 2] >= top - head - EQUAL_MM
    out[rows] = (by_low & is_low) | (by_high & is_high) | (by_low & by_high)
    rows = np.flatnonzero(inside & (normals[:, 2] > SQUARE) & (points[:, 2] < floor + EQUAL_MM))
    out[rows] = is_under(low, points[rows], cutter)
    return out


def under_ceiling(
    part: NDArray[np.float64], points: NDArray[np.float64], cutter: Cutter, grounds: list[Relief]
) -> Bools:  # fmt: skip
    """(n,) which points (n, 3) of one ceiling of a part (t, 3, 3) a T-slot cutter's head comes under; look frame."""
    return _under(WaysIn(part, cutter), points, grounds)


def _under(ways: WaysIn, points: NDArray[np.float64], grounds: list[Relief]) -> Bools:
    inside, cutter = ways.at(float(points[0, 2])), ways.cutter
    ok = is_under(inside, points, cutter)
    if ok.any():
        deep = np.full(len(points), points[0, 2] - cutter.flute_length_mm)
        tips = np.column_stack([nearest_axes(inside, points), deep])
        ok &= np.all([free_at(ground, tips, _body_with_air(cutter)) for ground in grounds], axis=0)
    return ok


def leans_under(normal: Vector, direction: Vector, cutter: Cutter) -> bool:
    """Whether a face looks down by the flank angle of an undercut cutter to its axis, within 0.1 degree."""
    lean = -math.asin(max(-1.0, min(1.0, float(np.dot(normal, direction)))))
    return abs(lean - cutter.tip_angle_rad) <= math.radians(0.1)


def _holes(
    direction: Vector,
    *,
    look: Look,
    grounds: list[Relief],
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
        if not _enters(hole, cutter, look.frame.into(entry[None, :])[0], grounds):
            continue
        for face, owner in samples.hole_of.items():
            if owner.id == hole.id:
                out |= samples.face == face
                best[face] = (1.0, cutter.id)
    return out


def _enters(hole: Hole, cutter: Cutter, entry: NDArray[np.float64], grounds: list[Relief]) -> bool:
    """Whether nothing stands over the entry, and shank and holder stand free with the tip at the bottom or out of it.

    A shank no wider than the hole goes where the flutes went.
    """
    widest = max(s.diameter_mm for s in hole.steps) / 2.0
    over = entry + np.array([0.0, 0.0, widest + ENTRY_MM])
    is_drill = cutter.kind == "drill" and cutter.tip_angle_rad > 0.0
    tip = cutter.diameter_mm / 2.0 / math.tan(cutter.tip_angle_rad / 2.0) if is_drill else 0.0
    bottom = entry - np.array([0.0, 0.0, hole.depth_mm + (tip + THROUGH_MM if hole.is_through else 0.0)])
    slim = 0.45 * hole.diameter_mm
    column = np.array([(0.0, 0.0, 1e3, slim, slim)])
    body = _body_with_air(cutter)
    body = body[body[:, 3:].max(axis=1) > 0.5 * hole.diameter_mm + DRILL_FIT_MM]
    return all(
        bool(free_at(g, over[None], column)[0])
        and (not len(body) or bool(free_at(g, bottom[None], body, aside_mm=HOLE_ASIDE_MM)[0]))
        for g in grounds
    )


def shank_stays_out(hole: Hole, cutter: Cutter) -> bool:
    """Whether a shank thicker than the hole's narrowest round need not go into it for the tip to reach its bottom."""
    is_thick = 0.5 * cutter.shank_diameter_mm > 0.5 * hole.diameter_mm + DRILL_FIT_MM
    low, high = _drilled(hole)
    return not is_thick or cutter.shank_from_mm >= high - low + (THROUGH_MM if hole.is_through else 0.0)


def _body_with_air(cutter: Cutter) -> NDArray[np.float64]:
    """(p, 5) shank and holder as free_at takes them, the holder wider by the air that passes keep."""
    body = stacked(cutter)[len(cutter.cutting) :]
    body[body[:, 1] >= cutter.stick_out_mm - 1e-9, 3:] += HOLDER_AIR_MM
    return body


def _drilled(hole: Hole) -> tuple[float, float]:
    """From where to where along the hole its narrowest round lies."""
    own = [s for s in hole.steps if s.kind == "cylinder" and s.diameter_mm <= hole.diameter_mm + 1e-6]
    steps = own or list(hole.steps)
    return min(s.depth_low_mm for s in steps), max(s.depth_high_mm for s in steps)


def hole_cutter(hole: Hole, cutters: tuple[Cutter, ...]) -> Cutter | None:
    """The drill that matches the hole, else the widest mill that fits in it; None when the shop has neither."""
    size = hole.diameter_mm
    low, high = _drilled(hole)
    drills = [
        c
        for c in cutters
        if c.kind == "drill" and abs(c.diameter_mm - size) <= DRILL_FIT_MM and c.flute_length_mm >= high - low
    ]
    if drills:
        return min(drills, key=lambda c: (abs(c.diameter_mm - size), -c.flute_length_mm, c.id))
    mills = [
        c
        for c in cutters
        if c.kind == "end mill" and c.diameter_mm <= FIT_RATIO * size and c.stick_out_mm >= hole.depth_mm
    ]
    return max(mills, key=lambda c: (c.diameter_mm, c.id)) if mills else None
