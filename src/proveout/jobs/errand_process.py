"""How an errand is begun: by a process that stands ready where there is one, else by one of its own."""

from __future__ import annotations

import contextlib
import os
import select
import subprocess
import sys
import threading
from pathlib import Path

import msgspec

from proveout.jobs.errand_sheet import READY, STANDING, Sheet, take_back, with_ticket

ANSWER_WITHIN_S = 2.0
COMMAND = [sys.executable, "-P", "-m", "proveout.jobs.errand_child"]


class Standing:
    """One process beside a server that has loaded what errands need, and forks for each.

    It is begun once, ends with the server however that ends, and does nothing by itself. Where the system cannot fork
    there is none.
    """

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._is_ready = False
        self._lock = threading.Lock()

    def start(self) -> None:
        """Begin it, unless it is there; nobody waits until it has loaded."""
        if not hasattr(os, "fork"):
            return
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                self._is_ready = False
                self._process = subprocess.Popen(
                    [*COMMAND, STANDING], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                    bufsize=0, start_new_session=True,
                )  # fmt: skip

    def begin(self, sheet: Sheet) -> int | None:
        """The number of the process that does it; None where nothing stands ready, and nothing has begun it.

        What does not answer in time is ended. Its fork may be at work by then: it is the one whose number is told, or
        it never begins.
        """
        with self._lock:
            process = self._process
            if process is None or not self._ready(process, within_s=0.0):
                return None
            assert process.stdin is not None
            sheet = with_ticket(sheet)
            try:
                process.stdin.write(msgspec.json.encode(sheet) + b"\n")
                return int(_line(process, within_s=ANSWER_WITHIN_S))
            except (OSError, ValueError):
                self._end()
                return take_back(sheet)

    def wait(self, *, most_s: float) -> bool:
        """Whether it stands ready before the time is over."""
        with self._lock:
            return self._process is not None and self._ready(self._process, within_s=most_s)

    @property
    def process_number(self) -> int | None:
        """Of the standing process; None where there is none."""
        return None if self._process is None else self._process.pid

    def let_go(self) -> None:
        """Close its standard input, as the system does when whoever began it is gone: it ends by itself."""
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.close()

    def end(self) -> None:
        """End it; errands go on."""
        with self._lock:
            self._end()

    def _ready(self, process: subprocess.Popen[bytes], *, within_s: float) -> bool:
        if not self._is_ready and process.poll() is None:
            self._is_ready = _line(process, within_s=within_s) == READY
        return self._is_ready and process.poll() is None

    def _end(self) -> None:
        process, self._process, self._is_ready = self._process, None, False
        if process is not None:
            for stream in (process.stdin, process.stdout):
                with contextlib.suppress(OSError):
                    if stream is not None:
                        stream.close()
            process.kill()
            process.wait()


def begin_errand(sheet: Sheet, *, standing: Standing | None = None) -> tuple[int, subprocess.Popen[bytes] | None]:
    """Begin it in the background; the number of its process, and the process where it is a child of this one.

    It goes on when whoever began it is ended.   Raises:   OSError when it cannot be begun.
    """
    number = standing.begin(sheet) if standing is not None else None
    if number is not None:
        return number, None
    if standing is not None:
        standing.start()  # for the next one, where it died
    with Path(sheet.log).open("wb") as told:
        process = subprocess.Popen(
            [*COMMAND, msgspec.json.encode(sheet).decode()], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=told, start_new_session=True,
        )  # fmt: skip
    return process.pid, process


def _line(process: subprocess.Popen[bytes], *, within_s: float) -> str:
    """The next line that it says; empty where it says none in time."""
    assert process.stdout is not None
    if not select.select([process.stdout], [], [], within_s)[0]:
        return ""
    return process.stdout.readline().decode().strip()
