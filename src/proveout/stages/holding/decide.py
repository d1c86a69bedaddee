"""Holding: the closed-form grip bound for every pass of every clamping, and for every move where those are known."""

from __future__ import annotations

import math

from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.work import Clamping, PassPlan
from proveout.stages.holding.brake import brake_proofs
from proveout.stages.holding.by_move import better_of, hold_by_move
from proveout.stages.holding.gripping import Hold, grip_of, hold_of
from proveout.stages.holding.proofs import Judged, bearing_proofs, grip_proofs, rating_proof
from proveout.stages.holding.squeeze import Work, bow_force_n, squeeze_proofs
from proveout.stages.holding.walls import wall_force_n, wall_mark, wall_proofs


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
    moves: tuple[MoveLoads, ...] | None = None,
    run: Run,
) -> Decision[tuple[Hold, ...]]:
    """The grip's reserve at every pass, and per clamping the proofs of slip, gape, bearing, rating and brake.

    A friction or jaw force that is unknown, merely assumed, or written without source or spread is never leant on: its
    proofs are *not shown* and block release.  work: what lies between the jaws; without it nothing is said of bowing,
    nor of walls.
    moves: what every move asks for; of this bound and that of the whole pass the better counts, as both are true.
    """
    by_vise, by_jaws = {v.id: v for v in vises}, {j.id: j for j in jaws}
    by_machine = {m.id: m for m in machines}
    diameters = {c.id: c.diameter_mm for c in cutters}
    kinds = {p.id: (p, diameters[p.cutter_id]) for p in plan.passes}
    holds: list[Hold] = []
    proofs: list[Proof] = []
    by_pass = {m.pass_id: m for m in moves or ()}
    for clamping in clampings:
        jaw, machine = by_jaws[clamping.jaws_id], by_machine[clamping.machine_id]
        mine = [x for x in loads if x.clamping_id == clamping.id]
        grip = grip_of(
            clamping=clamping, vise=by_vise[clamping.vise_id], jaws=jaw, yield_mpa=yield_mpa,
            pressure_mpa=pressure_mpa, limits=limits,
        )  # fmt: skip
        own = [by_pass[x.pass_id] for x in mine if x.pass_id in by_pass]
        moved = hold_by_move(grip, own, mine)
        found: list[Judged] = []
        if grip.force_n is not None and grip.friction_ratio is not None and grip.has_patch:
            for load in mine:
                run.check("holding", load.pass_id)
                whole = hold_of(load, grip, grip.force_n, grip.friction_ratio)
                move = moved.get(load.pass_id)
                hold, is_by_move = better_of(whole, move)
                found.append(Judged(load=load, hold=hold, move=move, is_by_move=is_by_move))
        holds.extend(one.hold for one in found)
        width_mm = None if work is None else _width_mm(plan, clamping, work)
        wall_n = math.inf if work is None else wall_force_n(grip, work.walls, work.elastic_mpa, width_mm)
        proofs.extend(grip_proofs(grip, found, jaw, kinds, limits, bow_force_n(clamping, work), wall_n))
        proofs.extend(bearing_proofs(grip, mine, kinds, limits, moved))
        proofs.append(rating_proof(grip))
        proofs.extend(squeeze_proofs(grip, work))
        if work is not None:
            proofs.extend(
                wall_proofs(
                    grip, work.walls, work.elastic_mpa, width_mm, readings=work.wall_readings,
                    mark=wall_mark(grip, plan),
                )
            )  # fmt: skip
        if machine.rotary is not None:
            proofs.extend(brake_proofs(grip, mine, machine, kinds, limits, by_pass))
    return Decision(value=tuple(holds), proofs=tuple(proofs))


def _width_mm(plan: PassPlan, clamping: Clamping, work: Work) -> float | None:
    """Of the narrowest size on a face that is cut in a clamping; None where none is written."""
    cut = {face for one in plan.passes if one.clamping_id == clamping.id for face in one.face_ids}
    return min((work.widths_mm[face] for face in cut if face in work.widths_mm), default=None)
