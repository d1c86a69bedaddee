"""Where the axis of discs between levels may stand, compiled: squares that are surely free, and surely not.

The room round an axis changes by no more than the axis moves: a square whose middle has more than half its diagonal is
free all over, and one that lacks more is nowhere free. What is neither is quartered.
"""

from __future__ import annotations

import numpy as np
from kernels.whole import _beside, _clear
from numba import njit

TILES = 16
ROUNDED_MM = 1e-9


@njit(cache=True)
def _near(x, y, tri):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    """Distance from a place to the box of a triangle (3, 2)."""
    dx = _beside(x, min(tri[0, 0], tri[1, 0], tri[2, 0]), max(tri[0, 0], tri[1, 0], tri[2, 0]))
    dy = _beside(y, min(tri[0, 1], tri[1, 1], tri[2, 1]), max(tri[0, 1], tri[1, 1], tri[2, 1]))
    return np.hypot(dx, dy)


@njit(cache=True)
def _room(x, y, flats, radii, far):  # noqa: ANN001, ANN202 - compiled: arrays only
    """By how much all discs could grow about a place, no more than `far`; -far where it is that or less."""
    value = far
    for t in range(flats.shape[0]):
        value = min(value, _clear(x, y, flats[t : t + 1], radii[t] + value) - radii[t])
        if value <= -far:
            return -far
    return value


@njit(cache=True)
def free_squares(low_x, low_y, pitch, side, flats, radii, sure):  # noqa: ANN001, ANN201 - compiled: arrays only
    """(side, side) uint8: 1 where discs keep clear of their triangles all over a square of the grid.

    side: a power of two, TILES or more.   flats (k, 3, 2): triangles seen from above; radii (k,): of the disc that
    each must be clear of.   sure: else 1 also where a square is not sure to be blocked all over.
    """
    out = np.zeros((side, side), dtype=np.uint8)
    stack = np.empty((512, 3), dtype=np.int64)
    own = np.empty_like(flats)
    wide = np.empty_like(radii)
    step = side // TILES
    for tile in range(TILES * TILES):
        first, second = tile // TILES * step, tile % TILES * step
        x, y = low_x + (first + 0.5 * step) * pitch, low_y + (second + 0.5 * step) * pitch
        most, count = step * pitch * np.sqrt(2.0), 0
        for t in range(flats.shape[0]):
            if _near(x, y, flats[t]) < radii[t] + most:
                own[count], wide[count] = flats[t], radii[t]
                count += 1
        stack[0, 0], stack[0, 1], stack[0, 2] = first, second, step
        depth = 1
        while depth > 0:
            depth -= 1
            i, j, size = stack[depth, 0], stack[depth, 1], stack[depth, 2]
            far = 0.5 * size * pitch * np.sqrt(2.0)
            x, y = low_x + (i + 0.5 * size) * pitch, low_y + (j + 0.5 * size) * pitch
            value = _room(x, y, own[:count], wide[:count], far)
            if value >= far - ROUNDED_MM or (size == 1 and not sure and value > -far):
                for a in range(i, i + size):
                    for b in range(j, j + size):
                        out[a, b] = 1
            elif value > -far and size > 1:
                half = size // 2
                for k in range(4):
                    stack[depth, 0] = i + (half if k % 2 else 0)
                    stack[depth, 1] = j + (half if k // 2 else 0)
                    stack[depth, 2] = half
                    depth += 1
    return out


@njit(cache=True)
def slab(corners, low, high):  # noqa: ANN001, ANN201 - compiled: arrays only
    """(k, 3, 2) triangles (t, 3, 3) cut off below one height and above another, seen from above."""
    out = np.empty((3 * corners.shape[0] + 1, 3, 2))
    ring, kept = np.empty((8, 3)), np.empty((8, 3))
    count = 0
    for t in range(corners.shape[0]):
        if max(corners[t, 0, 2], corners[t, 1, 2], corners[t, 2, 2]) <= low:
            continue
        if min(corners[t, 0, 2], corners[t, 1, 2], corners[t, 2, 2]) >= high:
            continue
        ring[:3], n = corners[t], 3
        for side in range(2):
            height, sign, m = (low, 1.0, 0) if side == 0 else (high, -1.0, 0)
            for k in range(n):
                a, b = sign * (ring[k, 2] - height), sign * (ring[(k + 1) % n, 2] - height)
                if a >= 0.0:
                    kept[m] = ring[k]
                    m += 1
                if (a >= 0.0) != (b >= 0.0):
                    kept[m] = ring[k] + a / (a - b) * (ring[(k + 1) % n] - ring[k])
                    m += 1
            ring[:m], n = kept[:m], m
        for k in range(1, n - 1):
            out[count, 0], out[count, 1], out[count, 2] = ring[0, :2], ring[k, :2], ring[k + 1, :2]
            count += 1
    return out[:count].copy()
