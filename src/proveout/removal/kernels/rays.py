"""The interval of one ray inside the sweep whose lines kernels/sweep.py has laid out."""

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
def _strip(value: float, inverse: float, low: float, high: float) -> tuple[float, float]:
    """Where low <= value + parameter / inverse <= high; an inverse of 0 means a value without slope."""
    if inverse == 0.0:
        if value < low or value > high:
            return math.inf, -math.inf
        return -math.inf, math.inf
    one = (low - value) * inverse
    two = (high - value) * inverse
    return min(one, two), max(one, two)


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
def ray_interval(lines: np.ndarray, count: int, z_strip: np.ndarray, u: float, v: float) -> tuple[float, float]:
    """The ray's interval (low, high) of s inside the sweep; low > high when the ray misses it."""
    low = math.inf
    high = -math.inf
    for index in range(count):
        line = lines[index]
        first = -math.inf
        last = math.inf
        if line[USES_T] != 0.0:
            t = line[T] + u * line[T + 1] + v * line[T + 2]
            first, last = _strip(t, line[T_INVERSE], 0.0, 1.0)
        if line[USES_Z] != 0.0:
            z = line[Z] + u * line[Z + 1] + v * line[Z + 2]
            begin, stop = _strip(z, line[Z_INVERSE], z_strip[0], z_strip[1])
            first = max(first, begin)
            last = min(last, stop)
        if first > last:
            continue
        x = line[X] + u * line[X + 1] + v * line[X + 2]
        y = line[Y] + u * line[Y + 1] + v * line[Y + 2]
        w = line[W] + u * line[W + 1] + v * line[W + 2]
        half = x * line[X + 3] + y * line[Y + 3] + line[SIGN] * w * line[W + 3]
        fixed = x * x + y * y + line[SIGN] * w * w - line[ROUND2]
        begin, stop = _quadric(line[A], line[A_INVERSE], half, fixed, line[W + 3])
        first = max(first, begin)
        last = min(last, stop)
        if first > last:
            continue
        if line[S + 3] == 1.0:
            low = min(low, first)
            high = max(high, last)
        else:
            s = line[S] + u * line[S + 1] + v * line[S + 2]
            one = s + line[S + 3] * first
            two = s + line[S + 3] * last
            low = min(low, one, two)
            high = max(high, one, two)
    return low, high
