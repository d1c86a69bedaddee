"""Time of one straight move from rest to rest."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, zero_or_more


def speed_change_time_s(*, change_mm_per_s: float, accel_mm_per_s2: float, jerk_mm_per_s3: float = math.inf) -> float:
    """Time to speed up or to slow down, from and to an even speed.

    Formula:  t = w / a + a / j, or 2 sqrt(w / j) when w <= a^2 / j
    Args:     change_mm_per_s: w, >= 0.   accel_mm_per_s2: a, > 0.   jerk_mm_per_s3: j, > 0 or infinite.
    Returns:  s, >= 0; 0 for no change.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    jerk, acceleration, jerk: three phases.
    Source:   kinematic_identities.   Departs: nothing.
    Checked:  tests/published/test_kinematic_identities.py
    """
    zero_or_more(change_mm_per_s=change_mm_per_s)
    above_zero(accel_mm_per_s2=accel_mm_per_s2)
    if jerk_mm_per_s3 != math.inf:
        above_zero(jerk_mm_per_s3=jerk_mm_per_s3)
    bend = accel_mm_per_s2 / jerk_mm_per_s3
    if change_mm_per_s < accel_mm_per_s2 * bend:
        return 2.0 * math.sqrt(change_mm_per_s / jerk_mm_per_s3)
    return change_mm_per_s / accel_mm_per_s2 + (bend if change_mm_per_s > 0.0 else 0.0)


def move_time_s(
    *, distance_mm: float, speed_mm_per_s: float, accel_mm_per_s2: float, jerk_mm_per_s3: float = math.inf
) -> float:
    """Time of a move from rest to rest with one acceleration and one jerk.

    Formula:  up to v in w(v) = v / a + a / j, or 2 sqrt(v / j) when v <= a^2 / j; t = d / v + w(v) when d >= v w(v),
              else 2 w(p) with p w(p) = d: p = (sqrt((a^2 / j)^2 + 4 d a) - a^2 / j) / 2, or (d sqrt(j) / 2)^(2/3)
    Args:     distance_mm: d, >= 0.   speed_mm_per_s: v, > 0.   accel_mm_per_s2: a, > 0.   jerk_mm_per_s3: j, > 0 or
              infinite.
    Returns:  s, >= 0; 0 for no distance.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    seven phases, none skipped but for want of way.
    Source:   kinematic_identities.   Departs: nothing.
    Checked:  tests/published/test_kinematic_identities.py, tests/laws/test_motion_laws.py
    """
    zero_or_more(distance_mm=distance_mm)
    above_zero(speed_mm_per_s=speed_mm_per_s, accel_mm_per_s2=accel_mm_per_s2)
    if distance_mm == 0.0:
        return 0.0
    bend = accel_mm_per_s2 / jerk_mm_per_s3  # seconds until the acceleration is full
    bent = accel_mm_per_s2 * bend
    law = {"accel_mm_per_s2": accel_mm_per_s2, "jerk_mm_per_s3": jerk_mm_per_s3}
    rise = speed_change_time_s(change_mm_per_s=speed_mm_per_s, **law)
    if distance_mm >= speed_mm_per_s * rise:
        return distance_mm / speed_mm_per_s + rise
    if distance_mm >= bent * 2.0 * bend:
        peak = 0.5 * (math.sqrt(bent * bent + 4.0 * distance_mm * accel_mm_per_s2) - bent)
    else:
        peak = (0.5 * distance_mm * math.sqrt(jerk_mm_per_s3)) ** (2.0 / 3.0)
    return 2.0 * speed_change_time_s(change_mm_per_s=peak, **law)


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
