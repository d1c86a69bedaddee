"""What a page shows while its errand is under way, and when that ended without a result."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.told_lines import Heard

WAIT_S = 1.8
"""How long an answer may be held back, so that what is quick shows at once."""


def waiting(request: Request, task: BackgroundTask, *, back: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """The page of an errand that has nothing to show.   back: address of the form that it was asked with."""
    heard = desk_of(request).tasks.heard(task.id)
    return page(
        request, "waiting.html", title=task.title, task=task, back=back, status=status, **now_of(heard), **shown
    )


def now_of(heard: Heard) -> dict[str, Any]:
    """What an errand does now, in words, and the share of it that is done."""
    at = next((told for told in heard.stages if told.stage == heard.now), None)
    if at is None:
        return {"now": "", "share": 0.0}
    text = at.text if "/" not in at.text else ""
    return {"now": f"{at.stage}: {text}" if text else at.stage, "share": max(0.0, min(1.0, at.share))}
