"""Arcs and helices with their axis along a coordinate: points on them, and chords that keep within a distance."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

XY, ZX, YZ = (0, 1), (2, 0), (1, 2)
"""A plane by its two axes, in the order that turns by the right hand about the third."""
SAME_MM = 1e-9
"""Ends of an arc nearer than this are one place: a whole turn."""


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


def chord_counts(radii_mm: NDArray[np.float64], turns: NDArray[np.float64], *, within_mm: float) -> NDArray[np.int64]:
    """(n,) into how many chords arcs are divided that none leaves its arc by more than a distance; at least 1.

    radii_mm: (n,) >= 0.   turns: (n,) rad, signed.   A chord over the angle b leaves a circle by r (1 - cos(b / 2)).
    """
    sagging = np.divide(within_mm, radii_mm, out=np.full(len(radii_mm), 0.5), where=radii_mm > 0.0)
    most = 2.0 * np.arccos(np.clip(1.0 - sagging, 0.5, 1.0))
    wanted = np.divide(np.abs(turns), most, out=np.ones(len(most)), where=most > 0.0)
    return np.maximum(np.ceil(wanted), 1.0).astype(np.int64)


def chords_mm(
    arc: Arc, start: tuple[float, float, float], end: tuple[float, float, float], *, within_mm: float
) -> NDArray[np.float64]:
    """Points on the arc so close that no chord leaves it by more than a distance.

    Formula:  a chord over the angle b leaves a circle by r (1 - cos(b / 2)).
    Args:     start, end: (3,) mm.   within_mm: > 0.
    Returns:  (n, 3) mm, n >= 2; the first is the start, the last the end, as given.
    Valid:    any arc.
    """
    count = int(chord_counts(np.array([arc.radius_mm]), np.array([arc.turn_rad]), within_mm=within_mm)[0])
    one, two = arc.plane
    share = np.linspace(0.0, 1.0, count + 1)
    first, last = np.array(start, dtype=np.float64), np.array(end, dtype=np.float64)
    points = first + share[:, None] * (last - first)
    begin = math.atan2(start[two] - arc.centre_mm[1], start[one] - arc.centre_mm[0])
    points[:, one] = arc.centre_mm[0] + arc.radius_mm * np.cos(begin + share * arc.turn_rad)
    points[:, two] = arc.centre_mm[1] + arc.radius_mm * np.sin(begin + share * arc.turn_rad)
    points[0], points[-1] = first, last
    return points


def turns_rad(
    starts_mm: NDArray[np.float64], ends_mm: NDArray[np.float64], centres_mm: NDArray[np.float64],
    senses: NDArray[np.int64],
) -> NDArray[np.float64]:  # fmt: skip
    """How far arcs turn about their centres, signed; an arc that ends where it starts turns once round.

    starts_mm, ends_mm, centres_mm: (n, 2).   senses: (n,) 1 against the clock, -1 with it, 0 for no arc: 0 is given.
    """
    first, last = starts_mm - centres_mm, ends_mm - centres_mm
    ahead = np.arctan2(last[:, 1], last[:, 0]) - np.arctan2(first[:, 1], first[:, 0])
    turn = np.mod(senses * ahead, 2.0 * math.pi)
    turn = np.where(np.hypot(*(ends_mm - starts_mm).T) <= SAME_MM, 2.0 * math.pi, turn)
    return np.asarray(senses * turn, dtype=np.float64)


def chorded(
    points_mm: NDArray[np.float64], centres_mm: NDArray[np.float64], turns: NDArray[np.float64], *, within_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """A chain of straight moves and arcs about z as a polyline.

    points_mm: (n, 3).   centres_mm: (n, 2) and turns: (n,) rad of the move that ends at each point, 0 when straight.
    Returns (m, 3) points, and (m,) the row of `points_mm` that the move to each belongs to.
    """
    starts = np.vstack([points_mm[:1], points_mm[:-1]])
    radius = np.hypot(*(starts[:, :2] - centres_mm).T)
    counts = chord_counts(radius, turns, within_mm=within_mm)
    owner = np.repeat(np.arange(len(points_mm)), counts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts) + 1
    share = step / counts[owner]
    begin = np.arctan2(starts[:, 1] - centres_mm[:, 1], starts[:, 0] - centres_mm[:, 0])[owner]
    angle, size = begin + share * turns[owner], radius[owner]
    points = starts[owner] + share[:, None] * (points_mm - starts)[owner]
    inner = (turns[owner] != 0.0) & (step < counts[owner])
    points[inner, 0] = (centres_mm[owner, 0] + size * np.cos(angle))[inner]
    points[inner, 1] = (centres_mm[owner, 1] + size * np.sin(angle))[inner]
    ends = step == counts[owner]
    points[ends] = points_mm[owner[ends]]
    return points, owner
