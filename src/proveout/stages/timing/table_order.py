"""In which order the passes of several places are made: cutter by cutter, with the fewest changes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from proveout.model.table_load import Step
from proveout.model.work import Pass

STATES_MOST = 200_000
"""Beyond so many half-made orders the cutter that serves most places comes next."""


def order_of(passes_of: Sequence[Sequence[Pass]]) -> tuple[Step, ...]:
    """Steps of one cycle: each place's passes stay in order; a cutter goes through all places that it is next for.

    passes_of: of each piece of the load its passes in order.
    Method:   of each place the runs of one cutter; the shortest order of cutters in which every place finds its runs,
              by breadth: whoever has the chosen cutter next is served, as leaving it out saves nothing. Of equally
              short ones the first by the cutters' ids.
    """
    runs = [
        [(cutter, list(group)) for cutter, group in groupby(own, key=lambda one: one.cutter_id)] for own in passes_of
    ]
    cutters = _shortest([[cutter for cutter, _ in own] for own in runs])
    at = [0] * len(runs)
    steps: list[Step] = []
    for cutter in cutters:
        for number, own in enumerate(runs):
            if at[number] < len(own) and own[at[number]][0] == cutter:
                steps.extend(Step(laid=number, pass_id=one.id) for one in own[at[number]][1])
                at[number] += 1
    return tuple(steps)


def _shortest(wanted: Sequence[Sequence[str]]) -> list[str]:
    """The shortest row of cutters that holds every wanted row in its order."""
    start, goal = tuple(0 for _ in wanted), tuple(len(row) for row in wanted)
    came: dict[tuple[int, ...], tuple[tuple[int, ...], str] | None] = {start: None}
    front = [start]
    while goal not in came:
        if len(came) > STATES_MOST:
            return _by_most(wanted)
        following: list[tuple[int, ...]] = []
        for at in front:
            for cutter in sorted({row[k] for row, k in zip(wanted, at, strict=True) if k < len(row)}):
                to = _served(wanted, at, cutter)
                if to not in came:
                    came[to] = at, cutter
                    following.append(to)
        front = following
    order: list[str] = []
    step = came[goal]
    while step is not None:
        order.append(step[1])
        step = came[step[0]]
    return order[::-1]


def _served(wanted: Sequence[Sequence[str]], at: tuple[int, ...], cutter: str) -> tuple[int, ...]:
    return tuple(
        k + 1 if k < len(row) and row[k] == cutter else k for row, k in zip(wanted, at, strict=True)
    )  # fmt: skip


def _by_most(wanted: Sequence[Sequence[str]]) -> list[str]:
    at, goal = tuple(0 for _ in wanted), tuple(len(row) for row in wanted)
    order: list[str] = []
    while at != goal:
        following = [row[k] for row, k in zip(wanted, at, strict=True) if k < len(row)]
        cutter = max(sorted(set(following)), key=following.count)
        at = _served(wanted, at, cutter)
        order.append(cutter)
    return order
