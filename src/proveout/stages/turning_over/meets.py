"""Which passes leave each face, and where a face of one clamping goes on from a face of another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import triangle_normals
from proveout.model.solid import Face, Solid
from proveout.model.work import Clamping, Pass, PassKind, Tilt

LEAVES: tuple[PassKind, ...] = (
    "face", "finish wall", "finish floor", "finish surface", "drill", "peck", "counterbore", "bore", "ream", "undercut",
)  # fmt: skip
"""Passes that leave a face as it stays; roughing leaves metal on it, and broken edges meet nothing evenly."""
PLACE_DIGITS, TURN_DIGITS = 4, 6
NORMALS_MOST = 24
"""Headings of a curved face that are tried."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CutAt:
    """A face is left by some pass of this clamping at this tilt."""

    clamping: Clamping
    tilt: Tilt

    @property
    def is_turned(self) -> bool:
        """Whether the table is turned for it."""
        return self.tilt.a_rad != 0.0 or self.tilt.c_rad != 0.0


@dataclass(frozen=True)
class Joint:
    """Two faces that should lie level where they meet, or one face that two clampings cut; the same face twice then.

    normals: (n, 3) unit directions in which a step would show.
    """

    faces: tuple[Face, Face]
    normals: Floats


def cuts_by_face(passes: Sequence[Pass], clampings: Sequence[Clamping]) -> dict[str, tuple[CutAt, ...]]:
    """Face id to where it is left, in working order, each clamping and tilt once."""
    by_id = {c.id: c for c in clampings}
    found: dict[str, list[CutAt]] = {}
    for one in passes:
        clamping = by_id.get(one.clamping_id)
        if clamping is None or one.kind not in LEAVES:
            continue
        tilt = next((t for t in clamping.tilts if t.id == one.tilt_id), None)
        if tilt is None:
            continue
        for face_id in one.face_ids:
            at = CutAt(clamping, tilt)
            if at not in found.setdefault(face_id, []):
                found[face_id].append(at)
    return {face_id: tuple(cuts) for face_id, cuts in found.items()}


def joints(solid: Solid, cuts: Mapping[str, tuple[CutAt, ...]]) -> tuple[tuple[Joint, ...], ...]:
    """Joints between clampings, those that hang together in one group; none where all is cut in one clamping.

    A joint is a face that two clampings cut, two faces of one plane or cylinder, or two that run smoothly into each
    other. Faces that meet at a corner only move the corner.
    """
    pairs: set[tuple[int, int]] = {(face.index, face.index) for face in solid.faces}
    same: dict[tuple[object, ...], list[int]] = {}
    for face in solid.faces:
        key = _surface(face)
        if key is not None:
            same.setdefault(key, []).append(face.index)
    pairs |= {(group[i], group[j]) for group in same.values() for i in range(len(group)) for j in range(i)}
    pairs |= {edge.faces for edge in solid.edges if edge.convexity == "smooth" and edge.faces[0] != edge.faces[1]}
    found: list[tuple[int, int]] = []
    for i, j in sorted({(min(pair), max(pair)) for pair in pairs}):
        names = [{at.clamping.id for at in cuts.get(solid.faces[k].id, ())} for k in (i, j)]
        if any(a != b for a in names[0] for b in names[1]):
            found.append((i, j))
    groups = _hanging_together(found)
    return tuple(
        tuple(Joint((solid.faces[i], solid.faces[j]), _normals(solid, i, j)) for i, j in one) for one in groups
    )


def _surface(face: Face) -> tuple[object, ...] | None:
    """What two faces of one plane or cylinder have alike; None for other surfaces."""
    surface = face.surface
    if surface.kind not in ("plane", "cylinder"):
        return None
    place = tuple(round(v, PLACE_DIGITS) + 0.0 for v in (*surface.origin_mm, surface.radius_mm))
    turn = tuple(round(v, TURN_DIGITS) + 0.0 for v in surface.axis)
    return (surface.kind, face.inward, *place, *turn)


def _hanging_together(pairs: Sequence[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    """Pairs that share a face, over any number of steps, in one list; in order of their lowest face."""
    root: dict[int, int] = {}

    def top(i: int) -> int:
        while root.setdefault(i, i) != i:
            i = root[i]
        return i

    for i, j in pairs:
        a, b = sorted((top(i), top(j)))
        root[b] = a
    groups: dict[int, list[tuple[int, int]]] = {}
    for pair in pairs:
        groups.setdefault(top(pair[0]), []).append(pair)
    return [groups[key] for key in sorted(groups)]


def _normals(solid: Solid, i: int, j: int) -> Floats:
    """Of the flat one where one is flat, else of both faces' triangles, thinned out."""
    for k in (i, j):
        if solid.faces[k].surface.kind == "plane":
            return np.array([solid.faces[k].normal])
    rows = np.isin(solid.triangle_face, (i, j))
    normals = triangle_normals(solid.vertices_mm, solid.triangles[rows])
    # a step outward and one inward are alike
    kinds = np.unique(np.round(np.where(_points_down(normals)[:, None], -normals, normals), 2), axis=0)
    kinds = kinds[np.linalg.norm(kinds, axis=1) > 0.5]
    if not len(kinds):  # slivers without area
        return np.array([solid.faces[k].normal for k in (i, j)])
    kept = kinds[np.unique(np.linspace(0, len(kinds) - 1, min(NORMALS_MOST, len(kinds))).astype(int))]
    return kept / np.linalg.norm(kept, axis=1)[:, None]


def _points_down(normals: Floats) -> NDArray[np.bool_]:
    first = np.array([next((v for v in row[::-1] if abs(v) > 1e-6), 1.0) for row in normals])
    return first < 0.0
