"""A schedule in one sweep: tasks in a given order, each as early as what stands already allows. No search, no bound."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, ShopProblem, Slot, Task, Way, lasting


def in_sequence(
    problem: ShopProblem, order: Sequence[int], *, ways: Sequence[int] = ()
) -> tuple[Slot, ...]:  # fmt: skip
    """Slots of a schedule, one a task; it can be kept where every task finds a moment to begin.

    order: every task once, none before one that must end first; machines take their tasks in this order.   ways: the
    way of each task; without it the way that ends first.   A task with moments to begin waits for the next; where
    none is left it begins when it can, which `broken_rules` tells, and more weeks are needed in the problem.
    """
    earlier = _earlier(problem)
    free = [0] * problem.machines_count
    family = [NO_FAMILY] * problem.machines_count
    people = _People(problem.people)
    slots: list[Slot | None] = [None] * len(problem.tasks)
    for index in order:
        task = problem.tasks[index]
        ready = max([task.release, *(slot.end for i in earlier[index] if (slot := slots[i]) is not None)])
        best: Slot | None = None
        for number, way in enumerate(task.ways):
            if ways and number != ways[index]:
                continue
            setup, at = 0, ready
            if way.machine != NO_MACHINE:
                setup = problem.setups.get((way.machine, family[way.machine], task.family), 0)
                at = max(ready, free[way.machine] + setup)
            at = people.earliest(at, way, setup, problem.setup_people)
            while (moment := _moment(task, at)) > at:
                at = people.earliest(moment, way, setup, problem.setup_people)
            slot = Slot(way=number, start=at, end=at + lasting(task, way, at), setup=setup)
            if best is None or slot.end < best.end:
                best = slot
        assert best is not None
        way = task.ways[best.way]
        if way.machine != NO_MACHINE:
            free[way.machine], family[way.machine] = best.end, task.family
        people.take(best, way, problem.setup_people)
        slots[index] = best
    return tuple(slot for slot in slots if slot is not None)


def earliest_first(problem: ShopProblem, rank: Sequence[int]) -> tuple[int, ...]:
    """An order in which always that task is next which can begin first, of several that of the least rank."""
    earlier = _earlier(problem)
    free = [0] * problem.machines_count
    family = [NO_FAMILY] * problem.machines_count
    ends: dict[int, int] = {}
    left = set(range(len(problem.tasks)))
    order: list[int] = []
    while left:
        best: tuple[int, int, int, int, int] | None = None
        for index in left:
            if any(i not in ends for i in earlier[index]):
                continue
            task = problem.tasks[index]
            ready = max([task.release, *(ends[i] for i in earlier[index])])
            for number, way in enumerate(task.ways):
                at = ready
                if way.machine != NO_MACHINE:
                    at = max(at, free[way.machine])
                    at += problem.setups.get((way.machine, family[way.machine], task.family), 0)
                at = _moment(task, at)
                found = (at, rank[index], at + lasting(task, way, at), index, number)
                if best is None or found < best:
                    best = found
        assert best is not None
        _, _, end, index, number = best
        machine = problem.tasks[index].ways[number].machine
        if machine != NO_MACHINE:
            free[machine], family[machine] = end, problem.tasks[index].family
        ends[index] = end
        left.discard(index)
        order.append(index)
    return tuple(order)


def by_start(problem: ShopProblem, slots: Sequence[Slot]) -> tuple[int, ...]:
    """The tasks in the order in which a schedule begins them, kept behind those that must end first."""
    rank = {index: (slot.start - slot.setup, slot.end, index) for index, slot in enumerate(slots)}
    return in_order(problem, sorted(rank, key=lambda i: rank[i]))


def in_order(problem: ShopProblem, wish: Sequence[int]) -> tuple[int, ...]:
    """The tasks as near to the wished order as their pairs allow."""
    earlier = _earlier(problem)
    placed: dict[int, None] = {}
    for index in wish:
        stack = [index]
        while stack:
            missing = [i for i in earlier[stack[-1]] if i not in placed]
            if missing:
                stack.append(missing[0])
            else:
                placed.setdefault(stack.pop())
    return tuple(placed)


def _earlier(problem: ShopProblem) -> list[list[int]]:
    """By task, those that must end before it begins."""
    earlier: list[list[int]] = [[] for _ in problem.tasks]
    for first, then in problem.before:
        earlier[then].append(first)
    return earlier


def _moment(task: Task, at: int) -> int:
    """The next moment at which a task may begin; `at` itself where it has none or none is left."""
    return next((start for start in task.starts if start >= at), at)


class _People:
    """How much of the people is taken when."""

    def __init__(self, there: int | None) -> None:
        self.there = there
        self.taken: list[tuple[int, int, int]] = []

    def earliest(self, at: int, way: Way, setup: int, setup_people: int) -> int:
        """From `at` on, when the people suffice for the set-up before and the whole of the way."""
        if self.there is None:
            return at
        while True:
            spans = [(at, at + way.duration, way.people), (at - setup, at, setup_people if setup else 0)]
            later = max((self._free_after(low, high, need) - low for low, high, need in spans), default=0)
            if later <= 0:
                return at
            at += later

    def _free_after(self, low: int, high: int, need: int) -> int:
        """`low` when `need` is there all the time; else a moment before which it cannot begin."""
        if need <= 0 or high <= low or self.there is None:
            return low
        meeting = [one for one in self.taken if one[0] < high and one[1] > low]
        for moment in sorted({low, *(begin for begin, _, _ in meeting if begin > low)}, reverse=True):
            now = [one for one in meeting if one[0] <= moment < one[1]]
            if sum(n for _, _, n in now) + need > self.there:
                return max(low + 1, min(end for _, end, _ in now)) if now else low
        return low

    def take(self, slot: Slot, way: Way, setup_people: int) -> None:
        """Note what a task takes."""
        if way.people:
            self.taken.append((slot.start, slot.end, way.people))
        if slot.setup and setup_people:
            self.taken.append((slot.start - slot.setup, slot.start, setup_people))
