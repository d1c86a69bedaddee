"""Heizer and Render, scheduling example after Johnson 1954 (from memory; optimum confirmed here by all 120 orders).

A (5, 2) B (3, 6) C (8, 4) D (10, 7) E (7, 12): sequence B E D C A, 35 hours.
"""

from __future__ import annotations

import itertools

from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import ShopProblem, Task, Way

JOBS = {"A": (5, 2), "B": (3, 6), "C": (8, 4), "D": (10, 7), "E": (7, 12)}


def length(order: str) -> int:
    """Both machines in one order, by hand."""
    first = second = 0
    for job in order:
        first += JOBS[job][0]
        second = max(first, second) + JOBS[job][1]
    return second


def test_the_shortest_flow_is_thirty_five_hours() -> None:
    tasks = tuple(Task(ways=(Way(machine=m, duration=JOBS[j][m]),)) for j in JOBS for m in (0, 1))
    problem = ShopProblem(machines_count=2, tasks=tasks, before=tuple((n, n + 1) for n in range(0, 10, 2)))
    found = solve_shop(problem, objective="makespan")
    assert (found.value, found.bound, found.status) == (35, 35, "proved")
    assert broken_rules(problem, found.slots) == ()
    assert min(length("".join(order)) for order in itertools.permutations(JOBS)) == 35
    assert length("BEDCA") == 35
