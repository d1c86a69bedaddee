"""Whether the sweep of a convex cutter meets a convex body, exactly, and how deep inside the body it comes.

Two convex sets meet when the set of all differences of their points holds the origin. That set is known by its farthest
point in any direction; the point of it nearest to the origin is sought among points, edges, faces and a tetrahedron of
such farthest points, until it is the origin or a plane is found that keeps the origin out.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.sweep import BALL, FRUSTUM

BOX, CYLINDER = 0, 1
STEPS_MOST = 128  # a body that touches within these steps neither surely nor surely not counts as met
HALVINGS = 24
NOTHING_MM2 = 1e-16


@njit(cache=True, nogil=True)
def inside_rows(
    pieces: np.ndarray, axis: np.ndarray, starts: np.ndarray, ends: np.ndarray, low: np.ndarray, high: np.ndarray,
    shape: int, least: float, found: np.ndarray,
) -> None:  # fmt: skip
    """Writes for each move how far inside the body any piece comes; 0 where that is less than `least`."""
    middle = 0.5 * (low + high)
    half = 0.5 * (high - low)
    most = min(half[0], half[1], half[2])
    for row in range(starts.shape[0]):
        deepest = 0.0
        for p in range(pieces.shape[0]):
            begin = max(least, deepest)
            if begin >= most or not meets(pieces[p], axis, starts[row], ends[row], middle, half, shape, begin):
                continue
            inner, outer = begin, most
            for _ in range(HALVINGS):
                by = 0.5 * (inner + outer)
                if meets(pieces[p], axis, starts[row], ends[row], middle, half, shape, by):
                    inner = by
                else:
                    outer = by
            deepest = inner
        found[row] = deepest


@njit(cache=True, nogil=True)
def meets(
    piece: np.ndarray, axis: np.ndarray, start: np.ndarray, end: np.ndarray, middle: np.ndarray, half: np.ndarray,
    shape: int, by: float,
) -> bool:  # fmt: skip
    """Whether a piece on its straight move meets the body less a skin of the thickness `by`."""
    corners = np.zeros((4, 3))
    shares = np.zeros(4)
    farthest = np.zeros(3)
    count = 0
    along = 0.5 * (piece[1] + piece[2])
    nearest = 0.5 * (start + end) + along * axis - middle
    for _ in range(STEPS_MOST):
        length2 = nearest[0] ** 2 + nearest[1] ** 2 + nearest[2] ** 2
        if length2 <= NOTHING_MM2:
            return True
        _farthest(piece, axis, start, end, middle, half, shape, by, nearest, farthest)
        if nearest[0] * farthest[0] + nearest[1] * farthest[1] + nearest[2] * farthest[2] > 0.0:
            return False
        for k in range(3):
            corners[count, k] = farthest[k]
        count += 1
        if count == 4 and _holds_origin(corners):
            return True
        _nearest(corners, count, shares)
        kept = 0
        nearest[:] = 0.0
        for i in range(count):
            if shares[i] > 0.0:
                for k in range(3):
                    nearest[k] += shares[i] * corners[i, k]
                    corners[kept, k] = corners[i, k]
                kept += 1
        count = kept
    return True


@njit(cache=True, nogil=True)
def _farthest(
    piece: np.ndarray, axis: np.ndarray, start: np.ndarray, end: np.ndarray, middle: np.ndarray, half: np.ndarray,
    shape: int, by: float, away: np.ndarray, out: np.ndarray,
) -> None:  # fmt: skip
    """The point of (sweep less body) that lies farthest against the direction `away`."""
    x, y, z = -away[0], -away[1], -away[2]
    length = math.sqrt(x * x + y * y + z * z)
    up = x * axis[0] + y * axis[1] + z * axis[2]
    sx, sy, sz = x - up * axis[0], y - up * axis[1], z - up * axis[2]
    side = math.sqrt(sx * sx + sy * sy + sz * sz)
    inverse = 1.0 / side if side > 1e-15 * length else 0.0
    if piece[0] == FRUSTUM:
        is_low = piece[1] * up + piece[3] * side >= piece[2] * up + piece[4] * side
        height = piece[1] if is_low else piece[2]
        radius = piece[3] if is_low else piece[4]
        ball = 0.0
    else:
        height = 0.5 * (piece[1] + piece[2])
        ball = 0.5 * (piece[2] - piece[1])
        radius = 0.0 if piece[0] == BALL else piece[3]
    flat = radius * inverse
    ball = ball / length
    is_start = (start[0] - end[0]) * x + (start[1] - end[1]) * y + (start[2] - end[2]) * z >= 0.0
    tip = start if is_start else end
    out[0] = tip[0] + height * axis[0] + flat * sx + ball * x - middle[0]
    out[1] = tip[1] + height * axis[1] + flat * sy + ball * y - middle[1]
    out[2] = tip[2] + height * axis[2] + flat * sz + ball * z - middle[2]
    # of the body its farthest point the other way
    if shape == CYLINDER:
        flat2 = math.sqrt(x * x + y * y)
        share = (half[0] - by) / flat2 if flat2 > 1e-15 * length else 0.0
        out[0] += share * x
        out[1] += share * y
    else:
        out[0] += half[0] - by if x >= 0.0 else by - half[0]
        out[1] += half[1] - by if y >= 0.0 else by - half[1]
    out[2] += half[2] - by if z >= 0.0 else by - half[2]


@njit(cache=True, nogil=True)
def _holds_origin(c: np.ndarray) -> bool:
    """Whether the tetrahedron of four corners (4, 3) holds the origin; a flat one does not."""
    whole = _volume(c[0], c[1], c[2], c[3])
    if whole == 0.0:
        return False
    sign = 1.0 if whole > 0.0 else -1.0
    origin = np.zeros(3)
    return (
        sign * _volume(origin, c[1], c[2], c[3]) >= 0.0
        and sign * _volume(c[0], origin, c[2], c[3]) >= 0.0
        and sign * _volume(c[0], c[1], origin, c[3]) >= 0.0
        and sign * _volume(c[0], c[1], c[2], origin) >= 0.0
    )


@njit(cache=True, nogil=True)
def _volume(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> float:
    """Six times the signed volume."""
    bx, by, bz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    cx, cy, cz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    dx, dy, dz = d[0] - a[0], d[1] - a[1], d[2] - a[2]
    return bx * (cy * dz - cz * dy) - by * (cx * dz - cz * dx) + bz * (cx * dy - cy * dx)


@njit(cache=True, nogil=True)
def _nearest(c: np.ndarray, count: int, shares: np.ndarray) -> None:
    """Shares (4,) of the corners whose sum is the point of their hull nearest to the origin, outside of it."""
    shares[:] = 0.0
    if count == 1:
        shares[0] = 1.0
        return
    if count == 2:
        shares[0], shares[1] = _of_edge(c[0], c[1])
        return
    best = math.inf
    for left_out in range(4):
        if count == 3 and left_out != 3:
            continue
        i = 1 if left_out == 0 else 0
        j = 2 if left_out <= 1 else 1
        k = 3 if left_out <= 2 else 2
        one, two, three = _of_face(c[i], c[j], c[k])
        length2 = 0.0
        for m in range(3):
            length2 += (one * c[i, m] + two * c[j, m] + three * c[k, m]) ** 2
        if length2 < best:
            best = length2
            shares[:] = 0.0
            shares[i], shares[j], shares[k] = one, two, three


@njit(cache=True, nogil=True)
def _of_edge(a: np.ndarray, b: np.ndarray) -> tuple[float, float]:
    square, part = 0.0, 0.0
    for k in range(3):
        step = b[k] - a[k]
        square += step * step
        part -= step * a[k]
    share = min(max(part / square, 0.0), 1.0) if square > 0.0 else 0.0
    return 1.0 - share, share


@njit(cache=True, nogil=True)
def _of_face(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> tuple[float, float, float]:
    """Shares of the corners of a triangle: within it, else on the nearest of its edges."""
    e11, e12, e22, f1, f2 = 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(3):
        one, two = b[k] - a[k], c[k] - a[k]
        e11 += one * one
        e12 += one * two
        e22 += two * two
        f1 -= one * a[k]
        f2 -= two * a[k]
    whole = e11 * e22 - e12 * e12
    if whole > 0.0:
        u = (f1 * e22 - f2 * e12) / whole
        v = (f2 * e11 - f1 * e12) / whole
        if u >= 0.0 and v >= 0.0 and u + v <= 1.0:
            return 1.0 - u - v, u, v
    best = math.inf
    found = (1.0, 0.0, 0.0)
    for edge in range(3):
        p = b if edge == 1 else a
        q = b if edge == 0 else c
        first, last = _of_edge(p, q)
        length2 = 0.0
        for k in range(3):
            length2 += (first * p[k] + last * q[k]) ** 2
        if length2 < best:
            best = length2
            if edge == 0:
                found = (first, last, 0.0)
            elif edge == 1:
                found = (0.0, first, last)
            else:
                found = (first, 0.0, last)
    return found
