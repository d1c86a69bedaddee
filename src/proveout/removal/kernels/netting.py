"""A closed mesh round the metal of three fields whose rays meet in nodes: one point a cell, four cells a crossing.

Nodes carry one ring of air about them. A node is metal where two of its three rays say so. Where two neighbours along
a ray differ, the surface crosses between them at a place that the ray keeps exactly; how the surface leans there is
taken from the rays beside it, from that side on which it runs straighter, so that it does not lean across an edge. The
point of a cell lies where the planes of its crossings come nearest to meet.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

STEEP_CELLS = 4.0  # a ray beside whose crossing lies farther off than so many cells shows another surface
HOLD_RATIO = 0.01  # how strongly a point is held to the middle of its crossings, against their planes
SUMS_COUNT = 13  # of a cell: n n (6), n (n p) (3), p (3), count
FLAT_MM = 1e-6


@njit(cache=True, nogil=True)
def vote_field(
    counts: np.ndarray, spans: np.ndarray, rays_u: int, rays_v: int, first: float, step: float, nodes: int,
    stride_k: int, stride_u: int, stride_v: int, votes: np.ndarray,
) -> None:  # fmt: skip
    """Adds 1 to votes (padded nodes, flat) at every node that lies in metal by this field's ray through it."""
    for i in range(rays_u):
        for j in range(rays_v):
            ray = i * rays_v + j
            base = (i + 1) * stride_u + (j + 1) * stride_v
            for n in range(counts[ray]):
                low = max(0, math.ceil((spans[ray, n, 0] - first) / step))
                high = min(nodes - 1, math.floor((spans[ray, n, 1] - first) / step))
                for m in range(low, high + 1):
                    votes[base + (m + 1) * stride_k] += 1


@njit(cache=True, nogil=True)
def _nearest_end(counts: np.ndarray, spans: np.ndarray, ray: int, at: float, side: int, reach: float) -> float:
    """The end of that side of an interval that lies nearest to a place, NaN when none does within the reach."""
    best, found = reach, math.nan
    for n in range(counts[ray]):
        off = abs(spans[ray, n, side] - at)
        if off < best:
            best, found = off, spans[ray, n, side]
    return found


@njit(cache=True, nogil=True)
def _lean(
    counts: np.ndarray, spans: np.ndarray, ray: int, place: int, places: int, stride: int, at: float, side: int,
    reach: float,
) -> float:  # fmt: skip
    """How far the crossing moves from ray to ray: of both sides the one on which it does so more evenly; 0 alone."""
    one = two = other_one = other_two = math.nan
    if place >= 1:
        one = _nearest_end(counts, spans, ray - stride, at, side, reach)
        if place >= 2 and not math.isnan(one):
            two = _nearest_end(counts, spans, ray - 2 * stride, 2.0 * one - at, side, reach)
    if place + 1 < places:
        other_one = _nearest_end(counts, spans, ray + stride, at, side, reach)
        if place + 2 < places and not math.isnan(other_one):
            other_two = _nearest_end(counts, spans, ray + 2 * stride, 2.0 * other_one - at, side, reach)
    if math.isnan(one):
        return 0.0 if math.isnan(other_one) else other_one - at
    if math.isnan(other_one):
        return at - one
    bend = math.inf if math.isnan(two) else abs(two - 2.0 * one + at)
    other_bend = math.inf if math.isnan(other_two) else abs(other_two - 2.0 * other_one + at)
    middle = abs(one - 2.0 * at + other_one)
    if middle <= bend and middle <= other_bend:
        return 0.5 * (other_one - one)
    if bend == other_bend:
        return at - one if abs(at - one) <= abs(other_one - at) else other_one - at
    return at - one if bend < other_bend else other_one - at


@njit(cache=True, nogil=True)
def cross_field(
    counts: np.ndarray, spans: np.ndarray, rays_u: int, rays_v: int, first: np.ndarray, step: np.ndarray, nodes: int,
    k: int, strides: np.ndarray, votes: np.ndarray, places: np.ndarray, points: np.ndarray, normals: np.ndarray,
    leaves: np.ndarray, found: int,
) -> int:  # fmt: skip
    """Fills, from number `found` on, every crossing of this field; returns how many there are then.

    places: (n,) padded flat node before it.   points, normals: (n, 3).   leaves: (n,) 1 where the ray leaves metal.
    With places of no length they are only counted.
    """
    u_axis, v_axis = (k + 1) % 3, (k + 2) % 3
    writes = places.shape[0] > 0
    for i in range(rays_u):
        for j in range(rays_v):
            ray = i * rays_v + j
            base = (i + 1) * strides[u_axis] + (j + 1) * strides[v_axis]
            for m in range(nodes + 1):
                node = base + m * strides[k]
                is_metal, next_is_metal = votes[node] >= 2, votes[node + strides[k]] >= 2
                if is_metal == next_is_metal:
                    continue
                if writes:
                    low = first[k] + (m - 1) * step[k]
                    side = 1 if is_metal else 0
                    at = _nearest_end(counts, spans, ray, low + 0.5 * step[k], side, 0.5 * step[k] + FLAT_MM)
                    if math.isnan(at):  # two of three fields outvoted this one
                        at = low + 0.5 * step[k]
                    reach = STEEP_CELLS * step[k]
                    lean_u = _lean(counts, spans, ray, i, rays_u, rays_v, at, side, reach) / step[u_axis]
                    lean_v = _lean(counts, spans, ray, j, rays_v, 1, at, side, reach) / step[v_axis]
                    long = math.sqrt(1.0 + lean_u * lean_u + lean_v * lean_v)
                    way = 1.0 if is_metal else -1.0
                    places[found] = node
                    points[found, k] = at
                    points[found, u_axis] = first[u_axis] + i * step[u_axis]
                    points[found, v_axis] = first[v_axis] + j * step[v_axis]
                    normals[found, k] = way / long
                    normals[found, u_axis] = -way * lean_u / long
                    normals[found, v_axis] = -way * lean_v / long
                    leaves[found] = side
                found += 1
    return found


@njit(cache=True, nogil=True)
def sum_cells(
    places: np.ndarray, points: np.ndarray, normals: np.ndarray, u_strides: np.ndarray, v_strides: np.ndarray,
    cell_of: np.ndarray, corners: np.ndarray, sums: np.ndarray, nodes: np.ndarray,
) -> int:  # fmt: skip
    """Numbers the cells that the surface crosses and adds up what each knows of it; returns how many there are.

    u_strides, v_strides: (n,) of each crossing's two other axes.   cell_of: (padded nodes,) -1 at first, then the
    number of the cell above that node.   corners: (n, 4) cells about each crossing, against the clock about its axis.
    sums: (4 n, SUMS_COUNT), zero at first; nodes: (4 n,) of each cell its lowest.
    """
    cells = 0
    for e in range(places.shape[0]):
        u, v = u_strides[e], v_strides[e]
        for turn in range(4):
            node = places[e] - (u if turn in (1, 2) else 0) - (v if turn in (2, 3) else 0)
            if cell_of[node] < 0:
                cell_of[node] = cells
                nodes[cells] = node
                cells += 1
            own = cell_of[node]
            corners[e, turn] = own
            a, b, c = normals[e, 0], normals[e, 1], normals[e, 2]
            x, y, z = points[e, 0], points[e, 1], points[e, 2]
            along = a * x + b * y + c * z
            row = sums[own]
            row[0] += a * a
            row[1] += a * b
            row[2] += a * c
            row[3] += b * b
            row[4] += b * c
            row[5] += c * c
            row[6] += along * a
            row[7] += along * b
            row[8] += along * c
            row[9] += x
            row[10] += y
            row[11] += z
            row[12] += 1.0
    return cells


@njit(cache=True, nogil=True)
def cell_points(
    sums: np.ndarray, nodes: np.ndarray, first: np.ndarray, step: np.ndarray, strides: np.ndarray, found: np.ndarray
) -> None:
    """Fills found (cells, 3) with the point of each cell, which stays inside it."""
    for cell in range(found.shape[0]):
        row = sums[cell]
        count = row[12]
        hold = HOLD_RATIO * count
        mx, my, mz = row[9] / count, row[10] / count, row[11] / count
        a, b, c, d, e, f = row[0], row[1], row[2], row[3], row[4], row[5]
        rx = row[6] - (a * mx + b * my + c * mz)
        ry = row[7] - (b * mx + d * my + e * mz)
        rz = row[8] - (c * mx + e * my + f * mz)
        a, d, f = a + hold, d + hold, f + hold
        one, two, three = d * f - e * e, c * e - b * f, b * e - c * d
        whole = a * one + b * two + c * three
        x = mx + (one * rx + two * ry + three * rz) / whole
        y = my + (two * rx + (a * f - c * c) * ry + (b * c - a * e) * rz) / whole
        z = mz + (three * rx + (b * c - a * e) * ry + (a * d - b * b) * rz) / whole
        rest = nodes[cell]
        for axis in range(3):
            at = rest // strides[axis]
            rest -= at * strides[axis]
            low = first[axis] + (at - 1) * step[axis]
            value = x if axis == 0 else (y if axis == 1 else z)
            found[cell, axis] = min(max(value, low), low + step[axis])
