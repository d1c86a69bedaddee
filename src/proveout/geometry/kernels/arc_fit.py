"""Runs of short chords that are one arc in truth."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

CHORDS_LEAST = 3
MISSES_MOST = 8
POINTS_MOST = 2000
RADIUS_LEAST_MM, RADIUS_MOST_MM = 0.02, 500.0
# a whole circle comes in two halves of nearly the same length, not in one long arc and an ill-fixed rest
TURN_LEAST_RAD, TURN_MOST_RAD = 0.05, 3.2


@njit(cache=True, nogil=True)
def _centre(x: np.ndarray, y: np.ndarray, first: int, middle: int, last: int) -> tuple[float, float, bool]:
    """Centre of the circle through three points, and whether there is one."""
    ax, ay = x[middle] - x[first], y[middle] - y[first]
    bx, by = x[last] - x[first], y[last] - y[first]
    twice = 2.0 * (ax * by - ay * bx)
    if abs(twice) < 1e-12:
        return 0.0, 0.0, False
    aa, bb = ax * ax + ay * ay, bx * bx + by * by
    return x[first] + (by * aa - ay * bb) / twice, y[first] + (ax * bb - bx * aa) / twice, True


@njit(cache=True, nogil=True)
def _fits(
    x: np.ndarray, y: np.ndarray, z: np.ndarray, first: int, last: int, cx: float, cy: float, within: float,
    bulge: float, ends: float,
) -> int:  # fmt: skip
    """The sense in which the points first..last go round the centre, 1 or -1, when they lie on one helix; else 0."""
    rx, ry = x[first] - cx, y[first] - cy
    radius = math.sqrt(rx * rx + ry * ry)
    if radius < RADIUS_LEAST_MM or radius > RADIUS_MOST_MM:
        return 0
    if abs(math.hypot(x[last] - cx, y[last] - cy) - radius) > ends:
        return 0
    longest = 2.0 * math.sqrt(max(0.0, bulge * (2.0 * radius - bulge)))
    total, sense = 0.0, 0.0
    for k in range(first, last):
        ax, ay = x[k] - cx, y[k] - cy
        bx, by = x[k + 1] - cx, y[k + 1] - cy
        if abs(math.sqrt(bx * bx + by * by) - radius) > within:
            return 0
        if math.hypot(x[k + 1] - x[k], y[k + 1] - y[k]) > longest:
            return 0
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if turn == 0.0 or turn * sense < 0.0:
            return 0
        sense = turn
        total += turn
    if abs(total) > TURN_MOST_RAD:
        return 0
    gone, rise = 0.0, z[last] - z[first]
    for k in range(first, last):
        ax, ay = x[k] - cx, y[k] - cy
        bx, by = x[k + 1] - cx, y[k + 1] - cy
        gone += math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if abs(z[k + 1] - z[first] - rise * gone / total) > within:
            return 0
    # a run too short to turn far enough may still grow: 2 and -2 say so
    side = 1 if sense > 0.0 else -1
    return side if abs(total) >= TURN_LEAST_RAD else 2 * side


@njit(cache=True, nogil=True)
def arc_runs(
    x: np.ndarray, y: np.ndarray, z: np.ndarray, grid: float, within: float, bulge: float, ends: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Finds the longest runs of points that lie on one arc or helix about z, from the first point on.

    x, y, z: (n,) mm.  grid: steps in which a centre's distance from the run's first point is counted, mm.  within: how
    far a point may lie from the arc.  bulge: how far the arc may stand out beyond a chord.  ends: how much the run's
    two ends may differ in distance from the centre.
    Returns (m, 2) first and last point of each run, (m, 2) steps from the first point to the centre, (m,) 1 for turning
    left, -1 right.
    """
    count = x.shape[0]
    runs = np.empty((count, 2), dtype=np.int64)
    steps = np.empty((count, 2), dtype=np.int64)
    senses = np.empty(count, dtype=np.int64)
    found, first = 0, 0
    while first + CHORDS_LEAST < count:
        best, misses = -1, 0
        last = first + CHORDS_LEAST
        while last < count and misses < MISSES_MOST and last - first < POINTS_MOST:
            cx, cy, is_there = _centre(x, y, first, (first + last) // 2, last)
            sense = 0
            if is_there and abs(cx - x[first]) < RADIUS_MOST_MM and abs(cy - y[first]) < RADIUS_MOST_MM:
                ui, vi = round((cx - x[first]) / grid), round((cy - y[first]) / grid)
                sense = _fits(x, y, z, first, last, x[first] + ui * grid, y[first] + vi * grid, within, bulge, ends)
            if abs(sense) == 2:
                misses = 0
            elif sense != 0:
                best, misses = last, 0
                steps[found, 0], steps[found, 1], senses[found] = ui, vi, sense
            else:
                misses += 1
            last += 1
        if best < 0:
            first += 1
            continue
        runs[found, 0], runs[found, 1] = first, best
        found += 1
        first = best
    return runs[:found], steps[:found], senses[:found]
