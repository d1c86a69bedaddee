"""Work on machines in whole steps of time, and what a schedule of it says: values for whoever makes or checks one."""

from __future__ import annotations

from typing import Literal

import msgspec

NO_MACHINE = -1
"""A way that needs none: bench work, or pieces that are away."""
NO_FAMILY = -1


class Way(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One way of doing a task: on which machine, how long, and how much of the people it takes meanwhile."""

    machine: int
    duration: int
    people: int = 0


class Task(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Something done without a break. Exactly one of its ways is taken.

    release: it begins no earlier.  starts: the only moments at which it may begin, rising; empty: any.
    lasts: how long it takes from each of `starts`, in place of its way's duration; only where its one way needs neither
    a machine nor people.   family: tasks of one family on one machine follow each other without a set-up.
    """

    ways: tuple[Way, ...]
    release: int = 0
    starts: tuple[int, ...] = ()
    lasts: tuple[int, ...] = ()
    family: int = NO_FAMILY


def lasting(task: Task, way: Way, start: int) -> int:
    """How long a task takes that begins then."""
    if task.lasts and start in task.starts:
        return task.lasts[task.starts.index(start)]
    return max(task.lasts, default=way.duration)


class Ending(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Tasks that are wanted done by `due`; each step later counts `weight`. None may end after `latest`, if any."""

    tasks: tuple[int, ...]
    due: int
    weight: int = 1
    latest: int | None = None


class ShopProblem(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is to be done.

    before: pairs of tasks, the first ends before the second begins.  setups: by machine, family before (NO_FAMILY at
    first) and family after, how long setting up takes right before the task; what is not named takes none.
    people: how much of them there is at any moment, None: enough.  setup_people: what setting up takes of them.
    wished: when each task had better begin, for "least moved"; empty: nobody minds.  last_most: the last task ends no
    later, None: whenever.
    """

    machines_count: int
    tasks: tuple[Task, ...]
    before: tuple[tuple[int, int], ...] = ()
    setups: dict[tuple[int, int, int], int] = {}
    people: int | None = None
    setup_people: int = 0
    endings: tuple[Ending, ...] = ()
    wished: tuple[int, ...] = ()
    last_most: int | None = None


class Slot(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """When a task is done and which of its ways is taken; its machine is set up for it from start - setup on."""

    way: int
    start: int
    end: int
    setup: int = 0


Objective = Literal["makespan", "weighted lateness", "least moved", "most late"]


class ShopSchedule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One slot a task, what it is worth, and what nothing beats.

    status: "proved" the best; "not proved": a schedule with value above its bound; "cannot": there is none; "no
    answer": the limit passed first.  gap_ratio: (value - bound) / value, 0 where the value is 0.
    seed, work_limit: what was asked of the solver; work_limit in its deterministic time.
    """

    slots: tuple[Slot, ...]
    objective: Objective
    value: int
    bound: int
    gap_ratio: float
    status: Literal["proved", "not proved", "cannot", "no answer"]
    seed: int
    work_limit: float
