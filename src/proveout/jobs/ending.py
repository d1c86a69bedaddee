"""How a piece of work in a process of its own comes to its end: its exit status, and the sentence it says with it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from proveout.jobs.interrupts import Watch, listen
from proveout.quantities.errors import BadInput, Interrupted, OutOfTime, ProveoutError

READY, INTERNAL, BAD, NOT_READY, LATE, INTERRUPTED = 0, 1, 2, 3, 124, 130


def ended(work: Callable[[], int], watch: Watch) -> tuple[int, str]:
    """Do it; its own status without a sentence, or that of whatever went wrong.   watch: of its time limit."""
    try:
        listen()
        return work(), ""
    except KeyboardInterrupt:
        said = "The time limit has passed" if watch.has_rung else "Interrupted"
        said += "; nothing was written. Stored results are reused when you start again."
        return LATE if watch.has_rung else INTERRUPTED, said
    except BrokenPipeError:
        raise
    except Exception as fault:  # noqa: BLE001 - the door: each kind of error has its exit status and its sentence
        return status_and_words(fault)


def status_and_words(fault: Exception) -> tuple[int, str]:
    """The exit status and the sentence of what went wrong."""
    kinds = ((Interrupted, INTERRUPTED), (OutOfTime, LATE), (BadInput, BAD))
    for kind, status in kinds:
        if isinstance(fault, kind):
            return status, fault.message
    if isinstance(fault, ProveoutError):
        return INTERNAL, f"Proveout is at fault: {fault.message}"
    if isinstance(fault, OSError):
        return BAD, f"A file cannot be read or written: {fault.strerror or fault}; where: {fault.filename or '?'}"
    if isinstance(fault, MemoryError):
        return INTERNAL, "There is not enough memory for this part; do: close other programs, or plan a simpler solid"
    place = _place_of(fault)
    return INTERNAL, (
        f"Proveout is at fault: {type(fault).__name__}: {fault}; where: {place}; do: report this with the input"
    )


def _place_of(fault: BaseException) -> str:
    trace = fault.__traceback__
    place = "?"
    while trace is not None:
        code = trace.tb_frame.f_code
        if "proveout" in code.co_filename:
            place = f"{Path(code.co_filename).name} line {trace.tb_lineno}"
        trace = trace.tb_next
    return place
