"""Runs a piece of work on outside files in a process of its own, with limits of time and memory.

A native reader may crash, hang or eat all memory on a bad file; here that ends the child and becomes one sentence.
"""

from __future__ import annotations

import contextlib
import pickle
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from proveout.intake.child import OUT_OF_MEMORY
from proveout.quantities.errors import InternalError, OutOfTime, ProveoutError, Unreadable

MEMORY_LIMIT_BYTES = 4 * 1024**3


def in_child(
    task: str,
    arguments: dict[str, Any],
    *,
    where: str,
    time_limit_s: float,
    memory_limit_bytes: int = MEMORY_LIMIT_BYTES,
) -> Any:
    """The value of one task of proveout.intake.child; raises what the task raised, OutOfTime or Unreadable.

    where names the file in messages.  The memory limit holds where the operating system offers one to a process.
    """
    with tempfile.TemporaryDirectory(prefix="proveout-", ignore_cleanup_errors=True) as folder:
        request, result = Path(folder) / "request.pickle", Path(folder) / "result.pickle"
        request.write_bytes(pickle.dumps((task, arguments, memory_limit_bytes)))
        child = subprocess.Popen(
            [sys.executable, "-P", "-m", "proveout.intake.child", str(request), str(result)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=folder,
        )
        try:
            status = child.wait(timeout=time_limit_s)
        except subprocess.TimeoutExpired as cause:
            raise OutOfTime(
                "Reading the file took too long and was stopped",
                where=where,
                limit=f"{time_limit_s:g} s",
                do="raise the time limit, or export a simpler solid",
            ) from cause
        finally:
            if child.poll() is None:
                child.kill()
                with contextlib.suppress(subprocess.TimeoutExpired):
                    child.wait(timeout=10.0)
        return _outcome(result, status=status, where=where, memory_limit_bytes=memory_limit_bytes)


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
