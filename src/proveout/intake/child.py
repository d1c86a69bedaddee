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

_OUT_OF_MEMORY = 77


def read(*, path: Path, solid_name: str, deflection_mm: float) -> Any:
    """ReadSolid of a STEP file."""
    from proveout.solids.step import read_step

    return read_step(path, solid_name=solid_name, deflection_mm=deflection_mm)


def read_many(*, paths: list[Path], deflection_mm: float, log: Path) -> None:
    """Reads files in turn; after each adds a line to the log: "read", or the class of the refusal and its message."""
    from proveout.solids.step import read_step

    for path in paths:
        with log.open("a", encoding="utf-8") as lines:
            lines.write(f"begin {path.name}\n")
            lines.flush()
            try:
                read_step(path, deflection_mm=deflection_mm)
                lines.write("read\n")
            except ProveoutError as refusal:
                lines.write(f"{type(refusal).__name__} {refusal.message}\n")
            except Exception as fault:  # noqa: BLE001  what the kernel raises on a bad file is not ours to list
                lines.write(f"{type(_refusal(path.name, fault)).__name__} {_refusal(path.name, fault).message}\n")


def draw(*, brep: bytes, views: list[tuple[Any, Any]]) -> Any:
    """One Drawing per (view_direction, up)."""
    from proveout.solids.drawing import hidden_line_drawing

    return tuple(hidden_line_drawing(brep, view_direction=view, up=up) for view, up in views)


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


def _refusal(where: str, fault: BaseException) -> Unreadable:
    return Unreadable(
        "The CAD kernel could not make sense of the file",
        where=where,
        value=type(fault).__name__,
        do="export the solid again, if possible as AP214 or AP242",
    )


def main(request: str, result: str) -> int:
    """Does the requested task and writes its outcome beside; returns the exit status."""
    task, arguments, memory_limit_bytes = pickle.loads(Path(request).read_bytes())  # noqa: S301  from our own parent
    limit_memory(memory_limit_bytes)
    try:
        outcome = (False, TASKS[task](**arguments))
    except MemoryError:
        return _OUT_OF_MEMORY
    except ProveoutError as refusal:
        outcome = (True, refusal)
    except Exception as fault:  # noqa: BLE001  the kernel raises classes of its own on bad files
        if "bad_alloc" in str(fault) or "OutOfMemory" in type(fault).__name__:
            return _OUT_OF_MEMORY
        if type(fault).__module__.startswith("OCP"):
            where = getattr(arguments.get("path"), "name", "")
            outcome = (True, _refusal(where, fault))
        else:
            outcome = (True, f"{type(fault).__name__}: {fault}")
    written = Path(result + ".part")
    written.write_bytes(pickle.dumps(outcome, protocol=pickle.HIGHEST_PROTOCOL))
    written.replace(result)
    return 0


if __name__ == "__main__":
    status = main(sys.argv[1], sys.argv[2])
    sys.stdout.flush()
    os._exit(status)  # native destructors may crash at exit after a bad file; the result is already on disk
