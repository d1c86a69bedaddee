"""Charts of a part: money, minutes, loads and bars."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.desk.plan_writer import ready, writer_of
from proveout.sheets.charts_html import charts_html
from proveout.sheets.route_html import lengths_html

router = APIRouter()


@router.get("/parts/{address}/charts")
def charts(request: Request, address: str) -> HTMLResponse:
    """Every chart with its numbers."""
    place = desk_of(request).home.place(address)
    writer, _ = writer_of(request, place)
    title = f"Charts - {place.plan.part.number}"
    return page(
        request, "charts.html", title=title, place=place, inner=ready(lengths_html(writer) + charts_html(writer))
    )
