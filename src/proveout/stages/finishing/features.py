"""Find what a balloon stands for on the solid: a hole, a shaft or the length between two planes."""

from __future__ import annotations

from typing import Literal

import numpy as np

from proveout.model.job import Size
from proveout.model.shop import Noun
from proveout.model.solid import Face, Solid
from proveout.model.work import Hole, Survey

# a written length belongs to a face that lies within this of it; ends nearer to each other than SAME_MM are level
LENGTH_MM = 0.5
SAME_MM = 1e-4


class Feature(Noun, frozen=True, kw_only=True):
    """The thing measured. size_mm: diameter or length of the finished solid, to the nanometre.

    is_inside: the size grows when metal is taken away (hole, slot).  hole: id of its hole, "" for none.
    """

    kind: Literal["hole", "shaft", "length"]
    size_mm: float
    face_ids: tuple[str, ...]
    is_inside: bool
    hole: str = ""


class NotFound(Noun, frozen=True, kw_only=True):
    """Why a balloon could not be resolved, as an instruction to the owner."""

    do: str


def faces_of_balloon(balloon: int, survey: Survey) -> tuple[str, ...]:
    """Ids of all faces under a balloon: every step of a hole, or one face; empty when there is none."""
    for hole in survey.holes:
        if hole.balloon == balloon:
            return tuple(face_id for step in hole.steps for face_id in step.face_ids)
    return tuple(note.face_id for note in survey.faces if note.balloon == balloon)


def hole_of_balloon(balloon: int, survey: Survey) -> Hole | None:
    """The hole under a balloon, None when it stands for a face."""
    return next((hole for hole in survey.holes if hole.balloon == balloon), None)


def find_feature(*, size: Size, wanted_mm: float | None, solid: Solid, survey: Survey) -> Feature | NotFound:
    """The feature a written size measures.

    Faces named with the size win; otherwise the hole or face under its balloon. Of a stepped hole it is the
    cylinder nearest to `wanted_mm`, or the smallest when no size was typed. Of one flat face it is the length to the
    only face that looks the other way at that distance.
    """
    known = {face.id: face for face in solid.faces}
    unknown = [face_id for face_id in size.face_ids if face_id not in known]
    if unknown:
        return NotFound(do=f"name faces of this solid; {unknown[0]!r} is none")
    hole = hole_of_balloon(size.balloon, survey)
    if size.face_ids:
        faces = [known[face_id] for face_id in size.face_ids]
    elif hole is not None:
        return _of_hole(hole, wanted_mm)
    else:
        faces = [known[face_id] for face_id in faces_of_balloon(size.balloon, survey) if face_id in known]
    if not faces:
        return NotFound(do=f"there is no balloon {size.balloon} on this solid: look at the numbered drawing")
    if all(face.surface.kind == "cylinder" for face in faces):
        return _of_cylinders(faces)
    if len(faces) == 2 and all(face.surface.kind == "plane" for face in faces):
        return _between_planes(faces[0], faces[1])
    if len(faces) == 1 and faces[0].surface.kind == "plane":
        return _across(faces[0], size.balloon, wanted_mm, solid, survey)
    return NotFound(do=f"balloon {size.balloon} is neither a cylinder nor a flat face: type the size at one that is")


def _across(face: Face, balloon: int, wanted_mm: float | None, solid: Solid, survey: Survey) -> Feature | NotFound:
    """The length from a flat face to the one that looks the other way about `wanted_mm` from it."""
    if wanted_mm is None:
        return NotFound(do=f"write the length before the limits at {balloon}, such as 18 ±0.05: a flat face has none")
    found = [
        feature
        for other in solid.faces
        if other.surface.kind == "plane" and other.id != face.id
        if isinstance(feature := _between_planes(face, other), Feature)
        if abs(feature.size_mm - wanted_mm) <= LENGTH_MM
    ]
    if not found:
        return NotFound(
            do=f"no flat face looks the other way about {wanted_mm:g} mm from face {balloon}: correct the length or "
            "type it at another face"
        )
    nearest = min(abs(feature.size_mm - wanted_mm) for feature in found)
    best = [feature for feature in found if abs(feature.size_mm - wanted_mm) <= nearest + SAME_MM]
    if len(best) > 1:
        numbers = {note.face_id: note.balloon for note in survey.faces}
        ends = sorted(numbers.get(feature.face_ids[1], 0) for feature in best)
        return NotFound(
            do=f"{len(best)} flat faces lie {best[0].size_mm:g} mm from face {balloon}: type the length at one of them "
            f"instead, {' or '.join(str(number) for number in ends)}"
        )
    return best[0]


def _of_hole(hole: Hole, wanted_mm: float | None) -> Feature | NotFound:
    steps = [step for step in hole.steps if step.kind == "cylinder"]
    if not steps:
        return NotFound(do=f"hole {hole.balloon} has no cylinder to measure")
    step = min(steps, key=lambda s: s.diameter_mm if wanted_mm is None else abs(s.diameter_mm - wanted_mm))
    return Feature(
        kind="hole", size_mm=round(step.diameter_mm, 6), face_ids=step.face_ids, is_inside=True, hole=hole.id
    )


def _of_cylinders(faces: list[Face]) -> Feature | NotFound:
    first = faces[0]
    if any(abs(f.surface.radius_mm - first.surface.radius_mm) > 1e-6 or f.inward != first.inward for f in faces):
        return NotFound(do="the cylinders named have different radii: give each its own size")
    return Feature(
        kind="hole" if first.inward else "shaft",
        size_mm=round(2.0 * first.surface.radius_mm, 6),
        face_ids=tuple(f.id for f in faces),
        is_inside=first.inward,
    )


def _between_planes(one: Face, other: Face) -> Feature | NotFound:
    normal = np.array(one.normal)
    if float(np.dot(normal, other.normal)) > -0.999999:
        return NotFound(do="the two faces named do not look opposite ways: a size needs two that do")
    apart = float(np.dot(normal, np.array(one.surface.origin_mm) - np.array(other.surface.origin_mm)))
    return Feature(kind="length", size_mm=round(abs(apart), 6), face_ids=(one.id, other.id), is_inside=apart < 0.0)
