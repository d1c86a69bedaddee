"""Sizes from a face of one clamping to a face of another, written or of the part's box, with the room they have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from proveout.model.coat_growth import growth_of
from proveout.model.job import Job
from proveout.model.plan import Finishing
from proveout.model.solid import Face, Solid
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_deviation_mm
from proveout.stages.turning_over.meets import CutAt


@dataclass(frozen=True)
class Between:
    """A size between two planes.  limit_mm: how far it may lie off as made; None where nobody wrote limits.

    Nor where what nobody said of the coat decides them.
    """

    faces: tuple[Face, Face]
    text: str
    mark: str
    is_critical: bool
    size_mm: float
    limit_mm: float | None


def general_mm(size_mm: float, job: Job) -> float | None:
    """Deviation that the general tolerance permits; None without one, or where its table has no such size."""
    if job.general_tolerance is None:
        return None
    try:
        return general_deviation_mm(size_mm=size_mm, general_class=job.general_tolerance)
    except OutOfRange:
        return None


def sizes_between(
    *, solid: Solid, finishing: Finishing, job: Job, cuts: Mapping[str, tuple[CutAt, ...]]
) -> tuple[Between, ...]:  # fmt: skip
    """Written lengths first, then the part's box along x, y and z where no written length says it."""
    found: list[Between] = []
    pairs: set[frozenset[str]] = set()
    for window in finishing.windows:
        if window.kind != "length" or len(window.face_ids) != 2:
            continue
        faces = (solid.face(window.face_ids[0]), solid.face(window.face_ids[1]))
        pairs.add(frozenset(window.face_ids))
        if not _spans(faces, cuts):
            continue
        made = made_mm(faces, finishing)
        found.append(
            Between(
                faces=faces, text=window.text, mark=window.mark, is_critical=window.is_critical, size_mm=made,
                limit_mm=round(min(window.before_high_mm - made, made - window.before_low_mm), 6)
                if window.is_decided
                else None,
            )
        )  # fmt: skip
    for axis in "xyz":
        ends = [solid.faces_on(sign + axis) for sign in "-+"]
        if not all(ends) or any(frozenset((a, b)) in pairs for a in ends[0] for b in ends[1]):
            continue
        faces = next(
            (f for a in ends[0] for b in ends[1] if _spans(f := (solid.face(a), solid.face(b)), cuts)), None
        )  # fmt: skip
        if faces is None:
            continue
        size = float(solid.size_mm["xyz".index(axis)])
        room = general_mm(size, job)
        found.append(
            Between(
                faces=faces, text=f"{size:g} along the part's {axis}", mark="", is_critical=False,
                size_mm=made_mm(faces, finishing),
                limit_mm=None if room is None else round(room - _coat_varies_mm(faces, finishing, job), 6),
            )
        )  # fmt: skip
    return tuple(found)


def made_mm(faces: tuple[Face, Face], finishing: Finishing) -> float:
    """The size as it leaves the machine: of the solid, less what the coat adds to outside faces."""
    one, other = faces
    apart = float(np.dot(one.normal, np.array(one.surface.origin_mm) - np.array(other.surface.origin_mm)))
    second = finishing.offset_mm[other.id]
    # of a step both faces look the same way: what comes off the lower one makes it deeper
    inward = finishing.offset_mm[one.id] + (second if float(np.dot(one.normal, other.normal)) < 0.0 else -second)
    return round(abs(apart) - inward if apart > 0.0 else abs(apart) + inward, 6)


def _spans(faces: tuple[Face, Face], cuts: Mapping[str, tuple[CutAt, ...]]) -> bool:
    ids = [{at.clamping.id for at in cuts.get(face.id, ())} for face in faces]
    return any(a != b for a in ids[0] for b in ids[1])


def _coat_varies_mm(faces: tuple[Face, Face], finishing: Finishing, job: Job) -> float:
    """How far the coat of both faces may bring a size off its middle."""
    if job.coat is None:
        return 0.0
    low, high = growth_of(job.coat, depth_ratio=0.0).build_up_mm
    return sum(face.id in finishing.coated_faces for face in faces) * (high - low) / 2.0
