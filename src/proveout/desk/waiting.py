"""What a page shows while its errand is under way, and when that ended without a result."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from proveout.desk.lasting import at_words, lasting
from proveout.desk.page import desk_of, page
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.told_lines import Heard

WAIT_S = 1.8
"""How long an answer may be held back, so that what is quick shows at once."""


def waiting(request: Request, task: BackgroundTask, *, back: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """The page of an errand that has nothing to show.   back: address of the form that it was asked with."""
    desk = desk_of(request)
    heard = desk.tasks.heard(task.id)
    return page(
        request, "waiting.html", title=task.title, task=task, back=back, status=status, heard=heard,
        lasting=lasting(desk, task, heard), at_words=at_words, **now_of(heard), **shown,
    )  # fmt: skip


def now_of(heard: Heard) -> dict[str, Any]:
    """The stage that an errand is at, at what of it, and the share of it that is done.

    A page tells the stage aloud and shows the rest, which changes too often to be read out.
    """
    told = next((one for one in heard.stages if one.stage == heard.now), None)
    if told is None:
        return {"now": "", "at": "", "share": 0.0}
    return {"now": told.stage.replace("_", " "), "at": at_words(told.text), "share": max(0.0, min(1.0, told.share))}
