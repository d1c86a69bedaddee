"""What is under way: every task, and one with its stages, its first look and how it ended."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from proveout.desk.lasting import at_words, lasting
from proveout.desk.lengths import reads_inches
from proveout.desk.page import Desk, desk_of, page
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.told_lines import Heard
from proveout.quantities.errors import BadInput
from proveout.sheets.inches import in_inches

router = APIRouter()
SEE_OTHER = 303
ENDED_SHOWN = 50


@router.get("/work")
def all_tasks(request: Request) -> HTMLResponse:
    """Every task: those that are open first, then the ones that have ended, the newest first."""
    desk = desk_of(request)
    tasks = desk.tasks.all()
    waiting = [task for task in tasks if task.is_open]
    ended = [task for task in tasks if not task.is_open]
    return page(
        request, "under_way.html", title="Under way",
        open_tasks=[(task, (heard := desk.tasks.heard(task.id)), lasting(desk, task, heard)) for task in waiting],
        ended=ended[:ENDED_SHOWN], more_count=max(0, len(ended) - ENDED_SHOWN),
    )  # fmt: skip


@router.get("/tasks/{id}")
def one_task(request: Request, id: str) -> HTMLResponse:
    """One task as it stands; the page tells on by itself."""
    desk = desk_of(request)
    task = desk.tasks.get(id)
    heard = desk.tasks.heard(id)
    return page(request, "task.html", title=task.title, **_shown(request, task, heard))


@router.get("/tasks/{id}/state")
def task_state(request: Request, id: str) -> JSONResponse:
    """The same for the page's script: the part that changes, and one line to be read aloud when it is another."""
    desk = desk_of(request)
    task = desk.tasks.get(id)
    heard = desk.tasks.heard(id)
    inner = desk.templates.get_template("task_state.html").render(**_shown(request, task, heard))
    return JSONResponse({"open": task.is_open, "said": told_aloud(task, heard), "html": inner})


@router.post("/tasks/{id}/cancel")
def cancel_task(request: Request, id: str) -> Response:
    """End it."""
    task = desk_of(request).tasks.cancel(id)
    return RedirectResponse(task.address, SEE_OTHER)


@router.post("/tasks/{id}/again")
def again(request: Request, id: str) -> Response:
    """The same once more."""
    task = desk_of(request).tasks.again(id)
    return RedirectResponse(task.address, SEE_OTHER)


def told_aloud(task: BackgroundTask, heard: Heard) -> str:
    """One line that changes with the state and the stage only."""
    if task.state == "under way":
        look = "; the first look is there" if heard.looks else ""
        return f"Under way: {heard.now or 'beginning'}{look}"
    return f"{task.title}: {task.state}"


def _shown(request: Request, task: BackgroundTask, heard: Heard) -> dict[str, Any]:
    """What the page shows of a task; the first look, which was told in mm, in inches for who reads them."""
    desk = desk_of(request)
    reads = in_inches if reads_inches(request) else str
    return {
        "task": task, "heard": heard, "goals": _goals(desk, task), "aloud": told_aloud(task, heard),
        "lasting": lasting(desk, task, heard), "at_words": at_words,
        "looks": [[(head, reads(words)) for head, words in look.rows] for look in heard.looks],
    }  # fmt: skip


def _goals(desk: Desk, task: BackgroundTask) -> list[tuple[str, str]]:
    """Where to go from here: addresses with their words."""
    if task.page:
        return [(task.page, "To what it found")]
    try:
        entry = desk.home.entry(task.subject)
    except BadInput:
        return []
    to_entry = (f"/entries/{entry.name}", "The files it is made from")
    if not entry.is_planned or task.state not in ("ready", "not ready"):
        return [to_entry]
    if entry.kind == "order":
        return [(f"/orders/{entry.name}", "To the planned order"), to_entry]
    return [(f"/parts/{entry.name}", "To the route"), to_entry]
