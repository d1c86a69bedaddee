"""The work as it stands against the target: volumes left over and gouged, and the deviation of every surface point."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.fields import Fields, require_same_grid
from proveout.removal.kernels.distance import build_tree, signed_distances
from proveout.removal.kernels.spans import field_difference
from proveout.removal.meshing import checked_mesh

WELD_MM = 1e-6  # corners of two triangles nearer than this are one corner
POINTS_A_SHARE = 16384


@dataclass(frozen=True, kw_only=True)
class Deviation:
    """How far points of a surface lie from the target; positive is left over, negative is gouged.

    points_mm: (n, 3) part frame. face: (n,) the face each point is judged by. deviation_mm: (n,).
    open_edges_count: edges that do not join exactly two triangles; when not 0 the signs near them are not shown.
    """

    points_mm: np.ndarray
    face: np.ndarray
    deviation_mm: np.ndarray
    open_edges_count: int


def difference_mm3(work: Fields, target: Fields) -> tuple[np.ndarray, np.ndarray]:
    """Volumes by which the work differs from a target on the same grid, compared ray by ray.

    Formula:  leftover = |work minus target|, gouge = |target minus work|, lengths times the area of a cell
    Args:     work, target: fields of the same corners and pitch, not modified.
    Returns:  (leftover (3,), gouge (3,)) mm3, one number a field, >= 0; exactly 0 when both are the same.
    Raises:   BadInput when the grids differ.
    Valid:    as fine as the grid.
    Source:   own derivation.   Departs: nothing.
    Checked:  tests/removal/test_comparing.py
    """
    require_same_grid(work, target)
    leftover = np.zeros(3)
    gouge = np.zeros(3)
    for k in range(3):
        lengths = np.zeros((work.counts[k].size, 2))
        field_difference(work.counts[k], work.spans[k], target.counts[k], target.spans[k], lengths)
        leftover[k], gouge[k] = lengths.sum(axis=0) * work.cell_area_mm2(k)
    return leftover, gouge


def deviation(
    work: Fields,
    *,
    vertices: np.ndarray,
    triangles: np.ndarray,
    triangle_face: np.ndarray,
    face_offset_mm: np.ndarray,
    threads_count: int | None = None,
) -> Deviation:
    """The deviation from the target of every interval end of the work, see point_deviation."""
    return point_deviation(
        work.surface_points_mm(),
        vertices=vertices,
        triangles=triangles,
        triangle_face=triangle_face,
        face_offset_mm=face_offset_mm,
        threads_count=threads_count,
    )


def point_deviation(
    points_mm: np.ndarray,
    *,
    vertices: np.ndarray,
    triangles: np.ndarray,
    triangle_face: np.ndarray,
    face_offset_mm: np.ndarray,
    threads_count: int | None = None,
) -> Deviation:
    """Deviation of points from the target, which lies inside the finished solid by an offset a face.

    Formula:  outside: d + offset of the nearest face; inside: -min over faces of (d - offset); d distance to the face
    Args:     points_mm: (n, 3) part frame.   vertices: (v, 3) mm and triangles: (t, 3), closed, outward by the right
              hand.   triangle_face: (t,) face of each triangle.   face_offset_mm: (f,) >= 0, inward; 0 when masked.
              threads_count: >= 1, or None for the machine's. No array is modified.
    Returns:  Deviation, mm; 0 on the target, > 0 where metal is left, < 0 where the target is gouged.
    Raises:   BadInput when shapes or numbers of faces are wrong; OutOfRange when an offset is below 0.
    Valid:    closed meshes; within an offset of a convex edge between unlike offsets it is exact on both targets,
              and beyond the edge, outside the solid, it is the distance to the solid plus the nearest face's offset.
    Source:   own derivation.   Departs: nothing.
    Checked:  tests/removal/test_comparing.py
    """
    points, corners = checked_mesh(vertices, triangles)
    asked = np.ascontiguousarray(points_mm, dtype=float).reshape(-1, 3)
    faces = np.ascontiguousarray(triangle_face, dtype=np.int64)
    offsets = np.ascontiguousarray(face_offset_mm, dtype=float)
    if faces.shape != (corners.shape[0],) or faces.min() < 0 or faces.max() >= offsets.size:
        raise BadInput("Each triangle needs the number of a face that has an offset", value=f"{faces.shape}")
    if not np.all(np.isfinite(offsets)) or np.any(offsets < 0.0):
        raise OutOfRange("A face's offset points inward", value=f"{offsets.min()} mm", limit=">= 0 mm")
    corners = _weld(points, corners)
    normals, open_edges_count, solid = _feature_normals(points, corners)
    corners, faces, normals = corners[solid], faces[solid], np.ascontiguousarray(normals[solid])
    if corners.size == 0:
        raise BadInput("A mesh has no triangle with an area")
    shapes = np.ascontiguousarray(points[corners].reshape(-1, 9))
    order = np.empty(len(shapes), dtype=np.int64)
    boxes = np.empty((2 * len(shapes), 6))
    links = np.empty((2 * len(shapes), 2), dtype=np.int64)
    build_tree(shapes, order, boxes, links)
    nearest = np.empty(len(asked), dtype=np.int64)
    deviations = np.empty(len(asked))
    triangle_offsets = np.ascontiguousarray(offsets[faces])

    def work_share(first: int) -> None:
        part = slice(first, first + POINTS_A_SHARE)
        signed_distances(
            asked[part], shapes, normals, triangle_offsets, order, boxes, links, nearest[part], deviations[part]
        )

    threads = threads_count if threads_count is not None else min(8, os.cpu_count() or 1)
    with ThreadPoolExecutor(max_workers=max(1, threads)) as pool:
        list(pool.map(work_share, range(0, len(asked), POINTS_A_SHARE)))
    return Deviation(points_mm=asked, face=faces[nearest], deviation_mm=deviations, open_edges_count=open_edges_count)


def per_face(found: Deviation) -> dict[int, tuple[float, float, int]]:
    """Face -> (largest left-over in mm, deepest gouge in mm, number of points), both >= 0, faces in order."""
    result: dict[int, tuple[float, float, int]] = {}
    for face in np.unique(found.face):
        own = found.deviation_mm[found.face == face]
        result[int(face)] = (max(0.0, float(own.max())), max(0.0, -float(own.min())), int(own.size))
    return result


def _weld(points: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """The triangles with corners at one place given one number."""
    whole = np.rint(points / WELD_MM).astype(np.int64)
    _, first, same = np.unique(whole, axis=0, return_index=True, return_inverse=True)
    return np.ascontiguousarray(first[same.reshape(-1)][corners])


def _feature_normals(points: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, int, np.ndarray]:
    """Normals (t, 21) of triangle, corners and edges; the number of open edges; (t,) true where there is an area."""
    a, b, c = (points[corners[:, k]] for k in range(3))
    raw = np.cross(b - a, c - a)
    sizes = np.linalg.norm(raw, axis=1)
    longest2 = np.maximum.reduce([((q - p) ** 2).sum(axis=1) for p, q in ((a, b), (b, c), (c, a))])
    solid = sizes > 1e-12 * longest2
    unit = np.where(solid[:, None], raw / np.where(solid, sizes, 1.0)[:, None], 0.0)

    corner_sums = np.zeros_like(points)
    for at, (here, one, two) in enumerate(((a, b, c), (b, c, a), (c, a, b))):
        toward, other = one - here, two - here
        angle = np.arctan2(np.linalg.norm(np.cross(toward, other), axis=1), (toward * other).sum(axis=1))
        np.add.at(corner_sums, corners[:, at], unit * angle[:, None])

    ends = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
    owners = np.tile(np.arange(len(corners)), 3)
    whole_edges = ends[:, 0] != ends[:, 1]
    keys = np.sort(ends, axis=1)
    _, index = np.unique(keys, axis=0, return_inverse=True)
    index = index.reshape(-1)
    edge_sums = np.zeros((int(index.max()) + 1, 3))
    np.add.at(edge_sums, index, unit[owners])
    uses = np.bincount(index[whole_edges], minlength=len(edge_sums))
    open_edges_count = int(np.count_nonzero((uses != 2) & (uses != 0)))
    of_edges = edge_sums[index].reshape(3, len(corners), 3)

    normals = np.empty((len(corners), 7, 3))
    normals[:, 0] = unit
    for k in range(3):
        normals[:, 1 + k] = corner_sums[corners[:, k]]
        normals[:, 4 + k] = of_edges[k]
    return normals.reshape(-1, 21), open_edges_count, solid
