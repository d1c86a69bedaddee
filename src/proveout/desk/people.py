"""Who works in the shop: their roles, PINs and passwords, for the owner; and everybody's own password."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.page import desk_of, inside_of, page
from proveout.desk.sign_in import NOT_FOUND, SEE_OTHER, door_of
from proveout.jobs.people import ROLES
from proveout.jobs.rights import MAY_DO, RIGHTS, WORDS
from proveout.quantities.errors import BadInput

router = APIRouter()
BAD = 400
NO_ONE = {"who": "", "name": "", "role": "floor"}


@router.get("/people")
def people(request: Request) -> HTMLResponse:
    """Everybody with their roles, and the form for one more or for a change."""
    return _shown(request, typed=NO_ONE)


@router.post("/people")
def put(
    request: Request, who: Annotated[str, Form()] = "", name: Annotated[str, Form()] = "",
    role: Annotated[str, Form()] = "", pin: Annotated[str, Form()] = "", password: Annotated[str, Form()] = "",
) -> Response:  # fmt: skip
    """Add somebody, or give them another name, role, PIN or password."""
    who, name = who.strip(), name.strip()
    try:
        desk_of(request).people.put(
            who, name=name or who, role=role, pin=pin.strip() or None, password=password or None
        )  # fmt: skip
    except BadInput as fault:
        return _shown(request, typed={"who": who, "name": name, "role": role}, fault=fault)
    return RedirectResponse("/people", SEE_OTHER)


@router.post("/people/{who}/remove")
def remove(request: Request, who: str) -> Response:
    """Forget somebody, their PIN and their password; what they wrote stays."""
    try:
        desk_of(request).people.remove(who)
    except BadInput as fault:
        return _shown(request, typed=NO_ONE, fault=fault)
    return RedirectResponse("/people", SEE_OTHER)


@router.get("/own-password")
def ask_own(request: Request) -> HTMLResponse:
    """The form for a new password of one's own."""
    return _own(request)


@router.post("/own-password")
def set_own(request: Request, old: Annotated[str, Form()] = "", new: Annotated[str, Form()] = "") -> Response:
    """A new password of one's own; every session that began with the old one ends."""
    door, inside, desk = door_of(request), inside_of(request), desk_of(request)
    known = desk.people.of(inside.who) if inside is not None and inside.who else None
    if known is None:
        raise HTTPException(NOT_FOUND)
    address = request.client.host if request.client is not None else ""
    if not door.is_right(old, address=address, who=known.who):
        wrong = BadInput("That is not your password", where=known.name, do="type the one you signed in with")
        return _own(request, fault=wrong)
    try:
        desk.people.put(known.who, name=known.name, role=known.role, password=new)
    except BadInput as fault:
        return _own(request, fault=fault)
    return RedirectResponse("/sign-in", SEE_OTHER)


def _own(request: Request, *, fault: BadInput | None = None) -> HTMLResponse:
    inside = inside_of(request)
    if inside is None or not inside.who:
        raise HTTPException(NOT_FOUND)
    return page(
        request, "own_password.html", title="Your password", fault=fault, status=BAD if fault is not None else 200,
        may=[WORDS[right] for right in RIGHTS if right in inside.may],
    )  # fmt: skip


def _shown(request: Request, *, typed: dict[str, str], fault: BadInput | None = None) -> HTMLResponse:
    desk = desk_of(request)
    return page(
        request, "people.html", title="People", status=BAD if fault is not None else 200, known=desk.people.all(),
        typed=typed, fault=fault, roles=ROLES,
        rights=[(role, [WORDS[one] for one in RIGHTS if one in MAY_DO[role]]) for role in ROLES],
        has_passwords=desk.people.have_passwords, where=desk.people.path,
    )  # fmt: skip
