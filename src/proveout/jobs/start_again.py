"""Why a clamping that was started needs a start of its own again, before its next piece is cut.

The first piece left it for the clampings after it; other work was set up on its machine since, so that what was
measured stands there no more; or the pieces that are left do not fill the table as the program in the control has it.
Each is seen from what was written down, and each ends with a set-up measured anew and a start.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from itertools import pairwise

from proveout.books.stretches import Told
from proveout.jobs.batch_route import step_of
from proveout.jobs.held_back import FIRST_THROUGH, is_held, other_work_since
from proveout.jobs.home import Home
from proveout.jobs.program_now import programs_of, steps_together
from proveout.jobs.releasing import packet_place
from proveout.jobs.set_up import clamping_of
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Counted, Resumed, Started
from proveout.model.floor_events import FINGERPRINT_SIGNS, SetUpMeasured
from proveout.model.plan import Plan
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping
from proveout.quantities.errors import ProveoutError


def start_again(home: Home, batch: Batch, step: StepCount, told: Told, *, good_count: int = 1) -> str:
    """Why so many more good pieces of a started clamping need another start first; empty where none is needed.

    told: as `told_at_machines` of this step.
    """
    if step.kind != "mill" or not step.is_started:
        return ""
    if is_held(batch, step):
        return FIRST_THROUGH
    plan = _plan(home, batch)
    clamping = None if plan is None else clamping_of(plan, step.id)
    together = frozenset({step.id}) if plan is None or clamping is None else steps_together(plan, clamping)
    if words := other_work_since(batch, step, told, together=together, since=(Started, Resumed)):
        return f"Other work was started on this machine meanwhile ({words}): set this up, measure it anew, and start"
    if plan is None or clamping is None:
        return ""
    left = left_to_count(plan, clamping, batch, told)
    if left is None or left >= good_count or not step.waiting_count:
        return ""
    if left:
        return f"The program in the control makes {left} more: count those, then the rest needs a start of its own"
    return (
        "The pieces that are left do not fill the table as the program in the control has it: compare the program "
        "for the places that are filled now, and start"
    )


def countable(home: Home, batch: Batch, step: StepCount, told: Told) -> int:
    """How many pieces of a step are counted before another start: all that wait, but for a table's last cycle.

    told: as `told_at_machines` of this step.
    """
    plan = _plan(home, batch) if step.kind == "mill" else None
    clamping = None if plan is None else clamping_of(plan, step.id)
    left = None if plan is None or clamping is None else left_to_count(plan, clamping, batch, told)
    return step.waiting_count if not left else min(left, step.waiting_count)


def _plan(home: Home, batch: Batch) -> Plan | None:
    try:
        return packet_place(home, batch).plan
    except ProveoutError:  # what needs it is refused elsewhere
        return None


def left_to_count(plan: Plan, clamping: Clamping, batch: Batch, told: Told) -> int | None:
    """How many pieces of a clamping the program in the control still makes, every place that it works in filled.

    None for a clamping that has the table to itself, or where nobody compared one of its programs.
    """
    index = plan.load_of(clamping.id)
    if index is None:
        return None
    load = plan.table_loads[index]
    together = steps_together(plan, clamping)
    mark, counted = _since_start(batch, together, told)
    filled = next((one.filled for one in programs_of(plan, clamping)
                   if one.fingerprint == mark[:FINGERPRINT_SIGNS]), None)  # fmt: skip
    if filled is None:
        return None
    return _left(load, filled, plan, batch, counted)[step_of(clamping)]


def _since_start(batch: Batch, together: frozenset[str], told: Told) -> tuple[str, Counter[str]]:
    """The program of the last start on this table, and the pieces counted since by step; empty where none was."""
    compared, started, is_new = "", "", False
    counted: Counter[str] = Counter()
    for event, of in told:
        if event.batch != batch.batch or getattr(of, "step", "") not in together:
            continue
        if isinstance(of, SetUpMeasured):
            compared, is_new = of.program, True
        elif isinstance(of, Started) or (isinstance(of, Resumed) and is_new):
            started, counted, is_new = compared, Counter(), False
        elif isinstance(of, Counted):
            counted[of.step] += of.pieces_count
    return started, counted


def _left(
    load: TableLoad, filled: tuple[int, ...], plan: Plan, batch: Batch, counted: Mapping[str, int]
) -> Counter[str]:  # fmt: skip
    """Pieces by step that cycles with these places filled still make, those of a cycle begun and not counted among."""
    steps = {one.id: step_of(one) for one in plan.clampings}
    order = [steps[id] for id in load.clamping_ids]
    need = Counter(steps[load.laid[n].clamping_id] for n in filled)
    waiting = {step.id: step.waiting_count for step in batch.steps}
    cycles = max(-(-counted.get(step, 0) // many) for step, many in need.items())
    uncut = {step: waiting.get(step, 0) + counted.get(step, 0) - cycles * many for step, many in need.items()}
    while all(uncut[step] >= many for step, many in need.items()):
        cycles += 1
        for step, many in need.items():
            uncut[step] -= many
        for step, after in pairwise(order):
            if step in need and after in need:
                uncut[after] += need[step]  # pieces move on to the next clamping after each cycle
    return Counter({step: max(0, cycles * many - counted.get(step, 0)) for step, many in need.items()})
