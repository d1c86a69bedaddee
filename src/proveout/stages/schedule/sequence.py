"""A schedule of an order's problem: quick sweeps in several orders of the parts, then a search from the best."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Literal, NamedTuple

from proveout.solving.dispatch import by_start, earliest_first, in_order, in_sequence
from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.problem import Made

ORDERS_MOST = 6
SEED = 1
WORK_LIMIT = 1.0
"""Deterministic time of the search, a few seconds of one processor."""

BOUND_STEPS = 6
BOUND_LIMIT = 0.1


class Found(NamedTuple):
    """Slots with their last end, the end that nothing beats, both in minutes, and how it was got."""

    slots: tuple[Slot, ...]
    end: int
    bound: int
    gap_ratio: float
    status: Literal["proved", "not proved"]


def end_of(slots: Sequence[Slot]) -> int:
    """When all is done."""
    return max((slot.end for slot in slots), default=0)


def swept(made: Made) -> tuple[Slot, ...]:
    """The best of a few sweeps: parts in several orders, always what can begin first or part after part."""
    parts = sorted({part for named in made.named for part in named.parts})
    best: tuple[Slot, ...] = ()
    for order in itertools.islice(itertools.permutations(parts), ORDERS_MOST):
        rank = [order.index(named.parts[0]) * len(made.named) + i for i, named in enumerate(made.named)]
        wishes = (
            earliest_first(made.problem, rank),
            in_order(made.problem, sorted(range(len(rank)), key=lambda i: rank[i])),
        )  # fmt: skip
        for wish in wishes:
            slots = in_sequence(made.problem, wish)
            if not best or (end_of(slots), sum(s.end for s in slots)) < (end_of(best), sum(s.end for s in best)):
                best = slots
    return best


def searched(made: Made) -> Found:
    """The schedule to keep: found by search where that is better than the sweeps, then drawn together."""
    first = swept(made)
    answer = solve_shop(made.problem, objective="makespan", work_limit=WORK_LIMIT, seed=SEED, hint=first)
    slots = answer.slots or first
    tight = in_sequence(made.problem, by_start(made.problem, slots), ways=[s.way for s in slots])
    if end_of(tight) <= end_of(slots) and not broken_rules(made.problem, tight):
        slots = tight
    bound = _raised(made, min(answer.bound, end_of(slots)), end_of(slots))
    gap = (end_of(slots) - bound) / end_of(slots) if slots and end_of(slots) else 0.0
    return Found(slots, end_of(slots), bound, round(gap, 6), "proved" if gap <= 0.0 else "not proved")


def _raised(made: Made, bound: int, end: int) -> int:
    """A higher bound: the latest of a few ends between that are shown to be out of reach, plus one."""
    low, high = bound, end
    for _ in range(BOUND_STEPS):
        if low >= high:
            break
        middle = (low + high) // 2
        tried = solve_shop(made.problem, objective="makespan", work_limit=BOUND_LIMIT, seed=SEED, most=middle)
        if tried.status == "cannot":
            low = middle + 1
        else:
            high = middle
    return low


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
