"""How wide a round cutter meets metal in the plane, and the walk that keeps this width at a target.

Areas are fields of signed distances on square nodes: field[i, j] belongs to the point (low_x + i pitch, low_y + j
pitch), is above 0 inside the area and exact near its border; between the nodes it is interpolated.  What a cutter has
covered is taken out by the distance from its path less its radius, so that a border lies where it is and not on nodes.

`rim` (n, 2): unit vectors all round, even and to the left from +x on.  `grid`: low_x, low_y, pitch.  `blocks`: those
of the field before them, see blocks.py.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.geometry.kernels.blocks import may_hold

BEYOND = -1.0e3  # what lies off the nodes: no metal, and no place to stand
SCAN_RAD = math.radians(6.0)  # turns tried one after the other before the wanted one is closed in on
AWAY_MOST_RAD = math.radians(126.0)
HALVINGS = 7
LEAST_RATIO = 0.02  # less than this share of the wanted width counts as no metal
AIR_RATIO = 1.5  # a walk through air goes on for so many radii at most
LOST_RAD = math.radians(200.0)  # a walk that has turned so far without metal has lost it


@njit(cache=True, nogil=True)
def signed_field(
    corners: np.ndarray, starts: np.ndarray, grid: np.ndarray, shape: tuple[int, int], band: float
) -> np.ndarray:  # fmt: skip
    """Signed distance to the border of an area, cut off at `band`.

    corners (n, 2): rings one after the other, ring k from starts[k] to starts[k + 1], closed, any sense (even-odd).
    """
    low_x, low_y, pitch = grid[0], grid[1], grid[2]
    field = np.full(shape, band)
    inside = np.zeros(shape, dtype=np.bool_)
    for ring in range(starts.shape[0] - 1):
        first, last = starts[ring], starts[ring + 1]
        for k in range(first, last):
            after = k + 1 if k + 1 < last else first
            ax, ay = corners[k, 0], corners[k, 1]
            bx, by = corners[after, 0], corners[after, 1]
            _near(field, grid, ax, ay, bx, by, band)
            # rays along y from below: those between the ends of the edge change sides above it
            i_low = max(0, math.ceil((min(ax, bx) - low_x) / pitch))
            i_high = min(shape[0] - 1, math.ceil((max(ax, bx) - low_x) / pitch) - 1)
            for i in range(i_low, i_high + 1):
                x = low_x + i * pitch
                y = ay + (by - ay) * (x - ax) / (bx - ax)
                for j in range(max(0, math.ceil((y - low_y) / pitch)), shape[1]):
                    inside[i, j] = not inside[i, j]
    for i in range(shape[0]):
        for j in range(shape[1]):
            if not inside[i, j]:
                field[i, j] = -field[i, j]
    return field


@njit(cache=True, nogil=True)
def _near(field: np.ndarray, grid: np.ndarray, ax: float, ay: float, bx: float, by: float, band: float) -> None:
    """Lowers a field of distances to that from one edge, as far as `band`."""
    low_x, low_y, pitch = grid[0], grid[1], grid[2]
    dx, dy = bx - ax, by - ay
    square = dx * dx + dy * dy
    i_low = max(0, math.ceil((min(ax, bx) - band - low_x) / pitch))
    i_high = min(field.shape[0] - 1, math.floor((max(ax, bx) + band - low_x) / pitch))
    j_low = max(0, math.ceil((min(ay, by) - band - low_y) / pitch))
    j_high = min(field.shape[1] - 1, math.floor((max(ay, by) + band - low_y) / pitch))
    for i in range(i_low, i_high + 1):
        px = low_x + i * pitch - ax
        for j in range(j_low, j_high + 1):
            py = low_y + j * pitch - ay
            share = 0.0 if square <= 0.0 else min(1.0, max(0.0, (px * dx + py * dy) / square))
            away = math.hypot(px - share * dx, py - share * dy)
            field[i, j] = min(field[i, j], away)


@njit(cache=True, nogil=True)
def at(field: np.ndarray, grid: np.ndarray, x: float, y: float) -> float:
    """The field at a point, between its nodes; BEYOND off them."""
    u = (x - grid[0]) / grid[2]
    v = (y - grid[1]) / grid[2]
    if not (u >= 0.0 and v >= 0.0):
        return BEYOND
    i, j = int(u), int(v)
    if i >= field.shape[0] - 1 or j >= field.shape[1] - 1:
        return BEYOND
    u -= i
    v -= j
    return (field[i, j] * (1.0 - u) + field[i + 1, j] * u) * (1.0 - v) + (
        field[i, j + 1] * (1.0 - u) + field[i + 1, j + 1] * u
    ) * v


@njit(cache=True, nogil=True)
def cover(field: np.ndarray, grid: np.ndarray, ax: float, ay: float, bx: float, by: float, radius: float) -> None:
    """Takes what a disc covers on a straight way out of a field; nodes two apart from a border are left as they are."""
    low_x, low_y, pitch = grid[0], grid[1], grid[2]
    dx, dy = bx - ax, by - ay
    square = dx * dx + dy * dy
    # between nodes a distance is read too long by as much as this: without it a border would be met again and again
    wide = radius + pitch * pitch / (4.0 * radius)
    reach = wide + 2.0 * pitch
    i_low = max(0, math.ceil((min(ax, bx) - reach - low_x) / pitch))
    i_high = min(field.shape[0] - 1, math.floor((max(ax, bx) + reach - low_x) / pitch))
    j_low = max(0, math.ceil((min(ay, by) - reach - low_y) / pitch))
    j_high = min(field.shape[1] - 1, math.floor((max(ay, by) + reach - low_y) / pitch))
    for i in range(i_low, i_high + 1):
        px = low_x + i * pitch - ax
        for j in range(j_low, j_high + 1):
            if field[i, j] <= -2.0 * pitch:
                continue
            py = low_y + j * pitch - ay
            share = 0.0 if square <= 0.0 else min(1.0, max(0.0, (px * dx + py * dy) / square))
            off_x, off_y = px - share * dx, py - share * dy
            away = math.sqrt(off_x * off_x + off_y * off_y) - wide
            field[i, j] = min(field[i, j], away)


@njit(cache=True, nogil=True)
def cover_line(field: np.ndarray, grid: np.ndarray, points: np.ndarray, radius: float) -> None:
    """Takes what a disc covers along a polyline (n, 2) out of a field."""
    for k in range(points.shape[0] - 1):
        cover(field, grid, points[k, 0], points[k, 1], points[k + 1, 0], points[k + 1, 1], radius)


@njit(cache=True, nogil=True)
def width(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, ux: float, uy: float,
    radius: float,
) -> float:  # fmt: skip
    """Width across the travel (ux, uy) over which the leading half of a disc meets metal."""
    return _width(metal, blocks, grid, rim, x, y, ux, uy, radius, 0.0, math.inf)


@njit(cache=True, nogil=True)
def _width(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, ux: float, uy: float,
    radius: float, beside: float, most: float,
) -> float:  # fmt: skip
    """The width, or what of it already makes the mean with another one, `beside`, more than `most`."""
    count = rim.shape[0]
    u, v, across_pitch = (x - grid[0]) / grid[2], (y - grid[1]) / grid[2], radius / grid[2]
    # the leading half and a vector more on either side; in the order of the rim, so that the sum is always the same
    first = math.floor((math.atan2(uy, ux) / (2.0 * math.pi) - 0.25) * count) - 1
    first += count if first < 0 else 0
    span = min(count, count // 2 + 4)
    total = 0.0
    for turn in range(2):
        low = first if turn else 0
        high = min(count, first + span) if turn else max(0, first + span - count)
        seen = -1  # the vector whose value `last` is
        last = 0.0
        for k in range(low, high):
            after = k + 1 if k + 1 < count else 0
            if rim[k, 0] * ux + rim[k, 1] * uy <= 0.0 or rim[after, 0] * ux + rim[after, 1] * uy <= 0.0:
                continue
            near = may_hold(blocks, u + across_pitch * rim[k, 0], v + across_pitch * rim[k, 1])
            if not (near or may_hold(blocks, u + across_pitch * rim[after, 0], v + across_pitch * rim[after, 1])):
                continue
            here = last if seen == k else at(metal, grid, x + radius * rim[k, 0], y + radius * rim[k, 1])
            there = at(metal, grid, x + radius * rim[after, 0], y + radius * rim[after, 1])
            seen, last = after, there
            if here > 0.0 or there > 0.0:
                across = radius * abs(ux * (rim[after, 1] - rim[k, 1]) - uy * (rim[after, 0] - rim[k, 0]))
                if here > 0.0 and there > 0.0:
                    total += across
                else:
                    total += across * max(here, there) / abs(here - there)
                if 0.5 * (beside + total) > most:
                    return total
    return total


@njit(cache=True, nogil=True)
def touches(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, radius: float
) -> int:
    """Which rim vector points at the thickest metal on a circle; -1 when there is none."""
    best, most = -1, 0.0
    u, v, across = (x - grid[0]) / grid[2], (y - grid[1]) / grid[2], radius / grid[2]
    for k in range(rim.shape[0]):
        if may_hold(blocks, u + across * rim[k, 0], v + across * rim[k, 1]):
            here = at(metal, grid, x + radius * rim[k, 0], y + radius * rim[k, 1])
            if here > most:
                best, most = k, here
    return best


@njit(cache=True, nogil=True)
def meets(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, radius: float,
    every: int = 2,
) -> bool:  # fmt: skip
    """True when there is metal on a circle, looked for at every second rim vector."""
    u, v, across = (x - grid[0]) / grid[2], (y - grid[1]) / grid[2], radius / grid[2]
    for k in range(0, rim.shape[0], every):
        if (
            may_hold(blocks, u + across * rim[k, 0], v + across * rim[k, 1])
            and at(metal, grid, x + radius * rim[k, 0], y + radius * rim[k, 1]) > 0.0
        ):
            return True
    return False


@njit(cache=True, nogil=True)
def _goes(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float,
    turn: float, step: float, radius: float, most: float,
) -> bool:  # fmt: skip
    """True when a step in a direction stays on free places and meets no more than a width."""
    ux, uy = math.cos(turn), math.sin(turn)
    if at(free, grid, x + step * ux, y + step * uy) < 0.0:
        return False
    return _met(metal, blocks, grid, rim, x, y, ux, uy, step, radius, most) <= most


@njit(cache=True, nogil=True)
def _met(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, ux: float, uy: float,
    step: float, radius: float, most: float,
) -> float:  # fmt: skip
    """Mean width over a step: that of its middle and its end, as on a bend it begins with less than it ends with.

    Where it is more than `most` what is returned may be too little, but is more than `most`.
    """
    end = _width(metal, blocks, grid, rim, x + step * ux, y + step * uy, ux, uy, radius, 0.0, most)
    if 0.5 * end > most:
        return 0.5 * end
    half = 0.5 * step
    return 0.5 * (end + _width(metal, blocks, grid, rim, x + half * ux, y + half * uy, ux, uy, radius, end, most))


@njit(cache=True, nogil=True)
def _next_turn(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float,
    turn: float, radius: float, step: float, most: float, bend: float, side: float,
) -> tuple[bool, float]:  # fmt: skip
    """The direction nearest to the metal that a step may take: at most `bend` towards it, as far off as need be.

    side: 1 with the metal on the right, -1 on the left.  Returns (whether there is one, the direction).
    """
    good = bad = turn
    tried = 0.0
    if _goes(metal, blocks, free, grid, rim, x, y, turn, step, radius, most):
        while tried < bend - 1e-9:
            tried = min(bend, tried + SCAN_RAD)
            if not _goes(metal, blocks, free, grid, rim, x, y, turn - side * tried, step, radius, most):
                bad = turn - side * tried
                break
            good = turn - side * tried
        if bad == turn:
            return True, good
    else:
        while True:
            tried += SCAN_RAD
            if tried > AWAY_MOST_RAD:
                return False, turn
            if _goes(metal, blocks, free, grid, rim, x, y, turn + side * tried, step, radius, most):
                good, bad = turn + side * tried, turn + side * (tried - SCAN_RAD)
                break
    for _ in range(HALVINGS):
        middle = 0.5 * (good + bad)
        if _goes(metal, blocks, free, grid, rim, x, y, middle, step, radius, most):
            good = middle
        else:
            bad = middle
    return True, good


@njit(cache=True, nogil=True)
def walk(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float,
    turn: float, radius: float, step: float, most: float, bend: float, points: np.ndarray,
) -> tuple[int, float]:  # fmt: skip
    """Cuts with the metal on the right, as far into it as `most` wide and the free places allow; in place.

    points: room for the way; points[0] is the start.  Returns (count of points written, area met).
    """
    points[0, 0], points[0, 1] = x, y
    kept, turned, gone, taken = 1, 0.0, 0.0, 0.0
    for filled in range(1, points.shape[0]):
        found, ahead = _next_turn(metal, blocks, free, grid, rim, x, y, turn, radius, step, most, bend, 1.0)
        if not found:
            break
        ux, uy = math.cos(ahead), math.sin(ahead)
        met = _met(metal, blocks, grid, rim, x, y, ux, uy, step, radius, math.inf)
        points[filled, 0], points[filled, 1] = x + step * ux, y + step * uy
        if met > LEAST_RATIO * most:
            cover(metal, grid, x, y, x + step * ux, y + step * uy, radius)
            taken += met * step
            kept = filled + 1
            turned = gone = 0.0
        else:
            turned += max(0.0, turn - ahead)
            gone += step
            if turned > LOST_RAD or gone > AIR_RATIO * radius:
                break
        x, y, turn = x + step * ux, y + step * uy, ahead
    return kept, taken


@njit(cache=True, nogil=True)
def walk_beside(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float,
    turn: float, radius: float, step: float, most: float, near: float, bend: float, points: np.ndarray,
) -> int:  # fmt: skip
    """Follows a border without cutting, the metal on the left, to where it ends: as `walk`, which comes back along it.

    near: metal that reaches so far from the rim is a border to follow, less is a ridge.
    Returns the count of points written, 1 where the border closes on itself: there no beginning is better.
    """
    points[0, 0], points[0, 1] = x, y
    begin_x, begin_y = x, y
    kept, gone = 1, 0.0
    for filled in range(1, points.shape[0]):
        found, turn = _next_turn(metal, blocks, free, grid, rim, x, y, turn, radius, step, most, bend, -1.0)
        if not found:
            break
        x, y = x + step * math.cos(turn), y + step * math.sin(turn)
        points[filled, 0], points[filled, 1] = x, y
        if meets(metal, blocks, grid, rim, x, y, radius + near):
            kept = filled + 1
            gone = 0.0
        else:
            gone += step
            if gone > 0.5 * radius:
                break
        if filled * step > 2.0 * radius and math.hypot(x - begin_x, y - begin_y) < 1.5 * step:
            return 1
    return kept
