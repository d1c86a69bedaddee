"""Questions asked of a closed triangle mesh."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


def mesh_volume_mm3(vertices_mm: Floats, triangles: Ints) -> float:
    """Signed volume of a closed mesh seen from outside, by the divergence theorem."""
    a, b, c = (vertices_mm[triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def triangle_areas_mm2(vertices_mm: Floats, triangles: Ints) -> Floats:
    """(t,) areas."""
    a, b, c = (vertices_mm[triangles[:, i]] for i in range(3))
    return np.asarray(np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0)


def triangle_normals(vertices_mm: Floats, triangles: Ints) -> Floats:
    """(t, 3) outward unit normals; a triangle without area gets zeros."""
    a, b, c = (vertices_mm[triangles[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    sizes = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.asarray(np.divide(normals, sizes, out=np.zeros_like(normals), where=sizes > 0.0))


def is_inside(points_mm: Floats, vertices_mm: Floats, triangles: Ints) -> NDArray[np.bool_]:
    """(n,) whether each point lies inside a closed mesh, by the sum of solid angles (winding number above one half).

    A point closer to the surface than the mesh is fine may come out either way.
    """
    out = np.zeros(len(points_mm), dtype=bool)
    corners = vertices_mm[triangles]  # (t, 3, 3)
    for i, point in enumerate(np.asarray(points_mm, dtype=np.float64)):
        a, b, c = (corners[:, k] - point for k in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        numerator = np.einsum("ij,ij->i", a, np.cross(b, c))
        denominator = (
            la * lb * lc
            + np.einsum("ij,ij->i", a, b) * lc
            + np.einsum("ij,ij->i", b, c) * la
            + np.einsum("ij,ij->i", c, a) * lb
        )
        winding = float(np.arctan2(numerator, denominator).sum()) / (2.0 * np.pi)
        out[i] = winding > 0.5
    return out


def face_samples(
    vertices_mm: Floats, triangles: Ints, triangle_face: Ints, *, faces_count: int, per_face: int
) -> tuple[Floats, Floats, NDArray[np.int32]]:
    """Points spread over every face by area, always the same ones.

    Returns:  points (n, 3) mm, outward unit normals of their triangles (n, 3), face index (n,); each face with area
              gets `per_face` points taken along its triangles at equal steps of area, placed by a fixed
              low-discrepancy sequence.
    """
    areas = triangle_areas_mm2(vertices_mm, triangles)
    normals = triangle_normals(vertices_mm, triangles)
    order = np.argsort(triangle_face, kind="stable")
    points: list[Floats] = []
    outward: list[Floats] = []
    index: list[NDArray[np.int32]] = []
    golden = 0.6180339887498949
    plastic = 0.7548776662466927
    starts = np.searchsorted(triangle_face[order], np.arange(faces_count + 1))
    for face in range(faces_count):
        rows = order[starts[face] : starts[face + 1]]
        total = float(areas[rows].sum())
        if len(rows) == 0 or total <= 0.0:
            continue
        steps = (np.arange(per_face) + 0.5) / per_face * total
        chosen = rows[np.minimum(np.searchsorted(np.cumsum(areas[rows]), steps), len(rows) - 1)]
        k = np.arange(1, per_face + 1)
        u, v = np.modf(k * golden)[0], np.modf(k * plastic)[0]
        flip = u + v > 1.0
        u, v = np.where(flip, 1.0 - u, u), np.where(flip, 1.0 - v, v)
        a, b, c = (vertices_mm[triangles[chosen, i]] for i in range(3))
        points.append(a + u[:, None] * (b - a) + v[:, None] * (c - a))
        outward.append(normals[chosen])
        index.append(np.full(per_face, face, dtype=np.int32))
    if not points:
        return np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, dtype=np.int32)
    return np.vstack(points), np.vstack(outward), np.concatenate(index)
