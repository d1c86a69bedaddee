"""Run many plans side by side, each in a process of its own: on this machine, or on the workers of a cluster.

A plan that dies, because somebody or the system killed its process or its worker was lost, is begun again; its stored
decisions are reused. Every try writes into a folder of its own, so that one that was given up spoils nothing.
"""

from __future__ import annotations

import os
import subprocess
import time
import uuid
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.jobs.plan_process import POLL_S, begin_plan, end_plan, last_line
from proveout.model.run import Run
from proveout.quantities.errors import BadInput

TRIES_MOST = 3
THREAD_NAMES = ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
KNOWN_ENDS = (0, 1, 2, 3, 124)


class Task(msgspec.Struct, frozen=True, kw_only=True):
    """One plan to be made. arguments: of `proveout plan`, without --out.   beside: folder in which each try makes its
    own.   surroundings: names of the environment to set.
    """

    name: str
    arguments: tuple[str, ...]
    beside: str
    surroundings: dict[str, str]


class Done(msgspec.Struct, frozen=True, kw_only=True):
    """How a plan ended. folder: what the last try wrote, empty when nothing.   said: the last line on its error stream.

    seconds: of the last try.   tries_count: how often it was begun.
    """

    name: str
    status: int
    folder: str
    said: str
    seconds: float
    tries_count: int = 1


@dataclass
class _Child:
    task: Task
    process: subprocess.Popen[bytes]
    folder: Path
    begin: float
    tries_count: int


def threads_each(workers_count: int) -> dict[str, str]:
    """Names of the environment that share this machine's cores between so many processes."""
    each = str(max(1, (os.cpu_count() or 1) // workers_count))
    return {name: os.environ.get(name, each) for name in THREAD_NAMES}


def run_here(
    tasks: Sequence[Task], *, workers_count: int, run: Run, begun: Callable[[str], None] | None = None
) -> Iterator[Done]:  # fmt: skip
    """The plans as they end, so many at a time, on this machine.

    Args:     begun: told the name of each that begins.
    Raises:   Interrupted, OutOfTime from `run`, with every process ended.
    """
    waiting = [(task, 1) for task in tasks]
    running: list[_Child] = []
    try:
        while waiting or running:
            while waiting and len(running) < workers_count:
                task, number = waiting.pop(0)
                running.append(_begin(task, number))
                if begun is not None:
                    begun(task.name)
            run.check("catalogue", ", ".join(child.task.name for child in running))
            ended = [child for child in running if child.process.poll() is not None]
            for child in ended:
                running.remove(child)
                if child.process.returncode not in KNOWN_ENDS and child.tries_count < TRIES_MOST:
                    waiting.insert(0, (child.task, child.tries_count + 1))
                else:
                    yield _end(child)
            if not ended:
                time.sleep(POLL_S)
    finally:
        for child in running:
            end_plan(child.process)


def run_on_cluster(
    tasks: Sequence[Task], *, address: str, run: Run, begun: Callable[[str], None] | None = None
) -> Iterator[Done]:  # fmt: skip
    """The plans as they end on the workers of a cluster, which see the same folders under the same names.

    Args:     address: of the scheduler, as tcp://10.0.0.5:8786.   begun: told the name of each when it is handed over.
    Raises:   BadInput without the extra `cluster`, or where nobody answers.   Interrupted, OutOfTime from `run`.
    """
    try:
        from distributed import Client
    except ImportError as fault:
        raise BadInput(
            "Working on a cluster needs libraries that are not installed", where="--cluster", value=address,
            do="install proveout[cluster]",
        ) from fault  # fmt: skip
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError) as fault:
        raise BadInput(
            "No scheduler of a cluster answers", where="--cluster", value=address, do="start it, or correct the address"
        ) from fault
    with client:
        pending = {client.submit(run_one, task, pure=False, retries=TRIES_MOST - 1): task for task in tasks}
        if begun is not None:
            for task in tasks:
                begun(task.name)
        try:
            while pending:
                run.check("catalogue", f"{len(pending)} on the cluster")
                ended = [future for future in pending if future.done()]
                for future in ended:
                    yield _answer(future, pending.pop(future))
                if not ended:
                    time.sleep(POLL_S)
        finally:
            client.cancel(list(pending))


def _answer(future: object, task: Task) -> Done:
    if future.status == "finished":  # pyright: ignore[reportAttributeAccessIssue] - a future of the cluster
        return future.result()  # pyright: ignore[reportAttributeAccessIssue]
    fault = future.exception()  # pyright: ignore[reportAttributeAccessIssue]
    return Done(name=task.name, status=1, folder="", said=f"the cluster lost it: {fault}", seconds=0.0,
                tries_count=TRIES_MOST)  # fmt: skip


def run_one(task: Task) -> Done:
    """One plan in a process of its own, to its end: what a worker of a cluster does.

    Raises:   OSError when the process was killed, so that the cluster begins it again.
    """
    child = _begin(task, 1)
    child.process.wait()
    if child.process.returncode not in KNOWN_ENDS:
        raise OSError(f"the plan of {task.name} was killed with {child.process.returncode}")
    return _end(child)


def _begin(task: Task, number: int) -> _Child:
    folder = Path(task.beside) / uuid.uuid4().hex
    folder.mkdir(parents=True)
    process = begin_plan(
        task.arguments, out=folder / "result", said=folder / "stderr", surroundings=task.surroundings
    )  # fmt: skip
    return _Child(task=task, process=process, folder=folder, begin=time.perf_counter(), tries_count=number)


def _end(child: _Child) -> Done:
    result = child.folder / "result"
    return Done(
        name=child.task.name, status=child.process.returncode, folder=str(result) if result.is_dir() else "",
        said=last_line(child.folder / "stderr"), seconds=time.perf_counter() - child.begin,
        tries_count=child.tries_count,
    )  # fmt: skip
