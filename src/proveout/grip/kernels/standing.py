"""Facets of a convex hull that a body may stand on, as far as a quick look tells."""

from __future__ import annotations

import numpy as np
from numba import njit

DIRECTIONS_COUNT, SLACK = 12, 0.2


@njit(cache=True, nogil=True)
def broad_facets(
    normals: np.ndarray, corners: np.ndarray, middle: np.ndarray, alike: float, contact: float, least: float,
    wide: float,
) -> np.ndarray:  # fmt: skip
    """(facets,) True for the first facet of each kind, unless what touches its plane is small and lies aside.

    normals: (facets, 3) unit vectors, in the order in which they count; those whose product is above `alike` are of one
    kind.   corners: (n, 3) of the hull.   middle: of mass.   contact: what lies so near to a plane touches it.   least:
    what spans less than this along x, y and z, and lies farther from under the middle than it spans, is left out.
    wide: left out as well is what is narrower than this in some direction, while the middle lies clearly beside it.
    """
    count = normals.shape[0]
    found = np.zeros(count, dtype=np.bool_)
    first = np.empty(count, dtype=np.int64)
    touching = np.empty((corners.shape[0], 3))
    kinds = 0
    for facet in range(count):
        x, y, z = normals[facet, 0], normals[facet, 1], normals[facet, 2]
        is_new = True
        for k in range(kinds):
            other = first[k]
            if x * normals[other, 0] + y * normals[other, 1] + z * normals[other, 2] > alike:
                is_new = False
                break
        if not is_new:
            continue
        first[kinds] = facet
        kinds += 1
        highest = -np.inf
        for row in range(corners.shape[0]):
            highest = max(highest, x * corners[row, 0] + y * corners[row, 1] + z * corners[row, 2])
        rise = x * middle[0] + y * middle[1] + z * middle[2] - highest
        under = middle - rise * normals[facet]
        own = 0
        span, nearest2 = 0.0, np.inf
        for row in range(corners.shape[0]):
            if x * corners[row, 0] + y * corners[row, 1] + z * corners[row, 2] < highest - contact:
                continue
            touching[own] = corners[row] - under
            own += 1
        for axis in range(3):
            span = max(span, touching[:own, axis].max() - touching[:own, axis].min())
        for row in range(own):
            nearest2 = min(nearest2, touching[row, 0] ** 2 + touching[row, 1] ** 2 + touching[row, 2] ** 2)
        if span < least and np.sqrt(nearest2) > span + contact:
            continue
        found[facet] = not _is_narrow_and_aside(touching[:own], normals[facet], wide)
    return found


@njit(cache=True, nogil=True)
def _is_narrow_and_aside(touching: np.ndarray, normal: np.ndarray, wide: float) -> bool:
    """touching: (n, 3) from the place under the middle of mass."""
    helper = np.zeros(3)
    helper[np.argmin(np.abs(normal))] = 1.0
    u = np.cross(helper, normal)
    u /= np.sqrt((u**2).sum())
    v = np.cross(normal, u)
    is_narrow, is_aside = False, False
    for k in range(DIRECTIONS_COUNT):
        angle = np.pi * k / DIRECTIONS_COUNT
        way = np.cos(angle) * u + np.sin(angle) * v
        low, high = np.inf, -np.inf
        for row in range(touching.shape[0]):
            place = touching[row, 0] * way[0] + touching[row, 1] * way[1] + touching[row, 2] * way[2]
            low, high = min(low, place), max(high, place)
        is_narrow = is_narrow or high - low < wide
        is_aside = is_aside or low > SLACK or high < -SLACK
    return is_narrow and is_aside
