"""The child process of intake: `python -m proveout.intake.child REQUEST RESULT`, both pickles of our own.

Exit status 0: the result file holds (is_error, value).  77: out of memory.  Anything else: it broke.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from proveout.quantities.errors import ProveoutError, Unreadable

OUT_OF_MEMORY = 77


def read(*, path: Path, solid_name: str, deflection_mm: float, with_pmi: bool = True) -> Any:
    """ReadSolid of a STEP file; with_pmi: with the sizes and tolerances that it ties to faces."""
    from proveout.solids.step import read_step

    return read_step(path, solid_name=solid_name, deflection_mm=deflection_mm, with_pmi=with_pmi)


def read_many(*, paths: list[Path], deflection_mm: float, log: Path) -> None:
    """Reads files in turn; the log says for each that it was begun, and then "read" or the refusal on one line.

    Where the system can fork, each file is read in a fork, so that a crash costs no new start of the kernel.
    """
    from proveout.solids.step import read_step  # noqa: F401  loaded once, before the forks

    for path in paths:
        with log.open("a", encoding="utf-8") as lines:
            lines.write(f"begin {path.name}\n")
        fork = os.fork() if hasattr(os, "fork") else None
        if fork:
            if os.waitstatus_to_exitcode(os.waitpid(fork, 0)[1]) != 0:
                with log.open("a", encoding="utf-8") as lines:
                    lines.write("crash\n")
            continue
        is_error, value = attempt("read", {"path": path, "solid_name": "", "deflection_mm": deflection_mm})
        with log.open("a", encoding="utf-8") as lines:
            lines.write(f"{type(value).__name__} {value}\n" if is_error else "read\n")
        if fork == 0:
            os._exit(0)


def draw(*, brep: bytes, views: list[tuple[Any, Any]]) -> Any:
    """One Drawing per (view_direction, up)."""
    from proveout.solids.drawing import hidden_line_drawing

    return tuple(hidden_line_drawing(brep, view_direction=view, up=up) for view, up in views)


def nearest(*, brep: bytes, one: int, other: int) -> Any:
    """Distance of two faces, by their places in the exact solid, and the two points that lie nearest."""
    from proveout.solids.nearness import nearest_points

    return nearest_points(brep, one=one, other=other)


def wait(*, seconds_s: float) -> str:
    """Does nothing for a while: lets a test see the time limit at work."""
    time.sleep(seconds_s)
    return "waited"


def crash() -> None:
    """Ends the process at once, as a fault in native code does."""
    os.abort()


def fill(*, size_bytes: int) -> int:
    """Asks for memory: lets a test see the memory limit at work."""
    return len(bytearray(size_bytes))


TASKS: dict[str, Callable[..., Any]] = {
    "read": read,
    "read many": read_many,
    "draw": draw,
    "nearest": nearest,
    "wait": wait,
    "crash": crash,
    "fill": fill,
}


def limit_memory(size_bytes: int) -> None:
    """Sets the most memory this process may address, where the operating system can."""
    try:
        import resource
    except ImportError:
        return
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (size_bytes, size_bytes))
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def attempt(task: str, arguments: dict[str, Any]) -> tuple[bool, Any]:
    """(False, value) of a task or (True, what went wrong); raises MemoryError alone.

    What the kernel raises becomes a refusal of the file; any other exception is our own fault and is handed on as text.
    """
    try:
        return (False, TASKS[task](**arguments))
    except MemoryError:
        raise
    except ProveoutError as refusal:
        return (True, refusal)
    except Exception as fault:
        kind = type(fault)
        if "bad_alloc" in str(fault) or "OutOfMemory" in kind.__name__:
            raise MemoryError from fault
        if not kind.__module__.startswith("OCP") and not _is_from_kernel(fault):
            return (True, f"{kind.__name__}: {fault}")
        where = getattr(arguments.get("path"), "name", "")
        return (
            True,
            Unreadable(
                "The CAD kernel could not make sense of the file",
                where=where,
                value=kind.__name__,
                do="export the solid again, if possible as AP214 or AP242",
            ),
        )


def _is_from_kernel(fault: Exception) -> bool:
    """A C++ exception that arrives as a plain RuntimeError."""
    return type(fault) is RuntimeError


def main(request: str, result: str) -> int:
    """Does the requested task and writes its outcome beside; returns the exit status."""
    task, arguments, memory_limit_bytes = pickle.loads(Path(request).read_bytes())  # noqa: S301  from our own parent
    limit_memory(memory_limit_bytes)
    try:
        outcome = attempt(task, arguments)
    except MemoryError:
        return OUT_OF_MEMORY
    written = Path(result + ".part")
    written.write_bytes(pickle.dumps(outcome, protocol=pickle.HIGHEST_PROTOCOL))
    written.replace(result)
    return 0


if __name__ == "__main__":
    status = main(sys.argv[1], sys.argv[2])
    sys.stdout.flush()
    os._exit(status)  # native destructors may crash at exit after a bad file; the result is already on disk
