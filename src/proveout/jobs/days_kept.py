"""The days that a part's work was planned for, kept beside its plan for papers that are made later."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

import msgspec

from proveout.model.schedule import ScheduledStep

DAYS = "days.json"


class _Days(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Steps of one part in the schedule of its order.   plan: fingerprint that its papers carry."""

    plan: str
    steps: tuple[ScheduledStep, ...]


def days_bytes(steps: Iterable[ScheduledStep], *, plan: str) -> bytes:
    """The file's content: equal steps give equal bytes.   plan: the fingerprint of the plan they are of."""
    told = _Days(plan=plan, steps=tuple(steps))
    return msgspec.json.format(msgspec.json.encode(told, order="deterministic"), indent=2) + b"\n"


def days_kept(folder: Path, *, plan: str, part: str, today: date) -> tuple[ScheduledStep, ...]:
    """The steps of a part as planned; none where nothing was scheduled, or it is another plan's.

    Days that have begun before `today` are no plan any more: then none of them is told, since later ones hang on them.
    """
    try:
        told = msgspec.json.decode((folder / DAYS).read_bytes(), type=_Days)
        first = min((date.fromisoformat(step.day) for step in told.steps), default=None)
    except (OSError, ValueError, msgspec.MsgspecError):
        return ()
    if told.plan != plan or first is None or first < today or any(part not in step.parts for step in told.steps):
        return ()
    return told.steps
