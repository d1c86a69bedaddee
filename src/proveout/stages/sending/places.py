"""Where on a part a rack may hold it, what is masked, and what holds acid, beads or bends under a blast."""

from __future__ import annotations

from typing import NamedTuple

from proveout.model.concerns import Concern
from proveout.model.job import Job
from proveout.model.plan import Finishing
from proveout.model.work import FaceNote, Hole, Survey

# common practice, no source: a rack needs this much plain face to hold by, and leaves a bare mark on it
RACK_AREA_MM2 = 100.0
# common practice, no source: a size narrower than this before the coat is no place for a rack
RACK_WIDTH_MM = 0.100
# common practice, no source: from this many diameters on a blind hole keeps acid and beads
HOLDS_RATIO = 1.0
RACK_MOST = 6


class BlindHole(NamedTuple):
    """An open blind hole that keeps what gets into it."""

    hole: Hole
    depth_ratio: float

    @property
    def words(self) -> str:
        """Its number, size and depth."""
        return (
            f"hole {self.hole.balloon}, Ø{self.hole.diameter_mm:g}, blind, {self.hole.depth_mm:.1f} mm deep, "
            f"{self.depth_ratio:.1f} diameters"
        )


def shown_faces(job: Job, survey: Survey) -> tuple[str, ...]:
    """Faces that the customer sees, holes by their faces, by area."""
    named = set(job.show_faces)
    for hole in survey.holes:
        if hole.id in named:
            named |= {face for step in hole.steps for face in step.face_ids}
    return tuple(note.face_id for note in _by_area(survey) if note.face_id in named)


def rack_faces(
    job: Job, finishing: Finishing, survey: Survey, *, masked: frozenset[str], fit_marks: tuple[str, ...] = ()
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faces that a rack may hold by, and those it may not touch, the largest first.

    Nothing may be held by where nobody said which faces show; nor within a hole, nor by a chamfer.
    fit_marks: faces and sizes of this part that a fit of the order names; a rack's bare mark has no place there.
    """
    shown = set(shown_faces(job, survey))
    narrow = [w for w in finishing.windows if w.width_mm < RACK_WIDTH_MM or not w.is_decided]
    close = {f for w in narrow if not w.is_masked for f in w.face_ids}
    close |= {f for w in finishing.windows if w.mark in fit_marks and not w.is_masked for f in w.face_ids}
    close |= {note.face_id for note in survey.faces if not note.hole_id and str(note.balloon) in fit_marks} - masked
    no_place = {face_id for hole in survey.holes for face_id in survey.faces_within(hole)}
    no_place |= {face_id for feature in survey.features if feature.kind == "chamfer" for face_id in feature.face_ids}
    forbidden = shown | close
    may: list[str] = []
    for note in _by_area(survey):
        is_plain = note.kind == "plane" and not note.hole_id and note.area_mm2 >= RACK_AREA_MM2
        if shown and is_plain and note.face_id not in forbidden | masked | no_place:
            may.append(note.face_id)
    return tuple(may[:RACK_MOST]), tuple(note.face_id for note in _by_area(survey) if note.face_id in forbidden)


def blind_holes(survey: Survey, *, masked: frozenset[str]) -> tuple[BlindHole, ...]:
    """Blind holes that are open and deep, the deepest in diameters first."""
    found = []
    for hole in survey.holes:
        faces = {face for step in hole.steps for face in step.face_ids}
        steps = [step for step in hole.steps if step.diameter_mm > 0.0]
        if hole.is_through or faces <= masked or not steps:
            continue
        ratio = max(step.depth_high_mm / step.diameter_mm for step in steps)
        if ratio > HOLDS_RATIO:
            found.append(BlindHole(hole, ratio))
    return tuple(sorted(found, key=lambda one: (-one.depth_ratio, one.hole.balloon)))


def thin_places(concerns: tuple[Concern, ...]) -> tuple[Concern, ...]:
    """Walls and floors that are thinner than their height or width asks for."""
    return tuple(
        one for one in concerns
        if one.kind in ("thin wall", "thin floor") and one.limit is not None and one.found < one.limit
    )  # fmt: skip


def _by_area(survey: Survey) -> list[FaceNote]:
    return sorted(survey.faces, key=lambda note: (-note.area_mm2, note.face_id))
