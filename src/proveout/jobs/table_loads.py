"""What lies in each place in one cycle: decided by money, looked at for strikes and travels, decided again."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.jobs.slices import shop_of_bodies
from proveout.jobs.store import Store
from proveout.model.job import Job
from proveout.model.plan import BarsPlan, ClampForce
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Shop
from proveout.model.table_load import TableLoad, TableOption
from proveout.model.work import Blank, Clamping, PassPlan

PINS = ("pieces_a_cycle", "side_by_side")
TRIES_MOST = 40
MONEY = ":table loads"
"""Of the one proof that speaks of money."""


def loads_of(
    *, job: Job, shop: Shop, passes: PassPlan, clampings: tuple[Clamping, ...], blank: Blank, bars_plan: BarsPlan,
    clamp_forces: tuple[ClampForce, ...], lack: str, store: Store, run: Run,
) -> tuple[tuple[TableLoad, ...], tuple[TableOption, ...], tuple[Proof, ...]]:  # fmt: skip
    """The loads with more than one place, the options, and their proofs.

    A load whose pieces or vises a pass of another place would meet, or whose places do not lie within the travels, is
    struck off, and the next by money is looked at. What lies alone is held against the vises that then stand idle.
    lack: why the shop's figures are not for the metal: then nothing
    tells which way is the cheaper, and there is one piece a cycle unless a pin says otherwise.
    """
    from proveout.stages.clampings import place_travels
    from proveout.stages.removal_check.idle import idle_proofs
    from proveout.stages.removal_check.neighbours import struck_by
    from proveout.stages.timing.table_loads import decide_loads

    bodies = shop_of_bodies(shop)
    machines, vises = {m.id: m for m in bodies.machines}, {v.id: v for v in bodies.vises}
    by_clamping, cutters = {c.id: c for c in clampings}, {c.id: c for c in bodies.cutters}
    pins = tuple(p for p in job.pins if p.quantity in PINS)

    def idle(loads: tuple[TableLoad, ...]) -> tuple[Proof, ...]:
        return store.get(
            "idle vises", idle_proofs, clampings=clampings, loads=loads, machines=bodies.machines, vises=bodies.vises,
            jaws=bodies.jaws, plan=passes, cutters=bodies.cutters,
        ).proofs  # fmt: skip

    if lack and not pins:
        return (), (), idle(())
    struck: dict[str, str] = {}
    seen: set[str] = set()
    for _ in range(TRIES_MOST):
        decided = store.get(
            "table loads", decide_loads, passes=passes, clampings=clampings, machines=shop.machines, vises=bodies.vises,
            jaws=bodies.jaws, blank=blank, clamp_forces=clamp_forces, quantity=job.order.quantity,
            pieces_count=bars_plan.pieces_count, pins=pins, struck=struck,
        )  # fmt: skip
        loads = decided.value.loads
        travelled = place_travels(
            plan=passes, clampings=clampings, machines=bodies.machines, cutters=bodies.cutters, loads=loads
        )
        fresh: dict[str, str] = {}
        for load in loads:
            run.check("timing", load.id)
            over = _beyond(load, travelled)
            if not over and load.id not in seen:
                over = struck_by(
                    load, clampings=by_clamping, vises=vises, machine=machines[load.machine_id], blank=blank,
                    plan=passes, cutters=cutters, jaws=bodies.jaws,
                )  # fmt: skip
            if over:
                fresh[load.id] = over
            seen.add(load.id)
        if not fresh:
            proofs = tuple(p for p in decided.proofs if not lack or not p.id.endswith(MONEY))
            return loads, () if lack else decided.value.options, (*proofs, *travelled, *idle(loads))
        struck.update(fresh)
    nothing = decide_loads(
        passes=passes, clampings=clampings, machines=shop.machines, vises=(), jaws=bodies.jaws, blank=blank,
        clamp_forces=clamp_forces, quantity=job.order.quantity, pieces_count=bars_plan.pieces_count, pins=pins,
    )  # fmt: skip
    return (), (), (*nothing.proofs, *idle(()))


def _beyond(load: TableLoad, proofs: Sequence[Proof]) -> str:
    own = (p for p in proofs if p.subject == load.id and p.verdict == "fails")
    return next((f"{p.claim}: {p.found_high:.1f} mm of {p.limit:.1f}" for p in own), "")
