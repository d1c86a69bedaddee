"""What a reading says against the limits that hold where it was made."""

from __future__ import annotations

from typing import Literal

from proveout.model.batch_events import Check

ReadingVerdict = Literal["within", "react", "outside"]


def verdict_of(check: Check, value: float) -> ReadingVerdict:
    """Whether a reading lies within its limits, passes but beyond where somebody is told, or does not pass.

    A value that lies exactly on a limit is inside it.
    """
    if _beyond(value, check.low, check.high):
        return "outside"
    return "react" if _beyond(value, check.react_low, check.react_high) else "within"


def _beyond(value: float, low: float | None, high: float | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)
