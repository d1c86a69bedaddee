"""STEP files from outside: read, measured and drawn in a child process, refused in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec

from proveout.intake.process import MEMORY_LIMIT_BYTES, Child
from proveout.model.solid import Drawing, Point, ReadSolid, Solid
from proveout.quantities.errors import BadInput, Unreadable
from proveout.solids import pmi_text, step_text

FILE_SIZE_LIMIT_BYTES = 200 * 1024**2
DRAWN_LIMIT_S = 900.0
"""Drawings that take seconds alone may wait long for a processor; who waits for them may end the run before."""
DEFLECTION_MM = 0.01
PMI_BROKEN = (
    "Reading broke on the sizes and tolerances that the file writes, so that the solid alone was taken: look at its "
    "drawing for them."
)


def read_solid(
    path: Path | str,
    *,
    solid_name: str = "",
    time_limit_s: float = 120.0,
    memory_limit_bytes: int = MEMORY_LIMIT_BYTES,
    deflection_mm: float = DEFLECTION_MM,
) -> ReadSolid:
    """The largest solid of a STEP file (or the one named) with what the owner should know about the file.

    Raises Unreadable for a file that is no whole STEP file or holds no usable solid, BadInput for a path or solid name
    that does not exist, OutOfTime after time_limit_s.
    """
    file = Path(path)
    if not file.is_file():
        fault = "The path is a folder, not a STEP file" if file.is_dir() else "There is no such file"
        raise BadInput(fault, where=file.name or str(path), do="name a STEP file")
    try:
        size_bytes = file.stat().st_size
        with file.open("rb") as opened:
            head = opened.read(step_text.END_LENGTH)
            opened.seek(max(0, size_bytes - step_text.END_LENGTH))
            tail = opened.read(step_text.END_LENGTH)
    except OSError as cause:
        raise Unreadable("The file cannot be opened", where=file.name, do="check its permissions") from cause
    if size_bytes > FILE_SIZE_LIMIT_BYTES:
        raise Unreadable(
            "The file is too large",
            where=file.name,
            value=f"{size_bytes / 1024**2:.0f} MB",
            limit=f"{FILE_SIZE_LIMIT_BYTES / 1024**2:.0f} MB",
            do="export the one part alone",
        )
    step_text.check_ends(head.decode("utf-8", "replace"), tail.decode("utf-8", "replace"), where=file.name)

    def child(*, with_pmi: bool) -> Child:
        wanted = {"path": file.resolve(), "solid_name": solid_name, "deflection_mm": deflection_mm}
        return Child(
            "read", {**wanted, "with_pmi": with_pmi}, where=file.name, time_limit_s=time_limit_s,
            memory_limit_bytes=memory_limit_bytes,
        )  # fmt: skip

    try:
        return child(with_pmi=True).result()
    except Unreadable:
        if not pmi_text.writes_pmi(file.read_bytes().decode("utf-8", errors="replace")):
            raise
    # the solid may be sound where the sizes beside it break the kernel
    bare: ReadSolid = child(with_pmi=False).result()
    return msgspec.structs.replace(bare, warnings=(*bare.warnings, PMI_BROKEN))


def begin_drawings(
    solid: Solid, views: Sequence[tuple[Point, Point]], *, time_limit_s: float = DRAWN_LIMIT_S
) -> Child:  # fmt: skip
    """Begin hidden-line drawings of a solid in a child process, one per (view_direction, up)."""
    return Child("draw", {"brep": solid.brep, "views": list(views)}, where=solid.name, time_limit_s=time_limit_s)


def drawings(
    solid: Solid, views: Sequence[tuple[Point, Point]], *, time_limit_s: float = DRAWN_LIMIT_S
) -> tuple[Drawing, ...]:  # fmt: skip
    """Hidden-line drawings of a solid, one per (view_direction, up), all made in one child process."""
    return begin_drawings(solid, views, time_limit_s=time_limit_s).result()


def drawing(solid: Solid, *, view_direction: Point, up: Point, time_limit_s: float = 120.0) -> Drawing:
    """One hidden-line drawing of a solid as seen along view_direction with up pointing up the page."""
    return drawings(solid, [(view_direction, up)], time_limit_s=time_limit_s)[0]


def nearest_faces(solid: Solid, one: int, other: int, *, time_limit_s: float = 60.0) -> tuple[float, Point, Point]:
    """The shortest distance in mm of two faces, by their indices, and where it is, worked out in a child process."""
    places = {"one": solid.faces[one].brep_index, "other": solid.faces[other].brep_index}
    found: tuple[float, Point, Point] = Child(
        "nearest", {"brep": solid.brep, **places}, where=solid.name, time_limit_s=time_limit_s
    ).result()
    return found
