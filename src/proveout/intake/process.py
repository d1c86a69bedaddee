"""Runs a piece of work on outside files in a process of its own, with limits of time and memory.

A native reader may crash, hang or eat all memory on a bad file; here that ends the child and becomes one sentence.
"""

from __future__ import annotations

import contextlib
import pickle
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from proveout.intake.child import OUT_OF_MEMORY
from proveout.quantities.errors import InternalError, OutOfTime, ProveoutError, Unreadable

MEMORY_LIMIT_BYTES = 4 * 1024**3


class Child:
    """One task of proveout.intake.child, begun at once in a process of its own.

    where names the file in messages.  The memory limit holds where the operating system offers one to a process.  The
    time limit counts from the start.  `result` must be asked for, or `stop` called: both end the process.
    """

    def __init__(
        self,
        task: str,
        arguments: dict[str, Any],
        *,
        where: str,
        time_limit_s: float,
        memory_limit_bytes: int = MEMORY_LIMIT_BYTES,
    ) -> None:
        self._where, self._time_limit_s, self._memory_limit_bytes = where, time_limit_s, memory_limit_bytes
        self.folder = tempfile.TemporaryDirectory(prefix="proveout-", ignore_cleanup_errors=True)
        request, self._result = (Path(self.folder.name) / f"{name}.pickle" for name in ("request", "result"))
        try:
            request.write_bytes(pickle.dumps((task, arguments, memory_limit_bytes)))
            self._until = time.monotonic() + time_limit_s
            self.process = subprocess.Popen(
                [sys.executable, "-P", "-m", "proveout.intake.child", str(request), str(self._result)],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                cwd=self.folder.name,
            )
        except BaseException:  # an interrupt too must leave no folder; it is handed on
            self.folder.cleanup()
            raise

    def result(self) -> Any:
        """The value of the task; raises what the task raised, OutOfTime or Unreadable."""
        try:
            status = self.process.wait(timeout=max(0.1, self._until - time.monotonic()))
            return _outcome(self._result, status=status, where=self._where, memory_limit_bytes=self._memory_limit_bytes)
        except subprocess.TimeoutExpired as cause:
            raise OutOfTime(
                "Reading the file took too long and was stopped",
                where=self._where,
                limit=f"{self._time_limit_s:g} s",
                do="raise the time limit, or export a simpler solid",
            ) from cause
        finally:
            self.stop()

    def stop(self) -> None:
        """End the process, if it still runs, and leave nothing of it."""
        if self.process.poll() is None:
            self.process.kill()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(timeout=10.0)
        self.folder.cleanup()


def _outcome(result: Path, *, status: int, where: str, memory_limit_bytes: int) -> Any:
    if status == OUT_OF_MEMORY:
        raise Unreadable(
            "Reading the file needs too much memory",
            where=where,
            limit=f"{memory_limit_bytes / 1024**2:.0f} MB",
            do="raise the memory limit, or export a simpler solid",
        )
    if status != 0 or not result.exists():
        raise Unreadable(
            "Reading the file broke the CAD kernel; the file is damaged or beyond what the kernel can read",
            where=where,
            value=f"the reading process ended with status {status}",
            do="export the solid again, if possible as AP214 or AP242",
        )
    is_error, value = pickle.loads(result.read_bytes())  # noqa: S301  written by our own child a moment ago
    if not is_error:
        return value
    if isinstance(value, ProveoutError):
        raise value
    raise InternalError("Reading the file failed inside Proveout", where=where, value=str(value))
