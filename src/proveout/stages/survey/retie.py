"""Tie the numbers of a job to a solid that was exported anew: its faces are known again by a rigid motion."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import msgspec
import numpy as np

from proveout.geometry.rigid_match import NEAR_MM, NEAR_RATIO, Marks, Motion, matched, mirrored, on_surface
from proveout.model.job import Balloon, Job, Pin, Size
from proveout.model.shop import Noun
from proveout.model.signature import FaceSign, marks_of, pieces_of, signs_of
from proveout.model.solid import Solid
from proveout.model.work import HOLE_ID, Survey
from proveout.quantities.errors import BadInput

# a motion that lays fewer of the faces on their partners says nothing
LEAST_RATIO = 0.5
SQUARE = 1e-6
SIDES = {"x": 0, "y": 1, "z": 2}
OF_SIDES = ("up", "ups", "tilts")


class Retied(Noun, frozen=True, kw_only=True):
    """The job with its numbers on this solid, and what its owner should know of it, a sentence each."""

    job: Job
    said: tuple[str, ...] = ()


class _Pieces(NamedTuple):
    """Faces by the surfaces that they make up, and those as marks."""

    pieces: tuple[tuple[FaceSign, ...], ...]
    marks: Marks


class _Place(Noun, frozen=True, kw_only=True):
    """Where one number comes to lie: the id there, or why there is none."""

    id: str
    why: str = ""


def _pieces(signs: tuple[FaceSign, ...]) -> _Pieces:
    pieces = pieces_of(signs)
    return _Pieces(pieces, marks_of(pieces))


def retied(*, job: Job, solid: Solid, survey: Survey) -> Retied:
    """The job as it is where the solid lies as it was drafted, or where nothing tells of the drafted one.

    Otherwise the rigid motions are sought that lay the drafted faces on these. One, or several that mean the same for
    all that is written, ties the numbers anew; a number whose face is gone keeps its old id, and stands for nothing.

    Raises:   BadInput when several motions mean different things, when the job names sides of a solid that was turned
              out of its axes, or when it writes something at a face that another solid has by chance.
    """
    known = {hole.id for hole in survey.holes} | {face.id for face in solid.faces}
    if not job.drafted or (all(balloon.id in known for balloon in job.balloons) and _lies_as_drafted(job, solid)):
        return Retied(job=job)
    old, new = _pieces(job.drafted), _pieces(signs_of(solid, survey))
    found = matched(old.marks, new.marks)
    why = ""
    if not found.motions or found.count < LEAST_RATIO * len(old.pieces):
        why = "not the one that the job was drafted for, neither moved nor turned"
    elif found.count < len(old.pieces) and matched(mirrored(old.marks), new.marks).count > found.count:
        why = "a mirror image of the one that the job was drafted for, which is another part"
    if why:
        _refuse_chance(job, known, why)
        names = ", ".join(str(balloon.number) for balloon in job.balloons if balloon.id not in known)
        none = f"nothing on it is tied to the numbers {names}" if names else "nothing is written at its numbers"
        return Retied(job=job, said=(f"The solid is {why}: {none}.",))
    choices = [
        _places(job, motion, pairs, new, survey) for motion, pairs in zip(found.motions, found.pairs, strict=True)
    ]
    at = next((i for i, motion in enumerate(found.motions) if motion.is_still), None)
    if at is None:
        _refuse_choice(job, choices)
        at = 0
    motion, places = found.motions[at], choices[at]
    is_whole = found.count == len(old.pieces) == len(new.pieces)
    said = [_moved_words(motion, "all" if is_whole else f"{found.count} of {len(old.pieces)}")]
    lost = [(number, place.why) for number, place in sorted(places.items()) if place.why]
    said += [f"Number {number} stands for nothing on this solid: {why}." for number, why in lost]
    return Retied(job=_rewritten(job, places, motion), said=tuple(said))


def _lies_as_drafted(job: Job, solid: Solid) -> bool:
    """Every face of the drafted solid is still at its place: equal names of some say nothing of a solid that turned."""
    faces = {face.id: face for face in solid.faces}
    return all(
        sign.id in faces and math.dist(faces[sign.id].centroid_mm, sign.centroid_mm) <= NEAR_MM for sign in job.drafted
    )


def _refuse_chance(job: Job, known: set[str], why: str) -> None:
    """BadInput when something is written at a name that this other solid has as well."""
    written = _written(job)
    chance = next((b for b in job.balloons if b.number in written and b.id in known), None)
    if chance is None:
        return
    raise BadInput(
        f"The solid is {why}, so that nobody can tell whether its faces are those that were meant",
        where=f"balloons {chance.number}", value=f'"{chance.id}"', limit="a face of the drafted solid",
        do="draft the job file again with new-job, or export the solid that it was drafted for",
    )  # fmt: skip


def _places(job: Job, motion: Motion, pairs: Iterable[int], new: _Pieces, survey: Survey) -> dict[int, _Place]:
    """Where each number of the job comes to lie under one motion."""
    old = _pieces(job.drafted)
    partner = dict(enumerate(int(j) for j in pairs))
    claimed = {j for j in partner.values() if j >= 0}
    holes = {id: hole.id for hole in survey.holes for step in hole.steps for id in step.face_ids}
    places: dict[int, _Place] = {}
    taken: dict[str, int] = {}
    for balloon in job.balloons:
        signs: list[FaceSign] = []
        own: list[FaceSign] = []
        for row, piece in enumerate(old.pieces):
            mine = [sign for sign in piece if sign.balloon == balloon.number]
            if not mine:
                continue
            own += mine
            rows = [partner[row]] if partner[row] >= 0 else _beside(old.marks, row, new.marks, motion, claimed)
            signs += [sign for j in rows for sign in new.pieces[j]]
        place = _hole(balloon, signs, holes) if balloon.id.startswith(HOLE_ID) else _face(balloon, own, signs, motion)
        if not place.why and place.id in taken:
            place = _Place(id=balloon.id, why=f"its face is now one with number {taken[place.id]}")
        if not place.why:
            taken[place.id] = balloon.number
        places[balloon.number] = place
    return places


def _beside(old: Marks, row: int, new: Marks, motion: Motion, claimed: set[int]) -> list[int]:
    """Pieces on the same unbounded surface that are no other's: what a changed face has become."""
    return [int(j) for j in on_surface(old, row, new, motion) if int(j) not in claimed]


def _hole(balloon: Balloon, signs: list[FaceSign], holes: dict[str, str]) -> _Place:
    found = {holes[sign.id] for sign in signs if sign.id in holes}
    if len(found) == 1:
        return _Place(id=next(iter(found)))
    return _Place(id=balloon.id, why="its hole is gone" if not found else f"its hole has become {len(found)}")


def _face(balloon: Balloon, own: list[FaceSign], signs: list[FaceSign], motion: Motion) -> _Place:
    """The one face, or of several that its surface is now cut into the one with the same outline."""
    if len(signs) > 1 and len(own) == 1:
        place = motion.turn @ np.array(own[0].centroid_mm) + motion.shift
        signs = [
            sign
            for sign in signs
            if math.dist(sign.centroid_mm, place) <= NEAR_MM
            and abs(sign.area_mm2 - own[0].area_mm2) <= NEAR_RATIO * own[0].area_mm2
        ] or signs
    if len(signs) == 1:
        return _Place(id=signs[0].id)
    return _Place(id=balloon.id, why="its face is gone" if not signs else f"its face has become {len(signs)}")


def _written(job: Job) -> dict[int, tuple[object, ...]]:
    """All that the job writes at each number, apart from where it is."""
    found: dict[int, list[object]] = {}
    for size in job.sizes:
        found.setdefault(size.balloon, []).append((size.text, size.is_masked, size.is_critical))
    for number in job.masked_balloons:
        found.setdefault(number, []).append("masked")
    for balloon in job.balloons:
        if balloon.id in job.show_faces:
            found.setdefault(balloon.number, []).append("show")
        marked = [one.text for one in job.markings if balloon.id in one.face_ids]
        if marked:
            found.setdefault(balloon.number, []).append(("marked", *marked))
    return {number: tuple(sorted(map(str, things))) for number, things in found.items()}


def _refuse_choice(job: Job, choices: list[dict[int, _Place]]) -> None:
    """BadInput when the motions put what is written on different faces: a symmetric solid hides how it was turned."""
    written = _written(job)
    meanings = [
        {place.id: written[number] for number, place in places.items() if number in written} for places in choices
    ]
    other = next((i for i, meaning in enumerate(meanings) if meaning != meanings[0]), None)
    if other is None:
        return
    number = next(n for n in sorted(written) if choices[0][n].id != choices[other][n].id)
    raise BadInput(
        "The solid was moved and is alike in several ways, so that nobody can tell which face is which",
        where=f"balloons {number}", value=f'"{choices[0][number].id}" or "{choices[other][number].id}"',
        limit="one of them",
        do="export the solid where it lay when the job was drafted, or draft the job file again with new-job",
    )  # fmt: skip


def _moved_words(motion: Motion, known: str) -> str:
    """What the solid did, and how much of it is known again."""
    angle = math.degrees(math.acos(max(-1.0, min(1.0, 0.5 * (float(np.trace(motion.turn)) - 1.0)))))
    moved = float(np.linalg.norm(motion.shift))
    if motion.is_still:
        how = "lies where it lay when the job was drafted, with other names of its faces"
    else:
        turned = f"turned {angle:.3f}°" if angle > 1e-3 else ""
        shifted = f"moved {moved:.3f} mm" if moved > 1e-3 else ""
        how = f"was {' and '.join(word for word in (turned, shifted) if word)} since the job was drafted"
    return f"The solid {how}: the numbers are tied anew, {known} faces being the same."


def _rewritten(job: Job, places: dict[int, _Place], motion: Motion) -> Job:
    """The job with the ids, and the sides of the solid, of where it lies now."""
    ids = {balloon.id: places[balloon.number].id for balloon in job.balloons}
    pins = tuple(_turned_pin(pin, motion) for pin in job.pins)
    return msgspec.structs.replace(
        job,
        balloons=tuple(msgspec.structs.replace(balloon, id=ids[balloon.id]) for balloon in job.balloons),
        sizes=tuple(_size(size, ids) for size in job.sizes),
        show_faces=tuple(ids.get(id, id) for id in job.show_faces),
        markings=tuple(
            msgspec.structs.replace(one, face_ids=tuple(ids.get(id, id) for id in one.face_ids)) for one in job.markings
        ),
        as_bought=tuple(_turned_side(side, motion) for side in job.as_bought),
        pins=pins,
    )


def _size(size: Size, ids: dict[str, str]) -> Size:
    return msgspec.structs.replace(size, face_ids=tuple(ids.get(id, id) for id in size.face_ids))


def _turned_pin(pin: Pin, motion: Motion) -> Pin:
    if pin.quantity not in OF_SIDES:
        return pin
    return msgspec.structs.replace(pin, value="\n".join(_turned_side(one, motion) for one in pin.value.splitlines()))


def _turned_side(side: str, motion: Motion) -> str:
    """A side as "-z" on the turned solid; what is no side stays."""
    if len(side) != 2 or side[0] not in "+-" or side[1] not in SIDES:
        return side
    way = motion.turn[:, SIDES[side[1]]] * (1.0 if side[0] == "+" else -1.0)
    axis = int(np.argmax(np.abs(way)))
    if abs(way[axis]) < 1.0 - SQUARE:
        raise BadInput(
            "The solid was turned out of its axes, and the job names one of its sides", where="job file",
            value=side, limit="sides along x, y or z",
            do="export the solid along the axes, or name its sides anew",
        )  # fmt: skip
    return f"{'+' if way[axis] > 0.0 else '-'}{'xyz'[axis]}"
