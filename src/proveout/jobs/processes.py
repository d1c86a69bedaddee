"""Processes that an earlier server began: whether one still lives, and how it is ended.

A number of a process is given to another one later, so that its birth belongs to its name. Where the system does not
tell births (no /proc), the number alone counts; on Windows a process of an earlier server counts as gone.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import time
from pathlib import Path

from proveout.jobs.plan_process import END_WITHIN_S, POLL_S

AFTER_NAME = b")"  # of the process, which may hold blanks
STATE_AT, BIRTH_AT = 0, 19  # behind it
DEAD = (b"Z", b"X")


def birth_of(pid: int) -> str:
    """When the process began, in the system's own count; empty when it is gone or the system does not tell."""
    told = _stat(pid)
    return told[BIRTH_AT].decode() if len(told) > BIRTH_AT and told[STATE_AT] not in DEAD else ""


def is_alive(pid: int, birth: str) -> bool:
    """That very process still runs."""
    if pid <= 0 or sys.platform == "win32":
        return False
    if Path("/proc/self/stat").exists():
        return birth != "" and birth_of(pid) == birth
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    return True


def end_by_id(pid: int, birth: str) -> None:
    """End that very process, gently at first; what is gone or is another by now is left alone."""
    for number, wait_s in ((signal.SIGTERM, END_WITHIN_S), (getattr(signal, "SIGKILL", signal.SIGTERM), 1.0)):
        if not is_alive(pid, birth):
            return
        with contextlib.suppress(OSError):
            os.kill(pid, number)
        until = time.monotonic() + wait_s
        while is_alive(pid, birth) and time.monotonic() < until:
            time.sleep(POLL_S)


def _stat(pid: int) -> list[bytes]:
    try:
        return Path(f"/proc/{pid}/stat").read_bytes().rpartition(AFTER_NAME)[2].split()
    except OSError:
        return []
