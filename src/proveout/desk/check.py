"""Check a program against the plan of a part: ask, watch, read what was found."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from proveout.desk.page import desk_of, page
from proveout.desk.program_text import shown_text, with_links
from proveout.desk.waiting import waiting
from proveout.jobs.checks import (
    BYTES_MOST,
    Choice,
    OneCheck,
    begin_check,
    checks_of,
    choices_of,
    chosen,
    one_check,
)
from proveout.jobs.home import Place
from proveout.jobs.result_files import file_in, programs_of
from proveout.model.proof import Proof
from proveout.quantities.errors import BadInput
from proveout.sheets.derived import mark_of
from proveout.sheets.html_parts import proof_bar
from proveout.sheets.names import Names

router = APIRouter()
SEE_OTHER, BAD = 303, 400


@router.get("/parts/{address}/check")
def ask(request: Request, address: str) -> HTMLResponse:
    """The form, the plan's own programs, and what was checked before."""
    return _form(request, desk_of(request).home.place(address))


@router.post("/parts/{address}/check")
def begin(
    request: Request,
    address: str,
    program: Annotated[UploadFile | None, File()] = None,
    own: Annotated[str, Form()] = "",
    clamping: Annotated[str, Form()] = "",
    last: Annotated[str, Form()] = "",
    skips: Annotated[str, Form()] = "",
) -> Response:
    """Begin a check of a dropped file, or of one of the plan's programs as it lies on disk."""
    desk = desk_of(request)
    place = desk.home.place(address)
    try:
        choice = chosen(place.plan, clamping)
        if own:
            name, text = own, file_in(place.folder, f"programs/{own}").read_bytes()
        else:
            name = (program.filename if program is not None else "") or ""
            text = program.file.read(BYTES_MOST + 1) if program is not None else b""
        task = begin_check(desk.tasks, place, choice, name=name, text=text, is_last=bool(last), skips=bool(skips))
    except BadInput as fault:
        return _form(request, place, fault=fault, clamping=clamping, last=last, skips=skips)
    return RedirectResponse(task.page, status_code=SEE_OTHER)


@router.get("/parts/{address}/check/{id}")
def found(request: Request, address: str, id: str) -> HTMLResponse:
    """A check under way, or what it found."""
    place = desk_of(request).home.place(address)
    one = one_check(desk_of(request).tasks, id, address=address)
    if one.told is None:
        return waiting(request, one.task, place=place, back=f"/parts/{address}/check")
    lines, names = one.asked.lines, Names(plan=place.plan, shop=place.shop)
    return page(
        request, "check_found.html", title=f"{one.asked.name} - {place.plan.part.number}", place=place, one=one,
        told=one.told, text=shown_text(lines, one.told), lines_count=len(lines), bar=_bar,
        choice=_words(place, _choice(one, place)), linked=partial(with_links, lines_count=len(lines)),
        plain=partial(plain_text, names),
    )  # fmt: skip


def plain_text(names: Names, text: str) -> str:
    """What a check says, with faces by their numbers, and powers as they are written."""
    told = names.short(text[:1].lower() + text[1:]).replace("mm3", "mm³").replace("cm3", "cm³")
    return told[:1].upper() + told[1:] if text[:1].isupper() else told


def _form(
    request: Request, place: Place, *, fault: BadInput | None = None, clamping: str = "", last: str = "",
    skips: str = "",
) -> HTMLResponse:  # fmt: skip
    """The form as it was filled in; a chosen file is chosen anew, for no browser keeps it."""
    choices = choices_of(place.plan)
    first_for = {one.clamping.id: one.value for one in reversed(choices)}
    programs = [one for one in programs_of(place.folder, place.plan) if one.is_of_work]
    return page(
        request, "check.html", title=f"Check a program - {place.plan.part.number}", place=place,
        choices=[(one.value, _words(place, one)) for one in choices],
        programs=[(one, first_for.get(one.clamping_ids[0], "")) for one in programs],
        before=checks_of(desk_of(request).tasks, place.address), fault=fault, clamping=clamping, last=last, skips=skips,
        most_mb=BYTES_MOST // 1_000_000, status=200 if fault is None else BAD,
    )  # fmt: skip


def _choice(one: OneCheck, place: Place) -> Choice | None:
    asked = one.asked.clamping_number, one.asked.place_number
    return next((c for c in choices_of(place.plan) if (c.clamping.number, c.place_number) == asked), None)


def _words(place: Place, choice: Choice | None) -> str:
    """A choice in words: clamping, machine and place."""
    if choice is None:
        return ""
    machine = next((m.name for m in place.shop.machines if m.id == choice.clamping.machine_id), "")
    where = "" if choice.place_number is None else f", place {choice.place_number}"
    return f"Op {choice.clamping.number} on {machine or choice.clamping.machine_id}{where}"


def _bar(proof: Proof) -> Markup:
    return Markup(proof_bar(proof, mark_of(proof)))  # noqa: S704 - made of numbers alone
