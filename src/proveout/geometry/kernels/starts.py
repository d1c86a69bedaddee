"""Where a walk through metal can begin, and straight ways to it through what is cleared.

Fields, `grid` and `rim` as in engagement.py, `blocks` as in blocks.py.  What is kept from one call to the next only
ever says of a node what stays true: metal only becomes less.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.geometry.kernels.engagement import at, meets


@njit(cache=True, nogil=True)
def is_open(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray,
    ax: float, ay: float, bx: float, by: float, radius: float,
) -> bool:  # fmt: skip
    """True when a disc can go straight from a to b without metal on its rim and within the free places."""
    length = math.hypot(bx - ax, by - ay)
    count = max(1, math.ceil(length / (radius / 8.0)))
    for k in range(count + 1):
        x, y = ax + (bx - ax) * k / count, ay + (by - ay) * k / count
        if at(free, grid, x, y) < 0.0 or meets(metal, blocks, grid, rim, x, y, radius, 1):
            return False
    return True


@njit(cache=True, nogil=True)
def pulled(
    metal: np.ndarray, blocks: np.ndarray, free: np.ndarray, grid: np.ndarray, rim: np.ndarray, line: np.ndarray,
    radius: float,
) -> np.ndarray:  # fmt: skip
    """The points of a way (n, 2) that are left when it is pulled straight as far as a disc stays clear: their rows."""
    kept = np.empty(line.shape[0], dtype=np.int64)
    kept[0] = 0
    count, k = 1, 0
    while k < line.shape[0] - 1:
        low, high = k + 1, line.shape[0] - 1
        x, y = line[k, 0], line[k, 1]
        if is_open(metal, blocks, free, grid, rim, x, y, line[high, 0], line[high, 1], radius):
            low = high
        while high - low > 1:
            middle = (low + high) // 2
            if is_open(metal, blocks, free, grid, rim, x, y, line[middle, 0], line[middle, 1], radius):
                low = middle
            else:
                high = middle
        k = low
        kept[count] = k
        count += 1
    return kept[:count]


@njit(cache=True, nogil=True)
def start_in_line(
    metal: np.ndarray, metal_blocks: np.ndarray, standing: np.ndarray, blocks: np.ndarray, free: np.ndarray,
    grid: np.ndarray, rim: np.ndarray, given_up: np.ndarray, apart: float, x: float, y: float, radius: float,
    bare: np.ndarray,
) -> int:  # fmt: skip
    """The coarse node nearest to a point where a disc stands free with metal close beside it, -1 without one.

    metal: what is wanted.   standing: all that stands.   given_up (a, b): nodes not to start from, `apart` apart from
    the grid's low corner on.   bare (a, b): set at nodes that have no wanted metal beside them, where no later call for
    the same disc looks again.   Returns i * b + j; of nodes equally near the first.
    """
    rows, columns = given_up.shape
    best, least = -1, math.inf
    i_here = min(max(round((x - grid[0]) / apart), 0), rows - 1)
    for step in range(2 * rows):
        # rows by turns on either side of the point
        i = i_here + (step + 1) // 2 if step % 2 else i_here - step // 2
        px = grid[0] + i * apart
        if i < 0 or i >= rows or abs(px - x) > least:
            continue
        for j in range(columns):
            py = grid[1] + j * apart
            away = math.hypot(px - x, py - y)
            node = i * columns + j
            if away > least or (away == least and node > best) or given_up[i, j] or bare[i, j]:
                continue
            if at(free, grid, px, py) < 0.0:
                bare[i, j] = True
            elif not meets(standing, blocks, grid, rim, px, py, radius):
                if _is_beside(metal, metal_blocks, grid, rim, px, py, apart, radius):
                    best, least = node, away
                else:
                    bare[i, j] = True
    return best


@njit(cache=True, nogil=True)
def start_in_reach(
    metal: np.ndarray, metal_blocks: np.ndarray, standing: np.ndarray, blocks: np.ndarray, free: np.ndarray,
    grid: np.ndarray, rim: np.ndarray, given_up: np.ndarray, apart: float, x: float, y: float, radius: float,
    bare: np.ndarray, clear: np.ndarray, came: np.ndarray, queue: np.ndarray,
) -> int:  # fmt: skip
    """The first such node by ways on which a disc stays clear of all that stands; arguments as for start_in_line.

    clear (a, b): set at nodes where the disc stands clear, where no later call for the same disc looks again.
    came (a, b): filled with the node each was come from, -2 where not come to, -1 at the first.   queue: room for all.
    """
    rows, columns = given_up.shape
    came[:] = -2
    close, end = 0, 0
    i_here, j_here = round((x - grid[0]) / apart), round((y - grid[1]) / apart)
    for i in range(max(0, i_here - 2), min(rows, i_here + 3)):
        for j in range(max(0, j_here - 2), min(columns, j_here + 3)):
            px, py = grid[0] + i * apart, grid[1] + j * apart
            if is_open(standing, blocks, free, grid, rim, x, y, px, py, radius):
                came[i, j] = -1
                queue[end] = i * columns + j
                end += 1
    while close < end:
        here = queue[close]
        close += 1
        i, j = here // columns, here % columns
        if not given_up[i, j] and not bare[i, j]:
            px, py = grid[0] + i * apart, grid[1] + j * apart
            if not clear[i, j]:  # a way from the point ends at a node but for rounding
                clear[i, j] = at(free, grid, px, py) >= 0.0 and not meets(standing, blocks, grid, rim, px, py, radius)
            if clear[i, j]:
                if _is_beside(metal, metal_blocks, grid, rim, px, py, apart, radius):
                    return here
                bare[i, j] = True
        for a in range(max(0, i - 1), min(rows, i + 2)):
            for b in range(max(0, j - 1), min(columns, j + 2)):
                if came[a, b] != -2:
                    continue
                if not clear[a, b]:
                    qx, qy = grid[0] + a * apart, grid[1] + b * apart
                    if at(free, grid, qx, qy) < 0.0 or meets(standing, blocks, grid, rim, qx, qy, radius):
                        continue
                    clear[a, b] = True
                came[a, b] = here
                queue[end] = a * columns + b
                end += 1
    return -1


@njit(cache=True, nogil=True)
def _is_beside(
    metal: np.ndarray, blocks: np.ndarray, grid: np.ndarray, rim: np.ndarray, x: float, y: float, apart: float,
    radius: float,
) -> bool:  # fmt: skip
    """Whether wanted metal lies close beside a disc."""
    for share in (0.5, 1.0, 1.5):  # noqa: SIM110 - the compiler knows no generators
        if meets(metal, blocks, grid, rim, x, y, radius + share * apart):
            return True
    return False
