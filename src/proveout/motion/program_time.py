"""Time of a chain of straight moves, with a look-ahead that slows down for corners."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange

# moves shorter than this do not exist for the control
SHORTEST_MM = 1.0e-9


def polyline_times_s(
    points: ArrayLike,
    feeds: ArrayLike,
    *,
    rapid_mm_per_s: float | Sequence[float],
    accel_mm_per_s2: float | Sequence[float],
    stop_angle_rad: float,
    jump_mm_per_s: float,
) -> NDArray[np.float64]:
    """Time of each move along a polyline, from rest at its start to rest at its end.

    Formula:  move i from point i - 1 to i has speed cap v_i = min(feed_i, rapid_k / |u_k|) and acceleration
              a_i = min a_k / |u_k| over the axes k. At a joint that turns by beta the speed is 0 for beta at or above
              the stop angle, otherwise at most j / (2 sin(beta / 2)) and at most both caps, so that the velocity jumps
              by no more than j. Squared speeds at the joints are then lowered so that w_i+1 <= w_i + 2 a L (forward)
              and w_i <= w_i+1 + 2 a L (backward); each move runs up to its cap or its peak between them.
    Args:     points: (n, 3) float64, mm, machine frame, not modified.   feeds: (n,) mm/s, feeds[i] of the move that
              arrives at points[i], > 0, infinite for a rapid move; feeds[0] is not read.   rapid_mm_per_s: one for the
              path, or (3,) per axis, > 0.   accel_mm_per_s2: one for the path, or (3,) per axis, > 0.
              stop_angle_rad: turn at which the control stops, above 0, at most pi.   jump_mm_per_s: j, >= 0; 0 stops
              at every joint that turns at all.
    Returns:  (n - 1,) s; 0 for a move of no length; empty for fewer than two points.
    Raises:   OutOfRange when an argument leaves the bounds above or shapes differ.
    Valid:    unlimited jerk and unlimited block rate; both only make the real time longer.
    Source:   kinematic_identities.   Departs: corners by a bound on the velocity jump, a rule of our own.
    Checked:  tests/laws/test_motion_laws.py
    """
    place = np.asarray(points, dtype=np.float64)
    feed = np.asarray(feeds, dtype=np.float64)
    if place.ndim != 2 or place.shape[1] != 3 or feed.shape != (len(place),):
        raise OutOfRange("A polyline needs (n, 3) points and (n,) feeds", value=f"{place.shape} and {feed.shape}")
    if not np.all(np.isfinite(place)) or not np.all(feed[1:] > 0.0):
        raise OutOfRange("A polyline needs finite points and feeds above 0")
    above_zero(stop_angle_rad=stop_angle_rad)
    between(low=0.0, high=math.pi, stop_angle_rad=stop_angle_rad)
    zero_or_more(jump_mm_per_s=jump_mm_per_s)
    times = np.zeros(max(0, len(place) - 1))
    delta = np.diff(place, axis=0)
    length = np.linalg.norm(delta, axis=1)
    moving = length > SHORTEST_MM
    if not moving.any():
        return times
    delta, length = delta[moving], length[moving]
    direction = delta / length[:, None]
    cap = np.minimum(feed[1:][moving], _along(direction, rapid_mm_per_s, "rapid_mm_per_s"))
    accel = _along(direction, accel_mm_per_s2, "accel_mm_per_s2")

    joints = np.zeros(len(length) + 1)
    joints[1:-1] = _joint_speeds(direction, cap, stop_angle_rad, jump_mm_per_s) ** 2
    gain = np.concatenate(([0.0], np.cumsum(2.0 * accel * length)))
    joints = gain + np.minimum.accumulate(joints - gain)
    joints = np.minimum.accumulate((joints + gain)[::-1])[::-1] - gain
    joints = np.maximum(joints, 0.0)

    start, finish = joints[:-1], joints[1:]
    top_squared = np.minimum(cap**2, 0.5 * (start + finish) + accel * length)
    top_squared = np.maximum(top_squared, np.maximum(start, finish))
    top = np.sqrt(top_squared)
    ramps = (2.0 * top - np.sqrt(start) - np.sqrt(finish)) / accel
    even = np.maximum(0.0, length - (2.0 * top_squared - start - finish) / (2.0 * accel))
    times[moving] = ramps + even / top
    return times


def polyline_time_s(
    points: ArrayLike,
    feeds: ArrayLike,
    *,
    rapid_mm_per_s: float | Sequence[float],
    accel_mm_per_s2: float | Sequence[float],
    stop_angle_rad: float,
    jump_mm_per_s: float,
) -> float:
    """Time of a whole polyline, from rest to rest.

    Formula:  the sum of polyline_times_s
    Args:     points: (n, 3) float64, mm, machine frame, not modified.   feeds: (n,) mm/s, of the move that arrives at
              each point, infinite for a rapid move.   rapid_mm_per_s: path, or (3,) per axis, > 0.
              accel_mm_per_s2: path, or (3,) per axis, > 0.   stop_angle_rad: above 0, at most pi.
              jump_mm_per_s: >= 0.
    Returns:  s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above or shapes differ.
    Valid:    as polyline_times_s.
    Source:   kinematic_identities.   Departs: as polyline_times_s.
    Checked:  tests/laws/test_motion_laws.py
    """
    return float(
        polyline_times_s(
            points,
            feeds,
            rapid_mm_per_s=rapid_mm_per_s,
            accel_mm_per_s2=accel_mm_per_s2,
            stop_angle_rad=stop_angle_rad,
            jump_mm_per_s=jump_mm_per_s,
        ).sum()
    )


def _along(direction: NDArray[np.float64], limit: float | Sequence[float], name: str) -> NDArray[np.float64]:
    """A limit of the axes seen along each direction, or the limit itself when it is one number for the path."""
    values = np.asarray(limit, dtype=np.float64)
    for value in values.ravel():
        above_zero(**{name: float(value)})
    if values.ndim == 0:
        return np.full(len(direction), float(values))
    if values.shape != (3,):
        raise OutOfRange("An axis limit needs one number or three", where=name, value=str(values.shape))
    share = np.abs(direction)
    return np.min(np.where(share > 0.0, values / np.maximum(share, 1e-300), np.inf), axis=1)


def _joint_speeds(
    direction: NDArray[np.float64], cap: NDArray[np.float64], stop_angle_rad: float, jump_mm_per_s: float
) -> NDArray[np.float64]:
    """Highest speed at each inner joint."""
    turn_chord = np.linalg.norm(np.diff(direction, axis=0), axis=1)
    lower_cap = np.minimum(cap[:-1], cap[1:])
    with np.errstate(divide="ignore", invalid="ignore"):
        by_jump = np.where(turn_chord > 1e-9, jump_mm_per_s / turn_chord, np.inf)
    stops = turn_chord >= 2.0 * math.sin(0.5 * stop_angle_rad) - 1e-12
    return np.where(stops, 0.0, np.minimum(lower_cap, by_jump))
