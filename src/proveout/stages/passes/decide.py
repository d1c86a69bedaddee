"""The passes of all clampings in working order, planned on the work as this stage believes it stands."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_coefficients import coefficients_of
from proveout.geometry.facets import closed_mesh
from proveout.model.choice import CutterChoice
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.moves import BOX_CHORD_MM, Moves
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, NotCut, Pass, PassPlan, Survey, Tilt
from proveout.stages.passes.jaw_outline import formed_jaws, outline_of
from proveout.stages.passes.order import Made, in_order
from proveout.stages.passes.pacing import Metal
from proveout.stages.passes.ridges import ridge_proof
from proveout.stages.passes.task import Laid, Task
from proveout.stages.passes.tilts import plan_tilt
from proveout.stages.passes.view import TiltView, box_body
from proveout.stages.passes.waste import through_proof

STAGE = "passes"
NAMED_MOST = 12
"""Faces without a pass that are named one by one for each reason; the page of the plan lists them all."""
EFFORT_MAX = 40_000_000
"""Triangles of the work that one plan may go through, some 4 µs each on one core of 2026: some three minutes."""

WHY_NOT = {
    "floor": "no chosen cutter reaches the floor",
    "wall": "no chosen cutter reaches the wall",
    "inclined": "no ball or edge-break cutter was chosen for the inclined face",
    "cone": "no ball or edge-break cutter was chosen for the conical face",
    "curved": "no ball was chosen for the curved face",
    "under": "the face leans under and no undercut cutter was chosen",
    "away": "the face looks away from the cutter at this tilt",
}
UNDER_A_FLAT = (
    "the face looks straight down on this side: only a T-slot cutter comes under it, and none was chosen; put one into"
    " the shop that fits, or turn the work so that the face can be seen"
)


def decide(
    *,
    target: Target,
    survey: Survey,
    blank: Blank,
    clampings: tuple[Clamping, ...],
    choice: CutterChoice,
    cutters: tuple[Cutter, ...],
    machines: dict[str, Machine],
    limits: Limits,
    pressure_mpa: Fact | None = None,
    exponent_ratio: float = 0.0,
    alloys: tuple[str, ...] = (),
    widths_mm: dict[str, float] | None = None,
    run: Run,
) -> Decision[PassPlan]:
    """Plans the passes of every clamping in order; a face without a pass is listed in `not_cut` with the reason.

    pressure_mpa, exponent_ratio, alloys: how hard the metal is to cut, for cutters whose row leaves something to
    choose; without them those run as if it left nothing.   widths_mm: of the narrowest size on each face that has one.
    """
    ordered = sorted(clampings, key=lambda c: (c.number, c.id))
    body = closed_mesh(points_mm=target.vertices_mm, triangles=target.triangles)
    if body is None:
        return _nothing_cut(ordered)
    work = box_body(blank.low_mm, blank.high_mm)
    by_id = {c.id: c for c in cutters}
    metal = None if pressure_mpa is None else Metal(
        pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio, coefficients=coefficients_of(alloys)
    )  # fmt: skip
    passes: list[Pass] = []
    moves: dict[str, Moves] = {}
    found: list[tuple[Clamping, list[NotCut], list[float]]] = []
    done: set[str] = set()
    outlines: dict[str, tuple[NDArray[np.float64], ...]] = {}
    touched: dict[str, NDArray[np.bool_]] = {}
    spent = 0
    for clamping in ordered:
        missing: list[NotCut] = []
        lowest: list[float] = []
        made: list[Made] = []
        formed = None
        if clamping.needs_form:
            outlines[clamping.id] = outline_of(work=work, target=body, clamping=clamping)
            formed = formed_jaws(outlines[clamping.id], clamping)
        for number, tilt in enumerate(clamping.tilts):
            run.check(STAGE, f"{clamping.id} {tilt.id}", number / max(len(clamping.tilts), 1))
            view = TiltView(target=target, body=body, clamping=clamping, tilt=tilt, work=work, formed=formed)
            top_mm = -math.inf if view.work.is_empty() else float(view.work.bounding_box()[5])
            task = _task(view, survey, clamping, tilt, choice, machines[clamping.machine_id], limits, run, target)
            task.effort_most, task.touched = EFFORT_MAX - spent, touched
            task.metal, task.widths_mm = metal, widths_mm or {}
            plan_tilt(task, choice=choice, cutters=by_id, offsets_mm=_offsets(target))
            made.extend(Made(laid=laid, moves=laid.track.moves(), tilt=tilt, top_mm=top_mm) for laid in task.laid)
            spent += view.effort_count
            missing.extend(_missing(task, clamping))
            done.update(target.face_ids[k] for k in task.done)
            work = task.view.work_in_part()
        for work_of in in_order(made):
            one = pass_of(work_of.laid, work_of.moves, clamping, work_of.tilt, {p.id for p in passes})
            passes.append(one)
            moves[one.moves_digest] = work_of.moves
            lowest.append(_lowest_mm(work_of.moves, clamping, work_of.tilt))
        missing.extend(n for n in choice.without if n.clamping_id == clamping.id)
        found.append((clamping, missing, lowest))
    not_cut: list[NotCut] = []
    proofs: list[Proof] = []
    for clamping, missing, lowest in found:
        # what one clamping could not cut and another did is not missing
        merged = [n for n in _merged(missing) if not n.face_ids or not set(n.face_ids) <= done]
        not_cut.extend(merged)
        proofs.extend(_proofs(clamping, merged, lowest))
    for clamping in ordered:
        through = through_proof(
            clamping, holes=survey.holes, target=target, passes=passes, moves=moves, cutters=by_id
        )  # fmt: skip
        own = [p for p in passes if p.clamping_id == clamping.id]
        ridges = ridge_proof(clamping_id=clamping.id, passes=own, cutters=by_id, cusp_mm=target.cusp_mm)
        proofs.extend(one for one in (through, ridges) if one is not None)
    plan = PassPlan(
        passes=tuple(passes), not_cut=tuple(not_cut), moves=moves, effort_count=spent, outlines=outlines
    )  # fmt: skip
    return Decision(value=plan, proofs=tuple(proofs))


def _offsets(target: Target) -> dict[str, float]:
    return dict(zip(target.face_ids, (float(v) for v in target.face_offset_mm), strict=True))


def _task(
    view: TiltView,
    survey: Survey,
    clamping: Clamping,
    tilt: Tilt,
    choice: CutterChoice,
    machine: Machine,
    limits: Limits,
    run: Run,
    target: Target,
) -> Task:
    """The faces and holes that are cut at this tilt; a hole without drill or bore counts by its faces."""

    def here(subject: str) -> bool:
        return choice.tilt_of.get(f"{clamping.id}/{subject}", clamping.tilts[0].id) == tilt.id

    given_up = {n.subject for n in choice.without if n.clamping_id == clamping.id}
    holed = {u.subjects[0] for u in choice.uses if u.clamping_id == clamping.id and u.role in ("drill", "bore")}
    holes = tuple(
        sorted(
            (h for h in survey.holes if h.id in clamping.makes_holes and h.id in holed and here(h.id)),
            key=lambda h: h.id,
        )
    )
    all_holes = [h for h in survey.holes if h.id in clamping.makes_holes and (h.id in holed or h.id in given_up)]
    of_holes = {f for h in all_holes for s in h.steps for f in s.face_ids}
    pockets = [h for h in survey.holes if h.id in clamping.makes_holes and h.id not in holed and h.id not in given_up]
    # what an earlier clamping promised and only this one has room for comes with its cutter
    moved = {
        f for u in choice.uses if u.clamping_id == clamping.id and u.role in ("finish", "surface", "edge", "undercut")
        for f in u.subjects
    }  # fmt: skip
    wanted = {*clamping.makes_faces, *moved, *(f for h in pockets for s in h.steps for f in s.face_ids)}
    promised = {
        view.index_of[f] for f in wanted if f in view.index_of and f not in of_holes and f not in given_up and here(f)
    }
    return Task(
        view=view,
        machine=machine,
        limits=limits,
        run=run,
        face_ids=target.face_ids,
        promised=promised,
        holes=holes,
        done=set(),
        reasons={},
        laid=[],
    )


def pass_of(laid: Laid, moves: Moves, clamping: Clamping, tilt: Tilt, taken: set[str]) -> Pass:
    """A pass as the plan holds it; taken: the ids that other passes have."""
    name = f"{clamping.id}/{tilt.id}/{laid.cutter.id}/{laid.kind}/{laid.feature}"
    unique, again = name, 2
    while unique in taken:
        unique, again = f"{name} again {again}", again + 1
    return Pass(
        id=unique,
        kind=laid.kind,
        clamping_id=clamping.id,
        tilt_id=tilt.id,
        cutter_id=laid.cutter.id,
        feature=laid.feature,
        face_ids=laid.face_ids,
        speed_rad_per_s=laid.speeds.speed_rad_per_s,
        tooth_feed_mm=laid.speeds.tooth_feed_mm,
        radial_mm=laid.radial_mm,
        axial_mm=laid.axial_mm,
        moves_digest=moves.digest,
        moves_count=len(moves.points),
        cut_length_mm=round(laid.track.cut_mm, 6),
        pace=laid.speeds.pace,
    )


def _lowest_mm(moves: Moves, clamping: Clamping, tilt: Tilt) -> float:
    return float(clamping.frame.into(tilt.frame.out_of(moves.straight(within_mm=BOX_CHORD_MM).points))[:, 2].min())


def _missing(task: Task, clamping: Clamping) -> list[NotCut]:
    missing: list[NotCut] = []
    for index in sorted(task.promised - task.done):
        face_id = task.face_ids[index]
        facet = task.view.facets[index]
        is_under = facet.seen == "away" and facet.is_flat
        reason = task.reasons.get(face_id) or (UNDER_A_FLAT if is_under else WHY_NOT[facet.seen])
        missing.append(NotCut(clamping_id=clamping.id, subject=face_id, face_ids=(face_id,), reason=reason))
    for hole in task.holes:
        faces = tuple(sorted({f for s in hole.steps for f in s.face_ids}))
        left = tuple(f for f in faces if task.view.index_of.get(f, -1) not in task.done)
        reason = task.reasons.get(hole.id, "")
        if left or reason:
            missing.append(
                NotCut(
                    clamping_id=clamping.id,
                    subject=hole.id,
                    # a thread is no face: that its hole is made says nothing of it
                    face_ids=left or (() if hole.id in task.threadless else faces),
                    reason=reason or "no pass makes these steps of the hole",
                )
            )
    return missing


def _merged(missing: list[NotCut]) -> list[NotCut]:
    first: dict[str, NotCut] = {}
    for one in missing:
        first.setdefault(one.subject, one)
    return [first[k] for k in sorted(first)]


def _some(subjects: list[str]) -> str:
    """The first of many, and how many more."""
    more = len(subjects) - NAMED_MOST
    return ", ".join(subjects) if more <= 1 else f"{', '.join(subjects[:NAMED_MOST])} and {more} more"


def _proofs(clamping: Clamping, missing: list[NotCut], lowest: list[float]) -> list[Proof]:
    found = float(len({f for n in missing for f in n.face_ids})) if missing else 0.0
    by_reason: dict[str, list[str]] = {}
    for one in missing:
        by_reason.setdefault(one.reason, []).append(one.subject)
    named = "; ".join(f"{_some(subjects)}: {reason}" for reason, subjects in by_reason.items())
    proofs = [
        prove(
            id=f"passes/{clamping.id}/every-face",
            stage=STAGE,
            subject=clamping.id,
            claim="every face and hole that the clamping promises has a pass",
            sense="at most",
            found_low=None if missing else found,
            found_high=None if missing else found,
            limit=0.0,
            unit="faces",
            blocks_release=True,
            basis=Basis(formula="faces and holes promised, less those that a pass covers", source="own-algorithm"),
            decides=f"without a pass: {named}" if missing else "",
            remedy="add a cutter, a clamping or a tilt that reaches them" if missing else "",
        )
    ]
    if lowest:
        proofs.append(
            prove(
                id=f"passes/{clamping.id}/above-seat",
                stage=STAGE,
                subject=clamping.id,
                claim="the lowest tip stays above the seat"
                + (", or between the jaws' steps above the vise's bed" if clamping.below_mm else ""),
                sense="at least",
                found_low=min(lowest),
                found_high=min(lowest),
                limit=0.0 - clamping.below_mm,
                unit="mm",
                blocks_release=True,
                basis=Basis(formula="lowest point of all moves in the clamping's frame", source="own-algorithm"),
            )
        )
    return proofs


def _nothing_cut(clampings: list[Clamping]) -> Decision[PassPlan]:
    reason = "the target's mesh is not a closed body: nothing can be planned on it"
    not_cut = [
        NotCut(
            clamping_id=c.id, subject=subject, face_ids=(subject,) if subject in c.makes_faces else (), reason=reason
        )
        for c in clampings
        for subject in sorted({*c.makes_faces, *c.makes_holes})
    ]
    proofs = [p for c in clampings for p in _proofs(c, [n for n in not_cut if n.clamping_id == c.id], [])]
    return Decision(value=PassPlan(passes=(), not_cut=tuple(not_cut), moves={}), proofs=tuple(proofs))
