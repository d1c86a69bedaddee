"""Where a ray passes through the sweep of a frustum or a ball along one straight move (a round corner: rounds.py).

A ray is p + s r, the piece stands at start + t (end - start), 0 <= t <= 1.  In the plane (s, t) the points inside
the piece form a convex region, bounded by the strip of t, the strip of z (frustum) and one quadric

    frustum   x^2 + y^2 - w^2 <= 0        w = radius at height z, at least 0 inside the strip of z
    ball      x^2 + y^2 + w^2 - R^2 <= 0  w = height above the centre

with x, y, z, w linear in s and t.  The least and the greatest s of the region lie on one of at most five straight
lines of that plane: t = 0, t = 1, z = z_low, z = z_high, and the line on which the quadric's derivative by t is 0.
Each line is clipped by the region; whatever is left is inside, so the hull of the clips is the ray's interval and
no candidate ever needs a tolerance to be accepted.

Rows of `lines`: x, y, w, z, t, s, each as four numbers (constant, per u, per v, per parameter), u and v being the
ray's offsets from the start of the move; then from A on the numbers that no ray changes.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

FRUSTUM = 0.0
BALL = 1.0
ROUND_CORNER = 2.0
SNAP = 1e-12  # a slope or a length below this is taken as 0: over 100 mm it moves nothing by more than 1e-10 mm
LINES_MAX = 5
LINE_WIDTH = 32

X, Y, W, Z, T, S = 0, 4, 8, 12, 16, 20
A, A_INVERSE, Z_INVERSE, T_INVERSE, USES_Z, USES_T, ROUND2, SIGN = 24, 25, 26, 27, 28, 29, 30, 31


@njit(cache=True, nogil=True)
def move_frame(axis: np.ndarray, start: np.ndarray, end: np.ndarray, frame: np.ndarray) -> tuple[float, float]:
    """Fills frame (3, 3) with rows across, aside, axis; returns the move's (across, along) in mm."""
    along = 0.0
    for k in range(3):
        frame[2, k] = axis[k]
        along += (end[k] - start[k]) * axis[k]
    across = 0.0
    for k in range(3):
        frame[0, k] = end[k] - start[k] - along * axis[k]
        across += frame[0, k] * frame[0, k]
    across = math.sqrt(across)
    if across < SNAP:
        least = 0
        for k in range(1, 3):
            if abs(axis[k]) < abs(axis[least]):
                least = k
        for k in range(3):
            frame[0, k] = 1.0 if k == least else 0.0
    for _ in range(2):
        along_axis = 0.0
        for k in range(3):
            along_axis += frame[0, k] * axis[k]
        size = 0.0
        for k in range(3):
            frame[0, k] -= along_axis * axis[k]
            size += frame[0, k] * frame[0, k]
        size = math.sqrt(size)
        for k in range(3):
            frame[0, k] /= size
    frame[1, 0] = axis[1] * frame[0, 2] - axis[2] * frame[0, 1]
    frame[1, 1] = axis[2] * frame[0, 0] - axis[0] * frame[0, 2]
    frame[1, 2] = axis[0] * frame[0, 1] - axis[1] * frame[0, 0]
    across = 0.0 if across < SNAP else across
    along = 0.0 if abs(along) < SNAP else along
    return across, along


@njit(cache=True, nogil=True)
def _close_line(line: np.ndarray, z_used: float, t_used: float, round2: float, sign: float) -> None:
    """Computes what no ray changes: the square term, the inverse slopes and which strips count."""
    for at in (X, Y, W, Z):
        if abs(line[at + 3]) < SNAP:
            line[at + 3] = 0.0
    square = line[X + 3] * line[X + 3] + line[Y + 3] * line[Y + 3] + sign * line[W + 3] * line[W + 3]
    line[A] = square
    line[A_INVERSE] = 1.0 / square if square != 0.0 else 0.0
    line[Z_INVERSE] = 1.0 / line[Z + 3] if line[Z + 3] != 0.0 else 0.0
    line[T_INVERSE] = 1.0 / line[T + 3] if abs(line[T + 3]) >= SNAP else 0.0
    line[USES_Z] = z_used
    line[USES_T] = t_used
    line[ROUND2] = round2
    line[SIGN] = sign


@njit(cache=True, nogil=True)
def _touching_line(base: np.ndarray, line: np.ndarray, across: float, along: float, taper: float, sign: float) -> None:
    """The line on which the quadric is least in t; there the envelope of the moving piece lies."""
    divisor = across * across + sign * taper * taper * along * along
    for k in range(4):
        t = (across * base[0, k] + sign * along * taper * base[3, k]) / divisor
        line[T + k] = t
        line[X + k] = base[0, k] - across * t
        line[Y + k] = base[1, k]
        line[Z + k] = base[2, k] - along * t
        line[W + k] = base[3, k] - taper * along * t
        line[S + k] = 0.0
    line[S + 3] = 1.0


@njit(cache=True, nogil=True)
def _rim_line(base: np.ndarray, line: np.ndarray, across: float, along: float, height: float, radius: float) -> None:
    """The line z = height, on which a rim of that radius moves; along is not 0."""
    rise = base[2, 3]
    size = math.hypot(along, rise)
    for k in range(3):
        gap = (height if k == 0 else 0.0) - base[2, k]
        s = gap * rise / (size * size)
        t = -gap * along / (size * size)
        line[S + k] = s
        line[T + k] = t
        line[X + k] = base[0, k] + s * base[0, 3] - t * across
        line[Y + k] = base[1, k] + s * base[1, 3]
        line[Z + k] = 0.0
        line[W + k] = radius if k == 0 else 0.0
    line[S + 3] = along / size
    line[T + 3] = rise / size
    line[X + 3] = line[S + 3] * base[0, 3] - line[T + 3] * across
    line[Y + 3] = line[S + 3] * base[1, 3]
    line[Z + 3] = 0.0
    line[W + 3] = 0.0


@njit(cache=True, nogil=True)
def sweep_lines(
    piece: np.ndarray,
    axis: np.ndarray,
    start: np.ndarray,
    end: np.ndarray,
    ray_axis: int,
    frame: np.ndarray,
    base: np.ndarray,
    lines: np.ndarray,
    z_strip: np.ndarray,
) -> int:
    """Fills the lines of one piece, one move and one field; returns how many there are.

    piece (5,): kind, z low, z high, r low, r high. base (4, 4) and frame (3, 3) are scratch; z_strip (2,) is filled.
    """
    u_axis = (ray_axis + 1) % 3
    v_axis = (ray_axis + 2) % 3
    across, along = move_frame(axis, start, end, frame)
    for row in range(3):
        base[row, 0] = 0.0
        base[row, 1] = frame[row, u_axis]
        base[row, 2] = frame[row, v_axis]
        slope = frame[row, ray_axis]
        base[row, 3] = 0.0 if abs(slope) < SNAP else slope
    ball = piece[0] == BALL
    z_low, z_high = piece[1], piece[2]
    if ball:
        taper = 1.0
        radius_at_tip = -0.5 * (z_low + z_high)
        round2 = piece[3] * piece[3]
        sign = 1.0
    else:
        taper = (piece[4] - piece[3]) / (z_high - z_low)
        radius_at_tip = piece[3] - taper * z_low
        round2 = 0.0
        sign = -1.0
    for k in range(4):
        base[3, k] = taper * base[2, k]
    base[3, 0] += radius_at_tip
    z_used = 0.0 if ball else 1.0
    z_strip[0] = z_low
    z_strip[1] = z_high
    if not ball and taper == 0.0 and across == 0.0:
        # a cylinder moved along its own axis is a longer cylinder
        z_strip[0] = z_low + min(0.0, along)
        z_strip[1] = z_high + max(0.0, along)
        along = 0.0
    moved = across != 0.0 or along != 0.0

    count = 0
    for end_of_move in range(2 if moved else 1):
        line = lines[count]
        for k in range(4):
            line[X + k] = base[0, k]
            line[Y + k] = base[1, k]
            line[Z + k] = base[2, k]
            line[W + k] = base[3, k]
            line[T + k] = 0.0
            line[S + k] = 0.0
        line[X] -= end_of_move * across
        line[Z] -= end_of_move * along
        line[W] -= end_of_move * along * taper
        line[S + 3] = 1.0
        _close_line(line, z_used, 0.0, round2, sign)
        count += 1
    if not moved:
        return count

    if across * across + sign * taper * taper * along * along > 0.0:
        _touching_line(base, lines[count], across, along, taper, sign)
        _close_line(lines[count], z_used, 1.0, round2, sign)
        count += 1
    if along != 0.0 and not ball:
        for rim in range(2):
            _rim_line(base, lines[count], across, along, piece[1 + rim], piece[3 + rim])
            _close_line(lines[count], 0.0, 1.0, 0.0, -1.0)
            count += 1
    return count
