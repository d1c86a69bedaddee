"""Radii and angles that the STEP file writes, as sizes of the job where they can be measured on its faces."""

from __future__ import annotations

from proveout.model.job import Size
from proveout.model.pmi import DrawnSize
from proveout.model.shop import Noun
from proveout.model.size_text import read_size
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.stages.finishing.features import LENGTH_MM, faces_of_balloon
from proveout.stages.finishing.notes import angle_deg, radius_mm

UNEVEN = "of radii and angles limits are taken that are the same both ways: type it, or measure as drawn"
NO_FACES = "it is tied to edges or points, not to faces: measure as drawn"
# degrees by which a solid's angle may differ from what its own file says
ANGLE_DEG = 0.01


class FoundNote(Noun, frozen=True, kw_only=True):
    """A radius or angle of the file as a size without a letter; or why it cannot be one, or what goes before it."""

    size: Size | None = None
    why: str = ""
    own: Size | None = None


def note_of_file(
    drawn: DrawnSize, sizes: list[Size], *, solid: Solid, survey: Survey, balloons: dict[str, int]
) -> FoundNote:
    """The radius or angle, or why it is none; own: what the job writes for it on the same faces."""
    ids = (*drawn.face_ids, *drawn.other_ids)
    written = read_size(f"R{drawn.text}" if drawn.kind == "radius" else drawn.text)
    if written.manner != drawn.kind or written.nominal_mm is None or not written.high_deviation_mm:
        return FoundNote(why=UNEVEN)
    if not ids:
        return FoundNote(why=NO_FACES)
    faces = [solid.face(face_id) for face_id in ids]
    is_radius = drawn.kind == "radius"
    found = radius_mm(faces) if is_radius else angle_deg(faces, solid, written.nominal_mm)
    if found is None:
        return FoundNote(why=f"its faces have no one {drawn.kind}: measure as drawn")
    if abs(found - written.nominal_mm) > (LENGTH_MM if is_radius else ANGLE_DEG):
        return FoundNote(why=f"its faces measure {found:.6g} {'mm' if is_radius else '°'}: measure as drawn")
    own = next((size for size in sizes if size.origin != "step-file" and _is_of(size, drawn, ids, survey)), None)
    first = min(ids, key=lambda face_id: (balloons.get(face_id, 0), face_id))
    ordered = (first, *(face_id for face_id in ids if face_id != first))
    text = f"R{drawn.text}" if is_radius else drawn.text
    return FoundNote(
        size=Size(balloon=balloons.get(first, 0), text=text, face_ids=ordered, origin="step-file"), own=own
    )  # fmt: skip


def writes_same(own: Size, taken: Size) -> bool:
    """The job and the file write the same limits."""
    one, other = read_size(own.text), read_size(taken.text)
    return (one.nominal_mm, one.high_deviation_mm) == (other.nominal_mm, other.high_deviation_mm)


def _is_of(size: Size, drawn: DrawnSize, ids: tuple[str, ...], survey: Survey) -> bool:
    own = set(size.face_ids or faces_of_balloon(size.balloon, survey))
    return read_size(size.text).manner == drawn.kind and bool(own & set(ids))
