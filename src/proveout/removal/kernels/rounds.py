"""Where a ray enters and leaves the sweep of a round corner along any straight move, at any tilt.

A round corner is a disc of radius `ring` thickened by a ball of radius `rounding`: the hull of a torus. A point at
(s, t), s along the ray and t along the move, lies at the distance

    d(s, t) = sqrt(max(sqrt(x^2 + y^2) - ring, 0)^2 + z^2)        x, y, z linear in s and t

from the disc; the sweep is where the least d over 0 <= t <= 1 is at most the rounding. d is convex in (s, t), being
the distance of a linear image from a convex set. An end of the interval is found from outside: steps in t to where d
is nearly least, kept between values known to lie on either side, then Newton's step in s, which cannot overshoot.

How sure the end is. A convex function lies above its tangent planes, so at any (s, t)

    d(s', t') >= d + d_s (s' - s) + d_t (t' - t)   for all s' and t'

which bounds the end from outside: every step goes to that bound, so that the end never lies beyond s. The steps end
when the bound and the step that is left both are below END_WITHIN_MM; a plane that lies above the rounding from the
low end of the stretch up to s proves that the ray misses. Where neither has come about after STEPS_MAX steps (rays
that graze), the end is found by halving a stretch on the least d over t, itself found by thirds: slow and sure.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

END_WITHIN_MM = 1e-9
STEPS_MAX = 60
# d counts as least in t when its slope cannot lower it by more than this share of what is left to go
LEAST_ENOUGH_RATIO = 0.05
HALVINGS, GOLDEN_STEPS = 52, 80
GOLDEN = 0.6180339887498949


@njit(cache=True, nogil=True)
def _gap(form: np.ndarray, ring: float, s: float, t: float) -> float:
    """d(s, t); form (3, 3): x, y, z as (constant, per s, per t)."""
    x = form[0, 0] + s * form[0, 1] + t * form[0, 2]
    y = form[1, 0] + s * form[1, 1] + t * form[1, 2]
    z = form[2, 0] + s * form[2, 1] + t * form[2, 2]
    beyond = max(math.sqrt(x * x + y * y) - ring, 0.0)
    return math.sqrt(beyond * beyond + z * z)


@njit(cache=True, nogil=True)
def least_gap(form: np.ndarray, ring: float, s: float) -> float:
    """The least d(s, t) over 0 <= t <= 1, by golden section."""
    low, high = 0.0, 1.0
    for _ in range(GOLDEN_STEPS):
        one, two = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        if _gap(form, ring, s, one) < _gap(form, ring, s, two):
            high = two
        else:
            low = one
    found = _gap(form, ring, s, 0.5 * (low + high))
    return min(found, _gap(form, ring, s, 0.0), _gap(form, ring, s, 1.0))


@njit(cache=True, nogil=True)
def slow_end(form: np.ndarray, ring: float, rounding: float, low: float, high: float) -> float:
    """The greatest s of low..high inside the sweep, -inf when there is none; the least d over t is convex in s."""
    left, right = low, high
    for _ in range(GOLDEN_STEPS):
        one, two = right - GOLDEN * (right - left), left + GOLDEN * (right - left)
        if least_gap(form, ring, one) < least_gap(form, ring, two):
            right = two
        else:
            left = one
    inside = 0.5 * (left + right)
    if least_gap(form, ring, inside) > rounding:
        return -math.inf
    outside = high
    if least_gap(form, ring, outside) <= rounding:
        return outside
    for _ in range(HALVINGS):
        middle = 0.5 * (inside + outside)
        if least_gap(form, ring, middle) <= rounding:
            inside = middle
        else:
            outside = middle
    return inside


@njit(cache=True, nogil=True)
def far_end(form: np.ndarray, ring: float, rounding: float, low: float, high: float) -> tuple[float, bool]:
    """The greatest s of low..high inside the sweep, -inf when the ray misses; and whether that is certain.

    high must not lie inside the sweep by more than rounding errors.
    """
    x_s, y_s, z_s = form[0, 1], form[1, 1], form[2, 1]
    x_t, y_t, z_t = form[0, 2], form[1, 2], form[2, 2]
    s = high
    moved2 = x_t * x_t + y_t * y_t + z_t * z_t
    t = 0.0
    if moved2 > 0.0:
        toward = (form[0, 0] + s * x_s) * x_t + (form[1, 0] + s * y_s) * y_t + (form[2, 0] + s * z_s) * z_t
        t = min(max(-toward / moved2, 0.0), 1.0)
    t_low, t_high = -1.0, 2.0  # not yet known: 0 and 1 themselves have not been tried
    for _ in range(STEPS_MAX):
        x = form[0, 0] + s * x_s + t * x_t
        y = form[1, 0] + s * y_s + t * y_t
        z = form[2, 0] + s * z_s + t * z_t
        radius = math.sqrt(x * x + y * y)
        beyond = radius - ring
        # slopes and bends are those of d^2 / 2; the slopes of d are slope / d
        slope_s, slope_t, bend_st, bend_tt = z * z_s, z * z_t, z_s * z_t, z_t * z_t
        d = abs(z)
        if beyond > 0.0:
            over = 1.0 / radius
            of_s, of_t = (x * x_s + y * y_s) * over, (x * x_t + y * y_t) * over
            turns = (x * y_t - y * x_t) * over
            share = beyond * over
            d = math.sqrt(beyond * beyond + z * z)
            slope_s += beyond * of_s
            slope_t += beyond * of_t
            bend_st += of_s * of_t + share * turns * (x * y_s - y * x_s) * over
            bend_tt += of_t * of_t + share * turns * turns
        excess = (d - rounding) * d
        slack = max(slope_t * t, -slope_t * (1.0 - t))
        if excess - slack + min(slope_s * (low - s), 0.0) > 0.0:
            return -math.inf, True
        if slope_s > 0.0 and abs(excess) + slack <= END_WITHIN_MM * slope_s:
            return min(max(s - excess / slope_s, low), high), True
        if slack > max(LEAST_ENOUGH_RATIO * excess, 0.25 * END_WITHIN_MM * slope_s):
            # first the least d over t
            if slope_t > 0.0:
                t_high = t
            else:
                t_low = t
            t = min(max(t - slope_t / bend_tt, 0.0), 1.0) if bend_tt > 0.0 else -1.0
            if t <= t_low or t >= t_high:
                t = 0.5 * (max(t_low, 0.0) + min(t_high, 1.0))
            continue
        if slope_s <= 0.0:
            break
        step = (slack - excess) / slope_s
        s = max(s + step, low)
        if bend_tt > 0.0:
            t = min(max(t - (slope_t + bend_st * step) / bend_tt, 0.0), 1.0)
        t_low, t_high = -1.0, 2.0
    return math.nan, False


@njit(cache=True, nogil=True)
def round_forms(piece: np.ndarray, frame: np.ndarray, ray_axis: int, forms: np.ndarray) -> None:
    """Fills forms (3, 4): x, y and z above the disc as (constant, per u, per v, per s)."""
    for row in range(3):
        forms[row, 0] = 0.0
        forms[row, 1] = frame[row, (ray_axis + 1) % 3]
        forms[row, 2] = frame[row, (ray_axis + 2) % 3]
        forms[row, 3] = frame[row, ray_axis]
    forms[2, 0] = -0.5 * (piece[1] + piece[2])


@njit(cache=True, nogil=True)
def round_end(
    forms: np.ndarray, across: float, along: float, ring: float, rounding: float, u: float, v: float,
    low: float, high: float, toward: float, form: np.ndarray,
) -> float:  # fmt: skip
    """The ray's end in the sweep towards rising (toward 1) or falling s (-1), within low..high; nan for a miss."""
    for row in range(3):
        form[row, 0] = forms[row, 0] + u * forms[row, 1] + v * forms[row, 2]
        form[row, 1] = toward * forms[row, 3]
        form[row, 2] = 0.0
    form[0, 2] = -across
    form[2, 2] = -along
    begin, stop = (low, high) if toward > 0.0 else (-high, -low)
    found, certain = far_end(form, ring, rounding, begin, stop)
    if not certain:
        found = slow_end(form, ring, rounding, begin, stop)
    return toward * found if found != -math.inf else math.nan
