"""Which intervals of three fields belong to one piece of metal: union of whatever overlaps."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True)
def _root(parent: np.ndarray, item: int) -> int:
    while parent[item] != item:
        parent[item] = parent[parent[item]]
        item = parent[item]
    return item


@njit(cache=True)
def _join(parent: np.ndarray, one: int, other: int) -> None:
    a, b = _root(parent, one), _root(parent, other)
    if a < b:
        parent[b] = a
    elif b < a:
        parent[a] = b


@njit(cache=True)
def join_field(
    counts: np.ndarray,
    spans: np.ndarray,
    offset: np.ndarray,
    rays_u: int,
    rays_v: int,
    least: float,
    parent: np.ndarray,
) -> None:
    """Joins intervals of neighbouring rays of one field that overlap by more than `least` mm.

    counts: (rays,) int32.  spans: (rays, capacity, 2), mm.  offset: (rays,) int64, number of a ray's first interval.
    parent: (intervals of all fields,) int64, changed in place.  A ray has number i * rays_v + j.
    """
    for i in range(rays_u):
        for j in range(rays_v):
            ray = i * rays_v + j
            for step in range(2):
                if (step == 0 and i + 1 >= rays_u) or (step == 1 and j + 1 >= rays_v):
                    continue
                beside = ray + (rays_v if step == 0 else 1)
                a, b = 0, 0
                while a < counts[ray] and b < counts[beside]:
                    low = max(spans[ray, a, 0], spans[beside, b, 0])
                    high = min(spans[ray, a, 1], spans[beside, b, 1])
                    if high - low > least:
                        _join(parent, int(offset[ray]) + a, int(offset[beside]) + b)
                    if spans[ray, a, 1] < spans[beside, b, 1]:
                        a += 1
                    else:
                        b += 1


@njit(cache=True)
def join_across(
    counts_a: np.ndarray, spans_a: np.ndarray, offset_a: np.ndarray, counts_b: np.ndarray, spans_b: np.ndarray,
    offset_b: np.ndarray, places_u: np.ndarray, low_w: float, step_w: float, stride: int, looked: np.ndarray,
    parent: np.ndarray,
) -> None:  # fmt: skip
    """Joins intervals of field a to those of the field b, whose rays run along a's u, that they run through.

    places_u: (rays_u, rays_v) where a's rays stand along u, mm.  low_w, step_w: cells along a's own axis, mm.
    looked: (intervals of all fields,) bool, those of a that are looked at.
    In every cell that an interval of a's ray (i, j) covers the middle of, or every `stride`th of them, b's ray
    (j, cell) passes within that cell.
    """
    rays_u, rays_v = places_u.shape
    cells = counts_b.shape[0] // rays_v
    for j in range(rays_v):  # b's rays of one row are gone through again and again while they are at hand
        for i in range(rays_u):
            ray = i * rays_v + j
            u = places_u[i, j]
            for n in range(counts_a[ray]):
                if not looked[offset_a[ray] + n]:
                    continue
                first = max(0, int(np.ceil((spans_a[ray, n, 0] - low_w) / step_w - 0.5)))
                last = min(cells - 1, int(np.floor((spans_a[ray, n, 1] - low_w) / step_w - 0.5)))
                for cell in range(first, last + 1, stride):
                    other = j * cells + cell
                    for m in range(counts_b[other]):
                        if spans_b[other, m, 0] <= u <= spans_b[other, m, 1]:
                            _join(parent, int(offset_a[ray]) + n, int(offset_b[other]) + m)
                            break


@njit(cache=True)
def join_back(
    counts_a: np.ndarray, spans_a: np.ndarray, offset_a: np.ndarray, counts_b: np.ndarray, spans_b: np.ndarray,
    offset_b: np.ndarray, places_u: np.ndarray, low_w: float, step_w: float, looked: np.ndarray, parent: np.ndarray,
) -> None:  # fmt: skip
    """What `join_across` joins in every cell, for those intervals of b that are looked at; arguments as there."""
    rays_u, rays_v = places_u.shape
    cells = counts_b.shape[0] // rays_v
    for j in range(rays_v):
        for cell in range(cells):
            other = j * cells + cell
            for m in range(counts_b[other]):
                if not looked[offset_b[other] + m]:
                    continue
                for i in range(rays_u):
                    u = places_u[i, j]
                    if not spans_b[other, m, 0] <= u <= spans_b[other, m, 1]:
                        continue
                    if m > 0 and spans_b[other, m - 1, 1] >= u:
                        continue  # the one before is joined there
                    ray = i * rays_v + j
                    for n in range(counts_a[ray]):
                        first = max(0, int(np.ceil((spans_a[ray, n, 0] - low_w) / step_w - 0.5)))
                        last = min(cells - 1, int(np.floor((spans_a[ray, n, 1] - low_w) / step_w - 0.5)))
                        if first <= cell <= last:
                            _join(parent, int(offset_a[ray]) + n, int(offset_b[other]) + m)


@njit(cache=True)
def roots(parent: np.ndarray) -> np.ndarray:
    """(n,) the first item of each item's piece."""
    out = np.empty_like(parent)
    for item in range(parent.shape[0]):
        out[item] = _root(parent, item)
    return out
