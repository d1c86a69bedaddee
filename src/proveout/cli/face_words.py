"""Faces, holes, passes and clampings in words with size and place, in the stead of their ids."""

from __future__ import annotations

import re
from collections.abc import Mapping

from proveout.model.plan import FirstLook, Plan
from proveout.model.work import Hole

Place = tuple[float, float, float]
FACE_ID = re.compile(
    r"(?P<kind>plane|cylinder|cone|sphere|torus|other)(?P<rest>(?: [^\s;:#]+)*?) #[0-9a-f]{6,}(?:\.\d+)?"
)
AXES = {"+x": "x", "-x": "x", "+y": "y", "-y": "y", "+z": "z", "-z": "z"}
PARTS_OF_HOLE = {"cylinder": "wall", "cone": "cone", "plane": "floor"}
ROUND = {"in": "inside", "out": "outside"}


class FaceWords:
    """Puts the ids in a text plainly.

    Args:     plan: gives balloon numbers, holes, passes and clampings.   places: face id to its middle, mm, part frame.
    """

    def __init__(self, plan: Plan | FirstLook, places: Mapping[str, Place]) -> None:
        self._places = places
        self._notes = {note.face_id: note for note in plan.survey.faces}
        self._holes = {hole.id: hole for hole in plan.survey.holes}
        numbers = {c.id: c.number for c in plan.clampings}
        table = {id: self._hole(hole) for id, hole in self._holes.items()}
        for one in plan.passes:
            hole = max((id for id in self._holes if one.feature.startswith(id)), key=len, default="")
            what = FACE_ID.sub(self._of_match, table.get(hole, "") + one.feature.removeprefix(hole))
            table[one.id] = f"{one.kind} of {what} with {one.cutter_id}, clamping {numbers.get(one.clamping_id, '?')}"
        table |= {c.id: f"clamping {c.number}" for c in plan.clampings}
        self._table = table
        found = sorted(table, key=lambda key: (-len(key), key))
        self._finder = re.compile("|".join(map(re.escape, found))) if found else None

    def text(self, text: str) -> str:
        """The text with every id put plainly."""
        if self._finder is not None:
            text = self._finder.sub(lambda match: self._table[match.group(0)], text)
        return FACE_ID.sub(self._of_match, text)

    def _of_match(self, match: re.Match[str]) -> str:
        face_id = match.group(0)
        note = self._notes.get(face_id)
        words = _shape(match.group("kind"), match.group("rest").split())
        if note is not None and note.hole_id in self._holes:
            part = PARTS_OF_HOLE.get(match.group("kind"), "part")
            return f"{part} of {self._hole(self._holes[note.hole_id])}"
        place = self._places.get(face_id)
        if place is not None and match.group("kind") != "plane":
            words += f" at {_place(place)}"
        return f"{words} (face {note.balloon})" if note is not None else words

    def _hole(self, hole: Hole) -> str:
        return f"hole {hole.balloon} (Ø{_number(hole.diameter_mm)} at {_place(hole.entry_mm)})"


def _shape(kind: str, rest: list[str]) -> str:
    """A face's kind and size in words, from the parts of its id."""
    if kind == "plane" and len(rest) == 2:
        way, offset = rest
        if way in AXES:
            sign = -1.0 if way[0] == "-" else 1.0
            return f"flat facing {way} at {AXES[way]} {_number(sign * float(offset))}"
        return f"flat facing {way}, {_number(float(offset))} mm from the origin"
    if kind in ("cylinder", "sphere") and len(rest) >= 2:
        size = f"Ø{_number(float(rest[1].removeprefix('d')))}"
        what = "round" if kind == "cylinder" else "ball"
        along = f" along {rest[2]}" if len(rest) > 2 else ""
        return f"{ROUND.get(rest[0], rest[0])} {what} {size}{along}"
    if kind == "cone" and len(rest) == 3:
        return f"{ROUND.get(rest[0], rest[0])} cone {_number(float(rest[1].removesuffix('deg')))}° along {rest[2]}"
    if kind == "torus" and rest:
        return f"{ROUND.get(rest[0], rest[0])} ring {' '.join(rest[1:])}".rstrip()
    return "sculpted face"


def _number(value: float) -> str:
    return f"{round(value, 2) + 0.0:g}"


def _place(place: Place) -> str:
    return ", ".join(f"{round(v, 1) + 0.0:g}" for v in place)
