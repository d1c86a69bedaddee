"""What tablets post: one event at a time as JSON, the same from a plain form, photos, and programs to compare."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated, Any, BinaryIO, cast
from urllib.parse import quote

import msgspec
from fastapi import APIRouter, Depends, Request
from fastapi.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from proveout.desk.described import RefusedTap, answers, body_of
from proveout.desk.floor_people import FLOOR_PEOPLE, AtTablet, at_tablet, is_open, station_address
from proveout.desk.page import desk_of, inside_of, page
from proveout.desk.sign_in import own_address
from proveout.desk.tapped_form import tap_fields
from proveout.desk.typed_form import TypedForm
from proveout.desk.uploads import sent
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.check_told import grouped
from proveout.jobs.floor_taps import Tap
from proveout.jobs.people import Role
from proveout.jobs.photos import keep_photo, photo_path
from proveout.quantities.errors import BadInput, NotKept, ProveoutError, Refused, Unreadable
from proveout.records.writing import Answer

router = APIRouter()
TAPPED = "x-floor-stamp"
NO_PINS = "No PINs are set, so the floor answers on its own machine alone, and to whoever is signed in by name"
SEE_OTHER = 303
PROGRAM_MOST_BYTES = 15 * 1024 * 1024
REFUSED = {
    401: "nobody was signed in with this stamp then: sign in again, and send it once more",
    409: "it cannot follow what is recorded, or is not for this person to write",
    422: "it is no event of the floor",
    503: "it is not known to be kept: send it again",
}


async def _body(request: Request) -> bytes:
    return await request.body()


Body = Annotated[bytes, Depends(_body)]


@router.post("/floor/events", openapi_extra=body_of(Tap), responses=answers(Answer, REFUSED))
def post_event(request: Request, body: Body) -> Response:
    """Write one event of the floor; posted again under its own id it counts once, and gets the same answer."""
    try:
        tap = msgspec.json.decode(body, type=Tap)
        tap.event  # noqa: B018 - one that is no event is told as such
    except (msgspec.MsgspecError, ProveoutError, UnicodeDecodeError, RecursionError) as fault:
        return _told(_no_event(fault), HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        answer = _posted(request, tap, request.headers.get(TAPPED, ""))
    except _Unknown as fault:
        return _told(fault.why, HTTPStatus.UNAUTHORIZED)
    except NotKept as fault:
        return _told(fault, HTTPStatus.SERVICE_UNAVAILABLE)
    except BadInput as fault:
        return _told(fault, HTTPStatus.CONFLICT)
    return JSONResponse({"seq": answer.seq, "hash": answer.hash})


@router.post("/floor/taps")
def post_form(request: Request, typed: TypedForm) -> Response:
    """The same from a form, for a browser that runs no script."""
    back = own_address(typed.get("back", "/floor"))
    try:
        tap = tap_of(typed, at_tablet(request))
        _posted(request, tap, typed.get("stamp", ""))
    except _Unknown:
        return RedirectResponse(f"{FLOOR_PEOPLE}?next={quote(back, safe='')}", SEE_OTHER)
    except ProveoutError as fault:
        return _refused_page(request, fault, back)
    return RedirectResponse(back, SEE_OTHER)


@router.post("/floor/by-another")
def post_by_another(request: Request, typed: TypedForm) -> Response:
    """One event by somebody who steps up to another one's tablet, with their own name and PIN, for this once."""
    desk, back = desk_of(request), own_address(typed.get("back", "/floor"))
    who, pin = typed.get("who", "").strip(), typed.get("pin", "")
    try:
        role: Role = "owner"
        if desk.people.are_known:
            known = desk.floor_door.known(who, pin, station=station_address(request))
            if known is None:
                wait_s = desk.floor_door.wait_s(station_address(request))
                raise BadInput("That is not the PIN", where=who[:80], do=f"wait {wait_s:.0f} s, then try again")
            role = known.role
        elif not is_open(request) or desk.people.have_passwords:
            raise BadInput(NO_PINS, where="floor", do="the owner sets PINs: proveout people set NAME")
        desk.taps.post(tap_of(typed, AtTablet(who, who, role)), role=role)
    except ProveoutError as fault:
        return _refused_page(request, fault, back)
    return RedirectResponse(back, SEE_OTHER)


@router.post("/floor/photos")
def post_photo(request: Request, form: Annotated[FormData, Depends(sent)]) -> Response:
    """Keep a photo; what it is called in the event that names it."""
    if at_tablet(request) is None and desk_of(request).floor_door.session_of(request.headers.get(TAPPED, "")) is None:
        return _told(RefusedTap(what="Nobody is signed in", do="sign in"), HTTPStatus.UNAUTHORIZED)
    given = form.get("photo")
    if not isinstance(given, UploadFile):
        return _told(RefusedTap(what="No photo was given"), HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        return JSONResponse({"photo": keep_photo(desk_of(request).home, cast("BinaryIO", given.file))})
    except Unreadable as fault:
        return _told(fault, HTTPStatus.UNPROCESSABLE_ENTITY)


@router.get("/floor-photos/{digest}")
def photo(request: Request, digest: str) -> FileResponse:
    """A photo."""
    path, kind = photo_path(desk_of(request).home, digest)
    return FileResponse(path, media_type=kind, headers={"content-security-policy": "sandbox; default-src 'none'"})


@router.post("/floor/program")
def program(form: Annotated[FormData, Depends(sent)]) -> Response:
    """The fingerprint of a program as it lies in a control; nothing of it is kept."""
    given = form.get("program")
    if not isinstance(given, UploadFile):
        return _told(RefusedTap(what="No file was given"), HTTPStatus.UNPROCESSABLE_ENTITY)
    content = given.file.read(PROGRAM_MOST_BYTES + 1)
    if not content or len(content) > PROGRAM_MOST_BYTES:
        return _told(RefusedTap(what="The file is empty or too large", limit="15 MB"), HTTPStatus.UNPROCESSABLE_ENTITY)
    found = fingerprint_of_text(content.decode("utf-8", "surrogateescape"))
    return JSONResponse({"fingerprint": found, "shown": grouped(found)})


def tap_of(typed: dict[str, str], person: AtTablet | None) -> Tap:
    """What a form of the floor says, by its person.

    Raises:   _Unknown for nobody; BadInput for what is no event.
    """
    if person is None:
        raise _Unknown(RefusedTap(what="Nobody is signed in", do="say who stands there"))
    fields: dict[str, Any] = tap_fields(typed) | {"person": person.who}
    try:
        return msgspec.convert(fields, Tap, strict=False)
    except (msgspec.MsgspecError, UnicodeDecodeError) as fault:
        raise BadInput("This is not filled in as it must be", value=str(fault)[:200], do="go back and look") from fault


class _Unknown(Exception):
    """Nobody was signed in."""

    def __init__(self, why: RefusedTap) -> None:
        super().__init__(why.what)
        self.why = why


def _posted(request: Request, tap: Tap, stamp: str) -> Answer:
    """Write a tap as whoever made it may; the only way from a tablet to the records."""
    desk = desk_of(request)
    if not desk.people.are_known:
        if not is_open(request):
            raise Refused(NO_PINS, where=tap.station)
        inside = inside_of(request)
        if inside is None or inside.role is None:
            return desk.taps.post(tap, role="owner")
        if inside.who != tap.person:
            raise Refused("Somebody else is signed in", where=tap.person, value=inside.who, do="sign in as yourself")
        return desk.taps.post(tap, role=inside.role)
    known = desk.floor_door.tapped(stamp, at=tap.at)
    if known is None:
        raise _Unknown(
            RefusedTap(what="Nobody was signed in then", where=tap.person, do=f"{tap.person} signs in again")
        )
    if known.who != tap.person:
        raise Refused("Somebody else was signed in", where=tap.person, value=known.who, do="sign in as yourself")
    return desk.taps.post(tap, role=known.role)


def _no_event(fault: Exception) -> RefusedTap:
    if isinstance(fault, ProveoutError):
        return _as_told(fault)
    return RefusedTap(what="This is no event of the floor", value=str(fault)[:300])


def _as_told(fault: ProveoutError) -> RefusedTap:
    return RefusedTap(what=fault.what, where=fault.where, value=fault.value, limit=fault.limit, do=fault.do)


def _told(why: RefusedTap | ProveoutError, status: HTTPStatus) -> JSONResponse:
    told = _as_told(why) if isinstance(why, ProveoutError) else why
    return JSONResponse(msgspec.to_builtins(told), status)


def _refused_page(request: Request, fault: ProveoutError, back: str) -> Response:
    status = HTTPStatus.SERVICE_UNAVAILABLE if isinstance(fault, NotKept) else HTTPStatus.CONFLICT
    return page(request, "floor_refused.html", title="Not written", status=status, fault=fault, back=back)
