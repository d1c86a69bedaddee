"""Two lists of intervals on one ray: what both have, and what only the first has."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def combine(
    counts: np.ndarray,
    spans: np.ndarray,
    other_counts: np.ndarray,
    other_spans: np.ndarray,
    shared: int,
    least: float,
    found_counts: np.ndarray,
    found_spans: np.ndarray,
) -> None:
    """Fills the intervals a ray that both lists have (shared 1) or that only the first has (shared 0).

    Intervals no longer than `least` are left out; found_spans has room for the sum of both lists.
    """
    for ray in range(counts.shape[0]):
        count = 0
        for k in range(counts[ray]):
            begin, stop = spans[ray, k, 0], spans[ray, k, 1]
            at = begin
            for m in range(other_counts[ray]):
                low, high = max(begin, other_spans[ray, m, 0]), min(stop, other_spans[ray, m, 1])
                if high <= low:
                    continue
                if shared == 1:
                    if high - low > least:
                        found_spans[ray, count, 0], found_spans[ray, count, 1] = low, high
                        count += 1
                    continue
                if low - at > least:
                    found_spans[ray, count, 0], found_spans[ray, count, 1] = at, low
                    count += 1
                at = high
            if shared == 0 and stop - at > least:
                found_spans[ray, count, 0], found_spans[ray, count, 1] = at, stop
                count += 1
        found_counts[ray] = count


@njit(cache=True, nogil=True)
def chord_about(counts: np.ndarray, spans: np.ndarray, rays: np.ndarray, at: np.ndarray, lengths: np.ndarray) -> None:
    """Fills the length of the interval about a place of each ray asked, 0 where there is none or no ray (-1)."""
    for row in range(rays.shape[0]):
        ray = rays[row]
        lengths[row] = 0.0
        if ray < 0:
            continue
        for k in range(counts[ray]):
            if spans[ray, k, 0] <= at[row] <= spans[ray, k, 1]:
                lengths[row] = spans[ray, k, 1] - spans[ray, k, 0]
                break
