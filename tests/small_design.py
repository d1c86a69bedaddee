"""A part of two faces written by hand: a bore numbered 1 and the flat it opens to, numbered 2."""

from __future__ import annotations

from typing import Any

import numpy as np

from proveout.jobs.asked_part import Design
from proveout.model.solid import Face, ReadSolid, Solid, Surface
from proveout.model.work import FaceNote, Hole, HoleStep, Survey

NOT_NEEDED: dict[str, Any] = {
    "edges": (), "vertices_mm": np.zeros((0, 3)), "triangles": np.zeros((0, 3), np.int32),
    "triangle_face": np.zeros(0, np.int32), "brep": b"", "edge_tolerance_max_mm": 0.0, "mesh_deflection_mm": 0.0,
    "mesh_is_closed": True, "is_valid": True, "unit_declared": "mm", "digest": "0",
}  # fmt: skip


def face(name: str, index: int, surface: Surface, *, inward: bool = False) -> Face:
    return Face(
        id=name, index=index, surface=surface, area_mm2=120.0, centroid_mm=(10.0, 5.0, 18.0), normal=(0.0, 0.0, 1.0),
        inward=inward, low_mm=(0.0, 0.0, 0.0), high_mm=(1.0, 1.0, 1.0), along_low_mm=0.0, along_high_mm=1.0,
        turn_rad=0.0,
        surface_group=index, edge_indices=(), brep_index=index,
    )  # fmt: skip


def small_part() -> tuple[ReadSolid, Survey]:
    plane = Surface(kind="plane", origin_mm=(0.0, 0.0, 18.0), axis=(0.0, 0.0, 1.0))
    wall = Surface(kind="cylinder", origin_mm=(0.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0), radius_mm=10.0)
    faces = (face("cylinder in d20.000 z #aaaaaa", 0, wall, inward=True), face("plane +z 18.000 #bbbbbb", 1, plane))
    solid = Solid(
        name="x",
        faces=faces,
        volume_mm3=1.0,
        area_mm2=1.0,
        low_mm=(0.0, 0.0, 0.0),
        high_mm=(40.0, 40.0, 18.0),
        **NOT_NEEDED,
    )
    step = HoleStep(kind="cylinder", diameter_mm=20.0, depth_low_mm=0.0, depth_high_mm=16.0, face_ids=(faces[0].id,))
    hole = Hole(
        id="hole +z dia 20.000 at 0.000,0.000,18.000", balloon=1, entry_mm=(0.0, 0.0, 18.0), outward=(0.0, 0.0, 1.0),
        steps=(step,), is_through=False, bottom="flat",
    )  # fmt: skip
    notes = (
        FaceNote(face_id=faces[0].id, index=0, balloon=1, kind="cylinder", area_mm2=120.0, hole_id=hole.id),
        FaceNote(face_id=faces[1].id, index=1, balloon=2, kind="plane", area_mm2=120.0),
    )
    survey = Survey(faces=notes, holes=(hole,), directions=(), access=(), unreached=())
    read = ReadSolid(solid=solid, other_solids=(), warnings=("Is it\nin mm?",), unit_is_doubtful=True)
    return read, survey


def small_design() -> Design:
    """The part as a page knows it."""
    read, survey = small_part()
    return Design(read=read, survey=survey)
