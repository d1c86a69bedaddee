"""The job shop: small ones with every schedule gone through, rules one by one, and mutated schedules refused."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solving.dispatch import by_start, in_order, in_sequence
from proveout.solving.feasible import broken_rules, worth
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, Ending, ShopProblem, Slot, Task, Way


class Dice:
    """Seeded draws."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)

    def randint(self, low: int, high: int) -> int:
        """From low to high, both among them."""
        return int(self.rng.integers(low, high + 1))

    def choice(self, things: Sequence[Any]) -> Any:
        """One of some."""
        return things[self.randint(0, len(things) - 1)]

    def sample(self, count: int, wanted: int) -> list[int]:
        """Some of the numbers from 0 on."""
        return [int(n) for n in self.rng.permutation(count)[:wanted]]


def made(seed: int, *, jobs: int = 3, steps: int = 3, machines: int = 2) -> ShopProblem:
    """A seeded shop with choices, set-ups by family, people, a stay outside that begins on certain moments, dates."""
    rng = Dice(seed)
    tasks: list[Task] = []
    before: list[tuple[int, int]] = []
    endings: list[Ending] = []
    for _ in range(jobs):
        for step in range(steps):
            chosen = rng.sample(machines, rng.randint(1, machines))
            ways = tuple(Way(machine=m, duration=rng.randint(1, 9), people=rng.randint(0, 60)) for m in chosen)
            if step:
                before.append((len(tasks) - 1, len(tasks)))
            tasks.append(Task(ways=ways, family=rng.randint(0, 1), release=rng.randint(0, 3)))
        before.append((len(tasks) - 1, len(tasks)))
        tasks.append(Task(ways=(Way(machine=NO_MACHINE, duration=5),), starts=tuple(range(0, 400, 7))))
        endings.append(Ending(tasks=(len(tasks) - 1,), due=rng.randint(5, 25), weight=rng.randint(1, 3)))
    setups = {
        (m, a, b): rng.randint(1, 3) for m in range(machines) for a in (NO_FAMILY, 0, 1) for b in (0, 1) if a != b
    }
    return ShopProblem(
        machines_count=machines, tasks=tuple(tasks), before=tuple(before), setups=setups, people=100, setup_people=100,
        endings=tuple(endings),
    )  # fmt: skip


def least_by_going_through(problem: ShopProblem) -> int:
    """Least makespan among all orders and ways, each placed as early as it goes: an upper bound nothing may beat."""
    best = 10**9
    ways = [range(len(task.ways)) for task in problem.tasks]
    for order in {in_order(problem, wish) for wish in itertools.permutations(range(len(problem.tasks)))}:
        for choice in itertools.product(*ways):
            best = min(best, worth(problem, in_sequence(problem, order, ways=choice), "makespan"))
    return best


@pytest.mark.parametrize("seed", range(4))
def test_small_shops_are_as_good_as_all_orders(seed: int) -> None:
    """With set-ups and people: the proved best is what going through all sequences gives."""
    problem = made(seed, jobs=2, steps=2)
    found = solve_shop(problem, objective="makespan")
    assert found.status == "proved"
    assert (found.value, found.bound, found.gap_ratio) == (worth(problem, found.slots, "makespan"), found.value, 0.0)
    assert broken_rules(problem, found.slots) == ()
    assert found.value <= least_by_going_through(problem)
    again = in_sequence(problem, by_start(problem, found.slots), ways=[slot.way for slot in found.slots])
    assert broken_rules(problem, again) == ()


@pytest.mark.parametrize("seed", range(3))
def test_lateness_is_weighed_and_the_bound_is_below(seed: int) -> None:
    problem = made(seed)
    found = solve_shop(problem, objective="weighted lateness", work_limit=0.5)
    assert broken_rules(problem, found.slots) == ()
    assert found.value == worth(problem, found.slots, "weighted lateness")
    assert found.bound <= found.value
    greedy = in_sequence(problem, in_order(problem, range(len(problem.tasks))))
    assert broken_rules(problem, greedy) == ()
    assert found.bound <= worth(problem, greedy, "weighted lateness")
    assert solve_shop(problem, objective="weighted lateness", work_limit=0.5) == found


def mutated(rng: Dice, problem: ShopProblem, slots: tuple[Slot, ...]) -> tuple[Slot, ...]:
    """One thing wrong that certainly breaks a rule."""
    at = rng.randint(0, len(slots) - 1)
    slot = slots[at]
    kind = rng.randint(0, 5)
    changed = list(slots)
    if kind == 0:  # takes less than it needs
        changed[at] = msgspec.structs.replace(slot, end=slot.end - 1)
    elif kind == 1:  # a way that is not there
        changed[at] = msgspec.structs.replace(slot, way=len(problem.tasks[at].ways))
    elif kind == 2:  # begins before what must end first
        first, then = rng.choice(problem.before)
        start = slots[first].end - 1
        long = slots[then].end - slots[then].start
        changed[then] = msgspec.structs.replace(slots[then], start=start, end=start + long)
    elif kind == 3:  # a set-up too long or too short
        changed[at] = msgspec.structs.replace(slot, setup=slot.setup + rng.choice((-1, 1)))
    elif kind == 4:  # two at once on a machine
        machine = [i for i, s in enumerate(slots) if problem.tasks[i].ways[s.way].machine != NO_MACHINE]
        pairs = [
            (a, b)
            for a, b in itertools.permutations(machine, 2)
            if problem.tasks[a].ways[slots[a].way].machine == problem.tasks[b].ways[slots[b].way].machine
        ]
        a, b = rng.choice(pairs)
        long = slots[b].end - slots[b].start
        changed[b] = msgspec.structs.replace(slots[b], start=slots[a].start, end=slots[a].start + long)
    else:  # leaves when nobody collects
        away = [i for i, task in enumerate(problem.tasks) if task.starts]
        at = rng.choice(away)
        changed[at] = msgspec.structs.replace(slots[at], start=slots[at].start + 1, end=slots[at].end + 1)
    return tuple(changed)


def test_a_thousand_mutated_schedules_are_all_refused() -> None:
    rng = Dice(20260105)
    problems = [made(seed, jobs=4) for seed in range(20)]
    schedules = [in_sequence(p, in_order(p, range(len(p.tasks)))) for p in problems]
    for problem, slots in zip(problems, schedules, strict=True):
        assert broken_rules(problem, slots) == ()
    accepted = 0
    for number in range(1000):
        problem, slots = problems[number % 20], schedules[number % 20]
        accepted += not broken_rules(problem, mutated(rng, problem, slots))
    assert accepted == 0


def test_too_many_people_at_once_are_refused() -> None:
    tasks = tuple(Task(ways=(Way(machine=m, duration=4, people=60),)) for m in (0, 1))
    problem = ShopProblem(machines_count=2, tasks=tasks, people=100)
    together = (Slot(way=0, start=0, end=4), Slot(way=0, start=3, end=7))
    assert broken_rules(problem, together) == ("120 of the people are asked at 3, and there are 100",)
    assert solve_shop(problem, objective="makespan").value == 8


def test_a_collection_is_waited_for() -> None:
    """worked: 3 long, collected at 10 or 20 only, away 5: 15."""
    problem = ShopProblem(
        machines_count=1, before=((0, 1),),
        tasks=(
            Task(ways=(Way(machine=0, duration=3),)),
            Task(ways=(Way(machine=NO_MACHINE, duration=5),), starts=(2, 10, 20)),
        ),
    )  # fmt: skip
    assert solve_shop(problem, objective="makespan").value == 15
    assert in_sequence(problem, (0, 1))[1].start == 10


def test_a_moment_to_begin_at_which_people_are_missing_is_let_go() -> None:
    busy = Task(ways=(Way(machine=NO_MACHINE, duration=12, people=60),), release=8)
    fetched = Task(ways=(Way(machine=NO_MACHINE, duration=5, people=50),), starts=(0, 10, 20), release=3)
    problem = ShopProblem(machines_count=0, tasks=(busy, fetched), people=100)
    slots = in_sequence(problem, (0, 1))
    assert slots[1].start == 20
    assert broken_rules(problem, slots) == ()


def test_a_task_without_a_moment_left_breaks_a_rule() -> None:
    late = Task(ways=(Way(machine=NO_MACHINE, duration=5),), starts=(0, 10), release=11)
    problem = ShopProblem(machines_count=0, tasks=(late,))
    assert broken_rules(problem, in_sequence(problem, (0,))) == ("task 0 begins at 11, when it may not",)


def test_set_ups_follow_the_sequence() -> None:
    """worked: families 0 1 0: two of 0 first, then one change of 4: 2 + 2 + 4 + 2 after the first set-up of 1 = 11."""
    tasks = tuple(Task(ways=(Way(machine=0, duration=2),), family=f) for f in (0, 1, 0))
    setups = {(0, NO_FAMILY, 0): 1, (0, NO_FAMILY, 1): 1, (0, 0, 1): 4, (0, 1, 0): 9}
    problem = ShopProblem(machines_count=1, tasks=tasks, setups=setups)
    found = solve_shop(problem, objective="makespan")
    assert (found.value, found.status) == (11, "proved")
    assert broken_rules(problem, found.slots) == ()


def test_a_machine_that_asks_for_none_is_not_set_up() -> None:
    """A hint that sets it up all the same is not kept."""
    either = Task(ways=(Way(machine=0, duration=9), Way(machine=1, duration=2)), family=0)
    other = Task(ways=(Way(machine=0, duration=9),), family=0)
    problem = ShopProblem(machines_count=2, tasks=(either, other), setups={(0, NO_FAMILY, 0): 3})
    hint = (Slot(way=1, start=3, end=5, setup=3), Slot(way=0, start=3, end=12, setup=3))
    found = solve_shop(problem, objective="makespan", hint=hint)
    assert found.slots[0].way == 1
    assert broken_rules(problem, found.slots) == ()


def test_least_is_moved_of_what_had_better_stay() -> None:
    """worked: two of 3 on one machine wish to begin at 0 and 2: the second moves by 1; done by 7 at the latest."""
    tasks = tuple(Task(ways=(Way(machine=0, duration=3),), release=release) for release in (0, 0))
    problem = ShopProblem(machines_count=1, tasks=tasks, wished=(0, 2), last_most=7)
    found = solve_shop(problem, objective="least moved")
    assert (found.value, found.bound, [s.start for s in found.slots]) == (1, 1, [0, 3])
    assert broken_rules(problem, found.slots) == ()
    late = (Slot(way=0, start=0, end=3), Slot(way=0, start=5, end=8))
    assert broken_rules(problem, late) == ("task 1 ends at 8, later than 7",)
    with pytest.raises(OutOfRange, match="every task or none"):
        solve_shop(msgspec.structs.replace(problem, wished=(1,)), objective="least moved")


def test_each_better_schedule_is_told_as_it_is_found_and_changes_nothing() -> None:
    """Nine steps of three jobs on three machines: what is told gets better, and the last of it is the answer."""
    rng = np.random.default_rng(11)
    tasks = tuple(Task(ways=(Way(machine=n % 3, duration=int(rng.integers(1, 9))),)) for n in range(9))
    problem = ShopProblem(
        machines_count=3, tasks=tasks, before=tuple((n, n + 1) for n in range(8) if n % 3 < 2),
        endings=tuple(Ending(tasks=(n,), due=0) for n in (2, 5, 8)),
    )  # fmt: skip
    told: list[int] = []
    found = solve_shop(problem, objective="makespan", tell=told.append)
    assert told == sorted(set(told), reverse=True)
    assert told[-1] == found.value
    assert found == solve_shop(problem, objective="makespan")


def test_what_means_nothing_is_refused() -> None:
    assert solve_shop(ShopProblem(machines_count=1, tasks=()), objective="makespan").status == "proved"
    for tasks, before in (
        ((Task(ways=()),), ()),
        ((Task(ways=(Way(machine=3, duration=1),)),), ()),
        ((Task(ways=(Way(machine=0, duration=1),)),), ((0, 4),)),
    ):
        with pytest.raises(OutOfRange):
            solve_shop(ShopProblem(machines_count=1, tasks=tasks, before=before), objective="makespan")


def test_a_ring_cannot_be_kept() -> None:
    tasks = tuple(Task(ways=(Way(machine=0, duration=2),)) for _ in range(2))
    ring = ShopProblem(machines_count=1, tasks=tasks, before=((0, 1), (1, 0)))
    assert solve_shop(ring, objective="makespan").status == "cannot"


def test_the_first_set_up_may_be_done_before_the_first_task_can_begin() -> None:
    """Saw 60, then mill 100 with a set-up of 30 during the sawing, then a stay of 480 from any moment: 640."""
    tasks = (
        Task(ways=(Way(machine=0, duration=60),), family=0),
        Task(ways=(Way(machine=1, duration=100),), family=1),
        Task(ways=(Way(machine=NO_MACHINE, duration=480),), starts=tuple(range(0, 700, 10))),
    )
    problem = ShopProblem(
        machines_count=2, tasks=tasks, before=((0, 1), (1, 2)), setups={(1, NO_FAMILY, 1): 30, (1, 0, 1): 30}
    )
    slots = in_sequence(problem, (0, 1, 2))
    assert broken_rules(problem, slots) == ()
    assert worth(problem, slots, "makespan") == 60 + 100 + 480
    found = solve_shop(problem, objective="makespan")
    assert (found.status, found.value, found.bound) == ("proved", 640, 640)


@pytest.mark.parametrize("seed", range(12))
def test_no_schedule_that_can_be_kept_is_shorter_than_the_bound(seed: int) -> None:
    """Lots in a row on machines of their own, longer set-ups than waits, a stay at the end: many orders tried."""
    rng = Dice(900 + seed)
    tasks: list[Task] = []
    before: list[tuple[int, int]] = []
    for job in range(2):
        for step in range(3):
            if step:
                before.append((len(tasks) - 1, len(tasks)))
            tasks.append(Task(ways=(Way(machine=step, duration=rng.randint(1, 9)),), family=job))
        before.append((len(tasks) - 1, len(tasks)))
        tasks.append(Task(ways=(Way(machine=NO_MACHINE, duration=5),), starts=tuple(range(0, 200, rng.randint(1, 3)))))
    setups = {(m, a, b): rng.randint(2, 9) for m in (1, 2) for a in (NO_FAMILY, 0, 1) for b in (0, 1) if a != b}
    problem = ShopProblem(machines_count=3, tasks=tuple(tasks), before=tuple(before), setups=setups)
    found = solve_shop(problem, objective="makespan")
    kept = 10**9
    for _ in range(60):
        slots = in_sequence(problem, in_order(problem, rng.sample(len(tasks), len(tasks))))
        if not broken_rules(problem, slots):
            kept = min(kept, worth(problem, slots, "makespan"))
    assert kept < 10**9
    assert found.bound <= kept
