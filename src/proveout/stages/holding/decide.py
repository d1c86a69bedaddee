"""Holding: the closed-form grip bound for every pass of every clamping."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.work import Clamping, PassPlan
from proveout.stages.holding.brake import brake_proof
from proveout.stages.holding.gripping import Hold, grip_of, hold_of
from proveout.stages.holding.proofs import bearing_proofs, grip_proofs, rating_proof
from proveout.stages.holding.squeeze import Work, squeeze_proofs


def decide(
    *,
    plan: PassPlan,
    loads: tuple[PassLoad, ...],
    clampings: tuple[Clamping, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...],
    yield_mpa: Fact,
    pressure_mpa: Fact,
    limits: Limits,
    work: Work | None = None,
    run: Run,
) -> Decision[tuple[Hold, ...]]:
    """The grip's reserve at every pass, and per clamping the proofs of slip, gape, bearing, rating and brake.

    A friction or jaw force that is unknown, merely assumed, or written without source or spread is never leant on: its
    proofs are *not shown* and block release.  work: what lies between the jaws; without it nothing is said of bowing.
    """
    by_vise, by_jaws = {v.id: v for v in vises}, {j.id: j for j in jaws}
    by_machine = {m.id: m for m in machines}
    diameters = {c.id: c.diameter_mm for c in cutters}
    kinds = {p.id: (p.kind, p.cutter_id, diameters[p.cutter_id]) for p in plan.passes}
    holds: list[Hold] = []
    proofs: list[Proof] = []
    for clamping in clampings:
        jaw, machine = by_jaws[clamping.jaws_id], by_machine[clamping.machine_id]
        mine = [x for x in loads if x.clamping_id == clamping.id]
        found: list[tuple[PassLoad, Hold]] = []
        grip = grip_of(
            clamping=clamping, vise=by_vise[clamping.vise_id], jaws=jaw, yield_mpa=yield_mpa,
            pressure_mpa=pressure_mpa, limits=limits,
        )  # fmt: skip
        if grip.force_n is not None and grip.friction_ratio is not None and grip.has_patch:
            for load in mine:
                run.check("holding", load.pass_id)
                found.append((load, hold_of(load, grip, grip.force_n, grip.friction_ratio)))
        holds.extend(h for _, h in found)
        proofs.extend(grip_proofs(grip, found, jaw, kinds, limits))
        proofs.extend(bearing_proofs(grip, mine, kinds, limits))
        proofs.append(rating_proof(grip))
        proofs.extend(squeeze_proofs(grip, work))
        if machine.rotary is not None:
            proofs.append(brake_proof(grip, mine, machine, kinds, limits))
    return Decision(value=tuple(holds), proofs=tuple(proofs))
