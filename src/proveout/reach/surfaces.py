"""A face's own surface in closed form: how far points lie from it, which way it looks, how hollow it is.

A surface is that of the solid, moved inward by the face's offset (the target). All arrays are in the part frame.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.solid import Face, Surface

Floats = NDArray[np.float64]
EXACT = ("plane", "cylinder", "cone", "sphere", "torus")
ON_AXIS_MM = 1e-9


def moved(face: Face, *, offset_mm: float) -> Surface:
    """The surface of a face moved into the metal by its offset."""
    s = face.surface
    if s.kind == "plane":
        return msgspec.structs.replace(s, origin_mm=_along(s.origin_mm, s.axis, -offset_mm))
    # metal outside the curvature: moving inward makes a hole wider, and a boss thinner
    grow = offset_mm if face.inward else -offset_mm
    if s.kind in ("cylinder", "sphere"):
        return msgspec.structs.replace(s, radius_mm=s.radius_mm + grow)
    if s.kind == "torus":
        return msgspec.structs.replace(s, minor_radius_mm=s.minor_radius_mm + grow)
    if s.kind == "cone":
        return msgspec.structs.replace(s, origin_mm=_along(s.origin_mm, s.axis, -grow / math.sin(s.half_angle_rad)))
    return s


def height_over(surface: Surface, points_mm: Floats, *, inward: bool) -> tuple[Floats, Floats]:
    """(n,) how far points (n, 3) lie off a surface, mm, metal negative, and (n, 3) the outward normal there.

    Args:     inward: the face's own, as in model.solid.Face.   surface: of a kind in EXACT.
    """
    axis = np.array(surface.axis)
    rel = points_mm - np.array(surface.origin_mm)
    if surface.kind == "plane":
        return rel @ axis, np.broadcast_to(axis, rel.shape).copy()
    along, level, radius = _split(rel, axis)
    unit = level / np.maximum(radius, ON_AXIS_MM)[:, None]
    if surface.kind == "cylinder":
        height, normal = radius - surface.radius_mm, unit
    elif surface.kind == "cone":
        cos, sin = math.cos(surface.half_angle_rad), math.sin(surface.half_angle_rad)
        height, normal = radius * cos - along * sin, unit * cos - axis * sin
    elif surface.kind == "sphere":
        size = np.linalg.norm(rel, axis=1)
        height, normal = size - surface.radius_mm, rel / np.maximum(size, ON_AXIS_MM)[:, None]
    else:
        out = radius - surface.radius_mm
        tube = np.hypot(out, along)
        normal = (unit * out[:, None] + np.outer(along, axis)) / np.maximum(tube, ON_AXIS_MM)[:, None]
        height = tube - surface.minor_radius_mm
    return (-height, -normal) if inward else (height, normal)


def onto(surface: Surface, points_mm: Floats, *, inward: bool) -> Floats:
    """The nearest points of a surface of a kind in EXACT."""
    height, normal = height_over(surface, points_mm, inward=inward)
    return points_mm - height[:, None] * normal


def hollows(surface: Surface, points_mm: Floats, *, inward: bool) -> Floats:
    """(n, 3, 3) curvature of a surface at points on it, 1/mm, hollow positive: t K t is that along a unit tangent t.

    Zero for a plane and for kinds that are not in EXACT.
    """
    out = np.zeros((len(points_mm), 3, 3))
    if surface.kind in ("plane", "other"):
        return out
    axis = np.array(surface.axis)
    along, level, radius = _split(points_mm - np.array(surface.origin_mm), axis)
    unit = level / np.maximum(radius, ON_AXIS_MM)[:, None]
    round_way = np.cross(axis, unit)
    if surface.kind == "sphere":
        _, normal = height_over(surface, points_mm, inward=inward)
        out = (np.eye(3) - normal[:, :, None] * normal[:, None, :]) / surface.radius_mm
    elif surface.kind == "torus":
        away = radius - surface.radius_mm
        tube = np.maximum(np.hypot(away, along), ON_AXIS_MM)
        up_way = (unit * -along[:, None] + np.outer(away, axis)) / tube[:, None]
        round_curve = away / tube / np.maximum(radius, ON_AXIS_MM)
        out = _outer(round_way, round_curve) + _outer(up_way, np.full(len(radius), 1.0 / surface.minor_radius_mm))
    else:
        cos = math.cos(surface.half_angle_rad) if surface.kind == "cone" else 1.0
        out = _outer(round_way, cos / np.maximum(radius, ON_AXIS_MM))
    return out if inward else -out


def _along(
    origin: tuple[float, float, float], axis: tuple[float, float, float], by: float
) -> tuple[float, float, float]:
    x, y, z = (o + by * a for o, a in zip(origin, axis, strict=True))
    return (x, y, z)


def _split(rel: Floats, axis: Floats) -> tuple[Floats, Floats, Floats]:
    along = rel @ axis
    level = rel - np.outer(along, axis)
    return along, level, np.linalg.norm(level, axis=1)


def _outer(ways: Floats, sizes: Floats) -> Floats:
    return sizes[:, None, None] * ways[:, :, None] * ways[:, None, :]
