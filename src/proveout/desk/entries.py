"""One entry of the shelf: what is known of it before it is planned, and how its plan is asked for."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from proveout.desk.lasting import last_time
from proveout.desk.lengths import reads_inches
from proveout.desk.page import STATIC, Desk, desk_of, page
from proveout.desk.shelf_rows import rows_of
from proveout.jobs.asking import ask_for_plan
from proveout.jobs.home import OF_ORDER, Entry
from proveout.jobs.shelf_lines import Pictured, ShelfLine
from proveout.quantities.errors import BadInput
from proveout.sheets.inches import in_inches

router = APIRouter()
SEE_OTHER, BAD = 303, 400
A_YEAR = "private, max-age=31536000, immutable"
NO_FORM = {"quantity": "", "start": "", "minutes": "", "fresh": ""}


@router.get("/entries/{name}")
def entry_page(request: Request, name: str) -> HTMLResponse:
    """What the files of an entry say, and the form that asks for its plan."""
    return shown_entry(request, desk_of(request).home.entry(name))


def shown_entry(
    request: Request, entry: Entry, *, typed: dict[str, str] | None = None, fault: BadInput | None = None
) -> HTMLResponse:  # fmt: skip
    """The page of an entry.   typed: what comes back into the form that asks for a plan.   fault: why it does."""
    desk = desk_of(request)
    tasks = [task for task in desk.tasks.all(kind="plan") if task.subject == entry.name]
    line = desk.shelf.line(entry, tasks)
    glance, is_looked_at = None, True
    if line.pictured is not None:
        glance = desk.glances.glance(line.pictured.digest, line.pictured.solid_name)
        is_looked_at = glance is not None
        if not is_looked_at:
            _want(desk, line.pictured)
    is_drafting = line.pictured is not None and desk.glances.is_drafting(line.pictured.step)
    not_drafted = desk.glances.not_drafted(line.pictured.step) if line.pictured is not None else ""
    size = ""
    if glance is not None and glance.size_mm is not None:
        size = "{:.1f} x {:.1f} x {:.1f} mm".format(*glance.size_mm)
        size = in_inches(size) if reads_inches(request) else size
    return page(
        request, "entry.html", title=line.asked.number, status=BAD if fault is not None else 200, entry=entry,
        line=line, row=rows_of([line], desk.glances)[0], tasks=tasks, glance=glance, is_looked_at=is_looked_at,
        is_drafting=is_drafting, not_drafted=not_drafted, typed=typed or NO_FORM, fault=fault, home=desk.home,
        files=[(path.name, path.is_file()) for path in entry.files], size=size, lasts=last_time(desk, entry.name),
    )  # fmt: skip


@router.get("/entries/{name}/drawing.svg")
def entry_drawing(request: Request, name: str, part: str = "", v: str = "") -> Response:
    """The small drawing; one that says it is being made until it is there, and one that says so if there is none."""
    desk = desk_of(request)
    pictured = _pictured(desk.shelf.line(desk.home.entry(name)), part)
    if pictured is None:
        return FileResponse(STATIC / "no-drawing.svg", media_type="image/svg+xml")
    path = desk.glances.drawing(pictured.digest, pictured.solid_name)
    if path is not None:
        keep = {"cache-control": A_YEAR} if v and pictured.digest.startswith(v) else {}
        return FileResponse(path, media_type="image/svg+xml", headers=keep)
    if desk.glances.glance(pictured.digest, pictured.solid_name) is not None:
        return FileResponse(STATIC / "no-drawing.svg", media_type="image/svg+xml")
    _want(desk, pictured)
    return FileResponse(STATIC / "being-drawn.svg", media_type="image/svg+xml")


@router.post("/entries/{name}/plan")
def plan_entry(
    request: Request, name: str, quantity: Annotated[str, Form()] = "", start: Annotated[str, Form()] = "",
    minutes: Annotated[str, Form()] = "", fresh: Annotated[str, Form()] = "",
) -> Response:  # fmt: skip
    """Ask for a plan; what cannot be meant comes back as it was typed."""
    desk = desk_of(request)
    entry = desk.home.entry(name)
    try:
        task = ask_for_plan(
            desk.tasks, desk.home, entry, quantity=quantity, start=start, minutes=minutes, is_fresh=bool(fresh)
        )
    except BadInput as fault:
        typed = {"quantity": quantity, "start": start, "minutes": minutes, "fresh": fresh}
        return shown_entry(request, entry, typed=typed, fault=fault)
    return RedirectResponse(f"/tasks/{task.id}", SEE_OTHER)


@router.post("/entries/{name}/draft")
def draft_entry(request: Request, name: str) -> Response:
    """Draft a job file beside a solid that has none."""
    desk = desk_of(request)
    entry = desk.home.entry(name)
    line = desk.shelf.line(entry)
    if entry.kind != "solid" or line.pictured is None:
        raise BadInput("There is a job file already", where=name, do="change that one")
    desk.glances.want(line.pictured.digest, line.pictured.step, number=line.asked.number)
    return RedirectResponse(f"/entries/{name}", SEE_OTHER)


def _want(desk: Desk, pictured: Pictured) -> None:
    desk.glances.want(pictured.digest, pictured.step, solid_name=pictured.solid_name)


def _pictured(line: ShelfLine, sub: str) -> Pictured | None:
    if not sub:
        return line.pictured
    return next((part.pictured for part in line.parts if part.address.partition(OF_ORDER)[2] == sub), None)
