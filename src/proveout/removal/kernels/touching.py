"""Where a probe's ball that moves along an axis first meets metal given as intervals on rays along that axis."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def met_at(counts: np.ndarray, spans: np.ndarray, ray: int, sense: float, start: float) -> float:
    """Where metal is first met on a ray from a start on, as place times sense; the start where it lies in metal.

    start: place times sense.   Intervals lie in rising order, apart from each other.
    """
    count = counts[ray]
    for k in range(count):
        if sense > 0.0:
            near, far = spans[ray, k, 0], spans[ray, k, 1]
        else:
            near, far = -spans[ray, count - 1 - k, 1], -spans[ray, count - 1 - k, 0]
        if start < near:
            return near
        if start <= far:
            return start
    return np.inf


@njit(cache=True, nogil=True)
def read_beside(
    counts: np.ndarray, spans: np.ndarray, lines_count: int, line_step: int, rows: np.ndarray, row_step: int,
    sense: float, rises: np.ndarray, lines: np.ndarray, starts: np.ndarray, reach: int, low: np.ndarray,
    high: np.ndarray,
) -> None:  # fmt: skip
    """Fills the least and the largest reading of each site over the lines beside it.

    counts, spans: intervals of rays along the move; the ray of a line and a level has the number
    line * line_step + level * row_step.   rows: (levels,) of the slices of the ball.   rises: (levels, 2 sides + 1) how
    far the ball's surface stands before its middle at each level and line aside, below 0 where it has none.   lines,
    starts: (sites,) line and place times sense where each touch begins.   reach: lines to either side that are read as
    well; beyond the first and the last line those stand for the others.
    """
    levels, width = rises.shape
    sides = width // 2
    met = np.empty((levels, 2 * (reach + sides) + 1))
    for site in range(lines.shape[0]):
        first = lines[site] - reach - sides
        for level in range(levels):
            for at in range(met.shape[1]):
                line = first + at
                if line < 0 or line >= lines_count:
                    met[level, at] = np.inf
                    continue
                ray = line * line_step + rows[level] * row_step
                met[level, at] = met_at(counts, spans, ray, sense, starts[site])
        least, largest = np.inf, -np.inf
        for aside in range(-reach, reach + 1):
            line = min(max(lines[site] + aside, 0), lines_count - 1)
            found = np.inf
            for level in range(levels):
                for side in range(width):
                    if rises[level, side] >= 0.0:
                        found = min(found, met[level, line - sides + side - first] - rises[level, side])
            found = max(found, starts[site])
            least, largest = min(least, found), max(largest, found)
        low[site], high[site] = least, largest


@njit(cache=True, nogil=True)
def runs_of(is_metal: np.ndarray, middles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Numbers of runs of metal a ray, and each run as the interval from its first cell's middle to its last one's.

    is_metal: (rays, cells).   middles: (cells,), rising.
    """
    rays, cells = is_metal.shape
    counts = np.zeros(rays, dtype=np.int32)
    for ray in range(rays):
        for at in range(cells):
            if is_metal[ray, at] and (at == 0 or not is_metal[ray, at - 1]):
                counts[ray] += 1
    spans = np.zeros((rays, max(1, counts.max()), 2))
    for ray in range(rays):
        slot = -1
        for at in range(cells):
            if is_metal[ray, at]:
                if at == 0 or not is_metal[ray, at - 1]:
                    slot += 1
                    spans[ray, slot, 0] = middles[at]
                spans[ray, slot, 1] = middles[at]
    return counts, spans
