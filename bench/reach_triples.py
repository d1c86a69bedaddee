"""Seeded triples of a face point, a tilt and a cutter, half of them near a boundary, judged twice.

Once as the planner judges, from the faces' own surfaces and a map of 0.1 mm; once by brute force, the whole cutter with
its holder against every triangle of a finer mesh (whole_cutters). A triple lies too near a boundary when a cutter
OVER_MM larger in everything and one that is a pixel smaller are judged unlike by brute force: it is then left out and
counted. The two are not alike because a map is not: over the middles of its pixels it sees no metal where there is
none, so its no is in doubt by the mesh's chords alone, and only its yes by a pixel. The smaller one may also stand a
pixel off the point, on the axis of the one asked about, and ABOVE_MM higher, so that what it meets by less than that
does not count; for the larger one the metal behind a wall is looked at as far behind it as the map's pixel may lie. A
cutter that bends less than the hollow it touches may stand into it by less than the chords of any mesh: there samples
of the larger one's end are also held against the kernel's own surface, and of its flank over the point where a wall
leans back.
"""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import msgspec
import numpy as np
from kernels.whole import rows_within
from whole_cutters import VERTEX_MM, Body, body_of, floor_is_free, meets_quickly, true_parts, whole_of

from proveout.geometry.frames import Frame
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import Shapes, rooms_of
from proveout.reach.standing import ABOVE_MM, REACHED, Look
from proveout.solids.measure import solid_from_shape
from proveout.solids.shapes import shape_from_brep, sub_shapes
from proveout.stages import survey

PIXEL_MM = 0.1
OVER_MM = 0.03
CLOSE_MM, CLOSE_COUNT, INTO_MM = 3.0, 41, 1e-7
"""Samples of a cutter's end about the point of touch: so far off, so many each way, how deep one lies in the hollow."""
CIRCLES_MM, CIRCLE_COUNT = (0.01, 0.03, 0.1), 24
"""And on circles nearer to the point: where a hollow runs out beside it, the samples farther off lie beyond it."""
FLANK_COUNT = 120
"""Heights of samples of a flank over the point of touch."""
RISES_MM = (np.zeros(3), np.array([0.0, 0.0, ABOVE_MM]))
BEHIND_MM = 0.25
"""As far behind a wall's point as the middle of a pixel may lie that tells how high its metal stands."""
FINE_MM = 0.002
WITHIN_MM = 0.004
CROP_MM = 54.0
NEAR_MM = 1.5
"""Near a boundary: a cutter so much wider, or with so much less stick-out, is judged otherwise."""
CLEAR_MM = 0.22
ON_IT_SHARE = 0.003
LEVEL, SQUARE = 1e-3, 0.999999
RADIUS_MM, STICK_MM = (0.5, 12.0), (4.0, 70.0)
SHARES = 9
SLIM_MM = 0.04
POINTS_A_LOOK = 100
EACH = 4


class UndecidedError(Exception):
    """Brute force ran out of squares to look at."""


@dataclass(frozen=True)
class Triple:
    """What was asked: point and normal in the look frame, the cutter, whether it was drawn near a boundary."""

    point: np.ndarray
    normal: np.ndarray
    face: int
    cutter: Cutter
    is_near: bool


@dataclass
class Tally:
    """What was found."""

    asked: int = 0
    near: int = 0
    left_out: int = 0
    reached: int = 0
    wrong: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Count another tally in."""
        self.asked += other.asked
        self.near += other.near
        self.left_out += other.left_out
        self.reached += other.reached
        self.wrong += other.wrong


class Part:
    """A solid as the planner reads it, and as brute force does."""

    def __init__(self, solid: Solid, name: str) -> None:
        self.name, self.solid = name, solid
        self.target = Target(
            vertices_mm=solid.vertices_mm, triangles=solid.triangles, triangle_face=solid.triangle_face,
            face_ids=tuple(f.id for f in solid.faces), face_offset_mm=np.zeros(len(solid.faces)),
            volume_mm3=solid.volume_mm3, mesh_deflection_mm=solid.mesh_deflection_mm,
            mesh_is_closed=solid.mesh_is_closed,
        )  # fmt: skip
        self.shapes = Shapes(solid, self.target)
        shape = shape_from_brep(solid.brep)
        fine = solid_from_shape(shape, name=name, unit_declared="mm", deflection_mm=FINE_MM)
        self.fine = fine.vertices_mm[fine.triangles]
        is_plane = np.array([face.surface.kind == "plane" for face in fine.faces], dtype=np.bool_)
        self.true = true_parts(fine.triangles, fine.triangle_face, is_plane)
        self.true_mm = max(VERTEX_MM, 2.0 * solid.edge_tolerance_max_mm)
        self.within_mm = max(WITHIN_MM, 2.0 * fine.mesh_deflection_mm, 2.0 * solid.edge_tolerance_max_mm)
        self.kernel_faces = sub_shapes(shape, "face")
        self.directions = [np.array(d) for d in survey.decide(solid=solid, run=Run()).value.directions]
        self.areas = np.array([f.area_mm2 for f in solid.faces])


def exact_points(part: Part, draw: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(n, 3) points and outward normals by the kernel, on faces drawn half by area and half evenly; (n,) faces."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt, gp_Pnt2d, gp_Vec
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_State

    points, normals, faces = [], [], []
    share = part.areas / part.areas.sum()
    while len(points) < count:
        index = int(draw.choice(len(share), p=share)) if draw.random() < 0.5 else int(draw.integers(len(share)))
        face = part.kernel_faces[part.solid.faces[index].brep_index]
        surface = BRepAdaptor_Surface(face)
        for _ in range(30):
            u = draw.uniform(surface.FirstUParameter(), surface.LastUParameter())
            v = draw.uniform(surface.FirstVParameter(), surface.LastVParameter())
            if BRepClass_FaceClassifier(face, gp_Pnt2d(u, v), 1e-6).State() != TopAbs_State.TopAbs_IN:
                continue
            point, along_u, along_v = gp_Pnt(), gp_Vec(), gp_Vec()
            surface.D1(u, v, point, along_u, along_v)
            across = along_u.Crossed(along_v)
            if across.Magnitude() < 1e-9:
                continue
            sign = -1.0 if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
            normal = sign * np.array([across.X(), across.Y(), across.Z()]) / across.Magnitude()
            points.append([point.X(), point.Y(), point.Z()])
            normals.append(normal)
            faces.append(index)
            break
    return np.array(points), np.array(normals), np.array(faces, dtype=np.int32)


def drawn_cutter(draw: np.random.Generator, normal: np.ndarray, number: int, *, is_flat: bool) -> Cutter:
    """A cutter of a kind that can meet the normal, of any sizes."""
    up = float(normal[2])
    kinds = ["end mill", "ball"] if up >= SQUARE else ["end mill", "end mill", "ball", "corner"]
    if is_flat and 0.1 < up < 0.98:
        kinds.append("edge break")
    kind = kinds[int(draw.integers(len(kinds)))]
    radius = float(np.exp(draw.uniform(math.log(1.0), math.log(10.0))))
    stick = float(draw.uniform(8.0, 60.0))
    flute = stick * float(draw.uniform(0.3, 1.0))
    half = math.asin(min(1.0, max(0.0, up))) if kind == "edge break" else math.pi / 2.0
    return made_cutter(
        f"t{number}", "end mill" if kind == "corner" else kind, radius=radius, flute=flute, stick=stick,
        shank=2.0 * radius * (1.0 if draw.random() < 0.5 else 0.8), holder=float(draw.uniform(20.0, 50.0)),
        corner=radius * float(draw.uniform(0.1, 0.4)) if kind == "corner" else 0.0, half_rad=half,
        flat=0.3 * radius if kind == "edge break" else 0.0,
    )  # fmt: skip


def made_cutter(
    name: str, kind: Any, *, radius: float, flute: float, stick: float, shank: float, holder: float,
    corner: float = 0.0, half_rad: float = math.pi / 2.0, flat: float = 0.0,
) -> Cutter:  # fmt: skip
    """A cutter with sizes alone; lengths of the flutes no less than a point or rounding needs."""
    point = (radius - flat) / math.tan(half_rad) if kind == "edge break" else (radius if kind == "ball" else corner)
    flute = max(flute, point + 0.05)
    return Cutter(
        id=name, name=name, kind=kind, diameter_mm=2.0 * radius, corner_radius_mm=corner, flutes_count=2,
        flute_length_mm=flute, stick_out_mm=max(stick, flute), shank_diameter_mm=shank,
        holder_diameter_mm=max(holder, 2.0 * radius), holder_length_mm=60.0, tip_angle_rad=2.0 * half_rad,
        tip_diameter_mm=2.0 * flat, pitch_mm=0.0, speed_max_rad_per_s=None, cutting_speed_mm_per_s=1.0,
        tooth_feed_mm=0.1, life_s=None, price=1.0,
    )  # fmt: skip


def grown(cutter: Cutter, by_mm: float) -> Cutter:
    """The cutter larger in everything: wider, shorter in flutes and stick-out, with a wider shank and holder."""
    return msgspec.structs.replace(
        cutter, diameter_mm=cutter.diameter_mm + 2.0 * by_mm, flute_length_mm=cutter.flute_length_mm - by_mm,
        stick_out_mm=cutter.stick_out_mm - by_mm, shank_diameter_mm=cutter.shank_diameter_mm + 2.0 * by_mm,
        holder_diameter_mm=cutter.holder_diameter_mm + 2.0 * by_mm,
        tip_diameter_mm=max(cutter.tip_diameter_mm + 2.0 * by_mm, 0.0) if cutter.kind == "edge break" else 0.0,
    )  # fmt: skip


def around(body: Body, point: np.ndarray) -> Body:
    """The triangles of a body that any cutter which touches the point can meet."""
    low_z = point[2] - 2.0 * RADIUS_MM[1]
    near = rows_within(body.low, body.high, point[0], point[1], low_z, CROP_MM)
    return Body(body.corners[near], body.low[near], body.high[near], body.within_mm, body.off_mm[near])


def by_brute_force(
    body: Body, point: np.ndarray, normal: np.ndarray, cutter: Cutter, *, behind_mm: float = PIXEL_MM,
    cover_mm: float = 0.0,
) -> bool:  # fmt: skip
    """Whether the whole cutter can touch the point from above and meet nothing.

    behind_mm: how far behind a wall's point the metal is that a shank as thick as its flutes would rub along.
    cover_mm: of a floor's point from the axis at most, the cutter's radius unless it is more.
    """
    radius, up = cutter.diameter_mm / 2.0, float(normal[2])
    across = math.hypot(normal[0], normal[1])
    pieces = whole_of(cutter)
    if up >= SQUARE and cutter.kind == "end mill":
        free = floor_is_free(body, pieces, point, max(radius, cover_mm))
        if free is None:
            raise UndecidedError(f"{cutter.id} over a floor at {point.tolist()}")
        return free
    wall = abs(up) <= LEVEL
    way = normal[:2] / max(across, 1e-12)
    slim = cutter.shank_diameter_mm <= cutter.diameter_mm - SLIM_MM
    if wall and not slim and _metal_over(body, point, way, behind_mm) > cutter.flute_length_mm:
        return False
    sine, lift = (1.0, 0.0) if wall else (across, up)
    if cutter.kind == "edge break":
        flat = cutter.tip_diameter_mm / 2.0
        tan = math.tan(cutter.tip_angle_rad / 2.0)
        rings = flat + (radius - flat) * np.linspace(0.05, 0.95, SHARES)
        tips = [np.array([*(point[:2] + ring * way), point[2] - (ring - flat) / tan]) for ring in rings]
        return any(not meets_quickly(body, pieces, tip) for tip in tips)
    corner = radius if cutter.kind == "ball" else cutter.corner_radius_mm
    ring = (radius - corner) * (across > 1e-9) + corner * sine
    tip = np.array([*(point[:2] + ring * way), point[2] + corner * lift - corner])
    return not meets_quickly(body, pieces, tip)


def hollow_meets(part: Part, frame: Frame, triple: Triple, cutter: Cutter) -> bool:
    """Whether the end of a cutter that touches a point of a hollow stands into the hollow's own surface beside it."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt, gp_Pnt2d, gp_Vec
    from OCP.ShapeAnalysis import ShapeAnalysis_Surface
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_State

    up = float(triple.normal[2])
    across = math.hypot(triple.normal[0], triple.normal[1])
    if across < 1e-6 or cutter.kind == "edge break":
        return False
    face = part.kernel_faces[part.solid.faces[triple.face].brep_index]
    surface = BRep_Tool.Surface_s(face)
    nearest = ShapeAnalysis_Surface(surface)
    sign = -1.0 if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
    for place in frame.out_of(_end_about(triple.point, triple.normal, cutter, up=up)):
        spot = gp_Pnt(*(float(v) for v in place))
        at = nearest.ValueOfUV(spot, 1e-7)
        foot, along_u, along_v = gp_Pnt(), gp_Vec(), gp_Vec()
        surface.D1(at.X(), at.Y(), foot, along_u, along_v)
        out = along_u.Crossed(along_v)
        size = out.Magnitude()
        if size < 1e-9 or sign * gp_Vec(foot, spot).Dot(out) / size >= -INTO_MM:
            continue
        if BRepClass_FaceClassifier(face, gp_Pnt2d(at.X(), at.Y()), 1e-6).State() == TopAbs_State.TopAbs_IN:
            return True
    return False


def _end_about(point: np.ndarray, normal: np.ndarray, cutter: Cutter, *, up: float) -> np.ndarray:
    """(n, 3) places of a cutter's end or flank about the point where it touches."""
    radius = cutter.diameter_mm / 2.0
    corner = radius if cutter.kind == "ball" else cutter.corner_radius_mm
    wall = abs(up) <= LEVEL
    along, aside = _spots_about()
    lean = 0.0 if wall else math.asin(max(-1.0, min(1.0, up)))
    flank = np.zeros(0)
    if corner > 0.0 and not wall:
        leans = np.clip(lean + along / corner, 0.0, math.pi / 2.0)
    elif wall and up > INTO_MM / CLOSE_MM:
        sides = np.geomspace(CIRCLES_MM[0], CLOSE_MM, 6)
        heights = np.geomspace(0.1 * CIRCLES_MM[0], CLOSE_MM, FLANK_COUNT)
        flank, aside = (v.ravel() for v in np.meshgrid(heights, np.concatenate([-sides, [0.0], sides])))
        leans = np.full(len(aside), lean)
    else:
        aside = aside[along == 0.0]
        leans = np.full(len(aside), lean)
    own = radius if wall else radius - corner + corner * math.cos(lean)
    ring = np.full(len(aside), radius) if wall else radius - corner + corner * np.cos(leans)
    rise = flank if len(flank) else corner * (math.sin(lean) - np.sin(leans))
    way = math.atan2(normal[1], normal[0])
    middle = point[:2] + own * np.array([math.cos(way), math.sin(way)])
    turns = aside / CLOSE_MM * min(CLOSE_MM / max(own, 0.1), math.pi / 2.0) + way + math.pi
    return np.column_stack([
        middle[0] + ring * np.cos(turns), middle[1] + ring * np.sin(turns), point[2] + rise,
    ])  # fmt: skip


def _spots_about() -> tuple[np.ndarray, np.ndarray]:
    """Where the samples lie, along the end's outline and round its axis, in mm from the point of touch."""
    ticks = np.linspace(-CLOSE_MM, CLOSE_MM, CLOSE_COUNT)
    along, aside = np.meshgrid(ticks, ticks, indexing="ij")
    turns = 2.0 * math.pi * np.arange(CIRCLE_COUNT) / CIRCLE_COUNT
    circles = [size * np.round(np.stack([np.cos(turns), np.sin(turns)]), 12) for size in CIRCLES_MM]
    spots = np.concatenate([np.stack([along.ravel(), aside.ravel()]), *circles], axis=1)
    return spots[0], spots[1]


def _metal_over(body: Body, point: np.ndarray, way: np.ndarray, behind_mm: float) -> float:
    """How high the metal just behind a wall's point stands over it."""
    x, y = point[:2] - behind_mm * way
    near = (body.low[:, 0] <= x) & (body.high[:, 0] >= x) & (body.low[:, 1] <= y) & (body.high[:, 1] >= y)
    a, b, c = (body.corners[near, k] for k in range(3))
    e, f = b - a, c - a
    area = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    safe = np.where(np.abs(area) < 1e-12, 1.0, area)
    u = ((x - a[:, 0]) * f[:, 1] - (y - a[:, 1]) * f[:, 0]) / safe
    v = (e[:, 0] * (y - a[:, 1]) - e[:, 1] * (x - a[:, 0])) / safe
    hit = (np.abs(area) >= 1e-12) & (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    z = a[:, 2] + u * e[:, 2] + v * f[:, 2]
    return float(max(z[hit].max(initial=-math.inf) - point[2], 0.0))


def near_boundary(body: Body, point: np.ndarray, normal: np.ndarray, cutter: Cutter, by_stick: bool) -> float | None:  # noqa: FBT001
    """The radius (or stick-out) at which brute force changes its mind, to 0.02 mm; None when it never does."""
    low, high = STICK_MM if by_stick else RADIUS_MM
    first = by_brute_force(body, point, normal, sized(cutter, low, by_stick=by_stick))
    if first == by_brute_force(body, point, normal, sized(cutter, high, by_stick=by_stick)):
        return None
    while high - low > 0.02:
        middle = 0.5 * (low + high)
        if by_brute_force(body, point, normal, sized(cutter, middle, by_stick=by_stick)) == first:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def sized(cutter: Cutter, size: float, *, by_stick: bool) -> Cutter:
    """The cutter with another radius, its shape kept, or with another stick-out."""
    radius = cutter.diameter_mm / 2.0
    share = 1.0 if by_stick else size / radius
    stick = size if by_stick else cutter.stick_out_mm
    return made_cutter(
        cutter.id, cutter.kind, radius=radius * share, flute=min(cutter.flute_length_mm, stick), stick=stick,
        shank=cutter.shank_diameter_mm * share, holder=cutter.holder_diameter_mm,
        corner=cutter.corner_radius_mm * share,
        half_rad=cutter.tip_angle_rad / 2.0, flat=cutter.tip_diameter_mm / 2.0 * share,
    )  # fmt: skip


def looks(part: Part, draw: np.random.Generator) -> Iterator[tuple[Frame, Body, np.ndarray, np.ndarray, np.ndarray]]:
    """Tilts without end: the part's own directions three times in four, any others; with points that look that way."""
    while True:
        if draw.random() < 0.75:
            direction = part.directions[int(draw.integers(len(part.directions)))]
        else:
            direction = draw.normal(size=3)
            direction = direction / np.linalg.norm(direction)
        frame = look_frame((float(direction[0]), float(direction[1]), float(direction[2])))
        points, normals, faces = exact_points(part, draw, 3 * POINTS_A_LOOK)
        keep = np.flatnonzero(normals @ direction > -0.5 * LEVEL)[:POINTS_A_LOOK]
        seen = frame.into(part.fine.reshape(-1, 3)).reshape(-1, 3, 3)
        body = body_of(seen, within_mm=part.within_mm, true=part.true, true_mm=part.true_mm)
        yield frame, body, points[keep], normals[keep], faces[keep]


def triples_at(
    draw: np.random.Generator,
    body: Body,
    point: np.ndarray,
    normal: np.ndarray,
    face: int,
    first: int,
    *,
    is_flat: bool,
) -> list[Triple]:
    """EACH cutters for one point and tilt, all but one near a boundary; one as drawn where none is found."""
    body = around(body, point)
    cutter = drawn_cutter(draw, normal, first, is_flat=is_flat)
    by_stick = bool(draw.random() < 0.3)
    edge = near_boundary(body, point, normal, cutter, by_stick)
    if edge is None:
        by_stick = not by_stick
        edge = near_boundary(body, point, normal, cutter, by_stick)
    if edge is None:
        return [Triple(point, normal, face, cutter, is_near=False)]
    out: list[Triple] = []
    for k in range(EACH):
        name = f"t{first + k}"
        if k < EACH - 1:
            off = CLEAR_MM + (NEAR_MM - CLEAR_MM) * draw.random()
            if draw.random() < ON_IT_SHARE:
                off = PIXEL_MM * draw.random()
            low = 2.0 if by_stick else 0.25
            size = max(low, edge + (off if draw.random() < 0.5 else -off))
            own = msgspec.structs.replace(sized(cutter, size, by_stick=by_stick), id=name)
            out.append(Triple(point, normal, face, own, is_near=abs(size - edge) <= NEAR_MM + 0.05))
        else:
            other = cutter if k == EACH - 1 else drawn_cutter(draw, normal, first + k, is_flat=is_flat)
            out.append(Triple(point, normal, face, msgspec.structs.replace(other, id=name), is_near=False))
    return out


def compare(part: Part, draw: np.random.Generator, count: int, tally: Tally) -> None:
    """Judge `count` triples of a part twice and add to the tally."""
    goal = tally.asked + count
    for frame, body, points, normals, faces in looks(part, draw):
        seen, out = frame.into(points), normals @ frame.turn.T
        triples = [
            t
            for k in range(len(seen))
            for t in triples_at(
                draw,
                body,
                seen[k],
                out[k],
                int(faces[k]),
                k * EACH,
                is_flat=part.solid.faces[faces[k]].surface.kind == "plane",
            )
        ][: goal - tally.asked]
        if triples:
            _judge(part, frame, body, triples, tally)
        if tally.asked >= goal:
            return


def _judge(part: Part, frame: Frame, body: Body, triples: list[Triple], tally: Tally) -> None:
    points = frame.out_of(np.array([t.point for t in triples]))
    normals = np.array([t.normal for t in triples]) @ frame.turn
    faces = np.array([t.face for t in triples], dtype=np.int32)
    rooms = rooms_of(part.shapes, points, normals, faces, frame=frame, most_mm=20.0)
    mesh = np.ascontiguousarray(frame.into(part.target.vertices_mm)[part.target.triangles])
    cutters = tuple(t.cutter for t in triples)
    look = Look(frame, mesh, rooms, cutters, pitch_mm=PIXEL_MM, names=True)
    near: Body | None = None
    here = np.zeros(0)
    for k, triple in enumerate(triples):
        asked = np.zeros(len(triples), dtype=bool)
        asked[k] = True
        ours = int(look.of(triple.cutter, asked)[k])
        if near is None or triple.point is not here:
            near, here = around(body, triple.point), triple.point
        smaller, off = grown(triple.cutter, -PIXEL_MM), triple.point + PIXEL_MM * triple.normal
        larger = grown(triple.cutter, OVER_MM)
        harder = by_brute_force(near, triple.point, triple.normal, larger, behind_mm=BEHIND_MM)
        if harder and part.solid.faces[triple.face].inward:
            harder = not hollow_meets(part, frame, triple, larger)
        # where the axis of the asked one stands, and so much higher as is no metal to the planner
        spots = (triple.point, off, triple.point + PIXEL_MM * _level(triple.normal))
        easier = harder or any(
            by_brute_force(near, spot + rise, triple.normal, smaller, cover_mm=triple.cutter.diameter_mm / 2.0)
            for rise in RISES_MM
            for spot in spots
        )  # fmt: skip
        tally.asked += 1
        tally.near += triple.is_near
        if harder != easier:
            tally.left_out += 1
            continue
        tally.reached += harder
        if harder != (ours == REACHED):
            tally.wrong.append(_told(part, frame, triple, ours, harder, rooms.radius_mm[k]))


def _level(normal: np.ndarray) -> np.ndarray:
    """The level part of a normal as a unit vector, 0 where it looks straight up."""
    across = math.hypot(normal[0], normal[1])
    return np.array([normal[0] / across, normal[1] / across, 0.0]) if across > 1e-9 else np.zeros(3)


def _told(part: Part, frame: Frame, triple: Triple, ours: int, truth: bool, room: float) -> str:  # noqa: FBT001
    c = triple.cutter
    return (
        f"{part.name} {part.solid.faces[triple.face].id} from {np.round(frame.z, 4).tolist()} at "
        f"{np.round(triple.point, 3).tolist()} normal {np.round(triple.normal, 4).tolist()}: {c.kind} "
        f"D {c.diameter_mm:.3f} r {c.corner_radius_mm:.3f} flutes {c.flute_length_mm:.2f} out {c.stick_out_mm:.2f} "
        f"shank {c.shank_diameter_mm:.2f} holder {c.holder_diameter_mm:.2f}: verdict {ours}, by brute force "
        f"{'reached' if truth else 'not'}, room {room:.3f}"
    )
