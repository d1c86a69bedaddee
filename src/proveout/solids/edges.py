"""Edges between faces: which two, what curve, and whether the corner stands out or lies in."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Curve2d, BRepAdaptor_Surface
from OCP.GCPnts import GCPnts_AbscissaPoint, GCPnts_TangentialDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Pnt, gp_Vec
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

from proveout.model.solid import Convexity, EdgeKind, Point
from proveout.solids import places
from proveout.solids.faces import outward_normal, point_of
from proveout.solids.shapes import shape_map

SMOOTH_BELOW_RAD = 0.01
_SAMPLE_PLACES = (0.41, 0.73, 0.12)


class FoundEdge(NamedTuple):
    """An edge before it has an id; faces are 0-based kernel places."""

    faces: tuple[int, int]
    kind: EdgeKind
    length_mm: float
    convexity: Convexity
    turn_rad: float
    points_mm: NDArray[np.float64]
    middle_mm: Point
    radius_mm: float
    centre_mm: Point
    axis: Point


def find_edges(shape: Any, faces: list[Any], *, deflection_mm: float) -> list[FoundEdge]:
    """All edges of a solid that lie between two faces, in the kernel's order; seams and points are left out."""
    edge_map = shape_map(shape, "edge")
    users: dict[int, list[tuple[int, Any]]] = {}
    for face_place, face in enumerate(faces):
        explorer = TopExp_Explorer(face, TopAbs_ShapeEnum.TopAbs_EDGE)
        while explorer.More():
            edge = TopoDS.Edge(explorer.Current())
            users.setdefault(edge_map.FindIndex(edge), []).append((face_place, edge))
            explorer.Next()
    adaptors = [BRepAdaptor_Surface(face) for face in faces]
    found = []
    for place in range(1, edge_map.Extent() + 1):
        uses = users.get(place, [])
        distinct = sorted({face_place for face_place, _ in uses})
        if len(distinct) < 2 or BRep_Tool.Degenerated_s(uses[0][1]):
            continue
        pair = [next(use for use in uses if use[0] == face_place) for face_place in distinct[:2]]
        found.append(_found_edge(pair, faces, adaptors, deflection_mm=deflection_mm))
    return found


def _found_edge(
    pair: list[tuple[int, Any]], faces: list[Any], adaptors: list[Any], *, deflection_mm: float
) -> FoundEdge:
    curve = BRepAdaptor_Curve(pair[0][1])
    kind: EdgeKind = "other"
    radius, centre, axis = 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line:
        kind = "line"
    elif curve.GetType() == GeomAbs_CurveType.GeomAbs_Circle:
        kind, circle = "circle", curve.Circle()
        radius, centre, axis = circle.Radius(), point_of(circle.Location()), point_of(circle.Axis().Direction())
    convexity, turn = _corner(pair, faces, adaptors, curve)
    return FoundEdge(
        faces=(pair[0][0], pair[1][0]),
        kind=kind,
        length_mm=GCPnts_AbscissaPoint.Length_s(curve),
        convexity=convexity,
        turn_rad=turn,
        points_mm=polyline(curve, kind=kind, deflection_mm=deflection_mm),
        middle_mm=point_of(curve.Value(0.5 * (curve.FirstParameter() + curve.LastParameter()))),
        radius_mm=radius,
        centre_mm=centre,
        axis=axis,
    )


def border_text(edge: FoundEdge) -> str:
    """Kind and place of an edge in whole microns, whatever point a closed edge starts from."""
    first, last = edge.points_mm[0], edge.points_mm[-1]
    words: list[object] = [edge.kind]
    if edge.kind == "circle":
        words += [places.rounded(value, step=1e-3) for value in (*edge.centre_mm, edge.radius_mm)]
    if float(np.abs(first - last).max()) > 1e-6:
        words += sorted([places.rounded(value, step=1e-3) for value in point.tolist()] for point in (first, last))
    return " ".join(str(word) for word in words)


def polyline(curve: Any, *, kind: str, deflection_mm: float) -> NDArray[np.float64]:
    """(k, 3) points along a kernel curve, mm: the two ends of a line, else within the deflection and 0.1 rad."""
    first, last = curve.FirstParameter(), curve.LastParameter()
    if kind == "line":
        return np.array([point_of(curve.Value(first)), point_of(curve.Value(last))])
    points = GCPnts_TangentialDeflection(curve, 0.1, deflection_mm)
    return np.array([point_of(points.Value(place)) for place in range(1, points.NbPoints() + 1)])


def _corner(pair: list[tuple[int, Any]], faces: list[Any], adaptors: list[Any], curve: Any) -> tuple[Convexity, float]:
    """Convexity and turn at the sharpest of three off-centre places along the edge."""
    first, last = curve.FirstParameter(), curve.LastParameter()
    flat = [BRepAdaptor_Curve2d(edge, faces[place]) for place, edge in pair]
    sharpest, side = 0.0, 0.0
    for share in _SAMPLE_PLACES:
        parameter = first + share * (last - first)
        point, tangent = gp_Pnt(), gp_Vec()
        curve.D1(parameter, point, tangent)
        normals = []
        for (place, _), line in zip(pair, flat, strict=True):
            uv = line.Value(parameter)
            normals.append(outward_normal(faces[place], adaptors[place], uv.X(), uv.Y()))
        if normals[0] is None or normals[1] is None or tangent.Magnitude() < 1e-12:
            continue
        a, b = np.array(normals[0]), np.array(normals[1])
        cross = np.cross(a, b)
        turn = math.atan2(float(np.linalg.norm(cross)), float(a @ b))
        if turn > sharpest:
            sense = -1.0 if pair[0][1].Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
            sharpest, side = turn, sense * float(cross @ np.array(point_of(tangent)))
    if sharpest < SMOOTH_BELOW_RAD:
        return "smooth", 0.0
    return ("convex" if side > 0.0 else "concave"), sharpest
