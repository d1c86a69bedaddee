"""A finished solid as fields of intervals, from its closed triangle mesh."""

from __future__ import annotations

import math

import numpy as np

from proveout.quantities.errors import BadInput
from proveout.removal.fields import Fields, empty_fields
from proveout.removal.kernels.crossing import cross_field, pair_crossings

ROOM_FIRST_COUNT = 8  # crossings a ray can hold at first; counted, and done again with enough room
WHOLE_BITS = 29  # whole numbers across a ray stay below 2^29, so that an orientation stays below 2^61


def mesh_fields(
    vertices: np.ndarray, triangles: np.ndarray, *, low_mm: np.ndarray, high_mm: np.ndarray, pitch_mm: float
) -> Fields:
    """The intervals of a solid within a box, on the grid that a full box of that pitch has.

    vertices: (v, 3) float64, mm, part frame; triangles: (t, 3) whole numbers, closed as a whole; neither is modified.
    Rays crossed an odd number of times are counted a field in `odd_rays`; on them the last crossing is left out.
    """
    points, corners = checked_mesh(vertices, triangles)
    result = empty_fields(low_mm=low_mm, high_mm=high_mm, pitch_mm=pitch_mm)
    lowest = np.minimum(points.min(axis=0), result.low_mm)
    extent = float((np.maximum(points.max(axis=0), result.high_mm) - lowest).max())
    scale = 2.0 ** math.floor(WHOLE_BITS - math.log2(extent))
    odd = []
    for k in range(3):
        u_axis, v_axis = (k + 1) % 3, (k + 2) % 3
        count_u, count_v = result.rays_uv(k)
        grid = result.grid_mm(k)
        across = np.ascontiguousarray(np.rint((points[:, [u_axis, v_axis]] - lowest[[u_axis, v_axis]]) * scale))
        rays_u = np.rint((grid[0] + grid[1] * np.arange(count_u) - lowest[u_axis]) * scale).astype(np.int64)
        rays_v = np.rint((grid[2] + grid[3] * np.arange(count_v) - lowest[v_axis]) * scale).astype(np.int64)
        shift_u, shift_v = result.ray_shifts_mm(k)
        whole_u, whole_v = (np.rint(shift * scale).astype(np.int64) for shift in (shift_u, shift_v))
        room = ROOM_FIRST_COUNT
        while True:
            found = np.zeros(count_u * count_v, dtype=np.int64)
            depths = np.zeros((count_u * count_v, room))
            cross_field(
                points, across.astype(np.int64), corners, k, rays_u, rays_v, whole_u, whole_v, grid, shift_u, shift_v,
                found, depths,
            )  # fmt: skip
            most = int(found.max())
            if most <= room:
                break
            room = most
        if room // 2 > result.spans[k].shape[1]:
            result.spans[k] = np.zeros((found.size, room // 2, 2))
        odd.append(
            pair_crossings(
                found, depths, float(result.low_mm[k]), float(result.high_mm[k]), result.counts[k], result.spans[k]
            )
        )
    result.odd_rays = (int(odd[0]), int(odd[1]), int(odd[2]))
    return result


def checked_mesh(vertices: np.ndarray, triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The mesh as arrays for the kernels: (v, 3) float64 and (t, 3) int64; raises BadInput when it is none."""
    points = np.ascontiguousarray(vertices, dtype=float)
    corners = np.ascontiguousarray(triangles, dtype=np.int64)
    if points.ndim != 2 or points.shape[1] != 3 or corners.ndim != 2 or corners.shape[1] != 3 or corners.size == 0:
        raise BadInput(
            "A mesh needs vertices (v, 3) and at least one triangle (t, 3)", value=f"{points.shape}, {corners.shape}"
        )
    if not np.all(np.isfinite(points)):
        raise BadInput("A mesh has a vertex that is not a finite number")
    if corners.min() < 0 or corners.max() >= points.shape[0]:
        raise BadInput("A mesh names a vertex that it does not have", value=f"{corners.min()}..{corners.max()}")
    return points, corners
