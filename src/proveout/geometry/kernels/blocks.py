"""Which blocks of a field's nodes hold metal at all, so that most of what lies in the clear is not looked at closer.

A block is SIDE by SIDE nodes.  It counts as holding metal where a node of it, or one next to it, is above 0: then no
place whose block holds none can have a node above 0 around it, however its place is rounded.  Metal only becomes less:
blocks that were not looked at again say too much, never too little.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

SHIFT = 3
SIDE = 1 << SHIFT


@njit(cache=True, nogil=True)
def blocks_of(field: np.ndarray) -> np.ndarray:
    """(a, b) bool of a field (n, m): which blocks hold metal."""
    blocks = np.ones(((field.shape[0] >> SHIFT) + 1, (field.shape[1] >> SHIFT) + 1), dtype=np.bool_)
    _look(field, blocks, 0, blocks.shape[0] - 1, 0, blocks.shape[1] - 1)
    return blocks


@njit(cache=True, nogil=True)
def look_again(field: np.ndarray, blocks: np.ndarray, grid: np.ndarray, points: np.ndarray, reach: float) -> None:
    """Blocks within `reach` of a polyline (n, 2) are looked at anew, in place."""
    at_once = 12
    wide = reach / grid[2]
    first = 0
    while first < points.shape[0]:
        last = min(points.shape[0], first + at_once + 1)
        u_low = v_low = math.inf
        u_high = v_high = -math.inf
        for k in range(first, last):
            u, v = (points[k, 0] - grid[0]) / grid[2], (points[k, 1] - grid[1]) / grid[2]
            u_low, u_high = min(u_low, u), max(u_high, u)
            v_low, v_high = min(v_low, v), max(v_high, v)
        _look(
            field, blocks,
            max(0, math.floor(u_low - wide) >> SHIFT), min(blocks.shape[0] - 1, math.ceil(u_high + wide) >> SHIFT),
            max(0, math.floor(v_low - wide) >> SHIFT), min(blocks.shape[1] - 1, math.ceil(v_high + wide) >> SHIFT),
        )  # fmt: skip
        first += at_once


@njit(cache=True, nogil=True)
def _look(field: np.ndarray, blocks: np.ndarray, a_low: int, a_high: int, b_low: int, b_high: int) -> None:
    for a in range(a_low, a_high + 1):
        for b in range(b_low, b_high + 1):
            if blocks[a, b]:
                blocks[a, b] = _holds(field, a, b)


@njit(cache=True, nogil=True)
def _holds(field: np.ndarray, a: int, b: int) -> bool:
    for i in range(max(0, a * SIDE - 1), min(field.shape[0], a * SIDE + SIDE + 2)):
        for j in range(max(0, b * SIDE - 1), min(field.shape[1], b * SIDE + SIDE + 2)):
            if field[i, j] > 0.0:
                return True
    return False


@njit(cache=True, nogil=True)
def may_hold(blocks: np.ndarray, u: float, v: float) -> bool:
    """False when no node round a place, in pitches from the low corner and right to half a pitch, is above 0."""
    if not (u > -1.0 and v > -1.0):
        return False
    a, b = int(u) >> SHIFT, int(v) >> SHIFT
    return bool(a < blocks.shape[0] and b < blocks.shape[1] and blocks[a, b])
