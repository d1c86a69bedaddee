"""Where each move took metal: the extremes aside of the move and along the cutter's axis.

Kept for each of four quantities (-side, side, -height, height, in mm from the start of the move; for a move along the
axis, which has no side: minus the distance from the axis, and it again): the greatest value of any ray and of any
second ray. The second is what counts: a layer of rounding left beside an earlier wall meets hardly ever two rays of
one move. The result does not depend on the order of the rays.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

DUST_MM = 0.005  # metal shorter than this along a ray is no engagement


@njit(cache=True, nogil=True)
def _note(best: np.ndarray, rays: np.ndarray, which: int, ray: int, value: float) -> None:
    if value <= best[which, 1]:
        return
    if ray == rays[which]:
        best[which, 0] = max(best[which, 0], value)
    elif value > best[which, 0]:
        best[which, 1] = best[which, 0]
        best[which, 0] = value
        rays[which] = ray
    else:
        best[which, 1] = value


@njit(cache=True, nogil=True)
def _distance_from_axis(
    frame: np.ndarray, u_axis: int, v_axis: int, ray_axis: int, u: float, v: float, begin: float, stop: float
) -> float:
    """The least distance of a stretch of a ray from the cutter's axis."""
    x = u * frame[0, u_axis] + v * frame[0, v_axis]
    y = u * frame[1, u_axis] + v * frame[1, v_axis]
    slope_x, slope_y = frame[0, ray_axis], frame[1, ray_axis]
    slope2 = slope_x * slope_x + slope_y * slope_y
    s = begin
    if slope2 > 0.0:
        s = min(max(-(x * slope_x + y * slope_y) / slope2, begin), stop)
    return math.hypot(x + s * slope_x, y + s * slope_y)


@njit(cache=True, nogil=True)
def note_segments(
    spans: np.ndarray, counts: np.ndarray, rays: np.ndarray, us: np.ndarray, vs: np.ndarray, lows: np.ndarray,
    highs: np.ndarray, origin: float, ray_axis: int, frame: np.ndarray, plunges: int, best: np.ndarray,
    best_rays: np.ndarray,
) -> None:  # fmt: skip
    """Notes the metal of rays (n,) between origin + lows and origin + highs, which is about to be taken.

    frame (3, 3): rows forward, side, axis; plunges: 1 where the move runs along the axis. best (4, 2), greatest and
    second; best_rays (4,): whose the greatest is.
    """
    u_axis, v_axis = (ray_axis + 1) % 3, (ray_axis + 2) % 3
    side_u, side_v, side_s = frame[1, u_axis], frame[1, v_axis], frame[1, ray_axis]
    axis_u, axis_v, axis_s = frame[2, u_axis], frame[2, v_axis], frame[2, ray_axis]
    for k in range(us.shape[0]):
        low, high = lows[k], highs[k]
        if low >= high:
            continue
        ray = rays[k]
        for at in range(counts[ray]):
            begin = max(spans[ray, at, 0] - origin, low)
            stop = min(spans[ray, at, 1] - origin, high)
            if stop - begin < DUST_MM:
                continue
            height = us[k] * axis_u + vs[k] * axis_v
            one, two = height + begin * axis_s, height + stop * axis_s
            if -min(one, two) > best[2, 1]:
                _note(best, best_rays, 2, ray, -min(one, two))
            if max(one, two) > best[3, 1]:
                _note(best, best_rays, 3, ray, max(one, two))
            if plunges == 1:
                nearest = _distance_from_axis(frame, u_axis, v_axis, ray_axis, us[k], vs[k], begin, stop)
                _note(best, best_rays, 0, ray, -nearest)
                _note(best, best_rays, 1, ray, -nearest)
                continue
            side = us[k] * side_u + vs[k] * side_v
            one, two = side + begin * side_s, side + stop * side_s
            if -min(one, two) > best[0, 1]:
                _note(best, best_rays, 0, ray, -min(one, two))
            if max(one, two) > best[1, 1]:
                _note(best, best_rays, 1, ray, max(one, two))


@njit(cache=True, nogil=True)
def merge_notes(best: np.ndarray, more: np.ndarray) -> None:
    """Puts the greatest two of both into best; (n, 4, 2), of rays that no two of the notes share."""
    for move in range(best.shape[0]):
        for which in range(4):
            one, two = best[move, which, 0], best[move, which, 1]
            first, second = more[move, which, 0], more[move, which, 1]
            best[move, which, 0] = max(one, first)
            best[move, which, 1] = max(min(one, first), two, second)
