"""Stock: what lies where, cutters with minutes left, the coolant log, and the forms that write down what happened."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of, page
from proveout.desk.person import gone_to, new_form, signed_by, writer_shown
from proveout.desk.typed_form import TypedForm
from proveout.jobs.coolant import PERCENT, mix_to_add
from proveout.jobs.signed import post_once
from proveout.jobs.stock_forms import FORMS, event_of_form, form_of
from proveout.jobs.stock_lines import (
    coolant_lines,
    cutter_lines,
    gauge_lines,
    item_in,
    low_items,
    offers_of,
    stock_lines,
)
from proveout.jobs.typed_numbers import number_typed
from proveout.quantities.errors import BadInput

router = APIRouter()
BAD = 400
MIX: tuple[str, ...] = ("sump", "now", "wanted", "adding")


@router.get("/stock")
def stock(request: Request) -> HTMLResponse:
    """All of it."""
    return _shown(request, form="", typed={}, fault=None)


@router.get("/stock/mix")
def mix(request: Request, sump: str = "", now: str = "", wanted: str = "", adding: str = "") -> HTMLResponse:
    """The make-up mix for a sump."""
    typed = dict(zip(MIX, (sump, now, wanted, adding), strict=True))
    if not any(typed.values()):
        return _shown(request, form="mix", typed=typed, fault=None)
    try:
        volume, share, goal, poured = (number_typed(typed[name], where=name) for name in MIX)
        found = mix_to_add(
            sump_l=volume, share_ratio=share / PERCENT, wanted_ratio=goal / PERCENT, added_l=poured
        )  # fmt: skip
    except BadInput as fault:
        return _shown(request, form="mix", typed=typed, fault=fault)
    return _shown(request, form="mix", typed=typed, fault=None, mixed=f"{PERCENT * found:.1f} %")


@router.post("/stock/{id}")
def write(request: Request, id: str, typed: TypedForm) -> Response:
    """Write down what a form says happened."""
    desk = desk_of(request)
    try:
        of = event_of_form(
            form_of(id), typed, is_inch=_is_inch(request, typed), find=lambda tag: item_in(desk.records, tag)
        )  # fmt: skip
        post_once(desk.records, signed_by(request, typed).says(of))
    except BadInput as fault:
        return _shown(request, form=id, typed=typed, fault=fault)
    return gone_to(f"/stock#{id}", typed)


def _is_inch(request: Request, typed: Mapping[str, str]) -> bool:
    """As the form was read when it was typed into, whatever this browser was told since; else as it reads now."""
    return typed["unit"] == "in" if "unit" in typed else reads_inches(request)


def _shown(
    request: Request, *, form: str, typed: dict[str, str], fault: BadInput | None, mixed: str = ""
) -> HTMLResponse:  # fmt: skip
    desk, is_inch = desk_of(request), _is_inch(request, typed)
    return page(
        request, "stock.html", title="Stock", status=BAD if fault is not None else 200, forms=FORMS, form=form,
        typed=typed, fault=fault, mixed=mixed, person=writer_shown(request, typed),
        event=new_form, groups=stock_lines(desk.records, is_inch=is_inch),
        cutters=cutter_lines(desk.records),
        gauges=gauge_lines(desk.records, day=desk.today().isoformat()),
        coolant=coolant_lines(desk.records), low=low_items(desk.records),
        offers=offers_of(desk.records, desk.home), unit="in" if is_inch else "mm",
        where=desk.records.name,
    )  # fmt: skip
