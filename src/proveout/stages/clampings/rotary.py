"""The rotary positions that turn a direction of the work up to the spindle, and which of them a machine can take.

Both angles count as the work turns, by the right-hand rule about machine +X and +Z: Rx(A) Rz(C) n = +Z. A control that
counts the other way has the signs of its range swapped in the shop file.
"""

from __future__ import annotations

import math

from proveout.geometry.frames import clean
from proveout.model.shop import Rotary
from proveout.model.work import Vector

UPRIGHT_RAD = 1e-6
HAIR_RAD = 1e-9
FULL_TURNS = (0.0, -2.0 * math.pi, 2.0 * math.pi)

Position = tuple[float, float]


def positions_of(direction_in_clamping: Vector) -> tuple[Position, Position]:
    """Both (A, C) in rad that bring a unit direction of the clamping's frame up to the spindle, C in -pi..pi.

    A = arccos nz with C = atan2(nx, ny), and -A with C half a turn further (ISO 841). Straight up C is free: zero.
    """
    nx, ny, nz = direction_in_clamping
    a = math.acos(max(-1.0, min(1.0, nz)))
    if a <= UPRIGHT_RAD:
        return (0.0, 0.0), (0.0, 0.0)
    c = clean(math.atan2(nx, ny))
    return (clean(a), c), (-clean(a), _within_a_turn(c + math.pi))


def is_a_within(rotary: Rotary, a_rad: float) -> bool:
    """Whether the A axis reaches an angle."""
    return rotary.a_low_rad - HAIR_RAD <= a_rad <= rotary.a_high_rad + HAIR_RAD


def is_c_within(rotary: Rotary, c_rad: float) -> bool | None:
    """Whether the C axis reaches an angle; None where it has ends that nobody wrote down."""
    if rotary.c_is_continuous or abs(c_rad) <= HAIR_RAD:
        return True
    if rotary.c_low_rad is None or rotary.c_high_rad is None:
        return None
    return rotary.c_low_rad - HAIR_RAD <= c_rad <= rotary.c_high_rad + HAIR_RAD


def can_tilt(rotary: Rotary, angle_rad: float) -> bool:
    """Whether the A axis reaches an angle on one side or the other; C turns the work to that side."""
    return is_a_within(rotary, angle_rad) or is_a_within(rotary, -angle_rad)


def position_for(rotary: Rotary, direction_in_clamping: Vector) -> Position:
    """The (A, C) that a machine takes for a direction: within both axes, with the smaller turn of C, else A positive.

    Where neither lies within, the first comes back all the same: the proofs of range then fail.
    """
    both = positions_of(direction_in_clamping)
    turns = FULL_TURNS[:1] if rotary.c_is_continuous else FULL_TURNS
    reached = [(a, clean(c + turn)) for a, c in both for turn in turns if is_a_within(rotary, a)]
    within = [p for p in reached if is_c_within(rotary, p[1])]
    unknown = [p for p in reached if is_c_within(rotary, p[1]) is None]
    found = within or unknown or reached or [both[0]]
    return min(found, key=lambda p: (round(abs(p[1]), 9), p[0] < 0.0, p[1] < 0.0))


def _within_a_turn(angle_rad: float) -> float:
    """The same place of the axis in -pi..pi, the lower end left out."""
    turned = math.remainder(angle_rad, 2.0 * math.pi)
    return clean(turned if turned > -math.pi + HAIR_RAD else math.pi)
