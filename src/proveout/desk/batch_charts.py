"""Readings of a batch while it runs: each size with its chart, what it proves, and what to change at the machine."""

from __future__ import annotations

import math
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.desk.page import Desk, desk_of, page
from proveout.desk.person import gone_to, new_form, person_of, signed_by
from proveout.desk.typed_form import TypedForm
from proveout.jobs.batch_charts import Charted, charts_of, confirm_offset
from proveout.jobs.releasing import batch_of, packet_place
from proveout.model.batch import Batch
from proveout.quantities.errors import BadInput
from proveout.sheets.run_chart import run_chart_svg

router = APIRouter()
BAD = 400


@router.get("/batches/{batch}/charts")
def batch_charts(request: Request, batch: str) -> HTMLResponse:
    """Every size that was read."""
    desk = desk_of(request)
    return _shown(request, desk, batch_of(desk.records, batch), typed={}, fault=None)


@router.post("/batches/{batch}/charts/offset")
def confirm(request: Request, batch: str, typed: TypedForm) -> Response:
    """A second person confirms a change of an offset."""
    desk = desk_of(request)
    found = batch_of(desk.records, batch)
    place = packet_place(desk.home, found)
    try:
        confirm_offset(
            desk.records, found, plan=place.plan, shop=place.shop, step=typed.get("step", ""),
            mark=typed.get("mark", ""), add_mm=_number(typed.get("add", "")), asked_by=typed.get("asked_by", ""),
            signed=signed_by(typed),
        )  # fmt: skip
    except BadInput as fault:
        return _shown(request, desk, found, typed=typed, fault=fault, status=BAD)
    return gone_to(f"/batches/{quote(batch)}/charts", typed)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _shown(
    request: Request, desk: Desk, batch: Batch, *, typed: dict[str, str], fault: BadInput | None, status: int = 200
) -> HTMLResponse:
    charts: tuple[Charted, ...] = ()
    if batch.is_released:
        place = packet_place(desk.home, batch)
        charts = charts_of(desk.records, batch, plan=place.plan, shop=place.shop)
    rows = [(one, _picture(one, number)) for number, one in enumerate(charts, start=1)]
    return page(request, "batch_charts.html", title=f"Readings of batch {batch.batch}", batch=batch, rows=rows,
                typed=typed, fault=fault, status=status, person=person_of(request), event=new_form())  # fmt: skip


def _picture(one: Charted, number: int) -> str:
    if one.chart is None:
        return ""
    limits = [(name, value) for name, value in (("at most", one.check.high), ("at least", one.check.low))
              if value is not None]  # fmt: skip
    own = [("chart", one.chart.places.high), ("middle", one.chart.places.middle), ("chart", one.chart.places.low)]
    out = frozenset(signal.at for signal in one.called)
    return run_chart_svg(one.readings, limits=limits, own=own, out=out, ids=f"run{number}")
