"""A new revision of the solid against the plan: what of it names faces that are not as they were."""

from __future__ import annotations

import math
import uuid
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.page import desk_of, page
from proveout.desk.person import gone_to, new_form, person_of, signed_by
from proveout.desk.typed_form import TypedForm
from proveout.desk.waiting import WAIT_S, waiting
from proveout.jobs.changes import hold, note
from proveout.jobs.ended import revisions_of
from proveout.jobs.home import Home, Place
from proveout.jobs.plain_names import said_name
from proveout.jobs.plan_path import STEP_ENDINGS
from proveout.jobs.revising import OneRevision, begin_revision, one_revision
from proveout.jobs.taking_in import copy_step
from proveout.model.batch_events import REASON_LENGTH, REASON_MOST
from proveout.model.revision import Revision
from proveout.model.revision_book import Ending
from proveout.quantities.errors import BadInput
from proveout.sheets.revision_words import RevisionWords

router = APIRouter()
SEE_OTHER, BAD = 303, 400
KEPT_OF = uuid.UUID("6a6f1c0e-3f0b-4c57-9d0a-2f7f5a1d9b11")
"""Of one form come two events: the id of the second follows from that of the first."""


@router.get("/parts/{address}/revision")
def ask(request: Request, address: str) -> HTMLResponse:
    """Which solid is the new revision."""
    return _page(request, desk_of(request).home.place(address))


@router.post("/parts/{address}/revision")
def hold_against(
    request: Request, address: str, chosen: Annotated[str, Form()] = "",
    given: Annotated[UploadFile | None, File()] = None,
) -> Response:  # fmt: skip
    """Have the solid read and held against the plan; nothing of the owner's is changed."""
    desk = desk_of(request)
    place = desk.home.place(address)
    try:
        with desk.tasks.given() as folder:
            path, name = _solid(desk.home, chosen, given, folder)
            is_given = path.is_relative_to(folder)
            task = begin_revision(desk.tasks, desk.home, place, path, name=name, is_given=is_given)
    except BadInput as fault:
        return _page(request, place, fault=fault, chosen=chosen)
    desk.tasks.wait(task.id, most_s=WAIT_S)
    return RedirectResponse(task.page, SEE_OTHER)


@router.get("/parts/{address}/revision/{id}")
def found(request: Request, address: str, id: str) -> HTMLResponse:
    """What a new revision touches, or how far that has been worked out."""
    desk = desk_of(request)
    place = desk.home.place(address)
    told = one_revision(desk.tasks, id, place)
    one = told.found
    if one is None:
        return waiting(request, told.task, place=place, back=f"/parts/{address}/revision")
    return _found(request, place, told, one, typed={}, fault=None)


@router.post("/parts/{address}/revision/{id}/keep")
def keep(request: Request, address: str, id: str, typed: TypedForm) -> Response:
    """Keep what was found with the change that ends the revision; the change is noted first where there is none."""
    desk = desk_of(request)
    place = desk.home.place(address)
    told = one_revision(desk.tasks, id, place)
    if told.found is None or told.is_stale:
        raise BadInput("What was found is of another plan, or not there", where=address, do="hold the solid against it")
    signed, part = signed_by(request, typed), place.plan.part
    try:
        if _change_of(request, place) is None:
            note(desk.records, part=part.number, ends=part.revision or "-", begins=typed.get("begins", "").strip(),
                 from_day=typed.get("from_day", "").strip(), why=typed.get("why", ""), signed=signed)  # fmt: skip
        also = replace(signed, id=str(uuid.uuid5(KEPT_OF, signed.id)) if signed.id else "")
        ending = hold(desk.home, desk.records, place, told.found, solid=told.solid, signed=also)
    except BadInput as fault:
        return _found(request, place, told, told.found, typed=typed, fault=fault)
    return gone_to(f"/changes/{ending.id}", typed)


def revision_shown(place: Place, found: Revision) -> dict[str, Any]:
    """What was found of a new solid against a plan, for revision_found.html."""
    words = RevisionWords(plan=place.plan, shop=place.shop)
    return {
        "found": found, "faces": [words.face(face) for face in found.solid.faces],
        "passes": [words.name(made.id) for made in found.passes], "jaws": [words.jaws(jaws) for jaws in found.jaws],
        "sizes": [words.size(size) for size in found.sizes], "gauges": [words.gauge(one) for one in found.gauges],
        "shown": [words.name(id) for id in found.shown], "turned_deg": f"{math.degrees(found.solid.turned_rad):.3f}",
        "moved_mm": words.length(found.solid.moved_mm),
    }  # fmt: skip


def _found(
    request: Request, place: Place, told: OneRevision, found: Revision, *, typed: dict[str, str], fault: BadInput | None
) -> HTMLResponse:  # fmt: skip
    return _page(
        request, place, fault=fault, name=told.name, is_stale=told.is_stale, typed=typed, event=new_form,
        person=typed.get("person", "") or person_of(request), change=_change_of(request, place), least=REASON_LENGTH,
        most=REASON_MOST, **revision_shown(place, found),
    )  # fmt: skip


def _change_of(request: Request, place: Place) -> Ending | None:
    """The change that ends the revision of a plan."""
    part = place.plan.part
    return revisions_of(desk_of(request).records, part.number).ending_of(part.revision or "-")


def _solid(home: Home, chosen: str, given: UploadFile | None, folder: Path) -> tuple[Path, str]:
    """The file that was given, else the one of the home that was chosen; and its name."""
    if given is not None and given.filename:
        if not given.filename.lower().endswith(STEP_ENDINGS):
            raise BadInput(
                "This is no STEP file by its name", where=said_name(given.filename), limit=", ".join(STEP_ENDINGS),
                do="choose the STEP file of the new revision",
            )  # fmt: skip
        path = folder / f"new{Path(given.filename).suffix.lower()}"
        copy_step(given.file, path, where=said_name(given.filename))
        return path, said_name(given.filename)
    known = {place.relative_to(home.root).as_posix(): place for place in _steps(home)}
    if chosen not in known:
        raise BadInput("No solid was chosen", where="revision", value=chosen, do="give a STEP file, or choose one")
    return known[chosen], known[chosen].name


def _steps(home: Home) -> list[Path]:
    """STEP files of the home, in order of path."""
    return sorted(
        path for path in home.root.rglob("*")
        if path.suffix.lower() in STEP_ENDINGS and path.is_file() and path.resolve().is_relative_to(home.root)
        and not any(part.startswith(".") for part in path.relative_to(home.root).parts)
    )  # fmt: skip


def _page(
    request: Request, place: Place, *, fault: BadInput | None = None, chosen: str = "", **shown: object
) -> HTMLResponse:  # fmt: skip
    home = desk_of(request).home
    steps = [path.relative_to(home.root).as_posix() for path in _steps(home)]
    told: dict[str, object] = {"found": None, "is_stale": False, **shown}
    return page(
        request, "revision.html", title="New revision", place=place, fault=fault, chosen=chosen, steps=steps,
        status=BAD if fault is not None else 200, **told,
    )  # fmt: skip
