"""Whether a whole cutter may stand somewhere over a height map, by blocks of pixels."""

from __future__ import annotations

import numpy as np
from numba import njit

BLOCK = 8
LARGE = 64


@njit(cache=True)
def _begins(rho, pieces):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    """Height over the tip at which the cutter begins at a distance from its axis; inf beyond it."""
    best = np.inf
    for k in range(pieces.shape[0]):
        code, z_low, z_high, r_low, r_high = pieces[k, 0], pieces[k, 1], pieces[k, 2], pieces[k, 3], pieces[k, 4]
        if code == 0.0:
            if rho <= r_low:
                best = min(best, z_low)
            elif rho <= r_high:
                best = min(best, z_low + (rho - r_low) / (r_high - r_low) * (z_high - z_low))
        else:
            half = 0.5 * (z_high - z_low)
            off = max(rho - (r_low if code == 2.0 else 0.0), 0.0)
            if off <= half:
                best = min(best, 0.5 * (z_low + z_high) - np.sqrt(half * half - off * off))
    return best


@njit(cache=True)
def highest_blocks(heights, side):  # noqa: ANN001, ANN201 - compiled: arrays only
    """The highest pixel of each block of side x side pixels."""
    nx, ny = heights.shape
    out = np.full(((nx + side - 1) // side, (ny + side - 1) // side), -np.inf)
    for i in range(nx):
        for j in range(ny):
            out[i // side, j // side] = max(out[i // side, j // side], heights[i, j])
    return out


@njit(cache=True)
def _away(x, low, high):  # noqa: ANN001, ANN202 - compiled: numbers only
    return max(low - x, 0.0, x - high)


@njit(cache=True)
def stands_at(heights, blocks, large, low_x, low_y, pitch, x, y, z, reach, pieces, aside, above):  # noqa: ANN001, ANN201 - compiled: numbers and arrays only
    """Whether no pixel's middle lies inside the cutter with its tip at (x, y, z).

    heights (nx, ny), blocks and large its highest by BLOCK and LARGE pixels; reach: the cutter's greatest radius;
    aside, above: by how much metal may stand into the cutter from the side and from below.
    """
    nx, ny = heights.shape
    fx, fy = (x - low_x) / pitch - 0.5, (y - low_y) / pitch - 0.5
    r = reach / pitch
    for a in range(max(0, int((fx - r) // LARGE)), min(large.shape[0] - 1, int((fx + r) // LARGE)) + 1):
        for b in range(max(0, int((fy - r) // LARGE)), min(large.shape[1] - 1, int((fy + r) // LARGE)) + 1):
            near = pitch * np.hypot(
                _away(fx, a * LARGE, a * LARGE + LARGE - 1), _away(fy, b * LARGE, b * LARGE + LARGE - 1)
            )
            if large[a, b] <= z + _begins(near + aside, pieces) + above:
                continue
            for c in range(a * LARGE // BLOCK, min((a + 1) * LARGE // BLOCK, blocks.shape[0])):
                for d in range(b * LARGE // BLOCK, min((b + 1) * LARGE // BLOCK, blocks.shape[1])):
                    near = pitch * np.hypot(
                        _away(fx, c * BLOCK, c * BLOCK + BLOCK - 1), _away(fy, d * BLOCK, d * BLOCK + BLOCK - 1)
                    )  # fmt: skip
                    if blocks[c, d] <= z + _begins(near + aside, pieces) + above:
                        continue
                    for i in range(c * BLOCK, min((c + 1) * BLOCK, nx)):
                        for j in range(d * BLOCK, min((d + 1) * BLOCK, ny)):
                            rho = pitch * np.hypot(i - fx, j - fy)
                            if heights[i, j] > z + _begins(rho + aside, pieces) + above:
                                return False
    return True


@njit(cache=True)
def stand_all(heights, blocks, large, low_x, low_y, pitch, tips, reach, pieces, aside, above, out):  # noqa: ANN001, ANN201 - compiled: arrays only
    """stands_at for every place of the tip (n, 3)."""
    for n in range(tips.shape[0]):
        out[n] = stands_at(
            heights, blocks, large, low_x, low_y, pitch, tips[n, 0], tips[n, 1], tips[n, 2], reach, pieces, aside, above
        )  # fmt: skip


@njit(cache=True)
def stands_within(
    heights: np.ndarray, blocks: np.ndarray, large: np.ndarray, low_x: float, low_y: float, pitch: float, x: float,
    y: float, z: float, cover: float, least: float, reach: float, pieces: np.ndarray, aside: float, above: float,
) -> tuple[bool, float, float]:  # fmt: skip
    """Whether the tip may stand at a height somewhere within `cover` of a place, and how far from it: (found, dx, dy).

    Squares of places are divided in four until one is found. A square is dropped where a cutter thinner by half its
    diagonal does not stand at its middle, for then none of its places is free; or once its half side is `least`.
    """
    squares = np.empty((128, 3))
    squares[0] = np.array([0.0, 0.0, cover])
    count = 1
    while count > 0:
        count -= 1
        at_x, at_y, half = squares[count, 0], squares[count, 1], squares[count, 2]
        if np.hypot(max(abs(at_x) - half, 0.0), max(abs(at_y) - half, 0.0)) > cover:
            continue
        away = np.hypot(at_x, at_y)
        share = 1.0 if away <= cover else cover / away
        dx, dy = at_x * share, at_y * share
        if stands_at(heights, blocks, large, low_x, low_y, pitch, x + dx, y + dy, z, reach, pieces, aside, above):
            return True, dx, dy
        if half <= least:
            continue
        corner = np.sqrt(2.0) * half
        if not stands_at(
            heights, blocks, large, low_x, low_y, pitch, x + at_x, y + at_y, z, reach, pieces, aside + corner, above
        ):
            continue
        for k in range(4):
            squares[count, 0] = at_x + (0.5 if k & 1 else -0.5) * half
            squares[count, 1] = at_y + (0.5 if k & 2 else -0.5) * half
            squares[count, 2] = 0.5 * half
            count += 1
    return False, 0.0, 0.0


@njit(cache=True)
def stand_over(
    heights: np.ndarray, blocks: np.ndarray, large: np.ndarray, low_x: float, low_y: float, pitch: float,
    points: np.ndarray, middles: np.ndarray, cover: float, least: float, reach: float, pieces: np.ndarray,
    aside: float, above: float, out: np.ndarray,
) -> None:  # fmt: skip
    """For every point (n, 3) whether the tip may stand at its height somewhere within `cover` of it, level.

    First is tried the place nearest to middles (n, 2), then that of the last answer, then all of them.
    """
    last_x = last_y = 0.0
    for n in range(points.shape[0]):
        x, y, z = points[n, 0], points[n, 1], points[n, 2]
        dx, dy = middles[n, 0] - x, middles[n, 1] - y
        away = np.hypot(dx, dy)
        if away > cover:
            dx, dy = dx * cover / away, dy * cover / away
        out[n] = stands_at(
            heights, blocks, large, low_x, low_y, pitch, x + dx, y + dy, z, reach, pieces, aside, above
        )  # fmt: skip
        if not out[n]:
            out[n] = stands_at(
                heights, blocks, large, low_x, low_y, pitch, x + last_x, y + last_y, z, reach, pieces, aside, above
            )  # fmt: skip
        if not out[n] and cover > 0.0:
            out[n], dx, dy = stands_within(
                heights, blocks, large, low_x, low_y, pitch, x, y, z, cover, least, reach, pieces, aside, above
            )  # fmt: skip
            if out[n]:
                last_x, last_y = dx, dy
