"""Turns at work that keeps a machine busy: a few at a time, a few more wait a little while, and the rest is told so."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

from proveout.model.run import Run
from proveout.quantities.errors import Busy

LOOK_EVERY_S = 0.1


class Turns:
    """So many pieces of work at a time.

    Args:     at_a_time: how many work at once.   waiting_most: how many may wait for their turn.   wait_s: how long.
    """

    def __init__(self, *, at_a_time: int, waiting_most: int, wait_s: float) -> None:
        self._free, self._waiting_most, self._wait_s = at_a_time, waiting_most, wait_s
        self._waiting = 0
        self._changed = threading.Condition()

    @contextmanager
    def turn(self, run: Run) -> Iterator[None]:
        """Work inside of it.

        Raises:   Busy where too many wait already, or none was done in time.   Interrupted, OutOfTime from `run`.
        """
        self._take(run)
        try:
            yield
        finally:
            with self._changed:
                self._free += 1
                self._changed.notify()

    def _take(self, run: Run) -> None:
        until = time.monotonic() + self._wait_s
        with self._changed:
            if self._free < 1 and self._waiting >= self._waiting_most:
                raise _busy(f"{self._waiting} wait already")
            self._waiting += 1
            try:
                while self._free < 1:
                    run.check("waiting for a turn")
                    if time.monotonic() >= until:
                        raise _busy(f"waited {self._wait_s:g} s")
                    self._changed.wait(LOOK_EVERY_S)
                self._free -= 1
            finally:
                self._waiting -= 1


def _busy(value: str) -> Busy:
    return Busy("The desk is busy with what was asked before", value=value, do="ask again in some seconds")
