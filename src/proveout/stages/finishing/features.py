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

    is_inside: the size grows when metal is taken away (hole, slot, depth of a step).  hole: id of its hole, "" for
    none.  is_step: of two faces that look the same way, the upper one first.
    """

    kind: Literal["hole", "shaft", "length"]
    size_mm: float
    face_ids: tuple[str, ...]
    is_inside: bool
    hole: str = ""
    is_step: bool = False


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


def depth_ratio(feature: Feature, survey: Survey) -> float:
    """Depth of a blind hole's step below its mouth, in diameters; 0 for anything else."""
    own = set(feature.face_ids)
    for hole in survey.holes:
        for step in hole.steps:
            if own & set(step.face_ids) and not hole.is_through and step.diameter_mm > 0.0:
                return step.depth_high_mm / step.diameter_mm
    return 0.0


def drilled_length_mm(feature: Feature, survey: Survey) -> tuple[float, bool] | None:
    """Length of a hole's step along the hole, and whether the hole goes through; None for anything else."""
    own = set(feature.face_ids)
    for hole in survey.holes:
        for step in hole.steps:
            if own & set(step.face_ids):
                return step.depth_high_mm - step.depth_low_mm, hole.is_through
    return None


def is_whole_hole(feature: Feature, survey: Survey) -> bool:
    """True when every cylinder of a hole belongs to the size, so that one plug closes it."""
    hole = next((hole for hole in survey.holes if hole.id == feature.hole), None)
    return hole is not None and all(
        set(step.face_ids) <= set(feature.face_ids) for step in hole.steps if step.kind == "cylinder"
    )


def find_feature(
    *, size: Size, wanted_mm: float | None, solid: Solid, survey: Survey, is_deep: bool = False
) -> Feature | NotFound:
    """The feature a written size measures.

    Faces named with the size win; otherwise the hole or face under its balloon. Of a stepped hole it is the
    cylinder nearest to `wanted_mm`, or the smallest when no size was typed. Of one flat face it is the length to the
    only face that looks the other way at that distance, and with `is_deep` up to the one that looks the same way.
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
    if is_deep:
        if len(faces) == 1 and faces[0].surface.kind == "plane":
            return _deep(faces[0], size.balloon, wanted_mm, solid)
        return NotFound(do=f"a depth is typed at one flat floor, and balloon {size.balloon} is none")
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


def _deep(floor: Face, balloon: int, wanted_mm: float | None, solid: Solid) -> Feature | NotFound:
    """The depth from a flat face up to the only level about `wanted_mm` above it that looks the same way."""
    if wanted_mm is None:
        return NotFound(do=f"write the depth before the limits at {balloon}, such as 12 ±0.05 deep")
    normal = np.array(floor.normal)
    found: list[tuple[float, Face]] = []
    for other in solid.faces:
        if other.surface.kind != "plane" or other.id == floor.id or float(np.dot(normal, other.normal)) < 0.999999:
            continue
        above = float(np.dot(normal, np.array(other.surface.origin_mm) - np.array(floor.surface.origin_mm)))
        if above > SAME_MM and abs(above - wanted_mm) <= LENGTH_MM:
            found.append((above, other))
    if not found:
        return NotFound(do=f"no flat face looks the same way about {wanted_mm:g} mm above face {balloon}")
    if max(f[0] for f in found) - min(f[0] for f in found) > SAME_MM:
        return NotFound(do=f"several levels lie about {wanted_mm:g} mm above face {balloon}: correct the depth")
    above, top = max(found, key=lambda pair: (pair[1].area_mm2, pair[1].id))
    return Feature(
        kind="length", size_mm=round(above, 6), face_ids=(top.id, floor.id), is_inside=True, is_step=True
    )  # fmt: skip


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
