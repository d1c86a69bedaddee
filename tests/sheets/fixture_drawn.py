"""Sizes, tolerances and datums as a STEP file might write them on the clamp jaw (invented)."""

from __future__ import annotations

from fixture_names import BACK, BOTTOM, FLANK, SLOT_A, TAPPED

from proveout.model.pmi import PmiNote

NOTES = (
    PmiNote(kind="size", text="18.5 ±0.15", status="used", balloons=(1,), face_ids=(SLOT_A,)),
    PmiNote(
        kind="size", text="62.25° ±0.75°", status="not used", why="the plan judges no angles: measure as drawn",
        balloons=(2,), face_ids=(FLANK,),
    ),
    PmiNote(
        kind="tolerance", text="position Ø0.375 to A", status="not used", why="measure as drawn", balloons=(3,),
        face_ids=(TAPPED,),
    ),
    PmiNote(kind="tolerance", text="flatness 0.045", status="not used", why="measure as drawn", face_ids=(BACK,)),
    PmiNote(kind="datum", text="datum A", status="not used", why="measure as drawn", face_ids=(BOTTOM,)),
)  # fmt: skip
