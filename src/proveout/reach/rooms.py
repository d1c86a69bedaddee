"""How much room a cutter finds at points of a solid seen from one direction, from the solid's own surfaces.

No pixel decides here. A point is put on its face's surface in closed form. Room beside it is the radius of the largest
disc or ball that touches it there: against the triangles of all other faces, and then against the closed form of the
surface that was met. How hollow the face is itself is told apart, since facets of a round have corners that it has not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.geometry.upward import Upward
from proveout.model.solid import Solid, Surface
from proveout.model.target import Target
from proveout.reach.outline import Tip
from proveout.reach.surfaces import EXACT, height_over, hollows, moved, onto

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
AWAY, WALL, FLOOR, INCLINED = 0, 1, 2, 3
LEVEL = 1e-3
"""Up to this part of a normal along the direction a face stands along the cutter."""
SQUARE = 0.999999
ABOVE_MM = 0.02
"""What stands no higher than this over a point does not bound the cutter there: the mesh's own error."""
EQUAL_MM = 1e-6
"""A cutter exactly as large as its room fits."""
BEND_PER_MM = 1e-7
ON_SURFACE_MM = 0.03
TURNS_MOST = 6
NEAR_SIDE_MM = 0.3
ALTERNATIONS = 40
INTO_MM = 1e-7
FLANK_SPOTS_MM = np.geomspace(1e-3, 3.0, 60)
"""Beside and over a wall's point: so far off a straight flank is held against the face itself."""


@dataclass(frozen=True)
class Rooms:
    """Points seen from a direction, in the look frame.

    points, normals (n, 3): on the exact surfaces.   way (n,): AWAY, WALL, FLOOR or INCLINED.   radius_mm (n,): largest
    radius that touches: of an upright cutter at a wall, of one that covers a point of a floor, of a ball elsewhere;
    inf where no less than was asked.   met (n,): the face that bounds a wall's room, -1 for none or not asked.
    column_mm (n,): height of the face itself along the cutter where a wall's point lies, 0 for others.
    middle (n, 2): of the largest disc that covers a point of a floor, the point itself elsewhere.
    hollow (n, 3, 3): the face's own curvature, as from `hollows`.
    flank_mm (n,): where a wall leans back and is hollow along the cutter, the largest radius of a straight flank that
    keeps off the face itself over the point, inf where no less than was asked; 0 for others.
    """

    points: Floats
    normals: Floats
    way: NDArray[np.int8]
    radius_mm: Floats
    met: NDArray[np.int64]
    middle: Floats
    hollow: Floats
    column_mm: Floats
    flank_mm: Floats

    def at(self, rows: NDArray[np.int64]) -> Rooms:
        """The rooms of some of the points."""
        return Rooms(
            points=self.points[rows], normals=self.normals[rows], way=self.way[rows], radius_mm=self.radius_mm[rows],
            met=self.met[rows], middle=self.middle[rows], hollow=self.hollow[rows],
            column_mm=self.column_mm[rows], flank_mm=self.flank_mm[rows],
        )  # fmt: skip


class Shapes:
    """The closed surfaces of a target's faces and which faces run on smoothly from which; made once a target."""

    def __init__(self, solid: Solid, target: Target) -> None:
        self.solid = solid
        self.target = target
        self.surfaces: list[Surface] = [
            moved(face, offset_mm=float(target.face_offset_mm[face.index])) for face in solid.faces
        ]
        count = len(solid.faces)
        self.joined = np.eye(count, dtype=np.bool_)
        groups = np.array([face.surface_group for face in solid.faces], dtype=np.int64)
        self.joined |= groups[:, None] == groups[None, :]
        # what runs on smoothly from a face and, as it does, bends
        self.running_on = self.joined.copy()
        for edge in solid.edges:
            # beyond a convex edge a face falls back; what it meets elsewhere, the face on its other side meets too
            if edge.convexity != "concave":
                a, b = edge.faces
                self.joined[a, b] = self.joined[b, a] = True
                if edge.convexity == "smooth":
                    self.running_on[a, b] = self.running_on[b, a] = True
        self.running_on &= np.array([s.kind in EXACT and s.kind != "plane" for s in self.surfaces], dtype=np.bool_)

    def on_surface(self, points_mm: Floats, normals: Floats, face: NDArray[np.int32]) -> tuple[Floats, Floats, Floats]:
        """Points and normals put on their faces' surfaces, and the curvature there, all in the part frame."""
        points, outward = points_mm.copy(), normals.copy()
        hollow = np.zeros((len(points), 3, 3))
        for own in self.solid.faces:
            rows = np.flatnonzero(face == own.index)
            surface = self.surfaces[own.index]
            if not len(rows) or surface.kind not in EXACT:
                continue
            points[rows] = onto(surface, points_mm[rows], inward=own.inward)
            _, outward[rows] = height_over(surface, points[rows], inward=own.inward)
            hollow[rows] = hollows(surface, points[rows], inward=own.inward)
        return points, outward, hollow


def rooms_of(
    shapes: Shapes,
    points_mm: Floats,
    normals: Floats,
    face: NDArray[np.int32],
    *,
    frame: Frame,
    most_mm: float,
    narrowest: bool = False,
) -> Rooms:
    """The room at points (n, 3) of faces (n,) for cutters along -z of `frame`, radii told up to `most_mm`.

    narrowest: one point of each wall is moved to where the wall's room is least, so that no narrow place lies unseen
    between the points.
    """
    points, outward, hollow = shapes.on_surface(points_mm, normals, face)
    turn = frame.turn
    seen, out = frame.into(points), outward @ turn.T
    bent = turn @ hollow @ turn.T
    way = np.full(len(seen), INCLINED, dtype=np.int8)
    way[out[:, 2] < -LEVEL] = AWAY
    way[np.abs(out[:, 2]) <= LEVEL] = WALL
    way[out[:, 2] >= SQUARE] = FLOOR
    radius = np.full(len(seen), np.inf)
    met = np.full(len(seen), -1, dtype=np.int64)
    middle = seen[:, :2].copy()
    mesh = frame.into(shapes.target.vertices_mm)
    owner = face.astype(np.int64)
    for kind in (WALL, INCLINED):
        rows = np.flatnonzero(way == kind)
        if len(rows):
            radius[rows], met[rows] = _beside(
                shapes, frame, mesh, seen[rows], out[rows], owner[rows], is_wall=kind == WALL, most_mm=most_mm
            )  # fmt: skip
    if narrowest:
        _at_narrowest(shapes, frame, mesh, (seen, out, bent, radius, met), way, owner, most_mm=most_mm)
        middle[way == WALL] = seen[way == WALL, :2]
    column, flank = np.zeros(len(seen)), np.zeros(len(seen))
    rows = np.flatnonzero(way == WALL)
    for index in np.unique(owner[rows]):
        own = rows[owner[rows] == index]
        corners = mesh[shapes.target.triangles[shapes.target.triangle_face == index]]
        column[own] = _columns(corners, seen[own], out[own])
        back = own[(out[own, 2] > 0.0) & (bent[own, 2, 2] > BEND_PER_MM)]
        if len(back):
            flank[back] = _flanks(shapes, frame, mesh, int(index), seen[back], out[back], most_mm=most_mm)
    rows = np.flatnonzero(way == FLOOR)
    if len(rows):
        radius[rows], middle[rows] = _floors(mesh, shapes.target.triangles, seen[rows], most_mm=most_mm)
    radius[radius >= most_mm] = np.inf
    flank[flank >= most_mm] = np.inf
    return Rooms(
        points=seen, normals=out, way=way, radius_mm=radius, met=met, middle=middle, hollow=bent, column_mm=column,
        flank_mm=flank,
    )  # fmt: skip


def _beside(
    shapes: Shapes, frame: Frame, mesh: Floats, seen: Floats, out: Floats, owner: NDArray[np.int64], *, is_wall: bool,
    most_mm: float,
) -> tuple[Floats, NDArray[np.int64]]:  # fmt: skip
    """The largest disc (walls) or ball that touches each point and meets no other face, and the face that bounds it."""
    from proveout.reach.kernels.rooms import ball_rooms, wall_rooms

    faces = shapes.target.triangle_face.astype(np.int64)
    # of two faces that share the edge that is met the round one comes first, its closed form is nearer than the chord;
    # then the wall before its top: the narrowest place lies beside the wall
    flat = np.array([surface.kind == "plane" for surface in shapes.surfaces], dtype=np.bool_)
    leaning = np.array([not _is_upright(surface, frame) for surface in shapes.surfaces], dtype=np.bool_)
    order = np.lexsort((leaning[faces], flat[faces]))
    faces = faces[order]
    corners = np.ascontiguousarray(mesh[shapes.target.triangles[order]])
    ways = out[:, :2] / np.linalg.norm(out[:, :2], axis=1, keepdims=True) if is_wall else out
    radius, touch = np.empty(len(seen)), np.zeros((len(seen), 3))
    met = np.empty(len(seen), dtype=np.int64)
    skip = shapes.joined.copy()
    rows = np.arange(len(seen))
    for _ in range(TURNS_MOST):
        found, place, other = np.empty(len(rows)), np.zeros((len(rows), 3)), np.empty(len(rows), dtype=np.int64)
        given = (np.ascontiguousarray(seen[rows]), np.ascontiguousarray(ways[rows]), owner[rows], skip, corners, faces)
        if is_wall:
            wall_rooms(*given, ABOVE_MM, most_mm, found, place, other)
        else:
            ball_rooms(*given, most_mm, found, place, other)
        radius[rows], touch[rows], met[rows] = found, place, other
        # a chord of another face's rim along the point's own surface: that surface's hollow is told apart
        own = _on_own(shapes, frame, touch[rows], owner[rows]) & (other >= 0)
        rows = rows[own]
        if not len(rows):
            break
        skip[owner[rows], met[rows]] = True
    return _refined(shapes, frame, seen, ways, radius, touch, met), met


def _columns(corners: Floats, seen: Floats, out: Floats) -> Floats:
    """Height of a wall's own triangles (t, 3, 3) in the upright plane through each point along its normal."""
    low, high = _ends_of_column(corners, seen, out)
    return np.maximum(high - low, 0.0)


def _ends_of_column(corners: Floats, seen: Floats, out: Floats) -> tuple[Floats, Floats]:
    """(n,) least and greatest height of triangles (t, 3, 3) in that plane near each point; inf and -inf for none."""
    across = np.column_stack([-out[:, 1], out[:, 0]]) / np.linalg.norm(out[:, :2], axis=1, keepdims=True)
    rel = corners[None, :, :, :2] - seen[:, None, None, :2]
    side = np.einsum("ntkc,nc->ntk", rel, across)
    ahead = np.einsum("ntkc,nc->ntk", rel, out[:, :2])
    heights = np.broadcast_to(corners[None, :, :, 2], side.shape)
    low, high = np.full(len(seen), np.inf), np.full(len(seen), -np.inf)
    for k in range(3):
        a, b = side[:, :, k], side[:, :, (k + 1) % 3]
        cut = (a <= 0.0) != (b <= 0.0)
        share = np.divide(a, a - b, out=np.zeros_like(a), where=cut)
        depth = ahead[:, :, k] + share * (ahead[:, :, (k + 1) % 3] - ahead[:, :, k])
        z = heights[:, :, k] + share * (heights[:, :, (k + 1) % 3] - heights[:, :, k])
        # the far side of a round wall lies in the same plane
        cut &= np.abs(depth) <= NEAR_SIDE_MM
        low = np.minimum(low, np.where(cut, z, np.inf).min(axis=1))
        high = np.maximum(high, np.where(cut, z, -np.inf).max(axis=1))
    return low, high


def _rises(corners: Floats, seen: Floats, out: Floats) -> Floats:
    """How high a wall's own triangles (t, 3, 3) stand over each point, of those on the point's own side of a round."""
    rel = corners[None] - seen[:, None, None]
    ahead = np.einsum("ntkc,nc->ntk", rel, out)
    best = np.where(np.abs(ahead) <= NEAR_SIDE_MM, rel[..., 2], 0.0).max(axis=(1, 2), initial=0.0)
    for side in (-NEAR_SIDE_MM, NEAR_SIDE_MM):
        for k in range(3):
            a, b = ahead[:, :, k] - side, ahead[:, :, (k + 1) % 3] - side
            cut = (a <= 0.0) != (b <= 0.0)
            share = np.divide(a, a - b, out=np.zeros_like(a), where=cut)
            z = rel[:, :, k, 2] + share * (rel[:, :, (k + 1) % 3, 2] - rel[:, :, k, 2])
            best = np.maximum(best, np.where(cut, z, 0.0).max(axis=1, initial=0.0))
    return best


def _flanks(
    shapes: Shapes, frame: Frame, mesh: Floats, index: int, seen: Floats, out: Floats, *, most_mm: float
) -> Floats:  # fmt: skip
    """Largest radius, up to most_mm, of an upright disc that touches each point of a wall and nowhere its face over it.

    Held against places of the face's closed form beside the point and over it, up to the face's own top, and of the
    faces into which it runs on smoothly over the point.
    """
    best = np.full(len(seen), most_mm)
    for other in np.flatnonzero(shapes.running_on[index]):
        corners = mesh[shapes.target.triangles[shapes.target.triangle_face == other]]
        if other == index:
            low, high = np.zeros(len(seen)), _rises(corners, seen, out)
        else:
            low, high = (ends - seen[:, 2] for ends in _ends_of_column(corners, seen, out))
        for k in np.flatnonzero(high > 0.0):
            spots = FLANK_SPOTS_MM[(low[k] < FLANK_SPOTS_MM) & (high[k] > FLANK_SPOTS_MM)]
            found = _flank_beside(shapes, frame, int(other), seen[k], out[k], np.append(spots, high[k]))
            best[k] = min(best[k], found)
    return best


def _flank_beside(shapes: Shapes, frame: Frame, face: int, point: Floats, normal: Floats, heights: Floats) -> float:
    """The largest disc at a point against places of a face's surface so high over it; inf where none lies before it."""
    way = normal[:2] / np.linalg.norm(normal[:2])
    asides = np.concatenate([-FLANK_SPOTS_MM[::-1], [0.0], FLANK_SPOTS_MM])
    aside, height = (v.ravel() for v in np.meshgrid(asides, heights))
    spots = np.column_stack([-way[1] * aside, way[0] * aside, height]) + point
    places = onto(shapes.surfaces[face], frame.out_of(spots), inward=shapes.solid.faces[face].inward)
    rel = (frame.into(places) - point)[:, :2]
    ahead = rel @ way
    near = ahead > INTO_MM
    return float((np.einsum("ij,ij->i", rel, rel)[near] / (2.0 * ahead[near])).min(initial=np.inf))


def _at_narrowest(
    shapes: Shapes, frame: Frame, mesh: Floats, found: tuple[Floats, Floats, Floats, Floats, NDArray[np.int64]],
    way: NDArray[np.int8], owner: NDArray[np.int64], *, most_mm: float,
) -> None:  # fmt: skip
    """Move the point of least room of each wall to the nearest place to the face that bounds it, in place.

    Each of both surfaces is gone to from the other by turns; the place is taken when it still lies on the face and its
    room is no larger than before.
    """
    seen, out, bent, radius, met = found
    turn = frame.turn
    upright = np.array([_is_upright(surface, frame) for surface in shapes.surfaces], dtype=np.bool_)
    bound_by_wall = (way == WALL) & (met >= 0) & upright[met]
    for index in np.unique(owner[bound_by_wall]):
        rows = np.flatnonzero((owner == index) & bound_by_wall)
        row = rows[int(np.argmin(radius[rows]))]
        own, other = shapes.solid.faces[index], shapes.solid.faces[met[row]]
        a, b = shapes.surfaces[index], shapes.surfaces[met[row]]
        if a.kind not in EXACT or b.kind not in EXACT:
            continue
        place = frame.out_of(seen[row][None])
        for _ in range(ALTERNATIONS):
            place = onto(a, onto(b, place, inward=other.inward), inward=own.inward)
        there = frame.into(place)
        if not _lies_on(mesh[shapes.target.triangles[shapes.target.triangle_face == index]], there[0]):
            continue
        _, normal = height_over(a, place, inward=own.inward)
        _, facing = height_over(b, place, inward=other.inward)
        level = normal @ turn.T
        # walls that meet in a corner do not face each other: their corner is no narrow place
        if abs(level[0, 2]) > LEVEL or float(normal[0] @ facing[0]) > -SQUARE:
            continue
        least, bound = _beside(
            shapes, frame, mesh, there, level, np.array([index], dtype=np.int64), is_wall=True, most_mm=most_mm
        )  # fmt: skip
        if least[0] <= radius[row]:
            seen[row], out[row], radius[row], met[row] = there[0], level[0], least[0], bound[0]
            bent[row] = turn @ hollows(a, place, inward=own.inward)[0] @ turn.T


def _is_upright(surface: Surface, frame: Frame) -> bool:
    """Whether all of a surface stands along the cutter."""
    along = abs(float(np.dot(surface.axis, frame.z)))
    return along <= LEVEL if surface.kind == "plane" else surface.kind == "cylinder" and along >= SQUARE


def _lies_on(corners: Floats, place: Floats) -> bool:
    """Whether a place lies on one of the triangles (t, 3, 3), as nearly as the mesh does on its surface."""
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    across = across / np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-12)
    off = np.abs(np.einsum("ij,ij->i", corners[:, 0] - place, across))
    for k in range(3):
        inward = np.cross(across, corners[:, (k + 1) % 3] - corners[:, k])
        inward = inward / np.maximum(np.linalg.norm(inward, axis=1, keepdims=True), 1e-12)
        off = np.maximum(off, -np.einsum("ij,ij->i", place - corners[:, k], inward))
    return bool(np.any(off <= ON_SURFACE_MM))


def _on_own(shapes: Shapes, frame: Frame, places: Floats, owner: NDArray[np.int64]) -> Bools:
    """Whether places of the look frame lie on the surfaces of faces (n,), as nearly as the mesh does."""
    out = np.zeros(len(places), dtype=np.bool_)
    for index in np.unique(owner):
        surface = shapes.surfaces[index]
        if surface.kind in EXACT:
            rows = np.flatnonzero(owner == index)
            height, _ = height_over(surface, frame.out_of(places[rows]), inward=shapes.solid.faces[index].inward)
            out[rows] = np.abs(height) <= ON_SURFACE_MM
    return out


def _refined(
    shapes: Shapes, frame: Frame, seen: Floats, ways: Floats, found: Floats, touch: Floats, other: NDArray[np.int64]
) -> Floats:
    """The rooms with the place of touch put on the closed surface that was met; ways (n, 2) of walls, else (n, 3)."""
    out = found.copy()
    size = ways.shape[1]
    for index in np.unique(other[other >= 0]):
        own, surface = shapes.solid.faces[index], shapes.surfaces[index]
        if surface.kind not in EXACT or surface.kind == "plane":
            continue
        rows = np.flatnonzero(other == index)
        exact = frame.into(onto(surface, frame.out_of(touch[rows]), inward=own.inward))
        rel = (exact - seen[rows])[:, :size]
        ahead = np.einsum("ij,ij->i", rel, ways[rows])
        out[rows] = np.divide(
            np.einsum("ij,ij->i", rel, rel), 2.0 * ahead, out=found[rows].copy(), where=ahead > 1e-6
        )  # fmt: skip
    return out


def _floors(mesh: Floats, triangles: NDArray[np.int32], seen: Floats, *, most_mm: float) -> tuple[Floats, Floats]:
    """The largest disc that covers each floor point and keeps off the shadow of what stands higher: radii, middles."""
    from proveout.reach.kernels.rooms import floor_rooms

    body = Upward(mesh, triangles)
    out, middles = np.full(len(seen), np.inf), seen[:, :2].copy()
    heights = np.round(seen[:, 2], 4)
    for height in np.unique(heights):
        rows = np.flatnonzero(heights == height)
        loops = body.contours_above(float(height) + ABOVE_MM)
        edges = [np.column_stack([loop, np.roll(loop, -1, axis=0)]) for loop in loops if len(loop) > 1]
        if not edges:
            continue
        found, middle = np.empty(len(rows)), np.empty((len(rows), 2))
        floor_rooms(
            np.ascontiguousarray(seen[rows, :2]), np.ascontiguousarray(np.vstack(edges)), most_mm, found, middle
        )
        out[rows], middles[rows] = found, middle
    return out, middles


def bends(rooms: Rooms, tip: Tip) -> Bools:
    """(n,) whether the cutter curves at least as sharply as the face where it would touch each point.

    Along a wall the flank is straight. One that leans back by a hair is touched where the end begins: it may bend along
    the cutter as long as the flank keeps off the face over the point.
    """
    wall = rooms.way == WALL
    back = wall & (tip.radius_mm <= rooms.flank_mm + EQUAL_MM)
    straight = _curves_by(rooms, tip, is_wall=wall)
    return straight | (back & _curves_by(rooms, tip, is_wall=wall & ~back))


def _along_ways(rooms: Rooms) -> tuple[Floats, Floats, Floats, Floats]:
    """(n,) the level part of each normal, and the hollow round the cutter, along its outline, and of both mixed."""
    across = np.hypot(rooms.normals[:, 0], rooms.normals[:, 1])
    size = np.maximum(across, 1e-12)
    ways = np.column_stack([-rooms.normals[:, 1] / size, rooms.normals[:, 0] / size, np.zeros(len(size))])
    ways[across < 1e-9] = (1.0, 0.0, 0.0)
    ups = np.cross(ways, rooms.normals)
    k_round = np.einsum("ni,nij,nj->n", ways, rooms.hollow, ways)
    k_up = np.einsum("ni,nij,nj->n", ups, rooms.hollow, ups)
    return across, k_round, k_up, np.einsum("ni,nij,nj->n", ways, rooms.hollow, ups)


def _curves_by(rooms: Rooms, tip: Tip, *, is_wall: Bools) -> Bools:
    """(n,) whether the end, or its straight flank where it is a wall that it touches, bends no less than the face."""
    across, k_round, k_up, k_mixed = _along_ways(rooms)
    own_round, own_up = tip.curves(across, is_wall=is_wall)
    free_round, free_up = own_round - k_round, own_up - k_up
    edge = np.isinf(own_up)
    mixed = edge | (free_round * np.where(edge, 1.0, free_up) >= k_mixed**2 - BEND_PER_MM)
    return (free_round >= -BEND_PER_MM) & (free_up >= -BEND_PER_MM) & mixed


def hollow_radius_mm(rooms: Rooms) -> Floats:
    """(n,) radius of the sharpest hollow at each point: round a wall's cutter, any way elsewhere; inf where flat."""
    across = np.maximum(np.hypot(rooms.normals[:, 0], rooms.normals[:, 1]), 1e-12)
    ways = np.column_stack([-rooms.normals[:, 1] / across, rooms.normals[:, 0] / across, np.zeros(len(across))])
    round_way = np.einsum("ni,nij,nj->n", ways, rooms.hollow, ways)
    most = np.linalg.eigvalsh(rooms.hollow).max(axis=1) if len(rooms.hollow) else np.zeros(0)
    bend = np.where(rooms.way == WALL, round_way, most)
    return np.divide(1.0, bend, out=np.full(len(bend), np.inf), where=bend > 1e-9)


def too_narrow(rooms: Rooms, tip: Tip) -> Bools:
    """(n,) whether the cutter is too wide for what stands beside each point."""
    upright = (rooms.way == WALL) | (rooms.way == FLOOR)
    if tip.kind == "ball":
        # a ball meets a floor with its lowest point, beside which it is narrow
        upright &= rooms.way != FLOOR
    # the rounding that touches a leaning face holds a ball of its own radius
    leaning = (rooms.way == INCLINED) & (tip.corner_mm > rooms.radius_mm + EQUAL_MM)
    return (upright & (tip.radius_mm > rooms.radius_mm + EQUAL_MM)) | leaning


def outreached(rooms: Rooms, *, flute_mm: float) -> Bools:
    """(n,) walls whose face is higher, where the point lies, than flutes are long."""
    return (rooms.way == WALL) & (rooms.column_mm > flute_mm + EQUAL_MM)


def fits(rooms: Rooms, tip: Tip) -> Bools:
    """(n,) whether geometry alone lets the cutter's end touch each point: its radius, and how hollow the face is.

    Height, shank, holder and whatever does not belong to the part are not looked at.
    """
    return (rooms.way != AWAY) & ~too_narrow(rooms, tip) & bends(rooms, tip)
