"""Sweeps of a cutter that stands along a field's axis: level moves, plunges and level arcs, in closed form.

At every height the piece's section is a disc, of a radius that the height alone sets, and the sweep's section is what
lies no farther from the path than that radius. So a ray square to the cutter's axis has one height and one radius,
and meets the path widened by it; a ray along the axis has one distance from the path, and the heights at which the
radius is at least as large. Both are closed forms for a cylinder, a cone, a ball and a round corner alike.

An arc of at most half a turn, without its two ends, is the ring between two circles within a wedge: up to two
intervals a ray. The discs at its ends are moves of no length. Rays are given by (u, v) from the start of a straight
move, or from the centre of an arc.

Rows of `plan`: what the profile is, and where the path runs.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.sweep import BALL, FRUSTUM, SNAP

GENERAL, ALONG_AXIS, ACROSS_AXIS = 0, 1, 2
CYLINDER, CONE, ROUND_PROFILE = 0.0, 1.0, 2.0
PLAN_WIDTH = 20
PROFILE, CORE_LOW, CORE_HIGH, RING, ROUND, TAPER = 0, 1, 2, 3, 4, 5
WAY_A, WAY_B, RADIUS, FIRST_A, FIRST_B, LAST_A, LAST_B, SIGN_Z, Z_IS_U = 6, 7, 8, 9, 10, 11, 12, 13, 14


@njit(cache=True, nogil=True)
def upright_plan(
    piece: np.ndarray, axis: np.ndarray, start: np.ndarray, end: np.ndarray, arc: np.ndarray, ray_axis: int,
    plan: np.ndarray,
) -> int:  # fmt: skip
    """Fills plan; returns ALONG_AXIS or ACROSS_AXIS as the rays run, or GENERAL where these closed forms do not serve.

    arc (5,): radius, then the wedge's first and last direction in the plane (c+1, c+2) of cutter axis c, turning
    left about +c; a radius of 0 means a straight move.
    """
    c = 0
    for k in range(1, 3):
        if abs(axis[k]) > abs(axis[c]):
            c = k
    g, h = (c + 1) % 3, (c + 2) % 3
    if abs(axis[g]) >= SNAP or abs(axis[h]) >= SNAP:
        return GENERAL
    sign = 1.0 if axis[c] > 0.0 else -1.0
    along = sign * (end[c] - start[c])
    way_g, way_h = end[g] - start[g], end[h] - start[h]
    taper = 0.0
    if piece[0] == FRUSTUM:
        taper = (piece[4] - piece[3]) / (piece[2] - piece[1])
    if abs(along) < SNAP:
        along = 0.0
    elif taper != 0.0 or abs(way_g) >= SNAP or abs(way_h) >= SNAP:
        return GENERAL
    plan[PROFILE] = CYLINDER if piece[0] == FRUSTUM and taper == 0.0 else CONE if piece[0] == FRUSTUM else ROUND_PROFILE
    plan[TAPER] = taper
    if piece[0] == FRUSTUM:
        plan[CORE_LOW] = piece[1] + min(0.0, along)
        plan[CORE_HIGH] = piece[2] + max(0.0, along)
        plan[RING] = piece[3]
        plan[ROUND] = 0.0
    else:
        middle = 0.5 * (piece[1] + piece[2])
        plan[CORE_LOW] = middle + min(0.0, along)
        plan[CORE_HIGH] = middle + max(0.0, along)
        plan[RING] = 0.0 if piece[0] == BALL else piece[3]
        plan[ROUND] = piece[3] if piece[0] == BALL else 0.5 * (piece[2] - piece[1])
    plan[RADIUS] = arc[0]
    # a is the path's coordinate across the ray, b the one along it; for rays along the axis they are g and h
    swap = ray_axis == g
    plan[WAY_A] = way_h if swap else way_g
    plan[WAY_B] = way_g if swap else way_h
    if abs(plan[WAY_A]) < SNAP:
        plan[WAY_A] = 0.0
    if abs(plan[WAY_B]) < SNAP:
        plan[WAY_B] = 0.0
    for end_of_arc in range(2):
        # mirrored where a and b change places, first and last change too, so that the wedge still turns left
        other = 1 - end_of_arc if swap else end_of_arc
        plan[FIRST_A + 2 * end_of_arc] = arc[2 + 2 * other] if swap else arc[1 + 2 * other]
        plan[FIRST_B + 2 * end_of_arc] = arc[1 + 2 * other] if swap else arc[2 + 2 * other]
    plan[SIGN_Z] = sign
    plan[Z_IS_U] = 1.0 if ray_axis == h else 0.0
    return ALONG_AXIS if ray_axis == c else ACROSS_AXIS


@njit(cache=True, nogil=True)
def upright_intervals(
    mode: int, plan: np.ndarray, us: np.ndarray, vs: np.ndarray, lows: np.ndarray, highs: np.ndarray,
    more_lows: np.ndarray, more_highs: np.ndarray, radii: np.ndarray,
) -> int:  # fmt: skip
    """Fills lows and highs (n,), of an arc also more_lows and more_highs; returns how many intervals a ray has."""
    if mode == ALONG_AXIS:
        if plan[RADIUS] > 0.0:
            _distances_from_arc(plan, us, vs, radii)
        else:
            _distances_from_way(plan, us, vs, radii)
        _heights(plan, radii, lows, highs)
        return 1
    across, heights = (vs, us) if plan[Z_IS_U] != 0.0 else (us, vs)
    _radii(plan, heights, radii)
    if plan[RADIUS] > 0.0:
        _across_arc(plan, across, radii, lows, highs, more_lows, more_highs)
        return 2
    _across_way(plan, across, radii, lows, highs)
    return 1


@njit(cache=True, nogil=True)
def _distances_from_way(plan: np.ndarray, us: np.ndarray, vs: np.ndarray, found: np.ndarray) -> None:
    way_a, way_b = plan[WAY_A], plan[WAY_B]
    length2 = way_a * way_a + way_b * way_b
    inverse = 1.0 / length2 if length2 > 0.0 else 0.0
    for j in range(us.shape[0]):
        t = min(max((us[j] * way_a + vs[j] * way_b) * inverse, 0.0), 1.0)
        a, b = us[j] - t * way_a, vs[j] - t * way_b
        found[j] = math.sqrt(a * a + b * b)


@njit(cache=True, nogil=True)
def _distances_from_arc(plan: np.ndarray, us: np.ndarray, vs: np.ndarray, found: np.ndarray) -> None:
    first_a, first_b, last_a, last_b = plan[FIRST_A], plan[FIRST_B], plan[LAST_A], plan[LAST_B]
    radius = plan[RADIUS]
    for j in range(us.shape[0]):
        a, b = us[j], vs[j]
        beside = (first_a * b - first_b * a < 0.0) | (a * last_b - b * last_a < 0.0)
        found[j] = math.inf if beside else abs(math.sqrt(a * a + b * b) - radius)


@njit(cache=True, nogil=True)
def _heights(plan: np.ndarray, distances: np.ndarray, lows: np.ndarray, highs: np.ndarray) -> None:
    """Where along the cutter's axis the radius is at least the distance."""
    core_low, core_high, ring, rounding, taper = plan[CORE_LOW], plan[CORE_HIGH], plan[RING], plan[ROUND], plan[TAPER]
    sign = plan[SIGN_Z]
    if plan[PROFILE] == CYLINDER:
        one, two = min(sign * core_low, sign * core_high), max(sign * core_low, sign * core_high)
        for j in range(distances.shape[0]):
            lows[j] = one if distances[j] <= ring else math.inf
            highs[j] = two
    elif plan[PROFILE] == CONE:
        for j in range(distances.shape[0]):
            at = core_low + (distances[j] - ring) / taper
            low = max(core_low, at) if taper > 0.0 else core_low
            high = core_high if taper > 0.0 else min(core_high, at)
            lows[j] = math.inf if low > high else min(sign * low, sign * high)
            highs[j] = max(sign * low, sign * high)
    else:
        middle, reach = sign * 0.5 * (core_low + core_high), 0.5 * (core_high - core_low)
        for j in range(distances.shape[0]):
            beyond = max(distances[j] - ring, 0.0)
            inside = rounding * rounding - beyond * beyond
            rise = reach + math.sqrt(max(inside, 0.0))
            lows[j] = middle - rise if inside >= 0.0 else math.inf
            highs[j] = middle + rise


@njit(cache=True, nogil=True)
def _radii(plan: np.ndarray, heights: np.ndarray, radii: np.ndarray) -> None:
    """The radius at each height; -1 beside the piece. heights are along the field's axis, not the cutter's."""
    core_low, core_high, ring, rounding, taper = plan[CORE_LOW], plan[CORE_HIGH], plan[RING], plan[ROUND], plan[TAPER]
    sign = plan[SIGN_Z]
    if plan[PROFILE] == ROUND_PROFILE:
        for j in range(heights.shape[0]):
            z = sign * heights[j]
            beyond = max(core_low - z, z - core_high, 0.0)
            inside = rounding * rounding - beyond * beyond
            radius = ring + math.sqrt(max(inside, 0.0))
            radii[j] = radius if inside >= 0.0 else -1.0
        return
    for j in range(heights.shape[0]):
        z = sign * heights[j]
        radius = ring + taper * (z - core_low)
        radii[j] = -1.0 if (z < core_low) | (z > core_high) else radius


@njit(cache=True, nogil=True)
def _across_way(plan: np.ndarray, across: np.ndarray, radii: np.ndarray, lows: np.ndarray, highs: np.ndarray) -> None:
    """The hull of what the ray meets: the disc at the start, the disc at the end, and the strip between them."""
    way_a, way_b = plan[WAY_A], plan[WAY_B]
    for j in range(across.shape[0]):
        a = across[j]
        radius = radii[j]
        inside = radius * radius - a * a
        root = math.sqrt(max(inside, 0.0))
        hit = (inside >= 0.0) & (radius >= 0.0)
        lows[j] = -root if hit else math.inf
        highs[j] = root if hit else -math.inf
    if way_a == 0.0 and way_b == 0.0:
        return
    for j in range(across.shape[0]):
        a = across[j] - way_a
        radius = radii[j]
        inside = radius * radius - a * a
        root = math.sqrt(max(inside, 0.0))
        hit = (inside >= 0.0) & (radius >= 0.0)
        lows[j] = min(lows[j], way_b - root if hit else math.inf)
        highs[j] = max(highs[j], way_b + root if hit else -math.inf)
    if way_a == 0.0:
        return  # the ray runs along the move: the discs span it all
    length = math.hypot(way_a, way_b)
    unit_a, unit_b = way_a / length, way_b / length
    over_a = 1.0 / unit_a
    if unit_b == 0.0:
        for j in range(across.shape[0]):
            forward = across[j] * unit_a
            radius = radii[j]
            hit = (radius >= 0.0) & (forward >= 0.0) & (forward <= length)
            lows[j] = min(lows[j], -radius if hit else math.inf)
            highs[j] = max(highs[j], radius if hit else -math.inf)
        return
    over_b = 1.0 / unit_b
    for j in range(across.shape[0]):
        a = across[j]
        radius = radii[j]
        aside_one, aside_two = (a * unit_b - radius) * over_a, (a * unit_b + radius) * over_a
        way_one, way_two = -a * unit_a * over_b, (length - a * unit_a) * over_b
        low = max(min(aside_one, aside_two), min(way_one, way_two))
        high = min(max(aside_one, aside_two), max(way_one, way_two))
        hit = (radius >= 0.0) & (low <= high)
        lows[j] = min(lows[j], low if hit else math.inf)
        highs[j] = max(highs[j], high if hit else -math.inf)


@njit(cache=True, nogil=True)
def _across_arc(
    plan: np.ndarray, across: np.ndarray, radii: np.ndarray, lows: np.ndarray, highs: np.ndarray,
    more_lows: np.ndarray, more_highs: np.ndarray,
) -> None:  # fmt: skip
    """Two intervals of the ring, each within the wedge; where the ray passes the hole by, the other one is missed."""
    first_a, first_b, last_a, last_b = plan[FIRST_A], plan[FIRST_B], plan[LAST_A], plan[LAST_B]
    for j in range(across.shape[0]):
        a = across[j]
        radius = radii[j]
        low, high = -math.inf, math.inf
        # left of the first direction: first_a b >= first_b a; right of the last: last_b a >= last_a b
        if first_a > 0.0:
            low = max(low, first_b * a / first_a)
        elif first_a < 0.0:
            high = min(high, first_b * a / first_a)
        elif first_b * a > 0.0:
            low = math.inf
        if last_a > 0.0:
            high = min(high, last_b * a / last_a)
        elif last_a < 0.0:
            low = max(low, last_b * a / last_a)
        elif last_b * a < 0.0:
            low = math.inf
        wide = plan[RADIUS] + radius
        outside = wide * wide - a * a
        if radius < 0.0 or outside < 0.0:
            low = math.inf
        far = math.sqrt(max(outside, 0.0))
        hole = plan[RADIUS] - radius
        hollow = hole * hole - a * a
        if hole > 0.0 and hollow > 0.0:
            near = math.sqrt(hollow)
            lows[j], highs[j] = max(low, -far), min(high, -near)
            more_lows[j], more_highs[j] = max(low, near), min(high, far)
        else:
            lows[j], highs[j] = max(low, -far), min(high, far)
            more_lows[j], more_highs[j] = math.inf, -math.inf
