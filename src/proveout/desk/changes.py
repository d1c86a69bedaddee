"""Engineering changes: revisions that end, what they meet, and what becomes of half-made pieces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.desk.lengths import reads_inches
from proveout.desk.page import Desk, desk_of, page
from proveout.desk.person import gone_to, new_form, person_of, signed_by, writer_shown
from proveout.desk.revision import revision_shown
from proveout.desk.typed_form import TypedForm
from proveout.jobs.changes import (
    change_of,
    every_change,
    fate_typed,
    held_against,
    move_day,
    note,
    settle,
    settle_stock,
    stock_fate_typed,
    take_back,
    tell,
    unsay_stock,
)
from proveout.jobs.place import Place
from proveout.jobs.releasing import correct, packet_place, plans_of_part
from proveout.jobs.signed import Signed
from proveout.jobs.typed_numbers import whole_typed
from proveout.model.batch_events import REASON_LENGTH, REASON_MOST
from proveout.model.change_events import StockFate
from proveout.model.half_made import ChangeTold
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.sheets.change_page import collect_pdf
from proveout.sheets.change_words import ChangeWords

router = APIRouter()
BAD = 400
PAPER_POLICY = "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'self'"


@router.get("/changes")
def changes(request: Request, part: str = "", ends: str = "") -> HTMLResponse:
    """Every change, those that stand first, and the form that notes one."""
    return _list(request, {"part": part, "ends": ends, "person": person_of(request)}, None)


@router.post("/changes")
def note_change(request: Request, typed: TypedForm) -> Response:
    """Write that a revision ends."""
    said = {name: typed.get(name, "").strip() for name in ("part", "ends", "begins", "from_day", "why")}
    try:
        ending = note(desk_of(request).records, **said, signed=signed_by(request, typed))
    except BadInput as fault:
        return _list(request, typed, fault)
    return gone_to(f"/changes/{ending.id}", typed)


@router.get("/changes/{id}")
def change(request: Request, id: str) -> HTMLResponse:
    """One change: what of the solid, the papers and the half-made pieces it touches."""
    return _shown(request, id, {}, None)


@router.post("/changes/{id}/day")
def correct_day(request: Request, id: str, typed: TypedForm) -> Response:
    """Correct the day from which it holds."""
    return _done(request, id, typed, lambda desk, signed: move_day(
        desk.records, id=id, from_day=typed.get("from_day", "").strip(), why=typed.get("why", ""), signed=signed
    ))  # fmt: skip


@router.post("/changes/{id}/stays")
def revision_stays(request: Request, id: str, typed: TypedForm) -> Response:
    """Take a change back."""
    return _done(request, id, typed, lambda desk, signed: take_back(
        desk.records, id=id, why=typed.get("why", ""), signed=signed
    ))  # fmt: skip


@router.post("/changes/{id}/pieces")
def settle_pieces(request: Request, id: str, typed: TypedForm) -> Response:
    """Say what becomes of pieces that wait at a step."""
    return _done(request, id, typed, lambda desk, signed: settle(
        desk.home, desk.records, batch=typed.get("batch", ""), step=typed.get("step", ""),
        count=whole_typed(typed.get("count", ""), where="pieces"), fate=fate_typed(typed.get("fate", "")),
        why=typed.get("why", ""), to_batch=typed.get("to_batch", ""), signed=signed,
    ))  # fmt: skip


@router.post("/changes/{id}/unsay")
def unsay(request: Request, id: str, typed: TypedForm) -> Response:
    """Write that what was said of pieces was wrong: they are undecided again."""
    return _done(request, id, typed, lambda desk, signed: correct(
        desk.records, batch=typed.get("batch", ""), event_id=typed.get("wrong", ""), why=typed.get("why", ""),
        signed=signed,
    ))  # fmt: skip


@router.post("/changes/{id}/stock")
def settle_in_stock(request: Request, id: str, typed: TypedForm) -> Response:
    """Say what becomes of pieces in stock."""
    return _done(request, id, typed, lambda desk, signed: settle_stock(
        desk.records, item=typed.get("item", ""), place=typed.get("place", ""),
        count=whole_typed(typed.get("count", ""), where="pieces"), fate=stock_fate_typed(typed.get("fate", "")),
        why=typed.get("why", ""), signed=signed,
    ))  # fmt: skip


@router.post("/changes/{id}/unsay-stock")
def unsay_in_stock(request: Request, id: str, typed: TypedForm) -> Response:
    """Write that what was said of pieces in stock was wrong."""
    return _done(request, id, typed, lambda desk, signed: unsay_stock(
        desk.records, event_id=typed.get("wrong", ""), why=typed.get("why", ""), signed=signed
    ))  # fmt: skip


@router.get("/changes/{id}/collect.pdf")
def collect(request: Request, id: str) -> Response:
    """The page for whoever collects the half-made pieces."""
    desk = desk_of(request)
    pdf = collect_pdf(_told(desk, id), shop=desk.home.shop().name)
    return Response(pdf, media_type="application/pdf", headers={"content-security-policy": PAPER_POLICY})


def _told(desk: Desk, id: str) -> ChangeTold:
    part, ending = change_of(desk.records, id)
    return tell(desk.home, desk.records, part=part, ending=ending)


def _done(request: Request, id: str, typed: dict[str, str], act: Callable[[Desk, Signed], object]) -> Response:
    try:
        act(desk_of(request), signed_by(request, typed))
    except BadInput as fault:
        return _shown(request, id, typed, fault)
    return gone_to(f"/changes/{id}", typed)


def _list(request: Request, typed: dict[str, str], fault: BadInput | None) -> HTMLResponse:
    desk = desk_of(request)
    day = desk.today().isoformat()
    rows = [(part, one, ChangeWords.state(one, day)) for part, one in every_change(desk.records)]
    return page(
        request, "changes.html", title="Engineering changes", rows=rows, typed=typed, fault=fault, event=new_form,
        least=REASON_LENGTH, most=REASON_MOST, status=BAD if fault is not None else 200,
    )  # fmt: skip


def _shown(request: Request, id: str, typed: dict[str, str], fault: BadInput | None) -> HTMLResponse:
    desk = desk_of(request)
    told = _told(desk, id)
    solids = _solids(desk, told, is_inch=reads_inches(request))
    return page(
        request, "change.html", title=f"{told.part}: revision {told.ending.ends} ends", told=told, ending=told.ending,
        state=ChangeWords.state(told.ending, desk.today().isoformat()), words=ChangeWords,
        solids=[one for _, one in solids], planned=tuple(place for place, _ in solids),
        typed=typed, fault=fault, event=new_form, least=REASON_LENGTH, most=REASON_MOST,
        stock_fates=get_args(StockFate), person=writer_shown(request, typed), status=BAD if fault is not None else 200,
    )  # fmt: skip


def _solids(desk: Desk, told: ChangeTold, *, is_inch: bool) -> list[tuple[Place, tuple[str, dict[str, Any]]]]:
    """What was found of the new solid, once for every plan that it was held against and that can be read."""
    found: list[tuple[Place, tuple[str, dict[str, Any]]]] = []
    for held in told.ending.held:
        revision = held_against(desk.home, told.ending, held.plan)
        batches = [one.batch for one in told.batches if one.plan == held.plan and not one.lost]
        place = _place(desk, told.part, held.plan, batches)
        if revision is not None and place is not None:
            shown = {"name": "The new solid", **revision_shown(place, revision, is_inch=is_inch)}
            found.append((place, (", ".join(batches), shown)))
    return found


def _place(desk: Desk, part: str, plan: str, batches: list[str]) -> Place | None:
    """A plan by its fingerprint: the packet of a batch, else the one that lies in the home."""
    for name in batches:
        batch = desk.records.batch(name)
        if batch is not None:
            try:
                return packet_place(desk.home, batch)
            except ProveoutError:
                continue
    return next((one for one in plans_of_part(desk.home, part) if one.fingerprint == plan), None)
