"""Decide nothing, prove much: what the chosen clampings and passes make of steps, sizes, bow and slab."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from proveout.model.fact import Fact
from proveout.model.jaw_form import JawForm
from proveout.model.job import Job
from proveout.model.plan import ClampForce, Finishing
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Bar, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.turned import Meeting, Turned
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.stages.turning_over.bow import BowOf
from proveout.stages.turning_over.chain import Budget, Chain, gathered
from proveout.stages.turning_over.facings import facings
from proveout.stages.turning_over.meets import CutAt, Joint, cuts_by_face, joints
from proveout.stages.turning_over.proofs import bow_proof, meeting_proof, slab_proof
from proveout.stages.turning_over.sizes import general_mm, sizes_between

STAGE = "turning_over"


def decide(
    *, solid: Solid, target: Target, finishing: Finishing, job: Job, plan: PassPlan, clampings: tuple[Clamping, ...],
    blank: Blank, machines: tuple[Machine, ...], vises: tuple[Vise, ...], bars: tuple[Bar, ...],
    forms: tuple[JawForm, ...], clamp_forces: tuple[ClampForce, ...], elastic_mpa: Fact | None, run: Run,
) -> Decision[Turned]:  # fmt: skip
    """Steps, sizes between clampings, bow and slabs, each with its proof; nothing where there is one clamping."""
    if len(clampings) < 2 or not solid.mesh_is_closed:
        return Decision(value=Turned())
    bar = next((b for b in bars if b.id == blank.bar_id), None)
    bow_of = BowOf(bar=bar, bar_id=blank.bar_id, target=target)
    cuts = cuts_by_face(plan.passes, clampings)
    chain = Chain(
        machines={m.id: m for m in machines}, vises={v.id: v for v in vises}, forms={f.clamping_id: f for f in forms},
        target=target, cuts=cuts, bow_of=bow_of,
    )  # fmt: skip
    meetings: list[Meeting] = []
    critical: set[str] = set()
    for group in joints(solid, cuts):
        run.check(STAGE, group[0].faces[0].id)
        meetings.append(_step(group, chain, cuts, solid, job))
    for size in sizes_between(solid=solid, finishing=finishing, job=job, cuts=cuts):
        run.check(STAGE, size.text)
        ends = [
            (a, b) for a in cuts[size.faces[0].id] for b in cuts[size.faces[1].id] if a.clamping.id != b.clamping.id
        ]
        pair, budget = _worst(chain, [(a, b, np.array(size.faces[0].normal)) for a, b in ends])
        if size.is_critical:
            critical.add(size.mark)
        meetings.append(
            Meeting(
                kind="size", subject=size.faces[0].id, text=size.text, mark=size.mark, size_mm=size.size_mm,
                clamping_ids=_ordered(*pair), face_ids=(size.faces[0].id, size.faces[1].id), limit_mm=size.limit_mm,
                off_mm=budget.sum_mm, lines=gathered(budget.lines), lacks=_once(budget.lacks),
            )
        )  # fmt: skip
    backed = {v.id for v in vises if v.preload_n is not None and v.preload_n.is_backed}
    held = {c.id for c in clampings if c.vise_id in backed}
    faced = facings(
        passes=plan.passes, moves=plan.moves, clampings=clampings, target=target, blank=blank,
        forces={f.clamping_id: f if f.clamping_id in held else None for f in clamp_forces}, elastic_mpa=elastic_mpa,
    )  # fmt: skip
    facing = {p.clamping_id for p in plan.passes if p.kind == "face"}
    bows = tuple(bow_of.of(c, 2) for c in clampings if c.id in facing)
    numbers = {c.id: c.number for c in clampings}
    proofs = (
        *(meeting_proof(m, numbers, job, is_critical=m.mark in critical) for m in meetings),
        *(bow_proof(b, numbers, job, bow_of) for b in bows),
        *(slab_proof(f, clampings, vises, elastic_mpa) for f in faced),
    )
    return Decision(value=Turned(meetings=tuple(meetings), facings=faced, bows=bows), proofs=proofs)


def _step(
    group: tuple[Joint, ...], chain: Chain, cuts: Mapping[str, tuple[CutAt, ...]], solid: Solid, job: Job
) -> Meeting:  # fmt: skip
    """The worst joint of those that hang together, each by all that its faces are cut in and all its headings."""
    worst: tuple[tuple[bool, float], Meeting] | None = None
    for joint in group:
        one, other = joint.faces
        ends = [(a, b) for a in cuts[one.id] for b in cuts[other.id] if a.clamping.id != b.clamping.id]
        pair, budget = _worst(chain, [(a, b, normal) for a, b in ends for normal in joint.normals])
        if worst is not None and budget.worst_mm <= worst[0]:
            continue
        meeting = Meeting(
            kind="step", subject=one.id, text="", clamping_ids=_ordered(*pair), off_mm=budget.sum_mm,
            face_ids=(one.id,) if one.id == other.id else (one.id, other.id),
            limit_mm=job.step_max_mm if job.step_max_mm is not None else general_mm(_across_mm(joint, solid), job),
            lines=gathered(budget.lines), lacks=_once(budget.lacks),
        )  # fmt: skip
        worst = (budget.worst_mm, meeting)
    assert worst is not None
    return worst[1]


def _worst(chain: Chain, tried: list[tuple[CutAt, CutAt, np.ndarray]]) -> tuple[tuple[CutAt, CutAt], Budget]:
    budgets = [((a, b), chain.between(a, b, normal)) for a, b, normal in tried]
    return max(budgets, key=lambda one: one[1].worst_mm)


def _ordered(one: CutAt, other: CutAt) -> tuple[str, str]:
    first, last = sorted((one.clamping, other.clamping), key=lambda c: c.number)
    return first.id, last.id


def _once(texts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


def _across_mm(joint: Joint, solid: Solid) -> float:
    """The size whose general tolerance a step may not pass: the least of the part along any heading of the joint."""
    spans = [float(np.ptp(solid.vertices_mm @ normal)) for normal in joint.normals]
    radii = [2.0 * f.surface.radius_mm for f in joint.faces if f.surface.kind == "cylinder" and f.inward]
    return min([*spans, *radii])
