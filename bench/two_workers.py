"""A cluster of two workers on this machine, one thread each, and how to lose one of them."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

GIVE_UP_S = 120.0
POLL_S = 0.05


@contextmanager
def two_workers() -> Iterator[tuple[str, list[int]]]:
    """The scheduler's address and the workers' process ids."""
    import distributed

    kinds: Any = distributed  # its calls are typed as if every one were awaited
    with kinds.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster:
        with kinds.Client(cluster) as client:
            pids = sorted(client.run(os.getpid).values())
        yield cluster.scheduler_address, pids


@contextmanager
def lost_when(at_work: Callable[[], bool], pid: int) -> Iterator[threading.Event]:
    """Within the block the process is killed as soon as the work has come so far; set once it was."""
    over, lost = threading.Event(), threading.Event()

    def wait_and_kill() -> None:
        until = time.monotonic() + GIVE_UP_S
        while not over.is_set() and time.monotonic() < until:
            if at_work():
                os.kill(pid, signal.SIGKILL)
                lost.set()
                return
            time.sleep(POLL_S)

    killer = threading.Thread(target=wait_and_kill)
    killer.start()
    try:
        yield lost
    finally:
        over.set()
        killer.join()
