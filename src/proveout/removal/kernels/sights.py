"""Pages of how near a body lies to the eye: gaps closed, the widest patch; and the tops of a grid of cells."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def _mirrored(at: int, count: int) -> int:
    """A row one beyond the edge stands for the edge's own."""
    return min(max(at, 0), count - 1)


@njit(cache=True, nogil=True)
def _nearest_about(near: np.ndarray, i: int, j: int) -> float:
    found = -np.inf
    for a in range(-1, 2):
        for b in range(-1, 2):
            found = max(found, near[_mirrored(i + a, near.shape[0]), _mirrored(j + b, near.shape[1])])
    return found


@njit(cache=True, nogil=True)
def close_gaps(near: np.ndarray, nothing: float, found: np.ndarray) -> None:
    """Fills found with near (columns, rows), and where that is -inf with the least of its neighbours' nearest.

    near: -inf where nothing shows; what stays so becomes `nothing`. Neighbours are the nine cells about a cell, its own
    among them, and the nearest of each is that of its own nine: a gap that metal surrounds is closed.
    """
    for i in range(near.shape[0]):
        for j in range(near.shape[1]):
            if near[i, j] > -np.inf:
                found[i, j] = near[i, j]
                continue
            least = np.inf
            for a in range(-1, 2):
                for b in range(-1, 2):
                    if least > -np.inf:
                        own = _nearest_about(
                            near, _mirrored(i + a, near.shape[0]), _mirrored(j + b, near.shape[1])
                        )  # fmt: skip
                        least = min(least, own)
            found[i, j] = least if least > -np.inf else nothing


@njit(cache=True, nogil=True)
def widest_apart(one: np.ndarray, other: np.ndarray, least: float) -> tuple[int, int, int]:
    """Square of how many cells the middle of the widest patch lies from its rim, and that cell; 0 for no patch.

    one, other: (columns, rows).   A cell belongs to a patch where they differ by `least` or more; the rim is the
    nearest cell that does not, and beyond the page none does. Of several widest places the first counts.
    """
    columns, rows = one.shape
    # cells from each to the nearest one of its row of columns that does not differ
    along = np.zeros((columns, rows), dtype=np.int64)
    for j in range(rows):
        run = 0
        for i in range(columns):
            run = run + 1 if abs(one[i, j] - other[i, j]) >= least else 0
            along[i, j] = run
        run = 0
        for i in range(columns - 1, -1, -1):
            run = run + 1 if along[i, j] > 0 else 0
            along[i, j] = min(along[i, j], run)
    best, best_i, best_j = 0, 0, 0
    for i in range(columns):
        for j in range(rows):
            room = along[i, j] * along[i, j]
            aside = 1
            while room > best and aside * aside < room:
                for row in (j - aside, j + aside):
                    own = along[i, row] if 0 <= row < rows else 0
                    room = min(room, aside * aside + own * own)
                aside += 1
            if room > best:
                best, best_i, best_j = room, i, j
    return best, best_i, best_j


@njit(cache=True, nogil=True)
def tops_of(is_metal: np.ndarray, low: float, cell: float) -> np.ndarray:
    """(nx, ny) height of the upper face of the highest cell of metal (nx, ny, nz), -inf where there is none."""
    found = np.full(is_metal.shape[:2], -np.inf)
    for i in range(is_metal.shape[0]):
        for j in range(is_metal.shape[1]):
            for k in range(is_metal.shape[2] - 1, -1, -1):
                if is_metal[i, j, k]:
                    found[i, j] = low + cell * (k + 1.0)
                    break
    return found
