"""Time of a chain of moves with limited acceleration and jerk, corners slowed for, and a look-ahead."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.motion.path import Arcs, Limit, joint_limits, path_limits, path_of
from proveout.motion.strokes import run_through
from proveout.quantities.bounds import above_zero, between
from proveout.quantities.errors import OutOfRange


def chain_times_s(
    positions: ArrayLike,
    feeds: ArrayLike,
    *,
    rapid_mm_per_s: Limit,
    accel_mm_per_s2: Limit,
    jerk_mm_per_s3: Limit = math.inf,
    stop_angle_rad: float,
    jump_mm_per_s: Limit,
    arcs: Arcs | None = None,
    stops: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Time of each move of a chain, from rest at its start to rest at its end.

    Formula:  move i from position i - 1 to i has along its path the speed cap v_i = min(feed_i, rapid_k / |u_k|), the
              acceleration a_i = min a_k / |u_k| and the jerk j_i = min j_k / |u_k| over the axes k; u is the change of
              the axes per length. On an arc of radius r, as its centre asks for v^2 / r and v^3 / r^2 besides, v is at
              most sqrt(0.8 a r) and w = (0.5 j r^2)^(1/3); along it remain 0.3 j and the lower of 0.6 a, 0.2 j r / w.
              At a joint that turns by beta the speed is 0 for beta at or above the stop angle, otherwise at most
              J / |u' - u|, with one J for the path or for each axis k J_k / |u'_k - u_k|, and at most both caps, so
              that the velocity jumps by no more than J.
              The chain is run through in strokes: one or more moves with zero acceleration at both ends, in seven
              phases (jerk, acceleration, jerk, even speed and the same down) within the lowest limits of its moves and
              inner joints. A change of speed by w takes 2 sqrt(w / j) up to w = a^2 / j, then w / a + a / j, over the
              mean speed times that. Speeds at the ends of strokes are lowered until strokes reach them from the start
              and leave them towards the end; of the ways to cut the chain into strokes the quickest is taken.
    Args:     positions: (n, 3 to 5) float64, X Y Z in mm, then rotary axes in rad, machine frame, not modified.
              feeds: (n,) mm/s, feeds[i] of the move that arrives at positions[i], > 0, infinite for a rapid move, rad/s
              where only rotary axes move; feeds[0] is not read.   rapid_mm_per_s, accel_mm_per_s2, jerk_mm_per_s3: one
              for the path, or one per axis (rotary axes in rad), > 0, the jerk also infinite.   stop_angle_rad: turn
              at which the control stops, above 0, at most pi.   jump_mm_per_s: J, >= 0; 0 stops at every joint that
              turns at all.   arcs: which moves are arcs.   stops: (n,) bool, positions at which it stops.
    Returns:  (n - 1,) s; 0 for a move of no length; empty for fewer than two positions.
    Raises:   OutOfRange when an argument leaves the bounds above, shapes differ or an arc does not end at its end.
    Valid:    unlimited block rate. Strokes of at most 3072 moves and of the sizes 1, 2, 3, 4, 6, 8, 12 ... of moves
              that do not run on alike. At a joint of line and arc the acceleration across the path jumps.
    Source:   kinematic_identities.   Departs: corners by a bound on the velocity jump, shares on arcs and strokes are
              rules of our own.
    Checked:  tests/laws/test_motion_laws.py, tests/motion/test_chain_reference.py
    """
    path = path_of(positions, arcs)
    feed = np.asarray(feeds, dtype=np.float64)
    if feed.shape != (max(0, len(path.moving) + 1),) and feed.size:
        raise OutOfRange("A chain needs as many feeds as positions", value=str(feed.shape))
    if not np.all(feed[1:] > 0.0):
        raise OutOfRange("A chain needs feeds above 0")
    above_zero(stop_angle_rad=stop_angle_rad)
    between(low=0.0, high=math.pi, stop_angle_rad=stop_angle_rad)
    times = np.zeros(len(path.moving))
    if not path.moving.any():
        return times
    cap, accel, jerk = path_limits(
        path, feed[1:][path.moving], rapid_mm_per_s=rapid_mm_per_s, accel_mm_per_s2=accel_mm_per_s2,
        jerk_mm_per_s3=jerk_mm_per_s3,
    )  # fmt: skip
    joints = np.zeros(len(cap) + 1)
    joints[1:-1] = joint_limits(path, cap, stop_angle_rad=stop_angle_rad, jump_mm_per_s=jump_mm_per_s)
    if stops is not None:
        joints[1:-1][_stopped(stops, path.moving)] = 0.0
    times[path.moving] = run_through(length=path.length, cap=cap, accel=accel, jerk=jerk, joint=joints)[0]
    return times


def _stopped(stops: ArrayLike, moving: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """At which inner joints of the moves of some length it stops: also where a stop lies at a move of no length."""
    asked = np.asarray(stops, dtype=bool)
    if asked.shape != (len(moving) + 1,):
        raise OutOfRange("A chain needs as many stops as positions", value=str(asked.shape))
    count = np.cumsum(asked)
    which = np.flatnonzero(moving)
    return count[which[1:]] - count[which[:-1]] > 0
