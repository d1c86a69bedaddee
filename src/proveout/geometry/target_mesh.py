"""Move a mesh's faces inward by an offset each, without losing its topology."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]

# two faces that meet within acos(1 - 0.015) = 10 degrees of smooth count as one direction: what their offsets
# differ by is then shared, as moving sideways to please both would tear the mesh along the seam
_SMOOTH = 0.015
# the point of a cone sharper than asin(0.2) = 11.5 degrees is moved no farther than five offsets
_SHORTEST_NORMAL = 0.2
_THIN_MM = 0.01


def target_vertices(*, vertices_mm: Floats, triangles: Whole, triangle_face: Whole, face_offset_mm: Floats) -> Floats:
    """Each vertex moved so that the plane of every face about it lies inward by the offset of that face.

    vertices_mm (v, 3) float64 in the part frame; triangles (t, 3) seen from outside; triangle_face (t,) into
    face_offset_mm (f,), mm, positive inward (into the metal: walls of holes move to a larger radius).  Returns
    (v, 3), not sharing memory; a vertex of no triangle stays.  At a vertex every face gives one equation
    m . d = -o, with m the mean of its triangles' normals there, weighted by their angle at the vertex; d is the
    shortest least-squares solution, so that flat faces and their corners, edges and chamfers come out exact and
    the wall of a meshed cylinder within o / cos(half a facet's turn).
    """
    given = np.asarray(vertices_mm, dtype=np.float64)
    moved = given.copy()
    if len(triangles) == 0 or not np.any(face_offset_mm):
        return moved
    corner_vertex, corner_face, corner_normal, corner_weight = _corners(given, triangles, triangle_face)
    faces_count = len(face_offset_mm)
    pair, place = np.unique(corner_vertex.astype(np.int64) * faces_count + corner_face, return_inverse=True)
    weight = np.bincount(place, weights=corner_weight, minlength=len(pair))
    weight = np.where(weight > 0.0, weight, 1.0)
    mean = np.stack(
        [np.bincount(place, weights=corner_weight * corner_normal[:, k], minlength=len(pair)) for k in range(3)], axis=1
    )
    mean /= weight[:, None]
    length = np.linalg.norm(mean, axis=1)
    short = (length > 0.0) & (length < _SHORTEST_NORMAL)
    mean[short] *= (_SHORTEST_NORMAL / length[short])[:, None]
    moved += _least_moves(
        vertices_count=len(given),
        vertex=pair // faces_count,
        normals=mean,
        offsets=np.asarray(face_offset_mm, dtype=np.float64)[pair % faces_count],
    )
    return moved


def offset_errors_mm(
    *, vertices_mm: Floats, moved_mm: Floats, triangles: Whole, triangle_face: Whole, face_offset_mm: Floats
) -> Floats:
    """How far each face of the moved mesh lies from where its offset wants it, mm, (f,), >= 0: the worst corner.

    vertices_mm, moved_mm (v, 3) before and after; the rest as target_vertices. A triangle thinner than 0.01 mm has no
    direction to speak of and is left out; a face of such triangles alone gets 0.
    """
    corners, shift = vertices_mm[triangles], (moved_mm - vertices_mm)[triangles]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice_area = np.linalg.norm(cross, axis=1)
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    sound = twice_area > _THIN_MM * np.maximum(longest, _THIN_MM)
    normal = cross[sound] / twice_area[sound, None]
    inward = -np.einsum("tkj,tj->tk", shift[sound], normal)
    off = np.abs(inward - np.asarray(face_offset_mm)[triangle_face[sound], None]).max(axis=1)
    worst = np.zeros(len(face_offset_mm))
    np.maximum.at(worst, triangle_face[sound], off)
    return worst


def _corners(points: Floats, triangles: Whole, triangle_face: Whole) -> tuple[Whole, Whole, Floats, Floats]:
    """Of every corner of every triangle: its vertex, face, unit normal and angle; flat triangles weigh nothing."""
    a, b, c = points[triangles[:, 0]], points[triangles[:, 1]], points[triangles[:, 2]]
    cross = np.cross(b - a, c - a)
    twice_area = np.linalg.norm(cross, axis=1)
    sound = twice_area > 1e-14
    normal = np.where(sound[:, None], cross / np.where(sound, twice_area, 1.0)[:, None], 0.0)
    angles = np.stack([_angle(b - a, c - a), _angle(c - b, a - b), _angle(a - c, b - c)], axis=1)
    angles[~sound] = 0.0
    return (
        triangles.reshape(-1),
        np.repeat(triangle_face, 3),
        np.repeat(normal, 3, axis=0),
        angles.reshape(-1),
    )


def _angle(one: Floats, other: Floats) -> Floats:
    """Angle between rows of two (n, 3) arrays, radians."""
    return np.arctan2(np.linalg.norm(np.cross(one, other), axis=1), np.einsum("ij,ij->i", one, other))


def _least_moves(*, vertices_count: int, vertex: NDArray[np.int64], normals: Floats, offsets: Floats) -> Floats:
    """The shortest least-squares solution of n . d = -o of each vertex, (v, 3)."""
    system = np.zeros((vertices_count, 3, 3))
    right = np.zeros((vertices_count, 3))
    for i in range(3):
        right[:, i] = np.bincount(vertex, weights=-offsets * normals[:, i], minlength=vertices_count)
        for j in range(3):
            system[:, i, j] = np.bincount(vertex, weights=normals[:, i] * normals[:, j], minlength=vertices_count)
    values, vectors = np.linalg.eigh(system)
    inverse = np.where(values > _SMOOTH, 1.0 / np.maximum(values, _SMOOTH), 0.0)
    along = np.einsum("vji,vj->vi", vectors, right) * inverse
    return np.einsum("vij,vj->vi", vectors, along)
