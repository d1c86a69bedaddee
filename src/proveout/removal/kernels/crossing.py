"""Crossings of axis-parallel rays with triangles, each shared edge and each shared corner counted exactly once.

Whether a ray passes a triangle is decided in whole numbers: corners and rays are rounded to one fine grid across
the ray (some 1e-7 mm on a part of 100 mm) and orientations are computed exactly. A ray that meets an edge or a
corner exactly is moved, in thought, by (e, e^2) with e > 0 infinitely small, which decides every tie and decides it
alike for both triangles of an edge. So a mesh without holes is crossed an even number of times by every ray.
"""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True)
def _side(a_u: int, a_v: int, b_u: int, b_v: int, p_u: int, p_v: int) -> int:
    """+1 when the moved point p lies left of a -> b, -1 when right, 0 only when a and b are one."""
    turn = (b_u - a_u) * (p_v - a_v) - (b_v - a_v) * (p_u - a_u)
    if turn > 0:
        return 1
    if turn < 0:
        return -1
    if b_v != a_v:
        return -1 if b_v > a_v else 1
    if b_u != a_u:
        return 1 if b_u > a_u else -1
    return 0


@njit(cache=True, nogil=True)
def cross_field(
    vertices: np.ndarray,
    across: np.ndarray,
    triangles: np.ndarray,
    ray_axis: int,
    rays_u: np.ndarray,
    rays_v: np.ndarray,
    whole_u: np.ndarray,
    whole_v: np.ndarray,
    grid: np.ndarray,
    shift_u: np.ndarray,
    shift_v: np.ndarray,
    found: np.ndarray,
    depths: np.ndarray,
) -> None:
    """Adds the crossings to found (rays,) and, where they fit, their depths to depths (rays, room), in mm.

    vertices (v, 3) mm; across (v, 2) whole numbers; rays_u, rays_v: whole numbers of the same grid, rising.
    whole_u (by number in v), whole_v (by number in u): how far a ray is moved from there, whole numbers.
    grid (4,): first u, step u, first v, step v of the cells' middles, mm, and shift_u, shift_v the moves in mm. The
    depth comes from the vertices as they are.
    """
    u_axis = (ray_axis + 1) % 3
    v_axis = (ray_axis + 2) % 3
    count_v = rays_v.shape[0]
    room = depths.shape[1]
    far_u, far_v = np.abs(whole_u).max(), np.abs(whole_v).max()
    for tri in range(triangles.shape[0]):
        a, b, c = triangles[tri, 0], triangles[tri, 1], triangles[tri, 2]
        a_u, a_v = across[a, 0], across[a, 1]
        b_u, b_v = across[b, 0], across[b, 1]
        c_u, c_v = across[c, 0], across[c, 1]
        area = (b_u - a_u) * (c_v - a_v) - (b_v - a_v) * (c_u - a_u)
        if area == 0:
            continue
        turned = 1 if area > 0 else -1
        first_u = np.searchsorted(rays_u, min(a_u, b_u, c_u) - far_u)
        end_u = np.searchsorted(rays_u, max(a_u, b_u, c_u) + far_u, side="right")
        first_v = np.searchsorted(rays_v, min(a_v, b_v, c_v) - far_v)
        end_v = np.searchsorted(rays_v, max(a_v, b_v, c_v) + far_v, side="right")
        if first_u >= end_u or first_v >= end_v:
            continue
        depth_a, depth_b, depth_c = vertices[a, ray_axis], vertices[b, ray_axis], vertices[c, ray_axis]
        shallow = min(depth_a, depth_b, depth_c)
        deep = max(depth_a, depth_b, depth_c)
        ab_u, ab_v = vertices[b, u_axis] - vertices[a, u_axis], vertices[b, v_axis] - vertices[a, v_axis]
        ac_u, ac_v = vertices[c, u_axis] - vertices[a, u_axis], vertices[c, v_axis] - vertices[a, v_axis]
        whole = ab_u * ac_v - ab_v * ac_u
        level = shallow == deep or whole == 0.0
        for i in range(first_u, end_u):
            for j in range(first_v, end_v):
                p_u = rays_u[i] + whole_u[j]
                p_v = rays_v[j] + whole_v[i]
                if _side(a_u, a_v, b_u, b_v, p_u, p_v) != turned:
                    continue
                if _side(b_u, b_v, c_u, c_v, p_u, p_v) != turned:
                    continue
                if _side(c_u, c_v, a_u, a_v, p_u, p_v) != turned:
                    continue
                depth = shallow
                if not level:
                    ap_u = grid[0] + i * grid[1] + shift_u[j] - vertices[a, u_axis]
                    ap_v = grid[2] + j * grid[3] + shift_v[i] - vertices[a, v_axis]
                    of_b = (ap_u * ac_v - ap_v * ac_u) / whole
                    of_c = (ab_u * ap_v - ab_v * ap_u) / whole
                    depth = depth_a + of_b * (depth_b - depth_a) + of_c * (depth_c - depth_a)
                    depth = min(max(depth, shallow), deep)
                ray = i * count_v + j
                if found[ray] < room:
                    depths[ray, found[ray]] = depth
                found[ray] += 1


@njit(cache=True, nogil=True)
def pair_crossings(
    found: np.ndarray, depths: np.ndarray, low: float, high: float, counts: np.ndarray, spans: np.ndarray
) -> int:
    """Sorts each ray's depths, pairs them into intervals within low..high; returns the rays with an odd number."""
    odd = 0
    for ray in range(found.shape[0]):
        count = found[ray]
        if count == 0:
            continue
        if count % 2:
            odd += 1
        depths[ray, :count].sort()
        kept = 0
        for k in range(0, count - 1, 2):
            begin = max(depths[ray, k], low)
            stop = min(depths[ray, k + 1], high)
            if stop <= begin:
                continue
            if kept > 0 and begin <= spans[ray, kept - 1, 1]:
                spans[ray, kept - 1, 1] = stop
            else:
                spans[ray, kept, 0] = begin
                spans[ray, kept, 1] = stop
                kept += 1
        counts[ray] = kept
    return odd
