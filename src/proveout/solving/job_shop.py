"""Flexible job shop by constraint programming: machines to choose, set-ups by sequence, people, moments to begin."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from proveout.quantities.errors import OutOfRange
from proveout.solving.set_cover import settled_solver
from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, Objective, ShopProblem, ShopSchedule, Slot, Task

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

WORK_LIMIT = 20.0


def solve_shop(
    problem: ShopProblem,
    *,
    objective: Objective,
    work_limit: float = WORK_LIMIT,
    seed: int = 1,
    hint: Sequence[Slot] = (),
    most: int | None = None,
    takes_turns: bool = False,
    tell: Callable[[int], None] | None = None,
) -> ShopSchedule:
    """The best schedule found, with its bound; the same for the same problem, limit and seed.

    Args:     objective: the end of the last task, the sum over endings of weight x steps past the date, the sum of
              steps by which tasks begin off the wished moments, or steps of the ending that is worst past its date,
              counted from the last date, so that the value is never below 0.
              hint: a schedule to begin from, one slot a task.   most: only schedules worth at most this are
              looked for; "cannot" then means that none is.
              takes_turns: several searches take turns in the one thread, better where the limit is long.
              tell: hears the value of each better schedule when it is found; changes nothing.
    Raises:   OutOfRange for a task without ways, a negative duration, a pair that names no task or wishes for some.
    """
    check_problem(problem)
    if not problem.tasks:
        return ShopSchedule(
            slots=(), objective=objective, value=0, bound=0, gap_ratio=0.0, status="proved", seed=seed,
            work_limit=work_limit,
        )  # fmt: skip
    from ortools.sat.python import cp_model

    made = _Model(problem, horizon_of(problem))
    made.aim(objective, most)
    if hint:
        made.hint(hint)
    solver = settled_solver(work_limit, seed=seed)
    solver.parameters.interleave_search = takes_turns
    status = solver.solve(made.model, None if tell is None else _telling(tell))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        failed = "cannot" if status == cp_model.INFEASIBLE else "no answer"
        bound = 0 if failed == "cannot" else max(0, math.ceil(solver.best_objective_bound - 1e-6))
        return ShopSchedule(
            slots=(), objective=objective, value=0, bound=bound, gap_ratio=1.0, status=failed, seed=seed,
            work_limit=work_limit,
        )  # fmt: skip
    value, bound = round(solver.objective_value), math.ceil(solver.best_objective_bound - 1e-6)
    return ShopSchedule(
        slots=made.slots(solver), objective=objective, value=value, bound=min(value, bound),
        gap_ratio=round((value - min(value, bound)) / value, 6) if value else 0.0,
        status="proved" if status == cp_model.OPTIMAL else "not proved", seed=seed, work_limit=work_limit,
    )  # fmt: skip


def _telling(tell: Callable[[int], None]) -> cp_model.CpSolverSolutionCallback:
    """Hands on the value of each schedule that the solver finds."""
    from ortools.sat.python import cp_model

    class Telling(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            tell(round(self.objective_value))

    return Telling()


def check_problem(problem: ShopProblem) -> None:
    """Refuse what means nothing.

    Raises:   OutOfRange.
    """
    count = len(problem.tasks)
    for index, task in enumerate(problem.tasks):
        if not task.ways or any(w.duration < 0 or w.people < 0 for w in task.ways):
            raise OutOfRange("A task needs a way, and none takes less than nothing", where=f"task {index}")
        if any(not NO_MACHINE <= w.machine < problem.machines_count for w in task.ways):
            raise OutOfRange("A way names a machine that is not there", where=f"task {index}")
    if problem.wished and len(problem.wished) != count:
        raise OutOfRange("Wishes are for every task or none", value=f"{len(problem.wished)} for {count} tasks")
        if task.lasts and (len(task.lasts) != len(task.starts) or not _is_free(task)):
            raise OutOfRange("What lasts by its start has one way, no machine and no people", where=f"task {index}")
    named = [index for pair in problem.before for index in pair] + [i for e in problem.endings for i in e.tasks]
    if any(not 0 <= index < count for index in named):
        raise OutOfRange("A pair or an ending names a task that is not there", limit=f"0 to {count - 1}")


def _is_free(task: Task) -> bool:
    return len(task.ways) == 1 and task.ways[0].machine == NO_MACHINE and not task.ways[0].people


def horizon_of(problem: ShopProblem) -> int:
    """By then everything can be done one after the other, however long a task waits for its next moment."""
    longest = sum(max(*(w.duration for w in task.ways), *task.lasts, 0) for task in problem.tasks)
    begun = max((max(task.starts, default=task.release) for task in problem.tasks), default=0)
    setups = max(problem.setups.values(), default=0) * len(problem.tasks)
    return longest + begun + setups


class _Model:
    """Variables and constraints of one problem."""

    def __init__(self, problem: ShopProblem, horizon: int) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.horizon = problem, horizon
        self.model = cp_model.CpModel()
        self.starts: list[cp_model.IntVar] = []
        self.ends: list[cp_model.IntVar] = []
        self.setups: list[cp_model.IntVar | int] = []
        self.takes: list[list[cp_model.IntVar | int]] = []
        self._by_machine: list[list[tuple[int, int]]] = [[] for _ in range(problem.machines_count)]
        self._spans: list[list[cp_model.IntervalVar]] = [[] for _ in range(problem.machines_count)]
        self._people: list[tuple[cp_model.IntervalVar, int]] = []
        needs = {(machine, after) for (machine, _, after), length in problem.setups.items() if length}
        for index, task in enumerate(problem.tasks):
            self._add(index, task, needs)
        for first, then in problem.before:
            self.model.add(self.ends[first] <= self.starts[then])
        for machine, spans in enumerate(self._spans):
            if len(spans) > 1:
                self.model.add_no_overlap(spans)
            self._sequence(machine, needs)
        if any(task.starts for task in problem.tasks):
            self._fill_machines()
        for ending in problem.endings:
            if ending.latest is not None:
                for index in ending.tasks:
                    self.model.add(self.ends[index] <= ending.latest)
        if problem.last_most is not None:
            for end in self.ends:
                self.model.add(end <= problem.last_most)
        if problem.people is not None and self._people:
            self.model.add_cumulative(
                [span for span, _ in self._people], [need for _, need in self._people], problem.people
            )

    def _add(self, index: int, task: Task, needs: set[tuple[int, int]]) -> None:
        from ortools.sat.python import cp_model

        model, problem = self.model, self.problem
        domain = (
            cp_model.Domain.from_values([s for s in task.starts if s >= task.release])
            if task.starts
            else cp_model.Domain(task.release, self.horizon)
        )
        start = model.new_int_var_from_domain(domain, f"start {index}")
        end = model.new_int_var(0, self.horizon, f"end {index}")
        shortest, slowest = min(w.duration for w in task.ways), max(w.duration for w in task.ways)
        longest = max(
            (v for (m, _, f), v in problem.setups.items() if f == task.family and m in {w.machine for w in task.ways}),
            default=0,
        )
        setup: cp_model.IntVar | int = model.new_int_var(0, longest, f"setup {index}") if longest else 0
        takes: list[cp_model.IntVar | int] = []
        for number, way in enumerate(task.ways):
            alone = len(task.ways) == 1
            taken = 1 if alone else model.new_bool_var(f"way {index} {number}")
            takes.append(taken)
            span = model.new_optional_fixed_size_interval_var(start, way.duration, taken, f"span {index} {number}")
            if way.people:
                self._people.append((span, way.people))
            if not isinstance(setup, int) and way.machine not in {machine for machine, _ in needs}:
                model.add(setup == 0).only_enforce_if(taken)
            if way.machine == NO_MACHINE:
                continue
            self._by_machine[way.machine].append((index, number))
            if (way.machine, task.family) in needs:
                begun = model.new_int_var(0, self.horizon, f"begun {index} {number}")
                model.add(begun == start - setup)
                length = model.new_int_var(way.duration, way.duration + longest, f"length {index} {number}")
                model.add(length == way.duration + setup)
                span = model.new_optional_interval_var(
                    begun, length, start + way.duration, taken, f"whole {index} {number}"
                )
            self._spans[way.machine].append(span)
        if len(task.ways) > 1:
            model.add_exactly_one(takes)
        if task.lasts:
            length = model.new_int_var(min(task.lasts), max(task.lasts), f"lasts {index}")
            pairs = [pair for pair in zip(task.starts, task.lasts, strict=True) if pair[0] >= task.release]
            model.add_allowed_assignments([start, length], pairs)
            model.add(end == start + length)
        elif shortest == slowest:
            model.add(end == start + shortest)
        else:
            model.add(end == start + sum(w.duration * t for w, t in zip(task.ways, takes, strict=True)))
        if longest and problem.setup_people:
            self._people.append(
                (
                    model.new_interval_var(model.new_int_var(0, self.horizon, ""), setup, start, f"setting up {index}"),
                    problem.setup_people,
                )
            )
        self.starts.append(start)
        self.ends.append(end)
        self.setups.append(setup)
        self.takes.append(takes)

    def _fill_machines(self) -> None:
        """The last task of a machine ends no earlier than its work takes: follows from the rest, and helps proofs.

        After the earliest head lie all tasks and all set-ups but the first, which may be done before it.
        """
        heads = self._heads()
        for machine, here in enumerate(self._by_machine):
            if not here:
                continue
            last = self.model.new_int_var(0, self.horizon, "")
            self.model.add_max_equality(last, [self.ends[i] for i in sorted({i for i, _ in here})])
            work = self._work_of(here)
            alone = [i for i, _ in here if len(self.takes[i]) == 1]
            begun = min(heads[i] for i, _ in here) if alone else 0
            setups: cp_model.LinearExprT = sum(self.setups[i] for i in alone)
            families = {self.problem.tasks[i].family for i in alone}
            first = max((self.problem.setups.get((machine, NO_FAMILY, f), 0) for f in families), default=0)
            self.model.add(sum([work, setups]) <= last - begun + min(first, begun))

    def _work_of(self, here: list[tuple[int, int]]) -> cp_model.LinearExprT:
        """What a machine does of the ways that name it."""
        return sum(self.problem.tasks[i].ways[n].duration * self.takes[i][n] for i, n in here)

    def _heads(self) -> list[int]:
        """Before this no task can begin, by what must end first alone."""
        tasks = self.problem.tasks
        heads = [task.release for task in tasks]
        for _ in range(len(tasks)):
            moved = False
            for first, then in self.problem.before:
                least = heads[first] + min(way.duration for way in tasks[first].ways)
                if heads[then] < least <= self.horizon:
                    heads[then], moved = least, True
            if not moved:
                break
        return heads

    def _sequence(self, machine: int, needs: set[tuple[int, int]]) -> None:
        """What follows what on a machine that is set up: the set-up of a task is by the family before it."""
        model, problem = self.model, self.problem
        here = self._by_machine[machine]
        if not any(m == machine for m, _ in needs):
            return
        arcs: list[tuple[int, int, cp_model.LiteralT]] = []
        empty = model.new_bool_var(f"nothing on {machine}")
        arcs.append((0, 0, empty))
        for at, (index, number) in enumerate(here, start=1):
            taken = self.takes[index][number]
            if isinstance(taken, int):
                model.add(empty == 0)
            else:
                arcs.append((at, at, taken.negated()))
                model.add_implication(taken, empty.negated())
            first = model.new_bool_var("")
            arcs.append((0, at, first))
            self._set_up(first, index, machine, NO_FAMILY)
            arcs.append((at, 0, model.new_bool_var("")))
            for to, (other, _) in enumerate(here, start=1):
                if index == other:
                    continue
                follows = model.new_bool_var("")
                arcs.append((at, to, follows))
                self._set_up(follows, other, machine, problem.tasks[index].family)
                model.add(self.ends[index] <= self.starts[other] - self.setups[other]).only_enforce_if(follows)
        model.add_circuit(arcs)

    def _set_up(self, when: cp_model.IntVar, index: int, machine: int, before: int) -> None:
        length = self.problem.setups.get((machine, before, self.problem.tasks[index].family), 0)
        setup = self.setups[index]
        if not isinstance(setup, int):
            self.model.add(setup == length).only_enforce_if(when)

    def aim(self, objective: Objective, most: int | None) -> None:
        """Set what is to be least."""
        model = self.model
        if objective == "makespan":
            last = model.new_int_var(0, self.horizon if most is None else min(most, self.horizon), "last")
            model.add_max_equality(last, self.ends)
            for here in self._by_machine:  # no machine does more work than there is time: follows, and helps proofs
                model.add(self._work_of(here) <= last)
            model.minimize(last)
            return
        if objective == "least moved":
            self._near(most)
            return
        if objective == "most late":
            self._most_late(most)
            return
        late: list[cp_model.LinearExprT] = []
        for number, ending in enumerate(self.problem.endings):
            past = model.new_int_var(0, self.horizon, f"past {number}")
            for index in ending.tasks:
                model.add(past >= self.ends[index] - ending.due)
            late.append(past * ending.weight)
        if most is not None:
            model.add(sum(late) <= most)
        model.minimize(sum(late))

    def _most_late(self, most: int | None) -> None:
        """The ending that is worst against its own date, counted from the last of the dates.

        No machine does more for the endings up to a date than there is time until then: follows, and helps proofs.
        """
        endings, last = self.problem.endings, max((e.due for e in self.problem.endings), default=0)
        top = self.horizon + last - min((e.due for e in endings), default=0)
        past = self.model.new_int_var(0, max(0, top if most is None else min(most, top)), "past")
        for ending in endings:
            for index in ending.tasks:
                self.model.add(past >= self.ends[index] + last - ending.due)
        for due in sorted({ending.due for ending in endings}):
            needed = self._leading_to([index for e in endings if e.due <= due for index in e.tasks])
            for here in self._by_machine:
                own = [(index, number) for index, number in here if index in needed]
                if own:
                    self.model.add(self._work_of(own) <= past - last + due)
        self.model.minimize(past)

    def _leading_to(self, tasks: Sequence[int]) -> set[int]:
        """These tasks and all that must end before them."""
        found, left = set(tasks), list(tasks)
        while left:
            then = left.pop()
            for first, other in self.problem.before:
                if other == then and first not in found:
                    found.add(first)
                    left.append(first)
        return found

    def _near(self, most: int | None) -> None:
        """Each task as near as can be to when it had better begin."""
        moved: list[cp_model.IntVar] = []
        for start, wish in zip(self.starts, self.problem.wished, strict=True):
            by = self.model.new_int_var(0, self.horizon, "")
            self.model.add(by >= start - wish)
            self.model.add(by >= wish - start)
            moved.append(by)
        if most is not None:
            self.model.add(sum(moved) <= most)
        self.model.minimize(sum(moved))

    def hint(self, slots: Sequence[Slot]) -> None:
        """Begin from a schedule."""
        for index, slot in enumerate(slots):
            self.model.add_hint(self.starts[index], slot.start)
            self.model.add_hint(self.ends[index], slot.end)
            setup = self.setups[index]
            if not isinstance(setup, int):
                self.model.add_hint(setup, slot.setup)
            for number, taken in enumerate(self.takes[index]):
                if not isinstance(taken, int):
                    self.model.add_hint(taken, number == slot.way)

    def slots(self, solver: cp_model.CpSolver) -> tuple[Slot, ...]:
        """What the solver found."""
        found: list[Slot] = []
        for index, takes in enumerate(self.takes):
            way = next(n for n, taken in enumerate(takes) if isinstance(taken, int) or solver.value(taken))
            setup = self.setups[index]
            found.append(
                Slot(
                    way=way, start=solver.value(self.starts[index]), end=solver.value(self.ends[index]),
                    setup=setup if isinstance(setup, int) else solver.value(setup),
                )
            )  # fmt: skip
        return tuple(found)
