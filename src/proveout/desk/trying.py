"""Try a change on a planned part, see what it does, and keep or drop it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.comparing import shown_differences
from proveout.desk.lasting import last_time
from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of, page
from proveout.desk.signed_in import need
from proveout.desk.typed_form import TypedForm
from proveout.desk.waiting import WAIT_S, waiting
from proveout.jobs.asking import ask_for_plan
from proveout.jobs.changed_files import own_files
from proveout.jobs.home import Home, Place
from proveout.jobs.offers import offers_of
from proveout.jobs.trying import (
    address_of_try,
    begin_try,
    drop_try,
    is_made,
    is_of_kept,
    keep_try,
    leaves_passes,
    task_of_try,
    tried,
    tries_of,
    wanted_try,
)
from proveout.model.changes import Change, Offer, told_changes
from proveout.quantities.errors import BadInput
from proveout.sheets.cautions import cutting_cautions

router = APIRouter()
SEE_OTHER, BAD = 303, 400
FIRST = ("order/quantity", "order/due", "pins/torque_n_m", "quantity", "due")
FREE_ROWS = 3
OUT, ANEW = "out", "anew"


@router.get("/parts/{address}/try")
def ask(request: Request, address: str) -> HTMLResponse:
    """What may be tried, with what the files say now."""
    return _form(request, desk_of(request).home.place(address), {})


@router.post("/parts/{address}/try")
def begin(request: Request, address: str, typed: TypedForm) -> Response:
    """Begin the try; what its readers refuse comes back with what was typed."""
    home, tasks = desk_of(request).home, desk_of(request).tasks
    place = home.place(address)
    try:
        offers = _offers(home, place)
        changes = _changes(offers, typed)
        is_as_cut = ANEW not in typed and leaves_passes(changes)
        wanted = wanted_try(home, place, changes, is_as_cut=is_as_cut)
        begun = begin_try(tasks, home, wanted, said=_said(changes, offers))
    except BadInput as fault:
        return _form(request, place, typed, fault=fault)
    if begun is not None:
        tasks.wait(begun, most_s=WAIT_S)
    return RedirectResponse(f"/parts/{address}/tries/{wanted.id}", SEE_OTHER)


@router.get("/parts/{address}/tries/{id}")
def show(request: Request, address: str, id: str) -> HTMLResponse:
    """What the change does, or how far it has been worked out."""
    home, tasks = desk_of(request).home, desk_of(request).tasks
    place = home.place(address)
    task = None if is_made(home, id) else tasks.known(task_of_try(id))
    if task is not None:
        _refuse_of_other(task.subject, f"try on {address}", id)
        return waiting(request, task, place=place, back=f"/parts/{address}/try")
    one = tried(home, id)
    _refuse_of_other(address, one.told.address, id)
    is_current = is_of_kept(home, one.told)
    return page(
        request, "tried.html", title="What the change does", place=place, id=id, told=one.told, is_current=is_current,
        changes=told_changes(one.told.changes, _offers(home, place), is_present=is_current),
        shown=shown_differences(one.compared, is_inch=reads_inches(request)),
        is_of_order=home.entry(place.entry).kind == "order",
    )  # fmt: skip


@router.post("/parts/{address}/tries/{id}/keep")
def keep(request: Request, address: str, id: str) -> Response:
    """Write the change into the owner's files, and have the plan made anew in the background.

    Whoever presses twice is shown what the first press did.
    """
    desk = desk_of(request)
    with desk.keeping:
        if (kept := desk.kept.get((address, id))) is None or is_made(desk.home, id):
            kept = _keep(request, address, id)
            desk.kept.put((address, id), kept)
    names, task_id = kept
    return page(
        request, "try_kept.html", title="Kept", place=desk.home.place(address), names=names, task=task_id
    )  # fmt: skip


def _keep(request: Request, address: str, id: str) -> tuple[list[str], str]:
    """Names of the files that were written, and the task that makes the plan anew."""
    desk = desk_of(request)
    home = desk.home
    entry = home.entry(home.place(address).entry)
    told = tried(home, id).told
    _refuse_of_other(address, told.address, id)
    if any(change.file == "shop" for change in told.changes):
        need(request, "shop", what="This try changes the shop's file")
    if any(task.subject == entry.name and task.is_open for task in desk.tasks.all(kind="plan")):
        raise BadInput(
            "A plan of it is under way, from the files as they were", where=entry.name,
            do="keep the change when that has ended, or cancel it first",
        )  # fmt: skip
    written = keep_try(home, id)
    desk.tasks.forget(task_of_try(id))
    names = [
        path.relative_to(home.root).as_posix() if path.is_relative_to(home.root) else path.name for path in written
    ]
    return names, ask_for_plan(desk.tasks, home, entry).id


@router.post("/parts/{address}/tries/{id}/drop")
def drop(request: Request, address: str, id: str) -> Response:
    """Forget the try, ending it where it is under way."""
    home, tasks = desk_of(request).home, desk_of(request).tasks
    if (task := tasks.known(task_of_try(id))) is not None:
        _refuse_of_other(task.subject, f"try on {address}", id)
    if (own := address_of_try(home, id)) is not None:
        _refuse_of_other(own, address, id)
    tasks.forget(task_of_try(id))
    drop_try(home, id)
    return RedirectResponse(f"/parts/{address}/try", SEE_OTHER)


def _refuse_of_other(address: str, own: str, id: str) -> None:
    if own != address:
        raise BadInput("This try is of another part", where=address, value=id, limit=own, do="open it on that part")


def _offers(home: Home, place: Place) -> tuple[Offer, ...]:
    return offers_of(place.plan, own_files(home, place), home.shop())


def _form(
    request: Request, place: Place, typed: Mapping[str, str], *, fault: BadInput | None = None
) -> HTMLResponse:  # fmt: skip
    home = desk_of(request).home
    offers = _offers(home, place)
    first = sorted((o for o in offers if _rank(o) < len(FIRST)), key=_rank)
    rest = [o for o in offers if o not in first]
    groups = [(name, list(some)) for name, some in groupby(rest, key=lambda o: o.group)]
    torque = next((f.torque_n_mm for f in place.plan.clamp_forces if f.torque_n_mm is not None), None)
    return page(
        request, "try.html", title="Try a change", place=place, first=first, groups=groups, typed=typed, fault=fault,
        status=BAD if fault is not None else 200, free=range(1, FREE_ROWS + 1), tries=_tries_told(home, place, offers),
        torque="" if torque is None else f"{torque / 1000.0:g}", files=list(own_files(home, place)),
        is_of_order=home.entry(place.entry).kind == "order",
        cautions=cutting_cautions(shop=place.shop, clampings=place.plan.clampings),
        lasts=last_time(desk_of(request), place.entry),
    )  # fmt: skip


def _tries_told(home: Home, place: Place, offers: Sequence[Offer]) -> dict[str, str]:
    """What was tried on a part, in words, by id."""
    return {id: _said(told.changes, offers) for id, told in tries_of(home, place.address).items()}


def _said(changes: Sequence[Change], offers: Sequence[Offer]) -> str:
    """Changes on one line, in the words of what was offered."""
    return "; ".join(words for words, _ in told_changes(changes, offers, is_present=False))


def _rank(offer: Offer) -> int:
    """Place among what is asked first; beyond the end for all else."""
    tail = "/".join(str(step) for step in offer.path if not isinstance(step, int)).removeprefix("item/")
    is_whole_order = offer.file == "order" and offer.group == "the whole order"
    return FIRST.index(tail) if tail in FIRST and not is_whole_order else len(FIRST)


def _changes(offers: Sequence[Offer], typed: Mapping[str, str]) -> tuple[Change, ...]:
    """What was typed otherwise than it stands, rows to leave out, and keys that were named freely.

    Raises:   BadInput for a key that must not be emptied, and for a free row that is not whole.
    """
    found: list[Change] = []
    for offer in offers:
        value = typed.get(offer.key, offer.present).strip()
        if offer.present == "there":
            if typed.get(f"{OUT}:{offer.key}"):
                found.append(Change(file=offer.file, path=offer.path, value=""))
            continue
        if value == offer.present:
            continue
        if not value and not offer.may_go:
            raise BadInput("This value cannot be left empty", where=offer.text, limit=offer.wanted, do="type a value")
        found.append(Change(file=offer.file, path=offer.path, value=value))
    for number in range(1, FREE_ROWS + 1):
        path, value = typed.get(f"path{number}", "").strip(), typed.get(f"value{number}", "").strip()
        file = typed.get(f"file{number}", "")
        if not path and not value:
            continue
        steps = tuple(int(step) if step.isdigit() else step for step in map(str.strip, path.split("/")) if step)
        if not steps or file not in ("job", "order", "shop"):
            raise BadInput("A key is missing", where=f"other key {number}", value=path, do="write it as saw / kerf_mm")
        found.append(Change(file=file, path=steps, value=value))
    return tuple(found)
