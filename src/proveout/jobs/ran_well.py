"""Whether a part ran well before, made just so: then its first piece need not go through all clampings alone."""

from __future__ import annotations

from proveout.jobs.home import Home
from proveout.jobs.packets import packet_of
from proveout.model.plan import Plan
from proveout.quantities.errors import ProveoutError
from proveout.records.records import Records


def ran_well_before(home: Home, records: Records, plan: Plan, *, revision: str) -> str:
    """The batch of this part and revision that last came good through its whole route with these very programs.

    Empty where there is none: none ran, a clamping has no program of the plan, one is another by now, or the packet of
    that run is not as it was released, so that nobody knows how it was made.
    """
    own = {one.clamping_id for one in plan.programs}
    own |= {id for load in plan.table_loads if own & set(load.clamping_ids) for id in load.clamping_ids}
    if not plan.clampings or any(one.id not in own for one in plan.clampings):
        return ""
    for row in reversed(records.rows("batches", part=plan.part.number, revision=revision)):
        batch = records.batch(row["batch"])
        if batch is None or not batch.is_released or not batch.steps[-1].good_count:
            continue
        try:
            before = packet_of(home, batch.batch, papers=batch.papers).plan
        except ProveoutError:
            continue
        if _made_so(before) == _made_so(plan):
            return batch.batch
    return ""


def _made_so(plan: Plan) -> tuple[object, ...]:
    """What of a plan makes the piece: clampings in their order, what lies on the tables, programs and jaws."""
    programs = {(one.clamping_id, one.filled, one.fingerprint) for one in plan.programs}
    jaws = {(one.file, one.fingerprint) for one in plan.jaw_programs}
    return plan.clampings, tuple(load.laid for load in plan.table_loads), programs, jaws
