"""Readings of a batch while it runs: each size with its chart, what it proves, and what to change at the machine."""

from __future__ import annotations

from urllib.parse import quote, urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.jobs.batch_charts import Charted, charts_of
from proveout.jobs.releasing import batch_of, packet_place
from proveout.model.batch import Batch
from proveout.sheets.run_chart import run_chart_svg

router = APIRouter()


@router.get("/batches/{batch}/charts")
def batch_charts(request: Request, batch: str) -> HTMLResponse:
    """Every size that was read."""
    desk = desk_of(request)
    found = batch_of(desk.records, batch)
    charts: tuple[Charted, ...] = ()
    if found.is_released:
        place = packet_place(desk.home, found)
        charts = charts_of(desk.records, found, plan=place.plan, shop=place.shop)
    rows = [(one, _picture(one, number), _machine_page(found, one)) for number, one in enumerate(charts, start=1)]
    return page(request, "batch_charts.html", title=f"Readings of batch {found.batch}", batch=found, rows=rows)


def _machine_page(batch: Batch, one: Charted) -> str:
    """The page of the floor on which the offset is advised, the advice typed into it; empty where there is none."""
    step = next((each for each in batch.steps if each.id == one.check.step), None)
    if step is None or not one.add_mm or not step.is_started or step.is_done:
        return ""
    at = "/".join(quote(part, safe="") for part in (step.station, step.id, batch.batch))
    said = {"mark": one.check.mark, "offset": one.offset_name, "shift": f"{one.add_mm:.3f}", "why": one.advice}
    return f"/floor/{at}?{urlencode(said)}#advise"


def _picture(one: Charted, number: int) -> str:
    if one.chart is None:
        return ""
    limits = [(name, value) for name, value in (("at most", one.check.high), ("at least", one.check.low))
              if value is not None]  # fmt: skip
    own = [("chart", one.chart.places.high), ("middle", one.chart.places.middle), ("chart", one.chart.places.low)]
    out = frozenset(signal.at for signal in one.called)
    return run_chart_svg(one.readings, limits=limits, own=own, out=out, ids=f"run{number}")
