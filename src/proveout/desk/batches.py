"""Batches: the list of them, each with what is open, its pieces, lots, readings and history; asked for and released."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.books.first_piece import FIRST_PIECE, first_way_words, is_first_piece_due
from proveout.desk.page import Desk, desk_of, page
from proveout.desk.person import gone_to, new_form, person_of, signed_by, writer_shown
from proveout.desk.plan_writer import drawable
from proveout.desk.typed_form import TypedForm
from proveout.jobs.batch_lines import (
    BatchLine,
    batch_lines,
    history_of,
    is_reading,
    meters_read,
    readings_of,
    runs_of,
    weakest_open,
)
from proveout.jobs.batch_route import station_of_step
from proveout.jobs.ended import ending_of, notice
from proveout.jobs.left_packets import left_lying, set_aside_of
from proveout.jobs.packets import packet_address
from proveout.jobs.place import Place
from proveout.jobs.releasing import (
    ask,
    batch_of,
    close,
    correct,
    packet_place,
    plan_it,
    planned_place,
    plans_of_part,
    release,
    waive,
)
from proveout.jobs.signed import Signed
from proveout.jobs.typed_numbers import whole_typed
from proveout.model.batch import Batch
from proveout.model.batch_events import REASON_LENGTH, REASON_MOST
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.sheets.derived import mark_of
from proveout.sheets.html_parts import proof_bar
from proveout.sheets.pieces_line import pieces_line

router = APIRouter()
BAD = 400
NEEDS = ("lying", "wrong", "sides")


@router.get("/batches")
def batches(request: Request) -> HTMLResponse:
    """Every batch, open ones first."""
    desk = desk_of(request)
    rows = []
    for line in batch_lines(desk.records):
        is_open = bool(line.batch.opens) and not line.batch.is_closed
        place, _ = _plan(desk, line.batch) if is_open else (None, None)
        weakest = weakest_open(line.batch, place.plan if place is not None else None)
        bar = "" if weakest is None else proof_bar(weakest, mark_of(weakest))
        rows.append((line, pieces_line(line.runs), weakest, bar))
    return page(request, "batches.html", title="Batches", rows=rows, where=desk.records.name)


@router.post("/parts/{address}/batch")
def ask_for(request: Request, address: str, typed: TypedForm) -> Response:
    """Ask for a batch of a planned part, and plan it by the plan that lies there."""
    desk = desk_of(request)
    try:
        wanted = whole_typed(typed.get("wanted", ""), where="pieces")
        batch = ask(desk.home, desk.records, address, batch=typed.get("batch", "").strip(), wanted_count=wanted,
                    due=typed.get("due", "").strip(), signed=signed_by(request, typed))  # fmt: skip
    except BadInput as fault:
        place = desk.home.place(address)
        return page(request, "batch_ask.html", title="Make a batch", place=place, typed=typed, fault=fault,
                    event=new_form, status=BAD)  # fmt: skip
    return gone_to(f"/batches/{quote(batch.batch)}", typed)


@router.get("/parts/{address}/batch")
def ask_page(request: Request, address: str) -> HTMLResponse:
    """The form that asks for a batch of a planned part."""
    place = desk_of(request).home.place(address)
    part = place.plan.part
    typed = {"batch": "", "wanted": str(part.quantity), "due": place.plan.due, "person": person_of(request)}
    return page(request, "batch_ask.html", title="Make a batch", place=place, typed=typed, fault=None,
                event=new_form)  # fmt: skip


@router.get("/batches/{name}")
def batch_page(request: Request, name: str) -> HTMLResponse:
    """One batch."""
    return _shown(request, name, typed={}, fault=None)


@router.post("/batches/{name}/waive")
def waive_proof(request: Request, name: str, typed: TypedForm) -> Response:
    """A named person answers in writing for a proof that does not hold."""
    return _done(request, name, typed, lambda desk, signed: waive(
        desk.records, batch=name, proof_id=typed.get("proof", ""), reason=typed.get("reason", ""), signed=signed
    ))  # fmt: skip


@router.post("/batches/{name}/plan")
def take_plan(request: Request, name: str, typed: TypedForm) -> Response:
    """Take the plan that lies there now for a batch that is not released."""
    return _done(request, name, typed, lambda desk, signed: plan_it(
        desk.records, desk.home.place(typed.get("address", "")), batch=name, signed=signed
    ))  # fmt: skip


@router.post("/batches/{name}/release")
def release_batch(request: Request, name: str, typed: TypedForm) -> Response:
    """Freeze the packet and release the batch."""
    return _done(request, name, typed, lambda desk, signed: release(
        desk.home, desk.records, desk.drawer, batch=name, signed=signed, today=desk.today()
    ))  # fmt: skip


@router.post("/batches/{name}/correct")
def correct_event(request: Request, name: str, typed: TypedForm) -> Response:
    """Write that an earlier event did not happen."""
    return _done(request, name, typed, lambda desk, signed: correct(
        desk.records, batch=name, event_id=typed.get("wrong", ""), why=typed.get("why", ""), signed=signed
    ))  # fmt: skip


@router.post("/batches/{name}/close")
def close_batch(request: Request, name: str, typed: TypedForm) -> Response:
    """Put a batch away."""
    return _done(request, name, typed, lambda desk, signed: close(
        desk.records, batch=name, why=typed.get("why", ""), signed=signed
    ))  # fmt: skip


def _done(request: Request, name: str, typed: dict[str, str], act: Callable[[Desk, Signed], Batch]) -> Response:
    try:
        act(desk_of(request), signed_by(request, typed))
    except BadInput as fault:
        return _shown(request, name, typed=typed, fault=fault)
    return gone_to(f"/batches/{quote(name)}", typed)


def _shown(request: Request, name: str, *, typed: dict[str, str], fault: BadInput | None) -> HTMLResponse:
    desk = desk_of(request)
    batch = batch_of(desk.records, name)
    place, lost = _plan(desk, batch)
    plan = place.plan if place is not None else None
    if place is not None and not batch.is_released:
        desk.drawer.drawn(drawable(place), NEEDS)  # begun, so that the release need not wait for them
    line = BatchLine(batch=batch, runs=runs_of(batch))
    opens = {proof.id: proof for proof in plan.proofs} if plan is not None else {}
    bars = {id: proof_bar(opens[id], mark_of(opens[id])) for id in (one.id for one in batch.opens) if id in opens}
    history = history_of(desk.records, name)
    return page(
        request, "batch.html", title=f"Batch {batch.batch}", status=BAD if fault is not None else 200, batch=batch,
        line=line, picture=pieces_line(line.runs, is_named=True), at=place, lost=lost, bars=bars, fault=fault,
        typed=typed,
        person=writer_shown(request, typed), event=new_form,
        packet=packet_address(batch.batch), change=ending_of(desk.records, batch),
        ends=notice(desk.records, batch, None, day=desk.today())[0], readings=readings_of(desk.records, name),
        history=[one for one in history if not is_reading(one.event)], meters=meters_read(history),
        wrongs=[one for one in history if one.may_correct and not one.by],
        stations={step.id: station_of_step(plan, step.id) if plan is not None else "" for step in batch.steps},
        lying=left_lying(desk.home, batch), aside=set_aside_of(desk.home, name),
        others=[] if place is not None or batch.is_released else _others(desk, batch),
        least=REASON_LENGTH, most=REASON_MOST, first_piece=FIRST_PIECE,
        first_way=first_way_words(batch.first_through), is_first_due=is_first_piece_due(batch),
        may_free=not batch.is_released and plan is not None and len(plan.clampings) > 1,
    )  # fmt: skip


def _plan(desk: Desk, batch: Batch) -> tuple[Place | None, ProveoutError | None]:
    """The plan of a batch: its packet once it is released, else the planned part; or why there is none to show."""
    if not batch.plan:
        return None, None
    try:
        return (packet_place if batch.is_released else planned_place)(desk.home, batch), None
    except ProveoutError as fault:
        return None, fault


def _others(desk: Desk, batch: Batch) -> list[str]:
    """Addresses of plans that the batch could take in place of its own."""
    return [place.address for place in plans_of_part(desk.home, batch.part)]
