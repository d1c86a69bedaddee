"""Which rays a sweep can meet at all: a box about it, and a strip along the move that the box is cut down to."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.sweep import BALL, FRUSTUM, SNAP

STRIP_SPARE_MM = 1e-9  # wider than rounding of the strip's ends
TURN_LEAST_MM = 1e-3  # a move seen shorter than this has no strip of its own: the box is as good


@njit(cache=True, nogil=True)
def extent(piece: np.ndarray, axis: np.ndarray, x: float, y: float, z: float) -> float:
    """How far the piece, its tip at 0, reaches along the unit vector (x, y, z), in mm."""
    cosine = x * axis[0] + y * axis[1] + z * axis[2]
    sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
    if piece[0] == FRUSTUM:
        return max(cosine * piece[1] + sine * piece[3], cosine * piece[2] + sine * piece[4])
    middle = cosine * 0.5 * (piece[1] + piece[2])
    if piece[0] == BALL:
        return middle + piece[3]
    return middle + sine * piece[3] + 0.5 * (piece[2] - piece[1])


@njit(cache=True, nogil=True)
def sweep_box(
    piece: np.ndarray, axis: np.ndarray, start: np.ndarray, end: np.ndarray, arc: np.ndarray, box: np.ndarray
) -> None:
    """Fills box (2, 3) with a low and a high corner about the sweep, in mm; of an arc, start is its centre."""
    for k in range(3):
        x, y, z = (1.0 if k == 0 else 0.0), (1.0 if k == 1 else 0.0), (1.0 if k == 2 else 0.0)
        box[0, k] = min(start[k], end[k]) - extent(piece, axis, -x, -y, -z)
        box[1, k] = max(start[k], end[k]) + extent(piece, axis, x, y, z)
    if arc[0] == 0.0:
        return
    c = 0
    for k in range(1, 3):
        if abs(axis[k]) > abs(axis[c]):
            c = k
    for plane in range(2):
        k = (c + 1 + plane) % 3
        low = min(arc[1 + plane], arc[3 + plane])
        high = max(arc[1 + plane], arc[3 + plane])
        for sign in (-1.0, 1.0):
            g = sign if plane == 0 else 0.0
            h = sign if plane == 1 else 0.0
            if arc[1] * h - arc[2] * g >= 0.0 and g * arc[4] - h * arc[3] >= 0.0:
                low = min(low, sign)
                high = max(high, sign)
        box[0, k] += arc[0] * low
        box[1, k] += arc[0] * high


@njit(cache=True, nogil=True)
def sweep_rectangles(
    pieces: np.ndarray, axis: np.ndarray, starts: np.ndarray, ends: np.ndarray, arcs: np.ndarray, ray_axis: int,
    grid: np.ndarray, rays_u: int, rays_v: int, rectangles: np.ndarray, reaches: np.ndarray, strips: np.ndarray,
) -> None:  # fmt: skip
    """Fills rectangles (n, p, 4) with first and end ray of u and v, reaches (n, p, 2), the range of s, and strips.

    grid (4,): first u, step u, first v, step v of the cells' middles, in mm; a ray may run anywhere in its cell.
    strips (n, p, 4): every ray that the sweep meets has low <= x u + y v <= high; (x, y, low, high), x = y = 0 for
    none.
    """
    u_axis, v_axis = (ray_axis + 1) % 3, (ray_axis + 2) % 3
    box = np.empty((2, 3))
    side = np.zeros(3)
    for move in range(starts.shape[0]):
        way_u, way_v = ends[move, u_axis] - starts[move, u_axis], ends[move, v_axis] - starts[move, v_axis]
        length = math.hypot(way_u, way_v)
        for p in range(pieces.shape[0]):
            sweep_box(pieces[p], axis, starts[move], ends[move], arcs[move], box)
            low_u = math.ceil((box[0, u_axis] - grid[0]) / grid[1] - 0.5)
            end_u = math.floor((box[1, u_axis] - grid[0]) / grid[1] + 0.5) + 1
            low_v = math.ceil((box[0, v_axis] - grid[2]) / grid[3] - 0.5)
            end_v = math.floor((box[1, v_axis] - grid[2]) / grid[3] + 0.5) + 1
            rectangles[move, p, 0] = min(max(low_u, 0.0), float(rays_u))
            rectangles[move, p, 1] = min(max(end_u, 0.0), float(rays_u))
            rectangles[move, p, 2] = min(max(low_v, 0.0), float(rays_v))
            rectangles[move, p, 3] = min(max(end_v, 0.0), float(rays_v))
            reaches[move, p, 0] = box[0, ray_axis]
            reaches[move, p, 1] = box[1, ray_axis]
            strips[move, p] = 0.0
            if length < TURN_LEAST_MM:
                continue
            side[u_axis], side[v_axis] = -way_v / length, way_u / length
            at = starts[move, u_axis] * side[u_axis] + starts[move, v_axis] * side[v_axis]
            strips[move, p, 0] = side[u_axis]
            strips[move, p, 1] = side[v_axis]
            strips[move, p, 2] = at - extent(pieces[p], axis, -side[0], -side[1], -side[2]) - STRIP_SPARE_MM
            strips[move, p, 3] = at + extent(pieces[p], axis, side[0], side[1], side[2]) + STRIP_SPARE_MM
        side[u_axis] = side[v_axis] = 0.0


@njit(cache=True, nogil=True)
def row_ends(strip: np.ndarray, grid: np.ndarray, i: int, first_v: int, end_v: int) -> tuple[int, int]:
    """Of the rays first_v..end_v of row i those that the strip leaves; a ray may run anywhere in its cell."""
    x, y = strip[0], strip[1]
    if abs(y) < SNAP:
        return first_v, end_v
    u = grid[0] + i * grid[1]
    one, two = (strip[2] - x * u) / y, (strip[3] - x * u) / y
    spare = 0.5 * (grid[3] + abs(x / y) * grid[1])
    low = (min(one, two) - spare - grid[2]) / grid[3]
    high = (max(one, two) + spare - grid[2]) / grid[3]
    begin = first_v if low <= first_v else end_v if low >= end_v else math.ceil(low)
    stop = end_v if high >= end_v else first_v if high < first_v else math.floor(high) + 1
    return begin, stop


@njit(cache=True, nogil=True)
def met_tiles(rectangles: np.ndarray, tiles_u: int, tiles_v: int, tile_side: int) -> np.ndarray:
    """The numbers of the tiles that any of the rectangles (n, p, 4) of sweep_rectangles meets, rising."""
    met = np.zeros(tiles_u * tiles_v, dtype=np.bool_)
    for move in range(rectangles.shape[0]):
        for p in range(rectangles.shape[1]):
            if rectangles[move, p, 0] >= rectangles[move, p, 1] or rectangles[move, p, 2] >= rectangles[move, p, 3]:
                continue
            for i in range(rectangles[move, p, 0] // tile_side, (rectangles[move, p, 1] - 1) // tile_side + 1):
                for j in range(rectangles[move, p, 2] // tile_side, (rectangles[move, p, 3] - 1) // tile_side + 1):
                    met[i * tiles_v + j] = True
    return np.flatnonzero(met)
