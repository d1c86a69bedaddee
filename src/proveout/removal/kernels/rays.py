"""The intervals of many rays inside the sweep whose lines kernels/sweep.py has laid out.

Each loop runs over all rays and has no branch in it, so that the processor takes several rays at a time; what differs
between lines is decided once, outside the loops. A missed ray is one whose first end lies above its last.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.sweep import (
    A_INVERSE,
    ROUND2,
    SIGN,
    T_INVERSE,
    USES_T,
    USES_Z,
    Z_INVERSE,
    A,
    S,
    T,
    W,
    X,
    Y,
    Z,
)

STABLE_BELOW = 1e-3  # a square term below this has its roots taken by the form without cancellation


@njit(cache=True, nogil=True)
def clip_strip(
    form: np.ndarray, inverse: float, low: float, high: float,
    us: np.ndarray, vs: np.ndarray, first: np.ndarray, last: np.ndarray,
) -> None:  # fmt: skip
    """Clips first..last to where low <= form(u, v) + parameter / inverse <= high; an inverse of 0 means no slope."""
    fixed, of_u, of_v = form[0], form[1], form[2]
    if inverse == 0.0:
        for j in range(us.shape[0]):
            value = fixed + us[j] * of_u + vs[j] * of_v
            before = first[j]
            first[j] = math.inf if (value < low) | (value > high) else before
        return
    for j in range(us.shape[0]):
        value = fixed + us[j] * of_u + vs[j] * of_v
        one = (low - value) * inverse
        two = (high - value) * inverse
        first[j] = max(first[j], min(one, two))
        last[j] = min(last[j], max(one, two))


@njit(cache=True, nogil=True)
def _quadric(square: float, inverse: float, half: float, fixed: float, radius_slope: float) -> tuple[float, float]:
    """Where square m^2 + 2 half m + fixed <= 0; of the two nappes of a cone the one on which the radius grows."""
    if square == 0.0:
        if half > 0.0:
            return -math.inf, -0.5 * fixed / half
        if half < 0.0:
            return -0.5 * fixed / half, math.inf
        if fixed > 0.0:
            return math.inf, -math.inf
        return -math.inf, math.inf
    inside = half * half - square * fixed
    if inside < 0.0:
        if square > 0.0:
            return math.inf, -math.inf
        inside = 0.0
    root = math.sqrt(inside)
    if abs(square) > STABLE_BELOW:
        one = (-half - root) * inverse
        two = (-half + root) * inverse
    else:
        larger = -half - root if half > 0.0 else root - half
        one = larger * inverse
        two = fixed / larger if larger != 0.0 else one
    if square > 0.0:
        return min(one, two), max(one, two)
    if radius_slope > 0.0:
        return max(one, two), math.inf
    return -math.inf, min(one, two)


@njit(cache=True, nogil=True)
def _clip_round(line: np.ndarray, us: np.ndarray, vs: np.ndarray, first: np.ndarray, last: np.ndarray) -> None:
    """Clips first..last to the inside of the line's quadric."""
    x_0, x_u, x_v, x_m = line[X], line[X + 1], line[X + 2], line[X + 3]
    y_0, y_u, y_v, y_m = line[Y], line[Y + 1], line[Y + 2], line[Y + 3]
    w_0, w_u, w_v, w_m = line[W], line[W + 1], line[W + 2], line[W + 3]
    sign, square, inverse, round2 = line[SIGN], line[A], line[A_INVERSE], line[ROUND2]
    if square > STABLE_BELOW:
        for j in range(us.shape[0]):
            x = x_0 + us[j] * x_u + vs[j] * x_v
            y = y_0 + us[j] * y_u + vs[j] * y_v
            w = w_0 + us[j] * w_u + vs[j] * w_v
            half = x * x_m + y * y_m + sign * w * w_m
            inside = half * half - square * (x * x + y * y + sign * w * w - round2)
            root = math.sqrt(max(inside, 0.0))
            after = max(first[j], (-half - root) * inverse)
            first[j] = math.inf if inside < 0.0 else after
            last[j] = min(last[j], (root - half) * inverse)
        return
    if square == 0.0 and x_m == 0.0 and y_m == 0.0 and w_m == 0.0:
        for j in range(us.shape[0]):
            x = x_0 + us[j] * x_u + vs[j] * x_v
            y = y_0 + us[j] * y_u + vs[j] * y_v
            w = w_0 + us[j] * w_u + vs[j] * w_v
            before = first[j]
            first[j] = math.inf if x * x + y * y + sign * w * w - round2 > 0.0 else before
        return
    for j in range(us.shape[0]):
        x = x_0 + us[j] * x_u + vs[j] * x_v
        y = y_0 + us[j] * y_u + vs[j] * y_v
        w = w_0 + us[j] * w_u + vs[j] * w_v
        half = x * x_m + y * y_m + sign * w * w_m
        begin, stop = _quadric(square, inverse, half, x * x + y * y + sign * w * w - round2, w_m)
        first[j] = max(first[j], begin)
        last[j] = min(last[j], stop)


@njit(cache=True, nogil=True)
def ray_intervals(
    lines: np.ndarray, count: int, z_strip: np.ndarray, us: np.ndarray, vs: np.ndarray,
    lows: np.ndarray, highs: np.ndarray, first: np.ndarray, last: np.ndarray,
) -> None:  # fmt: skip
    """Fills lows and highs (n,) with the rays' intervals of s; low > high where a ray misses. first, last: scratch."""
    for j in range(us.shape[0]):
        lows[j] = math.inf
        highs[j] = -math.inf
    for index in range(count):
        line = lines[index]
        for j in range(us.shape[0]):
            first[j] = -math.inf
            last[j] = math.inf
        if line[USES_T] != 0.0:
            clip_strip(line[T : T + 3], line[T_INVERSE], 0.0, 1.0, us, vs, first, last)
        if line[USES_Z] != 0.0:
            clip_strip(line[Z : Z + 3], line[Z_INVERSE], z_strip[0], z_strip[1], us, vs, first, last)
        _clip_round(line, us, vs, first, last)
        if line[S + 3] == 1.0:
            for j in range(us.shape[0]):
                one, two = first[j], last[j]
                hit = one <= two
                lows[j] = min(lows[j], one if hit else math.inf)
                highs[j] = max(highs[j], two if hit else -math.inf)
        else:
            s_0, s_u, s_v, s_m = line[S], line[S + 1], line[S + 2], line[S + 3]
            for j in range(us.shape[0]):
                s = s_0 + us[j] * s_u + vs[j] * s_v
                begin, stop = first[j], last[j]
                one, two = s + s_m * begin, s + s_m * stop
                low, high = min(one, two), max(one, two)
                hit = begin <= stop
                lows[j] = min(lows[j], low if hit else math.inf)
                highs[j] = max(highs[j], high if hit else -math.inf)
