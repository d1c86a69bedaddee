"""Which program runs in the next cycle of a step: of a table that is filled in several ways, the one for what is there.

A program works in the places that it was written for. Run over an empty place it cuts air beside jaws that nobody
closed on work; run where one more place is filled it leaves that work standing in the way of the next program, as no
move was held against it. So the places that are filled follow from the pieces that wait, and the program from those.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from proveout.books.first_piece import is_first_piece_due
from proveout.jobs.batch_route import step_of
from proveout.model.batch import Batch
from proveout.model.plan import Plan, ProgramSheet
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping


def programs_of(plan: Plan, clamping: Clamping) -> tuple[ProgramSheet, ...]:
    """All programs of a clamping: of a table that is filled in several ways there is one for each."""
    load = plan.load_of(clamping.id)
    own = {clamping.id} if load is None else set(plan.table_loads[load].clamping_ids)
    found: dict[str, ProgramSheet] = {}
    for one in plan.programs:
        if one.clamping_id in own:
            found.setdefault(one.file, one)
    return tuple(found.values())


def steps_together(plan: Plan, clamping: Clamping) -> frozenset[str]:
    """The steps of a batch whose work lies on the table in one cycle with a clamping's, its own among them."""
    load = plan.load_of(clamping.id)
    ids = (clamping.id,) if load is None else plan.table_loads[load].clamping_ids
    return frozenset(step_of(one) for one in plan.clampings if one.id in ids)


def filled_now(plan: Plan, clamping: Clamping, batch: Batch) -> tuple[int, ...] | None:
    """Which pieces of its table's load lie there in the next cycle; None where no filling suits what waits.

    The fullest of those that its plan knows, none of whose places stays empty; while a first piece is on its way to be
    proved, it lies there alone. Empty for a clamping that has the table to itself.
    """
    index = plan.load_of(clamping.id)
    if index is None:
        return ()
    load = plan.table_loads[index]
    steps = {one.id: step_of(one) for one in plan.clampings}
    waiting = {step.id: step.waiting_count for step in batch.steps}
    most = 1 if is_first_piece_due(batch) and steps[clamping.id] in batch.first_through else len(load.laid)
    fits = [
        one.filled for one in load.fillings
        if len(one.filled) <= most and _lie_there(load, one.filled, clamping, steps, waiting)
    ]  # fmt: skip
    return max(fits, key=len, default=None)


def _lie_there(
    load: TableLoad, filled: tuple[int, ...], clamping: Clamping, steps: Mapping[str, str], waiting: Mapping[str, int]
) -> bool:  # fmt: skip
    """Whether the clamping is among what is filled, and a piece waits for each of the places."""
    needed = Counter(load.laid[n].clamping_id for n in filled)
    return clamping.id in needed and all(waiting.get(steps[id], 0) >= count for id, count in needed.items())


def programs_now(plan: Plan, clamping: Clamping, batch: Batch) -> tuple[ProgramSheet, ...]:
    """The programs of which one is in the control before a start; none where no filling suits what waits."""
    filled = filled_now(plan, clamping, batch)
    if plan.load_of(clamping.id) is None:
        return programs_of(plan, clamping)
    return tuple(one for one in programs_of(plan, clamping) if one.filled == filled)


def places_now(plan: Plan, clamping: Clamping, batch: Batch) -> tuple[int, ...]:
    """Numbers of the places that are filled in the next cycle; none of a clamping that has the table to itself."""
    index, filled = plan.load_of(clamping.id), filled_now(plan, clamping, batch)
    return () if index is None else tuple(plan.table_loads[index].laid[n].place.number for n in filled or ())
