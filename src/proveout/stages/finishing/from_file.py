"""Take over the sizes that the STEP file writes, as if they were typed in the job; what is typed goes before them."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec
import numpy as np

from proveout.model.job import LETTERS, Job, Size
from proveout.model.pmi import DrawnSize, NoteKind, NoteStatus, Pmi, PmiNote
from proveout.model.shop import Noun
from proveout.model.size_text import read_size
from proveout.model.solid import Face, Solid
from proveout.model.work import Survey
from proveout.stages.finishing.features import LENGTH_MM, Feature, NotFound, find_feature
from proveout.stages.finishing.finished import finished_limits, tapping_mm
from proveout.stages.finishing.notes import MANNERS
from proveout.stages.finishing.notes_from_file import note_of_file, writes_same

AS_DRAWN = "this plan looks at sizes alone: measure as drawn"
NOT_A_SIZE = {
    "other": "diameters, lengths, radii and angles alone are taken over: measure as drawn",
}
TOO_MANY = "too many sizes at"
SIGNS = {"diameter": "Ø", "radius": "R"}
# planes nearer to each other than this are one level
LEVEL_MM = 1e-4
# limits nearer to each other than this are the same
SAME_LIMITS_MM = 1e-6


class FromFile(Noun, frozen=True, kw_only=True):
    """The job with the sizes of the STEP file among its own, and what became of each thing that the file writes."""

    job: Job
    notes: tuple[PmiNote, ...]


class _Found(Noun, frozen=True, kw_only=True):
    """One size of the file at one hole or face: with the feature, or why there is none. ids: faces it is tied to."""

    size: Size
    feature: Feature | NotFound
    ids: tuple[str, ...]


def sizes_of_file(*, pmi: Pmi | None, job: Job, solid: Solid, survey: Survey) -> FromFile:
    """Sizes of the file that can be measured on its faces become sizes of the job, each at its hole or face.

    A size that the job writes on the same faces goes before the file's, and the note says where the two differ.
    survey: with the numbers of the job.
    """
    if pmi is None:
        return FromFile(job=job, notes=())
    balloons = _balloons(survey)
    sizes = list(job.sizes)
    notes = [_taken(drawn, sizes, job, solid, survey, balloons) for drawn in pmi.sizes]
    notes += [_note("tolerance", one.text, "not used", AS_DRAWN, one.face_ids, balloons) for one in pmi.tolerances]
    for datum in pmi.datums:
        what = f"datum {datum.letter}{', from targets of its own' if datum.is_target else ''}"
        notes.append(_note("datum", what, "not used", AS_DRAWN, datum.face_ids, balloons))
    return FromFile(job=msgspec.structs.replace(job, sizes=tuple(sizes)), notes=tuple(notes))


def _balloons(survey: Survey) -> dict[str, int]:
    """Number of every face: its own, or that of its hole."""
    return {note.face_id: note.balloon for note in survey.faces}


def _note(
    kind: NoteKind, text: str, status: NoteStatus, why: str, face_ids: Iterable[str], balloons: dict[str, int],
    lost_ids: Iterable[str] = (),
) -> PmiNote:  # fmt: skip
    ids = tuple(sorted(face_ids))
    numbers = tuple(sorted({balloons[id] for id in ids if id in balloons}))
    return PmiNote(
        kind=kind, text=text, status=status, why=why, balloons=numbers, face_ids=ids, lost_ids=tuple(sorted(lost_ids))
    )


def _taken(
    drawn: DrawnSize, sizes: list[Size], job: Job, solid: Solid, survey: Survey, balloons: dict[str, int]
) -> PmiNote:  # fmt: skip
    """Put one size of the file among the sizes, unless the job's own go before it; what became of it."""
    faces = (*drawn.face_ids, *drawn.other_ids)
    text = _text(drawn)
    why = _why_not(drawn)
    if not why and drawn.kind in ("radius", "angle"):
        return _noted(drawn, sizes, solid, survey, balloons)
    found = () if why else _found(drawn, solid, survey, balloons)
    lost = sorted({one.feature.do for one in found if isinstance(one.feature, NotFound)})
    lost_ids = {id for one in found if isinstance(one.feature, NotFound) for id in one.ids}
    if why or all(isinstance(one.feature, NotFound) for one in found):
        return _note("size", text, "not used", why or "; ".join(lost), faces, balloons)
    said: list[str] = list(lost)
    is_used = is_same = is_over = False
    for one in found:
        if isinstance(one.feature, NotFound):
            continue
        own = _typed(one, sizes, solid, survey)
        if own is None:
            is_masked = one.size.balloon in job.masked_balloons
            if not _put(msgspec.structs.replace(one.size, is_masked=is_masked), sizes):
                said.append(f"{TOO_MANY} {one.size.balloon}")
                lost_ids |= set(one.ids)
                continue
            is_used = True
        elif _is_same(own, one, job):
            is_same = True
            if one.feature.kind == "length" and not one.feature.is_step:  # the file knows both ends, the job one
                sizes[sizes.index(own)] = msgspec.structs.replace(own, face_ids=one.feature.face_ids)
        else:
            is_over = True
            said.append(f"the job writes {own.text} at {own.balloon}, which goes before it")
    if drawn.edges_count:
        said.append(f"{drawn.edges_count} more things that it is tied to are no faces of this solid")
    status: NoteStatus = "used" if is_used else "same" if is_same else "overridden" if is_over else "not used"
    return _note("size", text, status, "; ".join(dict.fromkeys(said)), faces, balloons, lost_ids)


def _noted(
    drawn: DrawnSize, sizes: list[Size], solid: Solid, survey: Survey, balloons: dict[str, int]
) -> PmiNote:  # fmt: skip
    """Put a radius or angle of the file among the sizes likewise."""
    found = note_of_file(drawn, sizes, solid=solid, survey=survey, balloons=balloons)
    faces, text = (*drawn.face_ids, *drawn.other_ids), _text(drawn)
    if found.size is None:
        return _note("size", text, "not used", found.why, faces, balloons)
    own = found.own
    if own is not None and writes_same(own, found.size):
        return _note("size", text, "same", "", faces, balloons)
    if own is not None:
        why = f"the job writes {own.text} at {own.balloon}, which goes before it"
        return _note("size", text, "overridden", why, faces, balloons)
    if not _put(found.size, sizes):
        return _note("size", text, "not used", f"{TOO_MANY} {found.size.balloon}", faces, balloons)
    return _note("size", text, "used", "", faces, balloons)


def _put(size: Size, sizes: list[Size]) -> bool:
    """Put a size at the end under the first free letter of its balloon; False where none is free."""
    taken = [other.letter for other in sizes if other.balloon == size.balloon]
    free = next((letter for letter in LETTERS if letter not in taken), None)
    if free is not None:
        sizes.append(msgspec.structs.replace(size, letter=free))
    return free is not None


def _text(drawn: DrawnSize) -> str:
    """The size as a drawing has it: Ø before diameters, R before radii, ° behind angles."""
    if not drawn.text:
        return f"{drawn.kind} without a value"
    degree = "°" if drawn.kind == "angle" and "°" not in drawn.text else ""
    return f"{SIGNS.get(drawn.kind, '')}{drawn.text}{degree}"


def _why_not(drawn: DrawnSize) -> str:
    """Why a size cannot be used whatever the solid is like; empty when it may."""
    if drawn.lack:
        return drawn.lack
    if drawn.kind in NOT_A_SIZE:
        return NOT_A_SIZE[drawn.kind]
    if not drawn.face_ids or (drawn.kind == "length" and not drawn.other_ids):
        return "it is tied to edges or points, not to faces: measure as drawn"
    return ""


def _found(drawn: DrawnSize, solid: Solid, survey: Survey, balloons: dict[str, int]) -> tuple[_Found, ...]:
    """The size at each hole, round or pair of faces that it is tied to."""
    if drawn.kind == "length":
        return (_length(drawn, solid, survey, balloons),)
    holes = {id: hole for hole in survey.holes for step in hole.steps for id in step.face_ids}
    groups: dict[tuple[str, int], list[str]] = {}
    for id in drawn.face_ids:
        hole = holes.get(id)
        key = ("hole", hole.balloon) if hole is not None else ("face", solid.face(id).surface_group)
        groups.setdefault(key, []).append(id)
    out: list[_Found] = []
    for (what, number), ids in sorted(groups.items()):
        balloon = number if what == "hole" else min(balloons[id] for id in ids)
        size = Size(balloon=balloon, text=drawn.text, face_ids=() if what == "hole" else tuple(ids), origin="step-file")
        feature = find_feature(size=size, wanted_mm=drawn.nominal_mm, solid=solid, survey=survey)
        out.append(_Found(size=size, feature=_limited(size, _checked(drawn, feature, ids)), ids=tuple(ids)))
    return tuple(out)


def _checked(drawn: DrawnSize, feature: Feature | NotFound, ids: Iterable[str]) -> Feature | NotFound:
    """The feature when it is round, on the faces that were meant, and about as large as the file says."""
    if isinstance(feature, NotFound):
        return feature
    if feature.kind == "length" or not set(ids) & set(feature.face_ids):
        return NotFound(do="its faces are no round of the size that it states: measure as drawn")
    return _sized(drawn, feature)


def _limited(size: Size, feature: Feature | NotFound) -> Feature | NotFound:
    """The feature where its limits can be told."""
    if isinstance(feature, NotFound):
        return feature
    limits = finished_limits(written=read_size(size.text), feature=feature, general_tolerance=None)
    return NotFound(do=limits) if isinstance(limits, str) else feature


def _sized(drawn: DrawnSize, feature: Feature) -> Feature | NotFound:
    if drawn.nominal_mm is None or abs(feature.size_mm - drawn.nominal_mm) > LENGTH_MM:
        return NotFound(do=f"its faces measure {feature.size_mm:g} mm: measure as drawn")
    return feature


def _length(drawn: DrawnSize, solid: Solid, survey: Survey, balloons: dict[str, int]) -> _Found:
    """The length between two ends, each of which is one plane."""
    faces = (*drawn.face_ids, *drawn.other_ids)
    ends = [sorted(ids, key=lambda id: (balloons.get(id, 0), id)) for ids in (drawn.face_ids, drawn.other_ids)]
    size = Size(
        balloon=balloons.get(ends[0][0], 0), text=drawn.text, face_ids=(ends[0][0], ends[1][0]), origin="step-file"
    )
    if any(solid.face(id).surface.kind != "plane" for end in ends for id in end):
        return _Found(size=size, feature=NotFound(do="one end of it is no flat face: measure as drawn"), ids=faces)
    pairs = [(solid.face(one), solid.face(other)) for one in ends[0] for other in ends[1]]
    gaps = [_gap_mm(one, other) for one, other in pairs]
    if max(gaps) - min(gaps) > LEVEL_MM:
        return _Found(
            size=size, feature=NotFound(do="the faces at one end of it do not lie level: measure as drawn"), ids=faces
        )
    one, other = pairs[0]
    if float(np.dot(one.normal, other.normal)) > 0.0:
        floor = other if gaps[0] > 0.0 else one
        size = msgspec.structs.replace(
            size, balloon=balloons.get(floor.id, 0), text=f"{drawn.text} deep", face_ids=(floor.id,)
        )
    is_deep = len(size.face_ids) == 1
    feature = find_feature(size=size, wanted_mm=drawn.nominal_mm, solid=solid, survey=survey, is_deep=is_deep)
    if isinstance(feature, NotFound):
        return _Found(size=size, feature=feature, ids=faces)
    if is_deep and abs(feature.size_mm - abs(gaps[0])) > LEVEL_MM:
        return _Found(
            size=size, feature=NotFound(do="another face lies nearer to what it states: measure as drawn"), ids=faces
        )
    return _Found(size=size, feature=_sized(drawn, feature), ids=faces)


def _gap_mm(one: Face, other: Face) -> float:
    """How far the one plane lies above the other, along its own normal."""
    return float(np.dot(one.normal, np.array(one.surface.origin_mm) - np.array(other.surface.origin_mm)))


def _typed(found: _Found, sizes: list[Size], solid: Solid, survey: Survey) -> Size | None:
    """The size of the job that stands on the same faces; None when the job leaves them to the file."""
    assert isinstance(found.feature, Feature)
    for size in sizes:
        if size.origin == "step-file":
            continue
        if size.balloon == found.size.balloon and size.text == found.size.text:
            return size
        feature = _feature(size, solid, survey)
        if not isinstance(feature, Feature):
            continue
        is_length = found.feature.kind == "length"
        if (feature.kind == "length") == is_length and (
            set(feature.face_ids) == set(found.feature.face_ids)
            if is_length
            else set(feature.face_ids) & set(found.feature.face_ids)
        ):
            return size
    return None


def _feature(size: Size, solid: Solid, survey: Survey) -> Feature | NotFound:
    written = read_size(size.text)
    if written.manner in ("mask", "unknown", *MANNERS):
        return NotFound(do="")
    wanted = tapping_mm(written) if written.manner == "thread" else written.nominal_mm
    return find_feature(size=size, wanted_mm=wanted, solid=solid, survey=survey, is_deep=written.is_deep)


def _is_same(own: Size, found: _Found, job: Job) -> bool:
    """The job and the file give the same limits."""
    assert isinstance(found.feature, Feature)
    ends = [
        finished_limits(
            written=read_size(size.text), feature=found.feature, general_tolerance=job.general_tolerance
        )
        for size in (own, found.size)
    ]  # fmt: skip
    one, other = ends
    if isinstance(one, str) or isinstance(other, str):
        return False
    return abs(one.low_mm - other.low_mm) <= SAME_LIMITS_MM and abs(one.high_mm - other.high_mm) <= SAME_LIMITS_MM
