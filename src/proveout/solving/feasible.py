"""Whether a schedule can be kept: every rule looked at one by one, knowing nothing of how it was made."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, Objective, ShopProblem, Slot


def broken_rules(problem: ShopProblem, slots: Sequence[Slot]) -> tuple[str, ...]:
    """What in a schedule cannot be, in words; empty when it can be kept."""
    if len(slots) != len(problem.tasks):
        return (f"{len(slots)} slots for {len(problem.tasks)} tasks",)
    found: list[str] = []
    for index, (task, slot) in enumerate(zip(problem.tasks, slots, strict=True)):
        if not 0 <= slot.way < len(task.ways):
            return (*found, f"task {index} takes a way that it does not have")
        way = task.ways[slot.way]
        if slot.setup < 0 or slot.start - slot.setup < 0:
            found.append(f"task {index} is set up before time begins")
        if slot.start < task.release:
            found.append(f"task {index} begins at {slot.start}, before its release at {task.release}")
        if task.starts and slot.start not in task.starts:
            found.append(f"task {index} begins at {slot.start}, when it may not")
        needed = way.duration
        if task.lasts and slot.start in task.starts:
            needed = dict(zip(task.starts, task.lasts, strict=True))[slot.start]
        if slot.end - slot.start != needed:
            found.append(f"task {index} takes {slot.end - slot.start} and needs {needed}")
        if problem.last_most is not None and slot.end > problem.last_most:
            found.append(f"task {index} ends at {slot.end}, later than {problem.last_most}")
        if way.machine == NO_MACHINE and slot.setup:
            found.append(f"task {index} has a set-up and no machine")
    found += [
        f"task {index} ends at {slots[index].end}, later than {ending.latest}, the latest for it"
        for ending in problem.endings
        for index in ending.tasks
        if ending.latest is not None and slots[index].end > ending.latest
    ]
    found += [
        f"task {then} begins at {slots[then].start}, before task {first} ends at {slots[first].end}"
        for first, then in problem.before
        if slots[then].start < slots[first].end
    ]
    for machine in range(problem.machines_count):
        found += _machine_faults(problem, slots, machine)
    if problem.people is not None:
        found += _people_faults(problem, slots, problem.people)
    return tuple(found)


def _machine_faults(problem: ShopProblem, slots: Sequence[Slot], machine: int) -> list[str]:
    """One task at a time, each after the set-up that the one before it asks for."""
    on_it = [
        (slot.start, slot.end, index)
        for index, slot in enumerate(slots)
        if problem.tasks[index].ways[slot.way].machine == machine
    ]
    found: list[str] = []
    free_from, family = 0, NO_FAMILY
    for start, end, index in sorted(on_it):
        own = problem.tasks[index].family
        wanted = problem.setups.get((machine, family, own), 0)
        if slots[index].setup != wanted:
            found.append(f"task {index} has a set-up of {slots[index].setup} on machine {machine} and needs {wanted}")
        if start - slots[index].setup < free_from:
            found.append(f"task {index} takes machine {machine} before it is free at {free_from}")
        free_from, family = max(free_from, end), own
    return found


def _people_faults(problem: ShopProblem, slots: Sequence[Slot], there: int) -> list[str]:
    """Never more of the people than there are, looked at wherever something begins."""
    taken: list[tuple[int, int, int]] = []
    for task, slot in zip(problem.tasks, slots, strict=True):
        taken.append((slot.start, slot.end, task.ways[slot.way].people))
        taken.append((slot.start - slot.setup, slot.start, problem.setup_people))
    taken = [(low, high, need) for low, high, need in taken if high > low and need > 0]
    found: list[str] = []
    for moment in sorted({low for low, _, _ in taken}):
        asked = sum(need for low, high, need in taken if low <= moment < high)
        if asked > there:
            found.append(f"{asked} of the people are asked at {moment}, and there are {there}")
    return found


def worth(problem: ShopProblem, slots: Sequence[Slot], objective: Objective) -> int:
    """The value of a schedule, reckoned anew from its slots."""
    if objective == "makespan":
        return max((slot.end for slot in slots), default=0)
    if objective == "least moved":
        return sum(abs(slot.start - wish) for slot, wish in zip(slots, problem.wished, strict=True))
    if objective == "most late":
        last = max((ending.due for ending in problem.endings), default=0)
        return max((slots[i].end - e.due for e in problem.endings for i in e.tasks), default=-last) + last
    return sum(
        ending.weight * max(0, max((slots[i].end for i in ending.tasks), default=0) - ending.due)
        for ending in problem.endings
    )
