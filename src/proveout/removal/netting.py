"""The metal of three fields as a closed mesh of triangles, for pictures."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from proveout.removal.kernels.merging import flat_quads, merge_rectangles
from proveout.removal.kernels.netting import SUMS_COUNT, cell_points, cross_field, sum_cells, vote_field
from proveout.removal.lattice import Lattice

Floats = NDArray[np.float64]
CREASE_COS = 0.9
"""Triangles that meet at a sharper angle than this one's (26 degrees) have an edge between them."""
LEVEL_MM = 1e-6
MERGED = 2


class Net(NamedTuple):
    """vertices_mm (v, 3) float64, part frame; triangles (t, 3) int32 seen from outside; edges (e, 2) int32 of vertices.

    edges: where the surface has a crease.
    """

    vertices_mm: Floats
    triangles: NDArray[np.int32]
    edges: NDArray[np.int32]


def net_of(lattice: Lattice) -> Net:
    """A closed mesh round all metal, with crisp edges where the rays beside an edge show how its faces lie.

    Args:     lattice: not changed.
    Returns:  empty arrays where there is no metal.  Metal and gaps thinner than a cell can be missed; what is there
              is drawn where the rays cross it, within small shares of a cell on flat faces.
    Valid:    for pictures: no face is judged by it.
    """
    cells = np.array(lattice.cells)
    shape = cells + 2
    strides = np.array([shape[1] * shape[2], shape[2], 1], dtype=np.int64)
    votes = np.zeros(int(shape.prod()), dtype=np.uint8)
    first, step = lattice.first_node_mm, lattice.pitch_mm
    for k in range(3):
        u, v = (k + 1) % 3, (k + 2) % 3
        vote_field(
            lattice.counts[k], lattice.spans[k], *lattice.rays_uv(k), float(first[k]), float(step[k]), int(cells[k]),
            strides[k], strides[u], strides[v], votes,
        )  # fmt: skip
    places, points, normals, leaves, axis = _crossings(lattice, first, step, strides, votes)
    total = len(places)
    if total == 0:
        return Net(np.zeros((0, 3)), np.zeros((0, 3), np.int32), np.zeros((0, 2), np.int32))
    cell_of = np.full(len(votes), -1, dtype=np.int32)
    corners = np.empty((total, 4), dtype=np.int32)
    sums, nodes = np.zeros((4 * total, SUMS_COUNT)), np.empty(4 * total, dtype=np.int64)
    count = sum_cells(
        places, points, normals, strides[(axis + 1) % 3], strides[(axis + 2) % 3], cell_of, corners, sums, nodes
    )
    vertices = np.empty((count, 3))
    cell_points(sums[:count], nodes[:count], first, step, strides, vertices)
    large, is_left = _rectangles(places, corners, axis, leaves, sums, vertices, cell_of, strides)
    small = _split(vertices, corners[is_left], leaves[is_left])
    used, renumbered = np.unique(np.concatenate([large, small]), return_inverse=True)
    triangles = renumbered.reshape(-1, 3).astype(np.int32)
    return Net(vertices[used], triangles, creases(vertices[used], triangles))


def _crossings(
    lattice: Lattice, first: Floats, step: Floats, strides: NDArray[np.int64], votes: NDArray[np.uint8]
) -> tuple[NDArray[np.int64], Floats, Floats, NDArray[np.uint8], NDArray[np.int64]]:
    """Place, point, normal and sense of every crossing, and the axis that its ray runs along."""
    none = np.zeros(0, np.int64), np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0, np.uint8)

    def crossed(k: int, arrays: tuple[np.ndarray, ...], found: int) -> int:
        places, points, normals, leaves = arrays
        return int(
            cross_field(
                lattice.counts[k], lattice.spans[k], *lattice.rays_uv(k), first, step, lattice.cells[k], k, strides,
                votes, places, points, normals, leaves, found,
            )
        )  # fmt: skip

    counted = [crossed(k, none, 0) for k in range(3)]
    total = sum(counted)
    arrays = np.empty(total, np.int64), np.empty((total, 3)), np.empty((total, 3)), np.empty(total, np.uint8)
    found = 0
    for k in range(3) if total else ():
        found = crossed(k, arrays, found)
    return (*arrays, np.repeat(np.arange(3), counted))


def _rectangles(
    places: NDArray[np.int64], corners: NDArray[np.int32], axis: NDArray[np.int64], leaves: NDArray[np.uint8],
    sums: Floats, vertices: Floats, cell_of: NDArray[np.int32], strides: NDArray[np.int64],
) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:  # fmt: skip
    """Triangles of level rectangles, and (n,) which crossings are in none of them."""
    flat = np.zeros(len(places), np.uint8)
    flat_quads(places, corners, axis, sums, vertices, LEVEL_MM, flat)
    triangles = np.empty((2 * len(places), 3), dtype=np.int32)
    found = 0
    for k in range(3):
        begin, stop = np.searchsorted(axis, [k, k + 1])
        quad_at = np.full(len(cell_of), -1, dtype=np.int32)
        quad_at[places[begin:stop]] = np.arange(begin, stop)
        found = merge_rectangles(
            places, leaves, flat, quad_at, cell_of, strides[(k + 1) % 3], strides[(k + 2) % 3], begin, stop, triangles,
            found,
        )  # fmt: skip
    return triangles[:found], flat != MERGED


def _split(vertices: Floats, corners: NDArray[np.int32], leaves: NDArray[np.uint8]) -> NDArray[np.int32]:
    """Two triangles of each crossing, cut along the shorter way across."""
    quads = np.where(leaves[:, None] == 1, corners, corners[:, ::-1])
    a, b, c, d = (vertices[quads[:, n]] for n in range(4))
    is_other = ((a - c) ** 2).sum(axis=1) > ((b - d) ** 2).sum(axis=1)
    quads = np.where(is_other[:, None], np.roll(quads, -1, axis=1), quads)
    return np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.int32)


def creases(vertices: Floats, triangles: NDArray[np.int32]) -> NDArray[np.int32]:
    """(e, 2) int32, edges of a mesh at which two triangles meet at an angle, each once."""
    p, q, r = (vertices[triangles[:, n]] for n in range(3))
    normals = np.cross(q - p, r - p)
    long = np.linalg.norm(normals, axis=1)
    normals /= np.where(long > 0.0, long, 1.0)[:, None]
    ends = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]).astype(np.int64)
    owner = np.tile(np.arange(len(triangles)), 3)
    low, high = ends.min(axis=1), ends.max(axis=1)
    order = np.argsort(low * len(vertices) + high, kind="stable")
    low, high, owner = low[order], high[order], owner[order]
    same = np.flatnonzero((low[1:] == low[:-1]) & (high[1:] == high[:-1]))
    one, two = owner[same], owner[same + 1]
    bent = (normals[one] * normals[two]).sum(axis=1) < CREASE_COS
    sized = (long[one] > 0.0) & (long[two] > 0.0)
    kept = same[bent & sized]
    return np.column_stack([low[kept], high[kept]]).astype(np.int32)
