"""One plan in a process of its own: how it is begun, and how it is ended so that it leaves nothing behind."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

END_WITHIN_S = 10.0
POLL_S = 0.05


def begin_plan(
    arguments: Sequence[str], *, out: Path, said: Path, surroundings: Mapping[str, str], is_lasting: bool = False
) -> subprocess.Popen[bytes]:  # fmt: skip
    """`proveout plan` with these arguments, in the background.

    Args:     out: its result folder.   said: file for its error stream, written anew.   surroundings: names of the
              environment to set.   is_lasting: it goes on when whoever began it is ended, also by Ctrl-C.
    """
    with said.open("wb") as told:
        return subprocess.Popen(
            [sys.executable, "-P", "-m", "proveout", "plan", *arguments, "--quiet", "--out", str(out)],
            env=os.environ | dict(surroundings), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=told,
            start_new_session=is_lasting,
        )  # fmt: skip


def end_plan(process: subprocess.Popen[bytes]) -> None:
    """End a process, gently at first, so that it takes its own children and half-made files with it."""
    with contextlib.suppress(OSError):
        process.send_signal(signal.SIGTERM)
    try:
        process.wait(END_WITHIN_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def last_line(said: Path) -> str:
    """The last line on the error stream of a plan; empty when it said nothing."""
    try:
        lines = said.read_text("utf-8", errors="replace").split("\n")
    except OSError:
        return ""
    return next((line.strip() for line in reversed(lines) if line.strip()), "")
