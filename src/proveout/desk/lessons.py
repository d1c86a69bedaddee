"""What closed batches teach: planned against actual of one, and what several tell of the shop's numbers."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proveout.desk.page import Desk, desk_of, page
from proveout.desk.person import gone_to, new_form, signed_by, writer_shown
from proveout.desk.typed_form import TypedForm
from proveout.jobs.close_out import close_out_below
from proveout.jobs.finisher_told import finisher_lines, finisher_told
from proveout.jobs.learned_found import CAUTIONED_WORDS
from proveout.jobs.lesson_answers import accept, decline, groups_of, lesson_of_file, mark_of_offer
from proveout.jobs.running_again import run_again
from proveout.jobs.turns import Turns
from proveout.model.run import Run
from proveout.quantities.errors import BadInput
from proveout.sheets.close_out_page import close_out_pdf
from proveout.sheets.close_out_words import driver_lines, held_line, sections
from proveout.sheets.lesson_words import (
    PULL_TESTS,
    coverage_words,
    now_words,
    read_words,
    rests_words,
    row_words,
    value_words,
    was_words,
    worth_words,
)

router = APIRouter()
BAD = 400
AT_A_TIME, WAITING_MOST, WAIT_S = 1, 8, 60.0
_TURNS = Turns(at_a_time=AT_A_TIME, waiting_most=WAITING_MOST, wait_s=WAIT_S)
"""Every plan of every closed batch is read for a lesson, and a page is set: one at a time."""
WORDS: dict[str, Callable[..., str]] = {
    "was": was_words, "now": now_words, "rests": rests_words, "worth": worth_words, "value": value_words,
    "covered": coverage_words, "row": row_words, "mark": mark_of_offer,
}  # fmt: skip


@router.get("/batches/{batch}/close-out")
def close_out(request: Request, batch: str) -> HTMLResponse:
    """Planned against actual of one batch."""
    desk = desk_of(request)
    with _TURNS.turn(Run()):
        told, _ = close_out_below(desk.records, batch, plans=desk.home.plans)
    return page(
        request, "close_out.html", title=f"Close-out of batch {told.batch}", told=told, held=held_line(told),
        sections=sections(told), drivers=driver_lines(told),
    )  # fmt: skip


@router.get("/batches/{batch}/close-out.pdf")
def close_out_paper(request: Request, batch: str) -> Response:
    """The same as one page to print."""
    desk = desk_of(request)
    with _TURNS.turn(Run()):
        told, shop = close_out_below(desk.records, batch, plans=desk.home.plans)
        content = close_out_pdf(told, shop=shop)
    named = f"inline; filename*=UTF-8''{quote(f'close-out {told.batch}.pdf')}"
    return Response(content, media_type="application/pdf", headers={"content-disposition": named})


@router.get("/batches/{batch}/again")
def again(request: Request, batch: str) -> HTMLResponse:
    """What has changed since a batch was released, before it is made once more."""
    desk = desk_of(request)
    with _TURNS.turn(Run()):
        told = run_again(desk.home, desk.records, batch)
    return page(request, "again.html", title=f"Once more: batch {told.batch}", told=told)


@router.get("/lessons")
def lessons(request: Request) -> HTMLResponse:
    """What is proposed of the shop's numbers, before and after."""
    return _shown(request, typed={}, fault=None)


@router.post("/lessons/accept")
def take_over(request: Request, typed: TypedForm) -> Response:
    """Write numbers into the shop file, by a person's name."""
    return _answered(request, typed, lambda desk, person: accept(
        desk.records, desk.home.shop_path, [typed.get("key", "")], plans=desk.home.plans, person=person,
        offered=typed.get("offered", ""),
    ))  # fmt: skip


@router.post("/lessons/decline")
def turn_down(request: Request, typed: TypedForm) -> Response:
    """Write down that they are not taken over."""
    return _answered(request, typed, lambda desk, person: decline(
        desk.records, desk.home.shop_path, [typed.get("key", "")], plans=desk.home.plans, person=person,
        why=typed.get("why", ""), offered=typed.get("offered", ""),
    ))  # fmt: skip


def _answered(request: Request, typed: dict[str, str], act: Callable[[Desk, str], object]) -> Response:
    try:
        person = _by(request, typed)
        with _TURNS.turn(Run()):
            act(desk_of(request), person)
    except BadInput as fault:
        return _shown(request, typed=typed, fault=fault)
    return gone_to("/lessons", typed)


def _by(request: Request, typed: dict[str, str]) -> str:
    """Who answers, and that it is known what for."""
    person = signed_by(request, typed).person.strip()
    if not person:
        raise BadInput("Whoever accepts or declines a number answers for it", where="your name", value="empty")
    if not typed.get("offered"):
        raise BadInput("The form does not say what it answers", where="the offer", do="open the page anew")
    return person


def _finishers(desk: Desk) -> list[tuple[str, list[str]]]:
    """Each finisher to whom anything was sent, with what its lots tell."""
    shop = desk.home.shop()
    found = [(one.id, finisher_lines(finisher_told(desk.records, one, shop))) for one in shop.finishers]
    return [(name, lines) for name, lines in found if lines]


def _shown(request: Request, *, typed: dict[str, str], fault: BadInput | None) -> HTMLResponse:
    desk = desk_of(request)
    path = desk.home.shop_path
    with _TURNS.turn(Run()):
        told = lesson_of_file(desk.records, path, plans=desk.home.plans)
    return page(
        request, "lessons.html", title="Lessons", told=told, groups=groups_of(told), finishers=_finishers(desk),
        read=read_words(told),
        words=WORDS, pull_tests=PULL_TESTS, cautioned=CAUTIONED_WORDS, shop_path=path, fault=fault,
        typed=typed, event=new_form,
        person=writer_shown(request, typed), status=BAD if fault is not None else 200,
    )  # fmt: skip
