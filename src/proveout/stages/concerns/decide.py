"""Concerns for the designer: what is measured of a design, which limits it does not keep, and what would help."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from proveout.model.concerns import Concern, ConcernKind
from proveout.model.job import Coat
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.model.work import Pass, Survey
from proveout.stages.concerns.coat import measure_edges
from proveout.stages.concerns.corners import measure_corners, measure_long
from proveout.stages.concerns.deep import measure_deep
from proveout.stages.concerns.measured import PRACTICE, Measured
from proveout.stages.concerns.symmetry import measure_symmetry
from proveout.stages.concerns.thickness import measure_thickness

CLAIMS: dict[ConcernKind, tuple[str, str]] = {
    "corner": ("a mill of the shop fits every inside corner of an enclosed recess",
               "R >= d / 2 of the least end mill that reaches the depth"),
    "thin wall": ("walls are thick enough for their height", "t >= max(1 mm, h / 8), common practice, no source"),
    "thin floor": ("floors are thick enough for their width", "t >= max(1 mm, w / 40), common practice, no source"),
    "deep hole": ("holes are not too deep for their diameter", "depth <= 10 d, common practice, no source"),
    "deep thread": ("threads are not too deep for their diameter", "depth <= 3 d, common practice, no source"),
    "coat edge": ("outside edges are round enough for the coat", "R >= 10 t; of a hard coat also 0.030 in"),
    "long cutter": ("no recess wants a long cutter",
                    "depth <= 4 d of the widest mill that fits, common practice, no source"),
    "near symmetry": ("the part cannot be put in the wrong way round unseen",
                      "largest distance of the turned surface from itself, common practice, no source"),
}  # fmt: skip
MATTERS_S = 0.05
BY_PASSES = ("corner", "deep hole", "deep thread", "long cutter")
"""Kinds whose minutes are those of the passes that cut the faces; what the others cost cannot be reckoned."""


def decide(
    *,
    solid: Solid,
    survey: Survey,
    cutters: tuple[Cutter, ...],
    coat: Coat | None,
    coated: frozenset[str],
    edge_break_mm: float | None,
    passes: tuple[Pass, ...],
    seconds_by_pass: Mapping[str, float],
    run: Run,
) -> Decision[tuple[Concern, ...]]:
    """The concerns, those that cost most first, and a proof for each kind; none of them blocks release.

    Args:     solid: as designed.   coated: ids of faces under the coat.   passes, seconds_by_pass: of the plan; a pass
              without seconds costs nothing that could be told.
    Returns:  of each kind that has anything to measure one proof, of its weakest; each thing that does not keep its
              limit as a concern.
    """
    run.check("concerns")
    features = survey.features
    measured: list[Measured] = [
        *measure_corners(solid, features, cutters),
        *measure_long(solid, features),
        *measure_thickness(solid, features),
        *measure_deep(features),
        *measure_symmetry(solid, features),
    ]
    if coat is not None:
        measured += measure_edges(solid, features, coat=coat, coated=coated, edge_break_mm=edge_break_mm)
    areas = {face.id: face.area_mm2 for face in solid.faces}
    concerns = [
        _concern(one, _seconds(one.face_ids, passes, seconds_by_pass, areas) if one.kind in BY_PASSES else None)
        for one in measured
        if not one.is_kept
    ]
    concerns.sort(key=lambda c: (-(c.seconds or 0.0), c.kind, c.id))
    return Decision(value=tuple(_distinct(concerns)), proofs=_proofs(measured))


def _concern(one: Measured, seconds: float | None) -> Concern:
    return Concern(
        id=f"{one.kind}: {one.subject} {one.found:.4f}", kind=one.kind, subject=one.subject, face_ids=one.face_ids,
        found=one.found, limit=one.limit, sense=one.sense, unit=one.unit, text=one.text, change=one.change,
        source=one.source, is_practice=one.source == PRACTICE, seconds=seconds,
    )  # fmt: skip


def _distinct(concerns: list[Concern]) -> list[Concern]:
    """Like concerns as one, with the faces of all: four holes alike are one thing to say."""
    out: dict[str, Concern] = {}
    for one in concerns:
        held = out.get(one.id)
        if held is None:
            out[one.id] = one
            continue
        both = None if held.seconds is None and one.seconds is None else (held.seconds or 0.0) + (one.seconds or 0.0)
        faces = tuple(sorted({*held.face_ids, *one.face_ids}))
        out[one.id] = msgspec.structs.replace(held, face_ids=faces, seconds=both)
    return list(out.values())


def _seconds(
    face_ids: tuple[str, ...], passes: tuple[Pass, ...], seconds_by_pass: Mapping[str, float], areas: dict[str, float]
) -> float | None:
    """Seconds of the passes that finish these faces, by their share of each pass's area; None where none does."""
    own, total = set(face_ids), 0.0
    for one in passes:
        common = own & set(one.face_ids)
        if not common or one.id not in seconds_by_pass:
            continue
        whole = sum(areas.get(id, 0.0) for id in one.face_ids)
        share = sum(areas.get(id, 0.0) for id in common) / whole if whole > 0.0 else 1.0
        total += share * seconds_by_pass[one.id]
    return round(total, 3) if total > MATTERS_S else None


def _proofs(measured: list[Measured]) -> tuple[Proof, ...]:
    out: list[Proof] = []
    for kind, (claim, formula) in CLAIMS.items():
        own = [one for one in measured if one.kind == kind]
        if not own:
            continue
        worst = min(own, key=lambda one: (one.margin, one.subject, one.found))
        out.append(
            prove(
                id=f"concerns:{kind}:{worst.subject}", stage="concerns", subject=worst.subject, claim=claim,
                sense=worst.sense, found_low=worst.found, found_high=worst.found, limit=worst.limit, unit=worst.unit,
                blocks_release=False, basis=Basis(formula=formula, source=worst.source),
                decides="name a mill that reaches so deep" if worst.limit is None else "", remedy=worst.change,
            )
        )  # fmt: skip
    return tuple(out)
