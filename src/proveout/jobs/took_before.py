"""How long work took the last time, stage by stage: all that is known of how long the same takes now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import msgspec

from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.found_files import read_bytes
from proveout.jobs.tasks import Tasks
from proveout.jobs.told_lines import Heard
from proveout.jobs.trying import TryAsked
from proveout.quantities.errors import BadInput

CAME_TO_SOMETHING = ("ready", "not ready", "done")
FRESH = "--fresh"


@dataclass(frozen=True)
class TookBefore:
    """The last run of the same work that came to something. took_s: from its begin to its end.

    heard: what it told of itself on the way, with the time spent in each stage.
    """

    task: BackgroundTask
    took_s: float
    heard: Heard

    def spent_s(self, stage: str) -> float | None:
        """In this stage, all times together; None where it did not come up."""
        return next((one.spent_s for one in self.heard.stages if one.stage == stage), None)


def took_before(tasks: Tasks, task: BackgroundTask) -> TookBefore | None:
    """The last run of the same; None where none is remembered.

    The same is a plan of the same entry that reuses what is stored, or reuses nothing, as this one; a try of the same
    keys on the same part; any other errand of its kind about the same.
    """
    alike = _alike(tasks, task)
    for one in tasks.all(kind=task.kind):
        is_one = one.subject == task.subject and one.id != task.id and one.state in CAME_TO_SOMETHING
        if is_one and one.begun_at and one.ended_at and _alike(tasks, one) == alike:
            return TookBefore(task=one, took_s=_between_s(one.begun_at, one.ended_at), heard=tasks.heard(one.id))
    return None


def last_plan(tasks: Tasks, subject: str) -> TookBefore | None:
    """The last plan of an entry that reused what was stored; None where none is remembered."""
    return took_before(tasks, BackgroundTask(id="", subject=subject, title="", arguments=(), out=""))


def elapsed_s(task: BackgroundTask, *, now: datetime) -> float | None:
    """Since it was begun, until it ended or now; None where it was not begun."""
    if not task.begun_at:
        return None
    return _between_s(task.begun_at, task.ended_at or now.isoformat())


def left_s(before: TookBefore, heard: Heard, *, elapsed_s: float, quiet_s: float = 0.0) -> float:
    """How much longer it takes if each stage takes as long as the last time.

    Of the stage at work and of those that came after it, or came up more often, what they took then beyond what they
    took by now; where nothing was told yet, or of stages the last run did not have, all of it less what has gone by.

    Args:     quiet_s: since the last line was told, spent in the stage at work.
    Returns:  s; 0 where everything takes longer than the last time already.
    """
    order = [one.stage for one in before.heard.stages]
    if heard.now not in order:
        return max(0.0, before.took_s - elapsed_s)
    by_now = {one.stage: one for one in heard.stages}
    found = 0.0
    for place, then in enumerate(before.heard.stages):
        now = by_now.get(then.stage)
        if place < order.index(heard.now) and (now is None or now.times_count >= then.times_count):
            continue
        spent_s = 0.0 if now is None else now.spent_s + (quiet_s if then.stage == heard.now else 0.0)
        found += max(0.0, then.spent_s - spent_s)
    return found


def _alike(tasks: Tasks, task: BackgroundTask) -> object:
    """What two runs about the same must have in common to take about as long."""
    if task.kind == "plan":
        return FRESH in task.arguments
    if task.kind != "try":
        return None
    try:
        asked = read_bytes(tasks.asked(task.id), TryAsked)
    except (BadInput, msgspec.DecodeError):
        return task.id
    return asked.is_as_cut, sorted((change.file, *map(str, change.path)) for change in asked.changes)


def _between_s(begin: str, end: str) -> float:
    return max(0.0, (datetime.fromisoformat(end) - datetime.fromisoformat(begin)).total_seconds())
