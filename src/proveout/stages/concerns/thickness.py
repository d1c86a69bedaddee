"""Thin walls and floors: metal between two parallel planes, and between a bore and a plane."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import face_samples
from proveout.model.concerns import ConcernKind
from proveout.model.features import Feature
from proveout.model.solid import Face, Solid
from proveout.stages.concerns.measured import Measured, label, no_less

Array = NDArray[np.float64]

THIN_MM = 1.0
WALL_RATIO, FLOOR_RATIO = 8.0, 40.0
"""A wall may be so many times as high as thick, a floor so many times as wide. Common practice, no source."""
SAMPLES = 24
SHARE = 0.2
"""Samples of a plane that must lie before the other for the two to count as a wall."""
STATIONS = (0.1, 0.3, 0.5, 0.7, 0.9)
OPPOSITE = -1.0 + 1e-6
SQUARE = 1e-4


def wall_limit_mm(height_mm: float) -> float:
    """Least thickness of a wall of that height: Formula of common practice, in mm."""
    return max(THIN_MM, height_mm / WALL_RATIO)


def floor_limit_mm(width_mm: float) -> float:
    """Least thickness of a floor of that free width: formula of common practice, in mm."""
    return max(THIN_MM, width_mm / FLOOR_RATIO)


def measure_thickness(solid: Solid, features: tuple[Feature, ...]) -> list[Measured]:
    """Every wall and floor whose thickness comes near what its height or width asks for."""
    corners = solid.vertices_mm[solid.triangles]
    starts = np.searchsorted(solid.triangle_face, np.arange(len(solid.faces) + 1))
    of_face = [corners[starts[i] : starts[i + 1]] for i in range(len(solid.faces))]
    floors = _floors(solid, features)
    points, _, index = face_samples(
        solid.vertices_mm, solid.triangles, solid.triangle_face, faces_count=len(solid.faces), per_face=SAMPLES
    )
    planes = [face for face in solid.faces if face.surface.kind == "plane"]
    name_of = {id: label(f) for f in reversed(features) for id in f.face_ids if not f.within}
    reach = max(THIN_MM, max(solid.size_mm) / WALL_RATIO)
    out: list[Measured] = []
    for a in planes:
        own = points[index == a.index]
        nearest: tuple[float, Face, float] | None = None
        for b in planes:
            apart = _apart_mm(a, b)
            if apart is None or not 0.0 < apart < reach or (nearest is not None and apart >= nearest[0]):
                continue
            over = own - np.array(a.normal) * apart
            hit = _lie_in(over, of_face[b.index], np.array(b.normal))
            if float(hit.mean()) >= SHARE:
                nearest = (apart, b, float(hit.mean()))
        if nearest is not None and (a.index in floors or nearest[1].index not in floors):
            out.append(_between(solid, a, nearest[1], nearest[0], floors, name_of))
    out.extend(_beside_bores(solid, planes, of_face, features, reach))
    return _each_once(out)


def _apart_mm(a: Face, b: Face) -> float | None:
    """Metal between two planes that look away from each other; None where they do not."""
    normal = np.array(a.normal)
    if a.index == b.index or float(normal @ np.array(b.normal)) > OPPOSITE:
        return None
    return float((np.array(a.surface.origin_mm) - np.array(b.surface.origin_mm)) @ normal)


def _lie_in(points: Array, triangles: Array, normal: Array) -> NDArray[np.bool_]:
    """(n,) whether points of a plane lie in any of the triangles (t, 3, 3) of that plane."""
    inside = np.zeros(len(points), dtype=bool)
    for first in range(0, len(triangles), 512):
        some = triangles[first : first + 512]
        sides = []
        for k in range(3):
            along = some[:, (k + 1) % 3] - some[:, k]
            out = points[:, None, :] - some[None, :, k]
            sides.append(np.cross(along[None], out) @ normal)
        inside |= (np.min(sides, axis=0) >= -1e-6).any(axis=1)
    return inside


def _floors(solid: Solid, features: tuple[Feature, ...]) -> dict[int, float]:
    """Floors of recesses by face index, with the least free width of each."""
    found: dict[int, float] = {}
    index_of = {face.id: face.index for face in solid.faces}
    for feature in features:
        width = feature.sizes_mm.get("width_mm", feature.sizes_mm.get("counterbore_diameter_mm"))
        width = feature.sizes_mm.get("diameter_mm") if width is None else width
        if feature.kind not in ("pocket", "slot", "hole") or width is None:
            continue
        for id in feature.face_ids:
            face = solid.faces[index_of[id]]
            looks = float(np.array(face.normal) @ np.array(feature.opens))
            if face.surface.kind == "plane" and looks > 1.0 - SQUARE:
                found[face.index] = width
    return found


def _size_mm(solid: Solid, face: Face) -> float:
    """The lesser extent of a plane in itself, along its longest straight edge and square to it."""
    lines = [solid.edges[i] for i in face.edge_indices if solid.edges[i].kind == "line"]
    points = np.vstack([solid.edges[i].points_mm for i in face.edge_indices])
    if not lines:
        return float(np.linalg.norm(points.max(axis=0) - points.min(axis=0)) / np.sqrt(2.0))
    longest = max(lines, key=lambda e: e.length_mm)
    way = longest.points_mm[-1] - longest.points_mm[0]
    way = way / np.linalg.norm(way)
    return min(float(np.ptp(points @ w)) for w in (way, np.cross(np.array(face.normal), way)))


def _between(
    solid: Solid, a: Face, b: Face, thickness_mm: float, floors: dict[int, float], name_of: dict[str, str]
) -> Measured:
    ids = tuple(sorted((a.id, b.id)))
    where = next((name_of[i] for i in (a.id, b.id) if i in name_of), "the part")
    if a.index in floors:
        width = floors[a.index]
        limit = floor_limit_mm(width)
        return _said("thin floor", f"floor of {where}", ids, thickness_mm, limit, f"{width:.4g} wide")
    height = min(_size_mm(solid, a), _size_mm(solid, b))
    return _said("thin wall", f"wall of {where}", ids, thickness_mm, wall_limit_mm(height), f"{height:.4g} high")


def _said(
    kind: ConcernKind, subject: str, ids: tuple[str, ...], thickness_mm: float, limit: float, size: str
) -> Measured:
    return Measured(
        kind=kind, subject=subject, face_ids=ids, found=round(thickness_mm, 6), limit=round(limit, 6),
        sense="at least", unit="mm", text=f"{subject[:1].upper()}{subject[1:]}: {thickness_mm:.4g} thick, {size}.",
        change=f"make it {no_less(limit)} thick or more, or {'narrower' if kind == 'thin floor' else 'lower'}",
    )  # fmt: skip


def _beside_bores(
    solid: Solid, planes: list[Face], of_face: list[Array], features: tuple[Feature, ...], reach_mm: float
) -> list[Measured]:
    """Metal between the wall of each bore and the planes along it."""
    out: list[Measured] = []
    index_of = {face.id: face.index for face in solid.faces}
    for feature in features:
        for id in feature.face_ids if feature.kind == "hole" else ():
            wall = solid.faces[index_of[id]]
            s = wall.surface
            if s.kind != "cylinder":
                continue
            axis, foot = np.array(s.axis), np.array(s.origin_mm)
            long = wall.along_high_mm - wall.along_low_mm
            stations = foot + np.outer([wall.along_low_mm + share * long for share in STATIONS], axis)
            for plane in planes:
                normal = np.array(plane.normal)
                if abs(float(normal @ axis)) > SQUARE:
                    continue
                gap = float((np.array(plane.surface.origin_mm) - foot) @ normal)
                thickness = gap - s.radius_mm
                if not 0.0 < thickness < reach_mm:
                    continue
                hit = _lie_in(stations + normal * gap, of_face[plane.index], normal)
                if float(hit.mean()) < SHARE:
                    continue
                high = min(long * float(hit.mean()), 2.0 * s.radius_mm)
                ids = tuple(sorted((wall.id, plane.id)))
                subject = f"wall beside {label(feature)}"
                out.append(_said("thin wall", subject, ids, thickness, wall_limit_mm(high), f"{high:.4g} free"))
    return out


def _each_once(found: list[Measured]) -> list[Measured]:
    """Two planes with one wall between them are one wall."""
    seen: dict[tuple[str, tuple[str, ...]], Measured] = {}
    for one in found:
        held = seen.get((one.kind, one.face_ids))
        if held is None or one.margin < held.margin:
            seen[one.kind, one.face_ids] = one
    return [seen[key] for key in sorted(seen)]
