"""Whole cutters against triangles, compiled: what whole_cutters says in plain numpy, quick enough for 200 000 triples.

A piece is a row (code, z_low, z_high, r_low, r_high); code 0 a frustum, 1 a ball, 2 a round corner. Triangles are
passed over only where their box lies farther from the axis than the piece reaches, or lower than it begins there.
"""

from __future__ import annotations

import numpy as np
from numba import njit

VERTEX_MM = 5e-5
HALVINGS = 36
GOLD = (np.sqrt(5.0) - 1.0) / 2.0
CELL_LEAST_MM = 0.002
CELLS_MOST = 400_000


@njit(cache=True)
def _begins(piece, rho):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    code, z_low, z_high, r_low, r_high = piece[0], piece[1], piece[2], piece[3], piece[4]
    if code == 0.0:
        if r_high <= r_low:
            return z_low
        return z_low + (z_high - z_low) / (r_high - r_low) * max(rho - r_low, 0.0)
    r = 0.5 * (z_high - z_low)
    off = min(max(rho - (r_low if code == 2.0 else 0.0), 0.0), r)
    return z_low + r - np.sqrt(max(r * r - off * off, 0.0))


@njit(cache=True)
def _over(piece, x, y, z, slack):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    return z - _begins(piece, np.hypot(x, y) + slack) - slack


@njit(cache=True)
def _inside_meets(tri, tip, piece, most, slack):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    ax, ay, az = tri[0, 0] - tip[0], tri[0, 1] - tip[1], tri[0, 2] - tip[2]
    ex, ey, ez = tri[1, 0] - tri[0, 0], tri[1, 1] - tri[0, 1], tri[1, 2] - tri[0, 2]
    fx, fy, fz = tri[2, 0] - tri[0, 0], tri[2, 1] - tri[0, 1], tri[2, 2] - tri[0, 2]
    area = ex * fy - ey * fx
    if abs(area) <= 1e-12:
        return False
    gx, gy = (ez * fy - fz * ey) / area, (fz * ex - ez * fx) / area
    slope = np.hypot(gx, gy)
    if piece[0] == 0.0:
        if piece[4] <= piece[3]:
            away = most
        else:
            rise = (piece[2] - piece[1]) / (piece[4] - piece[3])
            away = most if slope > rise else min(piece[3], most)
    else:
        flat = piece[3] if piece[0] == 2.0 else 0.0
        away = min(flat + 0.5 * (piece[2] - piece[1]) * slope / np.sqrt(1.0 + slope * slope), most)
    safe = max(slope, 1e-12)
    for k in range(2):
        x = away * gx / safe if k == 0 else 0.0
        y = away * gy / safe if k == 0 else 0.0
        u = ((x - ax) * fy - (y - ay) * fx) / area
        v = (ex * (y - ay) - ey * (x - ax)) / area
        if u >= 0.0 and v >= 0.0 and u + v <= 1.0 and _over(piece, x, y, az + u * ez + v * fz, slack) > 0.0:
            return True
    return False


@njit(cache=True)
def _edge_meets(a, b, tip, piece, most, slack):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    ax, ay, az = a[0] - tip[0], a[1] - tip[1], a[2] - tip[2]
    ex, ey, ez = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    qa, qb, qc = ex * ex + ey * ey, ax * ex + ay * ey, ax * ax + ay * ay - most * most
    low, high = 0.0, 1.0
    if qa < 1e-18:
        if qc > 0.0:
            return False
    else:
        under = qb * qb - qa * qc
        if under <= 0.0:
            return False
        root = np.sqrt(under)
        low = min(max((-qb - root) / qa, 0.0), 1.0)
        high = min(max((-qb + root) / qa, 0.0), 1.0)
        if high <= low:
            return False
    if _over(piece, ax + low * ex, ay + low * ey, az + low * ez, slack) > 0.0:
        return True
    if _over(piece, ax + high * ex, ay + high * ey, az + high * ez, slack) > 0.0:
        return True
    if piece[0] == 0.0 and piece[4] <= piece[3]:
        return False
    if max(az + low * ez, az + high * ez) <= piece[1] + slack:
        return False
    left, right = high - GOLD * (high - low), low + GOLD * (high - low)
    fl = _over(piece, ax + left * ex, ay + left * ey, az + left * ez, slack)
    fr = _over(piece, ax + right * ex, ay + right * ey, az + right * ez, slack)
    for _ in range(HALVINGS):
        if fl > 0.0 or fr > 0.0:
            return True
        if fl < fr:
            low, left, fl = left, right, fr
            right = low + GOLD * (high - low)
            fr = _over(piece, ax + right * ex, ay + right * ey, az + right * ez, slack)
        else:
            high, right, fr = right, left, fl
            left = high - GOLD * (high - low)
            fl = _over(piece, ax + left * ex, ay + left * ey, az + left * ez, slack)
    return fl > 0.0 or fr > 0.0


@njit(cache=True)
def _beside(x, low, high):  # noqa: ANN001, ANN202 - compiled: numbers only
    return max(low - x, 0.0, x - high)


@njit(cache=True)
def rows_within(low, high, x, y, z, reach):  # noqa: ANN001, ANN201 - compiled: arrays only
    """The boxes (t, 3), (t, 3) that reach above a height within a square about a place, by index."""
    out = np.empty(low.shape[0], dtype=np.int64)
    count = 0
    for t in range(low.shape[0]):
        if (
            high[t, 2] > z
            and low[t, 0] < x + reach
            and high[t, 0] > x - reach
            and low[t, 1] < y + reach
            and high[t, 1] > y - reach
        ):
            out[count] = t
            count += 1
    return out[:count].copy()


@njit(cache=True)
def any_meets(corners, low, high, pieces, tip, off):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Whether some piece (p, 5), with all above it, is entered by a vertex or a triangle of corners (t, 3, 3).

    low, high (t, 3): the triangles' boxes; tip (3,); off (t, 4): how far the inside of each and its edges may lie off
    their surfaces, mm.
    """
    for t in range(corners.shape[0]):
        dx = _beside(tip[0], low[t, 0], high[t, 0])
        dy = _beside(tip[1], low[t, 1], high[t, 1])
        near, top = np.hypot(dx, dy), high[t, 2] - tip[2]
        for k in range(pieces.shape[0]):
            piece = pieces[k]
            reach = max(piece[3], piece[4])
            if near >= reach or top <= _begins(piece, near):
                continue
            for c in range(3):
                x, y, z = corners[t, c, 0] - tip[0], corners[t, c, 1] - tip[1], corners[t, c, 2] - tip[2]
                rho = np.hypot(x, y)
                if rho < reach - VERTEX_MM and z > _begins(piece, min(rho + VERTEX_MM, reach)) + VERTEX_MM:
                    return True
            if reach > off[t, 0] and _inside_meets(corners[t], tip, piece, reach - off[t, 0], off[t, 0]):
                return True
            for c in range(3):
                slack = off[t, 1 + c]
                if reach > slack and _edge_meets(
                    corners[t, c], corners[t, (c + 1) % 3], tip, piece, reach - slack, slack
                ):
                    return True
    return False


@njit(cache=True)
def shadow_of(corners, low, high, z, x, y, reach):  # noqa: ANN001, ANN201 - compiled: arrays only
    """(k, 3, 2) the triangles within `reach` of a place, cut off below a height and seen from above."""
    out = np.empty((2 * corners.shape[0] + 1, 3, 2))
    count = 0
    points = np.empty((4, 2))
    for t in range(corners.shape[0]):
        if high[t, 2] <= z or _beside(x, low[t, 0], high[t, 0]) > reach or _beside(y, low[t, 1], high[t, 1]) > reach:
            continue
        n = 0
        for k in range(3):
            a, b = corners[t, k], corners[t, (k + 1) % 3]
            if a[2] >= z:
                points[n, 0], points[n, 1] = a[0], a[1]
                n += 1
            if (a[2] >= z) != (b[2] >= z):
                share = (z - a[2]) / (b[2] - a[2])
                points[n, 0], points[n, 1] = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
                n += 1
        for k in range(1, n - 1):
            out[count, 0], out[count, 1], out[count, 2] = points[0], points[k], points[k + 1]
            count += 1
    return out[:count].copy()


@njit(cache=True)
def _clear(x, y, triangles, best):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    """Distance from a place to triangles (k, 3, 2) in the plane, 0 inside one; `best` where it is no less."""
    for t in range(triangles.shape[0]):
        tri = triangles[t]
        dx = _beside(x, min(tri[0, 0], tri[1, 0], tri[2, 0]), max(tri[0, 0], tri[1, 0], tri[2, 0]))
        dy = _beside(y, min(tri[0, 1], tri[1, 1], tri[2, 1]), max(tri[0, 1], tri[1, 1], tri[2, 1]))
        if dx * dx + dy * dy >= best * best:
            continue
        left = right = True
        for k in range(3):
            ax, ay = tri[k, 0], tri[k, 1]
            ex, ey = tri[(k + 1) % 3, 0] - ax, tri[(k + 1) % 3, 1] - ay
            rx, ry = x - ax, y - ay
            side = ex * ry - ey * rx
            left &= side > 0.0
            right &= side < 0.0
            u = min(max((rx * ex + ry * ey) / max(ex * ex + ey * ey, 1e-18), 0.0), 1.0)
            best = min(best, np.hypot(rx - u * ex, ry - u * ey))
        if left or right:
            return 0.0
    return best


@njit(cache=True)
def _slack(x, y, px, py, cover, shadows, starts, radii, floor):  # noqa: ANN001, ANN202 - compiled: arrays only
    """By how much the cutter could grow with its axis at a place; anything up to `floor` where it is no more."""
    value = cover - np.hypot(x - px, y - py)
    for k in range(radii.shape[0]):
        if value <= floor:
            return value
        value = min(value, _clear(x, y, shadows[starts[k] : starts[k + 1]], radii[k] + value) - radii[k])
    return value


@njit(cache=True)
def floor_free(px, py, cover, shadows, starts, radii):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Whether discs about one axis within `cover` of a place all keep clear of their shadows: 1 yes, 0 no, -1 unknown.

    The slack changes by no more than the axis moves: a square whose middle lacks more than half its diagonal holds no
    free place. Squares are quartered down to CELL_LEAST_MM, so that no place freer than that is missed.
    """
    stack = np.empty((4096, 3))
    stack[0, 0], stack[0, 1], stack[0, 2] = px, py, cover
    depth, seen = 1, 0
    while depth > 0:
        depth -= 1
        x, y, half = stack[depth, 0], stack[depth, 1], stack[depth, 2]
        far = half * np.sqrt(2.0)
        value = _slack(x, y, px, py, cover, shadows, starts, radii, -far)
        if value > 0.0:
            return 1
        seen += 1
        if value <= -far or far < CELL_LEAST_MM:
            continue
        if seen > CELLS_MOST or depth + 4 > stack.shape[0]:
            return -1
        half *= 0.5
        for k in range(4):
            stack[depth, 0] = x + (half if k % 2 else -half)
            stack[depth, 1] = y + (half if k // 2 else -half)
            stack[depth, 2] = half
            depth += 1
    return 0
