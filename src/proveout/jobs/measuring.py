"""How far two faces of a part are apart: what a gauge would read where that is plain, else the shortest way."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

import numpy as np

from proveout.model.shop import Noun
from proveout.model.solid import Face, Point, Solid

PARALLEL = 1e-6
"""Sine of the angle below which two directions count as the same."""
Between = Literal["planes", "axes", "axis and plane", "shortest"]
Nearest = Callable[[Solid, int, int], tuple[float, Point, Point]]
WITH_AXIS = ("cylinder", "cone", "torus")


class Measured(Noun, frozen=True, kw_only=True):
    """A distance between two faces, mm, and what it runs between.

    angle_rad: between the faces' axes or normals, 0 to pi / 2; None where one of them has none.
    points_mm: of a shortest way its ends, part frame.   words: what was measured.
    """

    between: Between
    distance_mm: float
    angle_rad: float | None
    words: str
    points_mm: tuple[Point, Point] | None = None


def measured(solid: Solid, one_id: str, other_id: str, *, nearest: Nearest | None = None) -> Measured:
    """The distance of two faces of the exact solid, as drawn: before any coat.

    Parallel planes: along their normal.  Round faces with parallel axes: from axis to axis; with a plane along the
    axis: from axis to plane.  Everything else: the shortest way from face to face.

    Formula:  planes |(p2 - p1) n|; axes |(p2 - p1) - ((p2 - p1) a) a|
    Args:     nearest: finds the shortest way of two faces by index; None: the kernel in a child process.
    Raises:   KeyError when the solid has no such face.
    """
    one, other = solid.face(one_id), solid.face(other_id)
    angle = _angle_rad(one, other)
    kinds = one.surface.kind, other.surface.kind
    apart = np.array(other.surface.origin_mm) - np.array(one.surface.origin_mm)
    axis = np.array(one.surface.axis)
    if kinds == ("plane", "plane") and angle is not None and math.sin(angle) < PARALLEL:
        return Measured(
            between="planes", distance_mm=abs(float(apart @ axis)), angle_rad=angle, words="from plane to plane, square"
        )
    if kinds[0] in WITH_AXIS and kinds[1] in WITH_AXIS and angle is not None and math.sin(angle) < PARALLEL:
        across = apart - (apart @ axis) * axis
        return Measured(
            between="axes", distance_mm=float(np.linalg.norm(across)), angle_rad=angle, words="from axis to axis"
        )
    if "plane" in kinds and angle is not None and math.cos(angle) < PARALLEL and set(kinds) & set(WITH_AXIS):
        normal = axis if kinds[0] == "plane" else np.array(other.surface.axis)
        return Measured(
            between="axis and plane", distance_mm=abs(float(apart @ normal)), angle_rad=angle,
            words="from axis to plane",
        )  # fmt: skip
    distance, first, second = (nearest or _by_kernel)(solid, one.index, other.index)
    words = "the shortest way from face to face" if distance > 0.0 else "the faces touch"
    return Measured(
        between="shortest", distance_mm=distance, angle_rad=angle, words=words, points_mm=(first, second)
    )  # fmt: skip


def _angle_rad(one: Face, other: Face) -> float | None:
    kinds = {one.surface.kind, other.surface.kind}
    if not kinds <= {"plane", *WITH_AXIS}:
        return None
    a, b = np.array(one.surface.axis), np.array(other.surface.axis)
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), abs(float(a @ b)))


def _by_kernel(solid: Solid, one: int, other: int) -> tuple[float, Point, Point]:
    from proveout.intake.step import nearest_faces

    return nearest_faces(solid, one, other)
