"""The shelf: designs and orders with their state."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse

from proveout.desk.page import Desk, desk_of, page
from proveout.desk.shelf_rows import rows_of
from proveout.jobs.shelf_lines import found_by, in_order

router = APIRouter()
ASKED_MOST = 400


@router.get("/")
def shelf(request: Request, q: str = "", by: str = "new") -> HTMLResponse:
    """All designs and orders of the home folder, or those that hold the words of `q`."""
    desk = desk_of(request)
    lines = desk.shelf.lines(desk.tasks.all(kind="plan"))
    shown = in_order(found_by(lines, q), by_due=by == "due")
    rows = rows_of(shown, desk.glances)
    return page(
        request, "shelf.html", title="Shelf", rows=rows, all_count=len(lines), home=desk.home, q=q, by=by, fault=None
    )


@router.get("/shelf/drawn")
def drawn(request: Request, name: Annotated[list[str] | None, Query()] = None) -> JSONResponse:
    """Which of the drawings asked for are made by now; those without any are named too, so that nobody asks on."""
    desk = desk_of(request)
    return JSONResponse([one for one in (name or [])[:ASKED_MOST] if _is_settled(desk, one)])


def _is_settled(desk: Desk, mark: str) -> bool:
    digest, _, solid_name = mark.partition(" ")
    return desk.glances.drawing(digest, solid_name) is not None or desk.glances.glance(digest, solid_name) is not None
