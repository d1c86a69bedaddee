"""Surfaces of faces in a form that does not depend on how a file wrote them."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from typing import Any

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepGProp import BRepGProp
from OCP.BRepTools import BRepTools
from OCP.Geom import Geom_ConicalSurface
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.gp import gp_Cone, gp_Cylinder, gp_Pln, gp_Pnt, gp_Sphere, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.ShapeAnalysis import ShapeAnalysis_CanonicalRecognition, ShapeAnalysis_Surface
from OCP.TopAbs import TopAbs_Orientation

from proveout.model.solid import Point, Surface
from proveout.solids import places

_OTHER = Surface(kind="other", origin_mm=(0.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0))
_RECOGNITION_TOLERANCE_MM = 1e-4


def point_of(thing: Any) -> Point:
    """Coordinates of a kernel point or direction."""
    return (thing.X() + 0.0, thing.Y() + 0.0, thing.Z() + 0.0)


def area_and_centroid(face: Any) -> tuple[float, Point]:
    """Exact area in mm2 and centroid of one face."""
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, properties)
    return properties.Mass(), point_of(properties.CentreOfMass())


def outward_normal(face: Any, adaptor: Any, u: float, v: float) -> Point | None:
    """Unit normal out of the material at surface parameters u, v; None where the surface has none."""
    point, along_u, along_v = gp_Pnt(), gp_Vec(), gp_Vec()
    adaptor.D1(u, v, point, along_u, along_v)
    normal = along_u.Crossed(along_v)
    length = normal.Magnitude()
    if length < 1e-12:
        return None
    sign = -1.0 if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1.0
    sign /= length
    return (sign * normal.X() + 0.0, sign * normal.Y() + 0.0, sign * normal.Z() + 0.0)


def normal_near(face: Any, adaptor: Any, point: Point) -> Point:
    """Outward normal at the place of the face's surface nearest to the point."""
    try:
        uv = ShapeAnalysis_Surface(BRep_Tool.Surface_s(face)).ValueOfUV(gp_Pnt(*point), 1e-6)
        normal = outward_normal(face, adaptor, uv.X(), uv.Y())
    except Exception:  # noqa: BLE001  the kernel raises its own classes on degenerate surfaces
        normal = None
    if normal is None:
        u_low, u_high, v_low, v_high = BRepTools.UVBounds_s(face)
        normal = outward_normal(face, adaptor, 0.4 * u_low + 0.6 * u_high, 0.4 * v_low + 0.6 * v_high)
    return normal or (0.0, 0.0, 0.0)


def surface_of(face: Any) -> tuple[Surface, bool, float]:
    """Surface, whether the material lies outside its curvature, and the angle that the face covers about its axis."""
    adaptor = BRepAdaptor_Surface(face)
    u_low, u_high, v_low, v_high = BRepTools.UVBounds_s(face)
    u, v = 0.4 * u_low + 0.6 * u_high, 0.4 * v_low + 0.6 * v_high
    kind = adaptor.GetType()
    kinds = GeomAbs_SurfaceType
    shape: Any = None
    if kind == kinds.GeomAbs_Plane:
        shape = adaptor.Plane()
    elif kind == kinds.GeomAbs_Cylinder:
        shape = adaptor.Cylinder()
    elif kind == kinds.GeomAbs_Cone:
        shape = adaptor.Cone()
    elif kind == kinds.GeomAbs_Sphere:
        shape = adaptor.Sphere()
    elif kind == kinds.GeomAbs_Torus:
        shape = adaptor.Torus()
    recognised = shape is None
    if recognised:
        shape = _recognised(face)
    if shape is None:
        return _OTHER, False, 0.0
    point = point_of(adaptor.Value(u, v))
    normal = outward_normal(face, adaptor, u, v) or (0.0, 0.0, 1.0)
    surface = _surface(shape, normal=normal)
    turn = 0.0 if surface.kind == "plane" else (math.nan if recognised else min(u_high - u_low, 2.0 * math.pi))
    return surface, _is_inward(surface, point=np.array(point), normal=np.array(normal)), turn


def _recognised(face: Any) -> Any:
    """A plane, cylinder, cone or sphere hidden in a free-form description, within 1e-4 mm; None when there is none."""
    try:
        finder = ShapeAnalysis_CanonicalRecognition(face)
        for empty, ask in (
            (gp_Pln(), finder.IsPlane),
            (gp_Cylinder(), finder.IsCylinder),
            (gp_Cone(), finder.IsCone),
            (gp_Sphere(), finder.IsSphere),
        ):
            if ask(_RECOGNITION_TOLERANCE_MM, empty):
                return empty
    except Exception:  # noqa: BLE001  the kernel raises its own classes; the face then stays "other"
        return None
    return None


def _surface(shape: Any, *, normal: Point) -> Surface:
    """Canonical form of a kernel plane, cylinder, cone, sphere or torus."""
    if isinstance(shape, gp_Pln):
        axis = np.array(places.canonical_direction(point_of(shape.Axis().Direction())))
        if float(axis @ np.array(normal)) < 0.0:
            axis = -axis + 0.0
        foot = axis * float(axis @ np.array(point_of(shape.Location()))) + 0.0
        return Surface(kind="plane", origin_mm=_tuple(foot), axis=_tuple(axis))
    if isinstance(shape, gp_Cylinder):
        axis = np.array(places.canonical_direction(point_of(shape.Axis().Direction())))
        place = np.array(point_of(shape.Location()))
        foot = place - axis * float(axis @ place)
        return Surface(kind="cylinder", origin_mm=_tuple(foot), axis=_tuple(axis), radius_mm=shape.Radius())
    if isinstance(shape, gp_Cone):
        apex = point_of(Geom_ConicalSurface(shape).Apex())
        axis = np.array(point_of(shape.Axis().Direction()))
        angle = shape.SemiAngle()
        if angle < 0.0:
            axis, angle = -axis, -angle
        axis[np.abs(axis) < 1e-9] = 0.0
        return Surface(kind="cone", origin_mm=apex, axis=_tuple(axis + 0.0), half_angle_rad=angle)
    if isinstance(shape, gp_Sphere):
        return Surface(
            kind="sphere", origin_mm=point_of(shape.Location()), axis=(0.0, 0.0, 1.0), radius_mm=shape.Radius()
        )
    return Surface(
        kind="torus",
        origin_mm=point_of(shape.Location()),
        axis=places.canonical_direction(point_of(shape.Axis().Direction())),
        radius_mm=shape.MajorRadius(),
        minor_radius_mm=shape.MinorRadius(),
    )


def _tuple(values: Any) -> Point:
    return (float(values[0]), float(values[1]), float(values[2]))


def _is_inward(surface: Surface, *, point: Any, normal: Any) -> bool:
    """The outward normal points towards the centre of curvature."""
    if surface.kind == "plane":
        return False
    centre, axis = np.array(surface.origin_mm), np.array(surface.axis)
    offset = point - centre
    if surface.kind in ("cylinder", "cone"):
        offset = offset - axis * float(axis @ offset)
    elif surface.kind == "torus":
        radial = offset - axis * float(axis @ offset)
        length = float(np.linalg.norm(radial))
        offset = offset - radial * (surface.radius_mm / length if length > 0 else 0.0)
    return float(offset @ normal) < 0.0


def surface_key(surface: Surface, *, inward: bool) -> tuple[object, ...]:
    """Rounded numbers that two faces of one and the same surface share."""
    return (
        surface.kind,
        inward,
        *(places.rounded(value, step=1e-4) for value in surface.origin_mm),
        *(places.rounded(value, step=1e-5) for value in surface.axis),
        places.rounded(surface.radius_mm, step=1e-4),
        places.rounded(surface.half_angle_rad, step=1e-5),
        places.rounded(surface.minor_radius_mm, step=1e-4),
    )


def face_text(surface: Surface, *, inward: bool, centroid: Point) -> str:
    """Kind, size and place in words, for the id of a face."""
    way = "in" if inward else "out"
    if surface.kind == "plane":
        offset = sum(a * b for a, b in zip(surface.origin_mm, surface.axis, strict=True))
        direction = places.axis_text(surface.axis, signed=True)
        if direction.startswith("-"):  # "plane -x 80.000" is the plane x = 80 that looks towards -x
            offset = -offset
        return f"plane {direction} {places.fixed(offset, digits=3)}"
    if surface.kind == "cylinder":
        size = places.fixed(2.0 * surface.radius_mm, digits=3)
        return f"cylinder {way} d{size} {places.axis_text(surface.axis, signed=False)}"
    if surface.kind == "cone":
        angle = places.fixed(math.degrees(2.0 * surface.half_angle_rad), digits=2)
        return f"cone {way} {angle}deg {places.axis_text(surface.axis, signed=True)}"
    if surface.kind == "sphere":
        return f"sphere {way} d{places.fixed(2.0 * surface.radius_mm, digits=3)}"
    if surface.kind == "torus":
        sizes = f"r{places.fixed(surface.minor_radius_mm, digits=3)} on r{places.fixed(surface.radius_mm, digits=3)}"
        return f"torus {way} {sizes} {places.axis_text(surface.axis, signed=False)}"
    return "other at (" + ",".join(places.fixed(value, digits=1) for value in centroid) + ")"
