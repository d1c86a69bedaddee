"""Public job shops as problems: classic ones with one machine a step, and flexible ones with several."""

from __future__ import annotations

from pathlib import Path

from proveout.solving.shop_problem import Ending, ShopProblem, Task, Way

JOB_SHOPS = ("ft06", *(f"la{n:02d}" for n in range(1, 21)), "ft10")
FLEXIBLE = (
    *(f"brandimarte/mk{n:02d}" for n in range(1, 6)),
    *(f"kacem/k{n}" for n in range(1, 5)),
)  # fmt: skip


def of_jobs(jobs: list[list[tuple[Way, ...]]], machines_count: int) -> ShopProblem:
    """Steps of each job one after the other."""
    tasks: list[Task] = []
    before: list[tuple[int, int]] = []
    endings: list[Ending] = []
    for job in jobs:
        for number, ways in enumerate(job):
            if number:
                before.append((len(tasks) - 1, len(tasks)))
            tasks.append(Task(ways=ways))
        endings.append(Ending(tasks=(len(tasks) - 1,), due=0))
    return ShopProblem(
        machines_count=machines_count, tasks=tuple(tasks), before=tuple(before), endings=tuple(endings)
    )  # fmt: skip


def job_shop(path: Path) -> ShopProblem:
    """One line a job: pairs of machine and time."""
    lines = [line.split() for line in path.read_text("ascii").splitlines() if line.strip() and line[0] != "#"]
    rows = [[int(word) for word in line] for line in lines]
    jobs = [[(Way(machine=m, duration=d),) for m, d in zip(row[::2], row[1::2], strict=True)] for row in rows[1:]]
    return of_jobs(jobs, rows[0][1])


def flexible(path: Path) -> ShopProblem:
    """One line a job: how many steps, then for each how many machines and pairs of machine and time."""
    rows = [[int(float(word)) for word in line.split()] for line in path.read_text("ascii").splitlines()]
    jobs: list[list[tuple[Way, ...]]] = []
    for row in [row for row in rows[1:] if row]:
        at, job = 1, []
        for _ in range(row[0]):
            count = row[at]
            pairs = row[at + 1 : at + 1 + 2 * count]
            job.append(tuple(Way(machine=m, duration=d) for m, d in zip(pairs[::2], pairs[1::2], strict=True)))
            at += 1 + 2 * count
        jobs.append(job)
    return of_jobs(jobs, rows[0][1])
