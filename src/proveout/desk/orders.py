"""An order: its parts, what is sawn and bought for it, its calendar and the ways out."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.files import is_shown
from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of, page
from proveout.desk.plan_writer import ready
from proveout.jobs.home import OF_ORDER
from proveout.jobs.result_files import files_of_order
from proveout.sheets.order_html import order_body

router = APIRouter()


@router.get("/orders/{name}")
def order(request: Request, name: str) -> HTMLResponse:
    """One planned order, and what to press where its files have changed since."""
    desk = desk_of(request)
    home = desk.home
    entry = home.entry(name)
    planned = home.order(entry)
    places = [home.place(f"{name}{OF_ORDER}{folder}") for folder in planned.folders]
    inner, _ = order_body(
        parts=[(place.plan, f"/parts/{place.address}") for place in places], load=planned.load, shop=places[0].shop,
        fits=planned.fits, sawing=planned.sawing, sawing_proofs=planned.sawing_proofs,
        buying=planned.buying, money=planned.money, is_inch=reads_inches(request),
    )  # fmt: skip
    line = desk.shelf.line(entry, desk.tasks.all(kind="plan"))
    return page(
        request, "order.html", title=f"Order {planned.name}", inner=ready(inner), entry=entry, line=line,
        planned=tuple(places), is_scheduled=planned.load.schedule is not None,
        files=[(one, is_shown(one.name)) for one in files_of_order(planned.folder)],
    )  # fmt: skip
