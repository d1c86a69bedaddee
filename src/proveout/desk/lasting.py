"""How long work takes, in words: what has gone by, and what the last run of the same says of the rest."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime

from proveout.desk.page import Desk
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.home import OF_ORDER
from proveout.jobs.told_lines import Heard
from proveout.jobs.took_before import FRESH, TookBefore, elapsed_s, last_plan, left_s, took_before
from proveout.sheets.ink import printed

NEVER = {
    "plan": "none that this desk began of it has come to its end",
    "try": "no try of the same keys on this part has come to its end",
}
A_MINUTE_S = 60.0
CLAMPING, TILT = re.compile(r"\bc(\d+)-[xyz][+-]"), re.compile(r",? a-?[\d.]+-c-?[\d.]+")


@dataclass(frozen=True)
class Lasting:
    """What a page says of it. words: sentences.   spent, before: min:s by stage, now and in the last run."""

    words: tuple[str, ...]
    spent: dict[str, str]
    before: dict[str, str]


def lasting(desk: Desk, task: BackgroundTask, heard: Heard) -> Lasting:
    """How long the task takes, or took."""
    now = datetime.now(UTC)
    gone_s = elapsed_s(task, now=now)
    quiet_s = max(0.0, now.timestamp() - heard.told_at) if task.state == "under way" and heard.told_at else 0.0
    spent = {
        one.stage: min_s(one.spent_s + (quiet_s if one.stage == heard.now and heard.end is None else 0.0))
        for one in heard.stages
    }
    if not task.is_open:
        return Lasting(words=() if gone_s is None else (f"It took {min_s(gone_s)} min.",), spent=spent, before={})
    known = took_before(desk.tasks, task)
    so_far = () if gone_s is None else (f"Under way for {min_s(gone_s)} min.",)
    if known is None:
        never = NEVER.get(task.kind, "none of the kind about this part has come to its end")
        words = (*so_far, f"How long it takes is not known yet: {never}.", *_whole_plan(desk, task))
        return Lasting(words=words, spent=spent, before={})
    left = left_s(known, heard, elapsed_s=gone_s or 0.0, quiet_s=quiet_s)
    words = (*so_far, took_words(known), _rest(left, is_begun=gone_s is not None))
    return Lasting(words=words, spent=spent, before={one.stage: min_s(one.spent_s) for one in known.heard.stages})


def last_time(desk: Desk, subject: str) -> str:
    """A sentence on the last plan of an entry, for whoever is about to ask for another."""
    known = last_plan(desk.tasks, subject)
    return f"How long a plan takes is not known yet: {NEVER['plan']}." if known is None else took_words(known)


def at_words(text: str) -> str:
    """What a stage is at, with operations by their numbers; empty where only ids would tell it."""
    return "" if "/" in text else TILT.sub("", CLAMPING.sub(r"op \1", text)).strip()


def took_words(known: TookBefore) -> str:
    """How long it took the last time."""
    of = {"plan": "Its last plan", "try": "The last try of the same keys"}.get(known.task.kind, "The last one")
    stored = ", reusing nothing that was stored" if FRESH in known.task.arguments else ""
    return f"{of} took {min_s(known.took_s)} min{stored}, on {known.task.ended_at[:10]}."


def min_s(seconds: float) -> str:
    """Minutes and seconds."""
    return printed(seconds, unit="min:s", digits=0)


def _rest(left: float, *, is_begun: bool) -> str:
    if not is_begun:
        return "Stored decisions make it shorter, changed files longer."
    if left < 1.0:
        return "It takes longer than that already; how much longer is not known."
    about = f"{left:.0f} s" if left < A_MINUTE_S else f"{left / A_MINUTE_S:.0f} min"
    return f"By that about {about} are left; stored decisions make it shorter, changed files longer."


def _whole_plan(desk: Desk, task: BackgroundTask) -> tuple[str, ...]:
    """Of a try that was never made: what a whole plan took, where that is known."""
    if task.kind != "try":
        return ()
    entry = task.subject.removeprefix("try on ").partition(OF_ORDER)[0]
    known = last_plan(desk.tasks, entry)
    return () if known is None else (f"The last whole plan took {min_s(known.took_s)} min.",)
