"""Each part against its own date: how late, which is the worst, and what a schedule is best worth."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.solving.shop_problem import Objective, Slot
from proveout.stages.schedule.problem import Made


def end_of(slots: Sequence[Slot]) -> int:
    """When all is done."""
    return max((slot.end for slot in slots), default=0)


def ends_by_date(made: Made, slots: Sequence[Slot]) -> tuple[int, ...]:
    """When each part that has a date is done, in the order of `made.dated`."""
    return tuple(max((slots[i].end for i in one.tasks), default=0) for one in made.problem.endings)


def pasts_of(made: Made, slots: Sequence[Slot]) -> tuple[int, ...]:
    """Minutes by which each dated part is done past its own date, below 0 when before it."""
    ends = ends_by_date(made, slots)
    return tuple(end - one.due for end, one in zip(ends, made.problem.endings, strict=True))


def past_of(made: Made, slots: Sequence[Slot]) -> int | None:
    """That of the part which is worst; None where nobody wrote a date."""
    return max(pasts_of(made, slots), default=None)


def worst_part(made: Made, slots: Sequence[Slot]) -> str:
    """The part that is latest against its own date, of several as late the first; empty without a date."""
    pasts = pasts_of(made, slots)
    return made.dated[pasts.index(max(pasts))] if pasts else ""


def has_several_dates(made: Made) -> bool:
    """Whether being done soon and being in time are two things: dates differ, or some parts have none."""
    dues = {one.due for one in made.problem.endings}
    return len(dues) > 1 or (bool(dues) and len(made.dated) < made.parts_count)


def last_due(made: Made) -> int:
    """The latest date, from which "most late" counts."""
    return max(one.due for one in made.problem.endings)


def worth_of(made: Made, slots: Sequence[Slot]) -> int:
    """What ways out and gains are weighed by: the worst part against its date, without dates the end of all."""
    past = past_of(made, slots)
    return end_of(slots) if past is None else past


def rank_of(made: Made, slots: Sequence[Slot], objective: Objective) -> tuple[int, int, int]:
    """The less the better: what is aimed at, then the end of all, then the ends summed."""
    end, ends = end_of(slots), sum(slot.end for slot in slots)
    if objective == "makespan":
        return (end, end, ends)
    return (max(pasts_of(made, slots)) + last_due(made), end, ends)
