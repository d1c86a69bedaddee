"""What a program calls its passes: the work, and faces and holes by the numbers that drawing and papers give them."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.model.work import Pass, Survey

NAMED_MOST = 4
"""Faces that are named one by one, so that a comment's line holds them."""
NUMBERED = "FACES AND HOLES BY THEIR NUMBERS ON DRAWING AND PAPERS"


def headings_of(passes: Iterable[Pass], survey: Survey) -> dict[str, str]:
    """The heading of each pass by its id; a pass that makes no face by itself keeps what it is called."""
    faces = {note.face_id: note.balloon for note in survey.faces}
    holes = sorted(((hole.id, hole.balloon) for hole in survey.holes), key=lambda row: (-len(row[0]), row[0]))
    return {one.id: f"{one.kind}, {_of(one, faces, holes)}" for one in passes}


def _of(one: Pass, faces: dict[str, int], holes: list[tuple[str, int]]) -> str:
    for hole_id, number in holes:
        if one.feature == hole_id or one.feature.startswith(f"{hole_id} "):
            return f"hole {number}{one.feature.removeprefix(hole_id)}"
    known = sorted({faces[face_id] for face_id in one.face_ids if face_id in faces})
    if not known:
        return one.feature
    more = len(known) - NAMED_MOST
    told = " ".join(str(number) for number in (known if more <= 1 else known[:NAMED_MOST]))
    return f"{'faces' if len(known) > 1 else 'face'} {told}" + (f" and {more} more" if more > 1 else "")
