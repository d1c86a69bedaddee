"""Faces that no point of the work's surface is judged by: they may lie deep under metal that was never cut."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import face_samples
from proveout.model.target import Target
from proveout.removal.fields import Fields

Floats = NDArray[np.float64]
SAMPLES_COUNT = 64
CELLS_OFF = 1.5


def covered_mm(work: Fields, wanted: Fields, target: Target, faces: list[int]) -> dict[int, float]:
    """Face index to the longest metal that stands over it and is not the target's, along the axis it faces most, mm.

    A sample is looked at a cell and a half off, where the ray nearest to it cannot lie inside the target by rounding.
    """
    rows = np.isin(target.triangle_face, faces)
    if not faces or not rows.any():
        return {}
    points, normals, index = face_samples(
        target.vertices_mm, target.triangles[rows], target.triangle_face[rows], faces_count=len(target.face_ids),
        per_face=SAMPLES_COUNT,
    )  # fmt: skip
    found: dict[int, float] = {}
    for point, normal, face in zip(points, normals, index.tolist(), strict=True):
        k = int(np.argmax(np.abs(normal)))
        at = point + CELLS_OFF * float(work.pitch_mm.max()) * normal
        standing = _metal(work, k, at)
        if standing is None or _metal(wanted, k, at) is not None:
            continue
        over = standing[1] - at[k] if normal[k] > 0.0 else at[k] - standing[0]
        found[face] = max(found.get(face, 0.0), float(over + abs(at[k] - point[k])))
    return found


def _metal(fields: Fields, k: int, at: Floats) -> tuple[float, float] | None:
    """The interval of metal about a point on the nearest ray along axis k, None in air."""
    u, v = (k + 1) % 3, (k + 2) % 3
    first_u, step_u, first_v, step_v = fields.grid_mm(k)
    rays_u, rays_v = fields.rays_uv(k)
    shift_u, shift_v = fields.ray_shifts_mm(k)
    j = min(max(round((at[v] - first_v) / step_v), 0), rays_v - 1)
    i = round((at[u] - first_u - shift_u[j]) / step_u)
    j = round((at[v] - first_v - shift_v[min(max(i, 0), rays_u - 1)]) / step_v)
    if not (0 <= i < rays_u and 0 <= j < rays_v):
        return None
    ray = i * rays_v + j
    for low, high in fields.spans[k][ray, : fields.counts[k][ray]]:
        if low <= at[k] <= high:
            return float(low), float(high)
    return None
