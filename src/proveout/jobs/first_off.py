"""The first piece of a step, measured and found right before the next one is loaded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from proveout.model.batch import Batch

FirstState = Literal["none", "to measure", "outside", "right"]
OUTSIDE = "outside"


@dataclass(frozen=True)
class FirstOff:
    """state: none where nothing is measured at the step.   piece: the one it speaks of, empty before any reading.

    missing: marks not read of it yet.   outside: marks whose last reading does not pass.
    """

    state: FirstState
    piece: str = ""
    missing: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What is in the way of the next piece; empty where nothing is."""
        if self.state == "to measure":
            return f"The first piece is not measured yet: {', '.join(self.missing)}. Do not load the next one."
        if self.state == "outside":
            return f"The first piece is outside its limits: {', '.join(self.outside)}. Do not load the next one."
        return ""


def first_off(batch: Batch, step: str, readings: Iterable[Mapping[str, Any]]) -> FirstOff:
    """How far the first piece of a step is.   readings: rows of the readings of this batch, in their order.

    One piece of which every size was read and whose last reading of each passes is enough, whichever it is: the first
    ones may have been bad. A reading of which nobody said the piece counts for none: it may be of any of them.
    """
    marks = [check.mark for check in batch.checks if check.step == step]
    if not marks:
        return FirstOff("none")
    last: dict[str, dict[str, str]] = {}
    for row in readings:
        if row["step"] == step and row["piece"] and not row["lot"]:
            last.setdefault(row["piece"], {})[row["mark"]] = row["verdict"]
    found = [_of_piece(piece, verdicts, marks) for piece, verdicts in last.items()]
    right = next((one for one in found if one.state == "right"), None)
    if right is not None:
        return right
    return found[-1] if found else FirstOff("to measure", missing=tuple(marks))


def _of_piece(piece: str, verdicts: Mapping[str, str], marks: list[str]) -> FirstOff:
    outside = tuple(mark for mark in marks if verdicts.get(mark) == OUTSIDE)
    missing = tuple(mark for mark in marks if mark not in verdicts)
    state: FirstState = "outside" if outside else "to measure" if missing else "right"
    return FirstOff(state, piece, missing, outside)
