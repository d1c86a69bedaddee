"""The first piece of a step, measured and found right before the next one is loaded.

The same is asked again of the next piece after whatever may have changed what the machine cuts (`books/renewed.py`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from proveout.books.readings import verdict_of
from proveout.books.renewed import renewals
from proveout.books.stretches import Told
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import ReadingTaken

FirstState = Literal["none", "to measure", "outside", "right"]
OUTSIDE = "outside"


@dataclass(frozen=True)
class FirstOff:
    """state: none where nothing is measured at the step.   piece: the one it speaks of, empty before any reading.

    missing: marks not read of it yet.   outside: marks whose last reading does not pass.   why: what made the next
    piece a first one again, empty where it is the first of all.
    """

    state: FirstState
    piece: str = ""
    missing: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    why: str = ""

    @property
    def words(self) -> str:
        """What is in the way of the next piece; empty where nothing is."""
        which = f"After {self.why} the next piece is a first piece again. It" if self.why else "The first piece"
        if self.state == "to measure":
            return f"{which} is not measured yet: {', '.join(self.missing)}. Do not load the next one."
        if self.state == "outside":
            return f"{which} is outside its limits: {', '.join(self.outside)}. Do not load the next one."
        return ""


def first_off(
    batch: Batch, step: StepCount, told: Told, *, cutters: frozenset[str] | None = None, now: datetime | None = None
) -> FirstOff:  # fmt: skip
    """How far the first piece of a step is.   told, cutters, now: as `renewals` has them.

    One piece of which every size was read and whose last reading of each passes is enough, whichever it is: the first
    ones may have been bad. A reading of which nobody said the piece counts for none: it may be of any of them. Once
    something changed, every size is read anew, of a piece that was not right before: that one was cut before it.
    """
    return _judged(batch, step.id, told, dict(renewals(batch, step, told, cutters=cutters, now=now)))


def was_right_once(batch: Batch, step: str, told: Told) -> bool:
    """Whether one piece of a step was ever found right, or nothing is measured there."""
    return _judged(batch, step, told, {}).state in ("right", "none")


def _judged(batch: Batch, step: str, told: Told, again: Mapping[int, str]) -> FirstOff:
    checks = {check.mark: check for check in batch.checks if check.step == step}
    if not checks:
        return FirstOff("none")
    last: dict[str, dict[str, str]] = {}
    done: set[str] = set()
    why = ""
    for place in range(len(told) + 1):
        if place in again:
            done |= {piece for piece, verdicts in last.items() if _of_piece(piece, verdicts, checks).state == "right"}
            last, why = {}, again[place]
        if place == len(told):
            break
        event, of = told[place]
        if isinstance(of, ReadingTaken) and (event.batch, of.step) == (batch.batch, step) and of.piece and not of.lot:
            last.setdefault(of.piece, {})[of.mark] = verdict_of(checks[of.mark], of.value)
    found = [_of_piece(piece, verdicts, checks, why) for piece, verdicts in last.items() if piece not in done]
    right = next((one for one in found if one.state == "right"), None)
    if right is not None:
        return right
    return found[-1] if found else FirstOff("to measure", missing=tuple(checks), why=why)


def _of_piece(piece: str, verdicts: Mapping[str, str], marks: Mapping[str, object], why: str = "") -> FirstOff:
    outside = tuple(mark for mark in marks if verdicts.get(mark) == OUTSIDE)
    missing = tuple(mark for mark in marks if mark not in verdicts)
    state: FirstState = "outside" if outside else "to measure" if missing else "right"
    return FirstOff(state, piece, missing, outside, why)
