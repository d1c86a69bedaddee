"""A plane fixed to the work in which coordinates are counted, and rotary positions that set the cutter square to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.turning import turn_of
from proveout.model.course import Axes

Floats = NDArray[np.float64]
NOTHING = 1e-12
"""Parts of unit directions smaller than this are rounding."""
LEVEL_WITHIN = 2e-4
"""How far off its own direction a unit axis may point and still count as it: a hundredth of a degree (our own)."""


@dataclass(frozen=True, eq=False)
class Plane:
    """A tilted plane that was called.

    turn: (3, 3) from its directions to those of the work, not a number where an angle is not known.   shift_mm: its
    zero from the work offset's, along the work's axes.   line: of its call.
    """

    number: int
    line: int
    turn: Floats
    shift_mm: Axes


def turn_by(angles: Sequence[tuple[str, float]], *, each_as_turned: bool) -> Floats:
    """The turn that several angles make one after the other.

    Formula:  R1 R2 .. Rn where each is about an axis as those before turned it, Rn .. R2 R1 where all axes stand.
    Args:     angles: axis ("X", "-Z") and rad, by the right-hand rule about that direction, in order.
    Returns:  (3, 3), takes turned directions to those of the axes that stand.
    Valid:    any angles.
    """
    whole = np.eye(3)
    for axis, angle_rad in angles:
        one = _about("XYZ".index(axis[-1]), -angle_rad if axis.startswith("-") else angle_rad)
        whole = whole @ one if each_as_turned else one @ whole
    return whole


def _about(axis: int, angle_rad: float) -> Floats:
    sin, cos = math.sin(angle_rad), math.cos(angle_rad)
    one, two = (axis + 1) % 3, (axis + 2) % 3
    turn = np.eye(3)
    turn[one, one] = turn[two, two] = cos
    turn[one, two], turn[two, one] = -sin, sin
    return turn


def square_to(
    normal: Floats, *, now: tuple[float, float], a_is_positive: bool, a_travel_rad: tuple[float, float] | None
) -> tuple[float, float]:
    """Rotary positions A and C at which a direction of the work points along the spindle.

    Formula:  n = (x, y, z), h = sqrt(x^2 + y^2): C = atan2(x, y) brings n over the machine's Y, A = atan2(h, z) sets it
              upright; the other way C + pi and -A. Where h = 0 C stays.
    Args:     normal: (3,) unit, along the work's axes.   now: A and C, rad; C goes the shorter way from there.
              a_is_positive: which of the two.   a_travel_rad: where only the other lies within it, the other.
    Returns:  A and C, rad, as the work turns.
    Valid:    A about X under C about the table's own Z.
    """
    x, y, z = (float(v) for v in normal)
    flat = math.hypot(x, y)
    if flat <= NOTHING:
        return (0.0 if z > 0.0 else math.pi), now[1]
    a, c = math.atan2(flat, z), math.atan2(x, y)
    both = [(a, c), (-a, c + math.pi)]
    if not a_is_positive:
        both.reverse()
    if a_travel_rad is not None:
        low, high = a_travel_rad
        both.sort(key=lambda pair: not low - 1e-9 <= pair[0] <= high + 1e-9)
    a, c = both[0]
    return a, now[1] + math.remainder(c - now[1], 2.0 * math.pi)


def turned_axes(plane: Plane, turned: Axes) -> Floats:
    """(3, 3) from a plane's directions to the machine's at rotary positions; not a number where those are not known."""
    a, b, c = turned
    if a is None or c is None or b is None or b != 0.0:
        return np.full((3, 3), np.nan)
    axes = turn_of(a_rad=a, c_rad=c) @ plane.turn
    axes[np.abs(axes) < NOTHING] = 0.0
    axes[np.abs(axes - 1.0) < NOTHING] = 1.0
    axes[np.abs(axes + 1.0) < NOTHING] = -1.0
    return axes


def is_level(axes: Floats) -> bool:
    """Whether the third axis points along the machine's Z."""
    return bool(axes[2, 2] > 0.0 and np.hypot(axes[0, 2], axes[1, 2]) <= LEVEL_WITHIN)


def along(axes: Floats, point: Axes) -> Axes:
    """A point in other directions; a coordinate is None where one that it needs is."""
    found: list[float | None] = []
    for row in axes.tolist():
        parts = [(share, value) for share, value in zip(row, point, strict=True) if share != 0.0]
        total: float | None = 0.0
        for share, value in parts:
            total = None if total is None or value is None or math.isnan(share) else total + share * value
        found.append(total)
    return found[0], found[1], found[2]


def sum_of(one: Axes, other: Axes) -> Axes:
    """Coordinate by coordinate, None where either is."""
    x, y, z = (None if a is None or b is None else a + b for a, b in zip(one, other, strict=True))
    return x, y, z
