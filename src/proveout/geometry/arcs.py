"""Arcs and helices with their axis along a coordinate: points on them, and chords that keep within a distance."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

XY, ZX, YZ = (0, 1), (2, 0), (1, 2)
"""A plane by its two axes, in the order that turns by the right hand about the third."""


class Arc(msgspec.Struct, frozen=True):
    """A turn about an axis through a centre, while the third coordinate rises evenly from start to end.

    centre_mm: (2,) along the plane's two axes.   turn_rad: signed, against the clock positive, never 0.
    """

    plane: tuple[int, int]
    centre_mm: tuple[float, float]
    radius_mm: float
    turn_rad: float


def point_at(
    arc: Arc, start: tuple[float, float, float], end: tuple[float, float, float], share: float
) -> tuple[float, float, float]:
    """The point at a share 0..1 of the turn; the third coordinate rises evenly."""
    one, two = arc.plane
    begin = math.atan2(start[two] - arc.centre_mm[1], start[one] - arc.centre_mm[0])
    angle = begin + share * arc.turn_rad
    point = [start[axis] + share * (end[axis] - start[axis]) for axis in range(3)]
    point[one] = arc.centre_mm[0] + arc.radius_mm * math.cos(angle)
    point[two] = arc.centre_mm[1] + arc.radius_mm * math.sin(angle)
    return point[0], point[1], point[2]


def arc_length_mm(arc: Arc, start: tuple[float, float, float], end: tuple[float, float, float]) -> float:
    """Length of the helix, mm."""
    third = 3 - sum(arc.plane)
    return math.hypot(arc.radius_mm * arc.turn_rad, end[third] - start[third])


def chords_mm(
    arc: Arc, start: tuple[float, float, float], end: tuple[float, float, float], *, within_mm: float
) -> NDArray[np.float64]:
    """Points on the arc so close that no chord leaves it by more than a distance.

    Formula:  a chord over the angle b leaves a circle by r (1 - cos(b / 2)).
    Args:     start, end: (3,) mm.   within_mm: > 0.
    Returns:  (n, 3) mm, n >= 2; the first is the start, the last the end, as given.
    Valid:    any arc.
    """
    most = 2.0 * math.acos(max(0.5, 1.0 - within_mm / arc.radius_mm)) if arc.radius_mm > 0.0 else math.pi
    count = max(1, math.ceil(abs(arc.turn_rad) / most))
    one, two = arc.plane
    share = np.linspace(0.0, 1.0, count + 1)
    first, last = np.array(start, dtype=np.float64), np.array(end, dtype=np.float64)
    points = first + share[:, None] * (last - first)
    begin = math.atan2(start[two] - arc.centre_mm[1], start[one] - arc.centre_mm[0])
    points[:, one] = arc.centre_mm[0] + arc.radius_mm * np.cos(begin + share * arc.turn_rad)
    points[:, two] = arc.centre_mm[1] + arc.radius_mm * np.sin(begin + share * arc.turn_rad)
    points[0], points[-1] = first, last
    return points
