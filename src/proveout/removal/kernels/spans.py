"""One ray's sorted list of intervals of metal: taking an interval out, and measuring what two lists share."""

from __future__ import annotations

import numpy as np
from numba import njit

SLIVER_MM = 1e-9  # metal shorter than this along a ray is taken away and counted as removed


@njit(cache=True, nogil=True)
def take_out(spans: np.ndarray, count: int, low: float, high: float) -> tuple[int, float]:
    """Takes [low, high] out of spans (capacity, 2); returns (new count, length taken), or (-1, 0) when it cannot fit.

    When the list is full nothing is changed, so that the same call can be made again on a longer list.
    """
    first = 0
    while first < count and spans[first, 1] <= low:
        first += 1
    if first == count or spans[first, 0] >= high:
        return count, 0.0
    last = first
    while last + 1 < count and spans[last + 1, 0] < high:
        last += 1
    left_low = spans[first, 0]
    right_high = spans[last, 1]
    keeps_left = low - left_low > SLIVER_MM
    keeps_right = right_high - high > SLIVER_MM
    kept = (1 if keeps_left else 0) + (1 if keeps_right else 0)
    shift = kept - (last - first + 1)
    if count + shift > spans.shape[0]:
        return -1, 0.0
    taken = 0.0
    for k in range(first, last + 1):
        begin = spans[k, 0]
        stop = spans[k, 1]
        if k == first and keeps_left:
            begin = low
        if k == last and keeps_right:
            stop = high
        taken += stop - begin
    if shift > 0:
        for k in range(count - 1, last, -1):
            spans[k + shift, 0] = spans[k, 0]
            spans[k + shift, 1] = spans[k, 1]
    elif shift < 0:
        for k in range(last + 1, count):
            spans[k + shift, 0] = spans[k, 0]
            spans[k + shift, 1] = spans[k, 1]
    at = first
    if keeps_left:
        spans[at, 0] = left_low
        spans[at, 1] = low
        at += 1
    if keeps_right:
        spans[at, 0] = high
        spans[at, 1] = right_high
    return count + shift, taken


@njit(cache=True, nogil=True)
def shared_length(spans: np.ndarray, count: int, low: float, high: float) -> float:
    """Length in mm of the metal inside [low, high]."""
    total = 0.0
    for k in range(count):
        begin = max(spans[k, 0], low)
        stop = min(spans[k, 1], high)
        if stop > begin:
            total += stop - begin
    return total


@njit(cache=True, nogil=True)
def field_difference(
    counts: np.ndarray, spans: np.ndarray, other_counts: np.ndarray, other_spans: np.ndarray, lengths: np.ndarray
) -> None:
    """Fills lengths (rays, 2): metal only in the first field, metal only in the other, in mm a ray."""
    for ray in range(counts.shape[0]):
        own = 0.0
        for k in range(counts[ray]):
            begin = spans[ray, k, 0]
            stop = spans[ray, k, 1]
            own += max(0.0, (stop - begin) - shared_length(other_spans[ray], other_counts[ray], begin, stop))
        lengths[ray, 0] = own
        other = 0.0
        for k in range(other_counts[ray]):
            begin = other_spans[ray, k, 0]
            stop = other_spans[ray, k, 1]
            other += max(0.0, (stop - begin) - shared_length(spans[ray], counts[ray], begin, stop))
        lengths[ray, 1] = other
