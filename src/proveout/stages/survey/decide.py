"""Survey: number every hole and face, name features, find inside corners and the directions worth looking from."""

from __future__ import annotations

import numpy as np

from proveout.geometry.frames import triple
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.model.work import FaceNote, Hole, Survey, Vector
from proveout.recognition.holes import find_holes
from proveout.recognition.recognise import recognise

AXES: tuple[Vector, ...] = (
    (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0),
)  # fmt: skip
DIRECTIONS_MAX = 26


def decide(*, solid: Solid, run: Run) -> Decision[Survey]:
    """Faces, holes and candidate directions of a solid.

    Args:     solid: as read.   run: progress.
    Returns:  Survey with access and unreached still empty: reach fills them.
    """
    run.check("survey", "holes and faces")
    holes = _numbered(find_holes(solid))
    owner = {face_id: hole for hole in holes for step in hole.steps for face_id in step.face_ids}
    corners = _corner_radii(solid, set(owner))
    notes: list[FaceNote] = []
    balloon = len(holes)
    for face in sorted(solid.faces, key=lambda f: f.id):
        hole = owner.get(face.id)
        if hole is None:
            balloon += 1
        notes.append(
            FaceNote(
                face_id=face.id,
                index=face.index,
                balloon=hole.balloon if hole else balloon,
                kind=face.surface.kind,
                area_mm2=round(face.area_mm2, 6),
                hole_id=hole.id if hole else "",
                corner_mm=corners.get(face.index),
            )
        )
    survey = Survey(
        faces=tuple(notes), holes=holes, directions=_directions(solid, holes), access=(), unreached=(),
        features=recognise(solid, holes),
    )  # fmt: skip
    return Decision(value=survey, proofs=_proofs(solid))


def _numbered(holes: tuple[Hole, ...]) -> tuple[Hole, ...]:
    seen: dict[str, int] = {}
    out: list[Hole] = []
    for number, hole in enumerate(holes, start=1):
        seen[hole.id] = seen.get(hole.id, 0) + 1
        tail = f" ({seen[hole.id]})" if seen[hole.id] > 1 else ""
        out.append(
            Hole(
                id=hole.id + tail,
                balloon=number,
                entry_mm=hole.entry_mm,
                outward=hole.outward,
                steps=hole.steps,
                is_through=hole.is_through,
                bottom=hole.bottom,
            )
        )
    return tuple(out)


def _corner_radii(solid: Solid, hole_faces: set[str]) -> dict[int, float]:
    """Smallest inside-corner radius on or beside each face, by face index."""
    radius = {
        f.index: f.surface.radius_mm
        for f in solid.faces
        if f.surface.kind == "cylinder" and f.inward and f.id not in hole_faces
    }
    out = dict(radius)
    for edge in solid.edges:
        a, b = edge.faces
        for one, other in ((a, b), (b, a)):
            if one in radius and edge.convexity == "smooth":
                out[other] = min(out.get(other, radius[one]), radius[one])
    return out


def _directions(solid: Solid, holes: tuple[Hole, ...]) -> tuple[Vector, ...]:
    """Axes first, then hole axes, then normals of the larger planes; at most DIRECTIONS_MAX."""
    wanted: list[Vector] = list(AXES)
    for hole in holes:
        wanted.append(hole.outward)
        if hole.is_through:
            wanted.append(triple(-np.array(hole.outward)))
    planes = sorted((f for f in solid.faces if f.surface.kind == "plane"), key=lambda f: (-f.area_mm2, f.id))
    wanted.extend(triple(f.normal) for f in planes)
    kept: list[Vector] = []
    for direction in wanted:
        if all(float(np.dot(direction, k)) < 0.99985 for k in kept):
            kept.append(triple(np.round(direction, 9)))
        if len(kept) >= DIRECTIONS_MAX:
            break
    return tuple(kept)


def _proofs(solid: Solid) -> tuple[Proof, ...]:
    closed = prove(
        id="survey:solid:mesh closed", stage="survey", subject="solid", claim="the mesh of the solid is closed",
        sense="at least", found_low=1.0 if solid.mesh_is_closed else 0.0,
        found_high=1.0 if solid.mesh_is_closed else 0.0, limit=1.0, unit="yes = 1", blocks_release=True,
        basis=Basis(formula="every mesh edge is used once in each sense", source="own-algorithm"),
        remedy="repair the solid where it was drawn, and export it again",
    )  # fmt: skip
    gap = prove(
        id="survey:solid:edge gap", stage="survey", subject="solid", claim="edges of the file meet closely enough",
        sense="at most", found_low=solid.edge_tolerance_max_mm, found_high=solid.edge_tolerance_max_mm, limit=0.01,
        unit="mm", blocks_release=False,
        basis=Basis(formula="largest edge and vertex tolerance stored in the file", source="own-algorithm"),
        remedy="export the solid with a finer tolerance",
    )  # fmt: skip
    return (closed, gap)
