"""A schedule of an order's problem: quick sweeps in several orders of the parts, then a search from the best."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Literal, NamedTuple

from proveout.solving.dispatch import by_start, earliest_first, in_order, in_sequence
from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import Objective, Slot
from proveout.stages.schedule.dates import end_of, has_several_dates, rank_of
from proveout.stages.schedule.problem import Made

ORDERS_MOST = 6
SEED = 1
WORK_LIMIT = 1.0
"""Deterministic time of the search, a few seconds of one processor."""

BOUND_STEPS = 6
BOUND_LIMIT = 0.1


class Found(NamedTuple):
    """Slots with what was aimed at and what nothing beats, both in minutes, and how it was got."""

    slots: tuple[Slot, ...]
    value: int
    bound: int
    gap_ratio: float
    status: Literal["proved", "not proved"]


def swept(made: Made, *, objective: Objective = "makespan") -> tuple[Slot, ...]:
    """The best of a few sweeps: parts in several orders, always what can begin first or part after part.

    Where dates count the first order is that of the dates.
    """
    parts = sorted({part for named in made.named for part in named.parts})
    if objective == "most late":
        dues = dict(zip(made.dated, (one.due for one in made.problem.endings), strict=True))
        parts.sort(key=lambda part: (part not in dues, dues.get(part, 0)))
    best: tuple[Slot, ...] = ()
    for order in itertools.islice(itertools.permutations(parts), ORDERS_MOST):
        rank = [order.index(named.parts[0]) * len(made.named) + i for i, named in enumerate(made.named)]
        wishes = (
            earliest_first(made.problem, rank),
            in_order(made.problem, sorted(range(len(rank)), key=lambda i: rank[i])),
        )  # fmt: skip
        for wish in wishes:
            slots = in_sequence(made.problem, wish)
            if not best or rank_of(made, slots, objective) < rank_of(made, best, objective):
                best = slots
    return best


def searched(made: Made, *, objective: Objective = "makespan", like: Sequence[Slot] = ()) -> Found:
    """The schedule to keep: found by search where that is better than the sweeps, then drawn together.

    objective: "makespan", or "most late" where parts have dates of their own.   like: a schedule that is looked at too.
    """
    first = swept(made, objective=objective)
    if like and rank_of(made, like, objective) < rank_of(made, first, objective):
        first = tuple(like)
    answer = solve_shop(made.problem, objective=objective, work_limit=WORK_LIMIT, seed=SEED, hint=first)
    slots = answer.slots or first
    tight = in_sequence(made.problem, by_start(made.problem, slots), ways=[s.way for s in slots])
    for other in (tight, first):
        if rank_of(made, other, objective) < rank_of(made, slots, objective) and not broken_rules(made.problem, other):
            slots = other
    value = rank_of(made, slots, objective)[0]
    bound = _raised(made, objective, min(answer.bound, value), value)
    gap = (value - bound) / value if slots and value else 0.0
    return Found(slots, value, bound, round(gap, 6), "proved" if gap <= 0.0 else "not proved")


def _raised(made: Made, objective: Objective, bound: int, value: int) -> int:
    """A higher bound: the highest of a few values between that are shown to be out of reach, plus one."""
    low, high = bound, value
    for _ in range(BOUND_STEPS):
        if low >= high:
            break
        middle = (low + high) // 2
        tried = solve_shop(made.problem, objective=objective, work_limit=BOUND_LIMIT, seed=SEED, most=middle)
        if tried.status == "cannot":
            low = middle + 1
        else:
            high = middle
    return low


def aimed_at(made: Made) -> Objective:
    """Being done soon, and where parts have dates of their own the worst part against its own."""
    return "most late" if has_several_dates(made) else "makespan"


def retimed(made: Made, like: Made, slots: Sequence[Slot]) -> tuple[Slot, ...]:
    """Another case of the same order in the sequence of a schedule: tasks by name, new ones behind."""
    places = {named.id: i for i, named in enumerate(like.named)}
    wish = sorted(
        range(len(made.named)),
        key=lambda i: (
            (slots[places[made.named[i].id]].start, slots[places[made.named[i].id]].end, i)
            if made.named[i].id in places
            else (end_of(slots), 0, i)
        ),
    )
    return in_sequence(made.problem, in_order(made.problem, wish))
