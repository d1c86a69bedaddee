"""Speed up or down along the path with limited acceleration and jerk, from and to zero acceleration.

A ramp has up to three phases: jerk up, steady acceleration, jerk down. A stroke is a ramp to its top speed, a run at
that speed and a ramp down: seven phases. Speeds mm/s, accelerations mm/s2, jerks mm/s3 or infinite, lengths mm.
"""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True, nogil=True)
def ramp_seconds(change: float, accel: float, jerk: float) -> float:
    """Time to change the speed by so much."""
    if change <= 0.0:
        return 0.0
    if math.isinf(jerk):
        return change / accel
    if change * jerk <= accel * accel:
        return 2.0 * math.sqrt(change / jerk)
    return change / accel + accel / jerk


@njit(cache=True, nogil=True)
def ramp_length(one: float, other: float, accel: float, jerk: float) -> float:
    """Way of a ramp between two speeds, the same both ways: a ramp is symmetrical about its middle."""
    return 0.5 * (one + other) * ramp_seconds(abs(other - one), accel, jerk)


@njit(cache=True, nogil=True)
def reached_speed(start: float, length: float, accel: float, jerk: float) -> float:
    """Highest speed that a ramp of this length ends in."""
    if length <= 0.0:
        return start
    if math.isinf(jerk):
        return math.sqrt(start * start + 2.0 * accel * length)
    full = accel * accel / jerk
    if length >= (2.0 * start + full) * accel / jerk:
        inner = full * full - 4.0 * (start * full - start * start - 2.0 * accel * length)
        return 0.5 * (math.sqrt(inner) - full)
    wanted = length * math.sqrt(jerk)
    root = wanted ** (1.0 / 3.0)  # of the change of speed: root^3 + 2 start root = wanted
    if start > 0.0:
        root = min(root, 0.5 * wanted / start)
    for _ in range(50):
        slope = 3.0 * root * root + 2.0 * start
        step = (root * root * root + 2.0 * start * root - wanted) / slope
        root -= step
        if abs(step) <= 1e-15 * root:
            break
    return start + root * root


@njit(cache=True, nogil=True)
def top_speed(start: float, end: float, length: float, cap: float, accel: float, jerk: float) -> float:
    """Highest speed of a stroke between two speeds; the stroke must be long enough for the ramp between them."""
    if ramp_length(start, cap, accel, jerk) + ramp_length(cap, end, accel, jerk) <= length:
        return cap
    low = max(start, end)
    if math.isinf(jerk):
        return min(cap, max(low, math.sqrt(0.5 * (start * start + end * end) + accel * length)))
    high = cap
    top = 0.5 * (low + high)
    for _ in range(100):
        over = ramp_length(start, top, accel, jerk) + ramp_length(top, end, accel, jerk) - length
        if over > 0.0:
            high = top
        else:
            low = top
        slope = 0.0
        for speed in (start, end):
            change = top - speed
            steepest = accel if change * jerk > accel * accel else math.sqrt(jerk * max(change, 1e-300))
            slope += 0.5 * (ramp_seconds(change, accel, jerk) + (top + speed) / steepest)
        following = top - over / slope
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - top) <= 1e-14 * high:
            break
        top = following
    return top


@njit(cache=True, nogil=True)
def stroke_seconds(start: float, end: float, length: float, cap: float, accel: float, jerk: float) -> float:
    """Time of a stroke."""
    top = top_speed(start, end, length, cap, accel, jerk)
    even = length - ramp_length(start, top, accel, jerk) - ramp_length(top, end, accel, jerk)
    ramps = ramp_seconds(top - start, accel, jerk) + ramp_seconds(top - end, accel, jerk)
    return ramps + max(even, 0.0) / top


@njit(cache=True, nogil=True)
def ramp_state(start: float, end: float, seconds: float, accel: float, jerk: float) -> tuple[float, float]:
    """Way and speed on a rising ramp, so many seconds after its begin."""
    whole = ramp_seconds(end - start, accel, jerk)
    if math.isinf(jerk):
        return start * seconds + 0.5 * accel * seconds * seconds, start + accel * seconds
    steepest = min(accel, math.sqrt(jerk * max(end - start, 0.0)))
    bend = steepest / jerk
    if seconds <= bend:
        return start * seconds + jerk * seconds**3 / 6.0, start + 0.5 * jerk * seconds * seconds
    left = whole - seconds
    if left <= bend:
        way = ramp_length(start, end, accel, jerk) - end * left + jerk * left**3 / 6.0
        return way, end - 0.5 * jerk * left * left
    speed = start + 0.5 * steepest * bend
    even = seconds - bend
    way = start * bend + jerk * bend**3 / 6.0 + speed * even + 0.5 * steepest * even * even
    return way, speed + steepest * even


@njit(cache=True, nogil=True)
def ramp_instant(start: float, end: float, way: float, accel: float, jerk: float) -> float:
    """Seconds after which a rising ramp has come so far."""
    low, high = 0.0, ramp_seconds(end - start, accel, jerk)
    whole = ramp_length(start, end, accel, jerk)
    if way <= 0.0:
        return 0.0
    if way >= whole:
        return high
    now = high * way / whole
    for _ in range(100):
        come, speed = ramp_state(start, end, now, accel, jerk)
        if come > way:
            high = now
        else:
            low = now
        following = now - (come - way) / speed if speed > 0.0 else low
        if not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - now) <= 1e-14 * high:
            break
        now = following
    return now


@njit(cache=True, nogil=True)
def stroke_instant(
    start: float, end: float, length: float, top: float, way: float, accel: float, jerk: float
) -> float:  # fmt: skip
    """Seconds after which a stroke with this top speed has come so far."""
    rise = ramp_length(start, top, accel, jerk)
    if way <= rise:
        return ramp_instant(start, top, way, accel, jerk)
    even = max(length - rise - ramp_length(top, end, accel, jerk), 0.0)
    up = ramp_seconds(top - start, accel, jerk)
    if way <= rise + even:
        return up + (way - rise) / top
    whole = up + even / top + ramp_seconds(top - end, accel, jerk)
    return whole - ramp_instant(end, top, length - way, accel, jerk)
