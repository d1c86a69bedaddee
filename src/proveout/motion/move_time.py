"""Time of one straight move from rest to rest."""

from __future__ import annotations

import math
from collections.abc import Sequence

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange


def move_time_s(*, distance_mm: float, speed_mm_per_s: float, accel_mm_per_s2: float) -> float:
    """Time of a move from rest to rest with one acceleration.

    Formula:  t = d / v + v / a when d >= v^2 / a, else 2 sqrt(d / a)
    Args:     distance_mm: d, >= 0.   speed_mm_per_s: v, > 0.   accel_mm_per_s2: a, > 0.
    Returns:  s, >= 0; 0 for no distance.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    unlimited jerk; a limited one adds up to a / j.
    Source:   kinematic_identities.   Departs: nothing.
    Checked:  tests/published/test_kinematic_identities.py
    """
    zero_or_more(distance_mm=distance_mm)
    above_zero(speed_mm_per_s=speed_mm_per_s, accel_mm_per_s2=accel_mm_per_s2)
    if distance_mm * accel_mm_per_s2 >= speed_mm_per_s**2:
        return distance_mm / speed_mm_per_s + speed_mm_per_s / accel_mm_per_s2
    return 2.0 * math.sqrt(distance_mm / accel_mm_per_s2)


def peak_speed_mm_per_s(*, distance_mm: float, accel_mm_per_s2: float, decel_mm_per_s2: float) -> float:
    """Speed at the turning point of a move that never reaches its feed.

    Formula:  v = sqrt(2 d a b / (a + b))
    Args:     distance_mm: d, >= 0.   accel_mm_per_s2: a, > 0.   decel_mm_per_s2: b, > 0.
    Returns:  mm/s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    unlimited jerk.
    Source:   unequal_acceleration_example, as quoted.   Departs: nothing.
    Checked:  tests/published/test_unequal_acceleration_example.py
    """
    zero_or_more(distance_mm=distance_mm)
    above_zero(accel_mm_per_s2=accel_mm_per_s2, decel_mm_per_s2=decel_mm_per_s2)
    return math.sqrt(2.0 * distance_mm * accel_mm_per_s2 * decel_mm_per_s2 / (accel_mm_per_s2 + decel_mm_per_s2))


def unequal_move_time_s(
    *, distance_mm: float, speed_mm_per_s: float, accel_mm_per_s2: float, decel_mm_per_s2: float
) -> float:
    """Time of a move from rest to rest that speeds up and slows down differently.

    Formula:  p = min(v, peak); t = p / a + p / b + (d - p^2 / 2a - p^2 / 2b) / p
    Args:     distance_mm: d, >= 0.   speed_mm_per_s: v, > 0.   accel_mm_per_s2: a, > 0.   decel_mm_per_s2: b, > 0.
    Returns:  s, >= 0; 0 for no distance.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    unlimited jerk.
    Source:   unequal_acceleration_example, as quoted.   Departs: nothing.
    Checked:  tests/published/test_unequal_acceleration_example.py
    """
    above_zero(speed_mm_per_s=speed_mm_per_s)
    peak = peak_speed_mm_per_s(
        distance_mm=distance_mm, accel_mm_per_s2=accel_mm_per_s2, decel_mm_per_s2=decel_mm_per_s2
    )
    top = min(speed_mm_per_s, peak)
    if top == 0.0:
        return 0.0
    ramps = top / accel_mm_per_s2 + top / decel_mm_per_s2
    even_mm = max(0.0, distance_mm - 0.5 * top * ramps)
    return ramps + even_mm / top


def straight_move_time_s(
    *,
    delta_mm: Sequence[float],
    feed_mm_per_s: float,
    axis_speeds_mm_per_s: Sequence[float],
    axis_accels_mm_per_s2: Sequence[float],
) -> float:
    """Time of a straight move in space, from rest to rest, on axes each with its own speed and acceleration.

    Formula:  u the direction; v = min(feed, min v_i / |u_i|); a = min a_i / |u_i|; then move_time_s
    Args:     delta_mm: (3,) mm, machine frame.   feed_mm_per_s: along the path, > 0; infinite for a rapid move.
              axis_speeds_mm_per_s: (3,) v_i, each > 0.   axis_accels_mm_per_s2: (3,) a_i, each > 0.
    Returns:  s, >= 0; 0 for no distance.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the move stays straight, so the slowest axis rules.
    Source:   kinematic_identities.   Departs: nothing.
    Checked:  tests/laws/test_motion_laws.py
    """
    if not (len(delta_mm) == len(axis_speeds_mm_per_s) == len(axis_accels_mm_per_s2)):
        raise OutOfRange("A move needs as many speeds and accelerations as axes", value=str(len(delta_mm)))
    if not feed_mm_per_s > 0.0:
        raise OutOfRange("A feed must be above 0", where="feed_mm_per_s", value=f"{feed_mm_per_s}")
    distance_mm = math.hypot(*delta_mm)
    if distance_mm == 0.0:
        return 0.0
    speed, accel = feed_mm_per_s, math.inf
    for part_mm, axis_speed, axis_accel in zip(delta_mm, axis_speeds_mm_per_s, axis_accels_mm_per_s2, strict=True):
        above_zero(axis_speeds_mm_per_s=axis_speed, axis_accels_mm_per_s2=axis_accel)
        share = abs(part_mm) / distance_mm
        if share > 0.0:
            speed, accel = min(speed, axis_speed / share), min(accel, axis_accel / share)
    return move_time_s(distance_mm=distance_mm, speed_mm_per_s=speed, accel_mm_per_s2=accel)
