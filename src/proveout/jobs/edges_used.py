"""How long the cutters of a clamping are in cut for the pieces that were counted there, as its plan has it."""

from __future__ import annotations

from proveout.model.batch_events import EdgeUse
from proveout.model.plan import Plan
from proveout.model.work import Clamping


def edges_used(plan: Plan, clamping: Clamping, *, pieces_count: int) -> tuple[EdgeUse, ...]:
    """Seconds of each cutter in the passes of a clamping, at their worst end; none where the plan's are not known."""
    if plan.metal_unknown or pieces_count < 1:
        return ()
    cutters = {one.id: one.cutter_id for one in plan.passes if one.clamping_id == clamping.id}
    seconds: dict[str, float] = {}
    for line in plan.time.lines:
        if line.per == "piece" and line.pass_id in cutters:
            cutter = cutters[line.pass_id]
            seconds[cutter] = seconds.get(cutter, 0.0) + line.seconds.high
    return tuple(
        EdgeUse(machine=clamping.machine_id, cutter=cutter, used_s=round(each * pieces_count, 3), is_reckoned=True)
        for cutter, each in sorted(seconds.items())
    )
