"""The faces of a mesh as one cutter axis sees them: floor, wall, inclined, leaning under, curved."""

from __future__ import annotations

import math
from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Seen = Literal["floor", "wall", "inclined", "cone", "curved", "under", "away"]

LEAN_RATIO = 2e-3
"""A face whose normal's share along the axis is below this counts as a wall: 2 µm over 1 mm."""


class Facet(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """One face in the frame whose z is the cutter axis.

    rows: its triangles.  normal: area-weighted mean, unit.  is_flat: all its points lie within 1 µm of one plane.
    lean_low, lean_high, lean_middle: smallest, largest and area-weighted z share of its triangles' normals.
    low_mm, high_mm: its box.
    """

    index: int
    rows: NDArray[np.int64]
    area_mm2: float
    normal: Array
    is_flat: bool
    lean_low: float
    lean_high: float
    lean_middle: float
    low_mm: Array
    high_mm: Array

    @property
    def is_ceiling(self) -> bool:
        """Flat and looking straight down along the axis."""
        return self.is_flat and len(self.rows) > 0 and float(self.normal[2]) < -(1.0 - 1e-6)

    @property
    def seen(self) -> Seen:
        """How the cutter axis meets the face."""
        if max(abs(self.lean_low), abs(self.lean_high)) < LEAN_RATIO:
            return "wall"
        if self.is_flat:
            lean = float(self.normal[2])
            if lean > 1.0 - 1e-6:
                return "floor"
            if lean < -(1.0 - 1e-6):
                return "away"
            return "inclined" if lean > 0.0 else "under"
        if self.lean_high < LEAN_RATIO:
            return "away"
        if self.lean_low > 0.0 and self.lean_high - self.lean_low < 0.08:
            return "cone"
        return "curved"


def facets_of(
    *, points_mm: Array, triangles: NDArray[np.int32], triangle_face: NDArray[np.int32], count: int
) -> list[Facet]:
    """One Facet per face; points (v, 3) in the cutter's frame, triangles (t, 3), triangle_face (t,) below count.

    Faces without triangles get an empty Facet that counts as "away".
    """
    a, b, c = (points_mm[triangles[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    twice = np.linalg.norm(cross, axis=1)
    longest = np.max([np.linalg.norm(b - a, axis=1), np.linalg.norm(c - b, axis=1), np.linalg.norm(a - c, axis=1)], 0)
    order = np.argsort(triangle_face, kind="stable")
    bounds = np.searchsorted(triangle_face[order], np.arange(count + 1))
    facets: list[Facet] = []
    for index in range(count):
        rows = order[bounds[index] : bounds[index + 1]].astype(np.int64)
        if len(rows) == 0:
            facets.append(_nothing(index))
            continue
        total = cross[rows].sum(axis=0)
        size = float(np.linalg.norm(total))
        normal = total / size if size > 1e-12 else np.array([0.0, 0.0, -1.0])
        used = points_mm[np.unique(triangles[rows])]
        heights = used @ normal
        flat = bool(np.ptp(heights) < 2e-3) and size > 0.999 * float(twice[rows].sum())
        good = rows[twice[rows] > np.maximum(1e-3 * longest[rows] ** 2, 1e-9)]  # slivers have no reliable normal
        if len(good) == 0:
            good = rows
        leans = cross[good, 2] / np.maximum(twice[good], 1e-300)
        facets.append(
            Facet(
                index=index,
                rows=rows,
                area_mm2=float(twice[rows].sum()) / 2.0,
                normal=normal,
                is_flat=flat,
                lean_low=float(normal[2]) if flat else float(leans.min()),
                lean_high=float(normal[2]) if flat else float(leans.max()),
                lean_middle=float(total[2] / max(float(twice[rows].sum()), 1e-300)),
                low_mm=used.min(axis=0),
                high_mm=used.max(axis=0),
            )
        )
    return facets


def _nothing(index: int) -> Facet:
    zero = np.zeros(3)
    return Facet(
        index=index,
        rows=np.zeros(0, dtype=np.int64),
        area_mm2=0.0,
        normal=np.array([0.0, 0.0, -1.0]),
        is_flat=True,
        lean_low=-1.0,
        lean_high=-1.0,
        lean_middle=-1.0,
        low_mm=zero,
        high_mm=zero,
    )


def hollow_radius_mm(*, facet: Facet, points_mm: Array, triangles: NDArray[np.int32]) -> float | None:
    """Radius of a wall that curves around the cutter (an inside corner or bore), None when flat or outside.

    The circle is fitted by least squares to the wall's points seen along z.
    """
    if facet.is_flat or facet.seen != "wall":
        return None
    used = points_mm[np.unique(triangles[facet.rows])][:, :2]
    centre_of = used.mean(axis=0)
    shifted = used - centre_of
    system = np.column_stack([2.0 * shifted, np.ones(len(shifted))])
    answer, _, rank, _ = np.linalg.lstsq(system, (shifted**2).sum(axis=1), rcond=None)
    if rank < 3:
        return None
    square = float(answer[2] + answer[0] ** 2 + answer[1] ** 2)
    if square <= 0.0:
        return None
    centre = answer[:2] + centre_of
    corners = points_mm[triangles[facet.rows]]
    outward = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, :2]
    towards = centre - corners.mean(axis=1)[:, :2]
    return math.sqrt(square) if float((outward * towards).sum()) > 0.0 else None


def touching_faces(*, triangles: NDArray[np.int32], triangle_face: NDArray[np.int32], count: int) -> list[set[int]]:
    """For each face the faces that share an edge of the mesh with it."""
    edges = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    owners = np.concatenate([triangle_face] * 3)
    order = np.lexsort((owners, edges[:, 1], edges[:, 0]))
    edges, owners = edges[order], owners[order]
    same = (edges[1:] == edges[:-1]).all(axis=1) & (owners[1:] != owners[:-1])
    found: list[set[int]] = [set() for _ in range(count)]
    for first, second in zip(owners[:-1][same].tolist(), owners[1:][same].tolist(), strict=True):
        found[first].add(second)
        found[second].add(first)
    return found


def closed_mesh(*, points_mm: Array, triangles: NDArray[np.int32]) -> Any | None:
    """The mesh as a closed body of the boolean library, None when it will not take it."""
    import manifold3d

    mesh = manifold3d.Mesh64(
        np.array(points_mm, dtype=np.float64, order="C"), np.array(triangles, dtype=np.uint64, order="C")
    )
    body = manifold3d.Manifold(mesh)
    if body.status() != manifold3d.Error.NoError or body.is_empty():
        mesh.merge()
        body = manifold3d.Manifold(mesh)
    return body if body.status() == manifold3d.Error.NoError and not body.is_empty() else None
