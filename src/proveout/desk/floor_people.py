"""Who stands at a tablet: somebody with a PIN where PINs are set, else whoever says so on this machine."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.floor_door import COOKIE, SIGNED_IN_S
from proveout.desk.page import desk_of, inside_of, page
from proveout.desk.person import COOKIE as WHO
from proveout.desk.person import person_of
from proveout.desk.sign_in import own_address
from proveout.jobs.people import Role
from proveout.model.written import named
from proveout.quantities.errors import BadInput

router = APIRouter()
STAMP = "proveout-stamp"
HERE = ("127.0.0.1", "::1")
SEE_OTHER, WRONG, TOO_SOON = 303, 401, 429
FLOOR_PEOPLE = "/floor-people"
LOCAL_ONLY = (
    "No PINs are set, so the floor answers on this machine alone, and to whoever is signed in by name. Set them here: "
    "proveout people set NAME"
)


@dataclass(frozen=True)
class AtTablet:
    """Who stands there. stamp: what their taps carry, empty where nobody has a PIN."""

    who: str
    name: str
    role: Role
    stamp: str = ""


def station_address(request: Request) -> str:
    """Where a request comes from: which station waits after wrong PINs."""
    return request.client.host if request.client is not None else ""


def is_open(request: Request) -> bool:
    """False where nobody has a PIN or is signed in by name, and the request comes from another machine.

    On this machine too, where people have passwords and nobody is signed in by name: nobody is believed there.
    """
    if desk_of(request).people.are_known:
        return True
    inside = inside_of(request)
    if inside is not None and (inside.who or desk_of(request).people.have_passwords):
        return bool(inside.who)
    return station_address(request) in HERE


def at_tablet(request: Request) -> AtTablet | None:
    """Who is signed in at the tablet, or said to stand there; None for nobody."""
    desk = desk_of(request)
    if desk.people.are_known:
        known = desk.floor_door.inside(request.cookies.get(COOKIE, ""))
        if known is None:
            return None
        return AtTablet(known.who, known.name, known.role, request.cookies.get(STAMP, ""))
    inside = inside_of(request)
    if inside is not None and inside.role is not None:
        return AtTablet(inside.who, inside.name, inside.role)
    who = person_of(request).strip()
    if not who or not is_open(request) or not who.isprintable():
        return None
    return AtTablet(who, who, "owner")


@router.get(FLOOR_PEOPLE)
def people(request: Request, next: str = "/floor") -> HTMLResponse:  # noqa: A002 - its name in the address
    """The page on which somebody says who stands there."""
    return _asked(request, own_address(next), said="")


@router.post(FLOOR_PEOPLE)
def come(
    request: Request,
    who: Annotated[str, Form()] = "",
    pin: Annotated[str, Form()] = "",
    now_ms: Annotated[str, Form()] = "",
    next: Annotated[str, Form()] = "/floor",  # noqa: A002 - its name in the form
) -> Response:
    """Begin a person's time at the tablet."""
    desk, after = desk_of(request), own_address(next)
    is_https = request.url.scheme == "https"
    if not desk.people.are_known:
        if not is_open(request):
            raise BadInput(LOCAL_ONLY, where="floor")
        if (inside := inside_of(request)) is not None and inside.who:
            return RedirectResponse(after, SEE_OTHER)
        try:
            named(who.strip(), where="your name")
        except BadInput:
            return _asked(request, after, said="Type your name, or tap it.", status=WRONG)
        answer = RedirectResponse(after, SEE_OTHER)
        kept = quote(who.strip())
        answer.set_cookie(WHO, kept, max_age=int(SIGNED_IN_S), path="/", httponly=True, samesite="strict")
        return answer
    station = station_address(request)
    signed = desk.floor_door.enter(who, pin, station=station, clock_s=clock_ahead_s(now_ms))
    if signed is None:
        wait_s = desk.floor_door.wait_s(station)
        wait = f" Wait {math.ceil(wait_s)} seconds." if wait_s > 0.0 else ""
        status = TOO_SOON if wait_s > 0.0 else WRONG
        return _asked(request, after, said=f"That is not the PIN.{wait}", status=status, who=who)
    answer = RedirectResponse(after, SEE_OTHER)
    for name, secret in ((COOKIE, signed.token), (STAMP, signed.stamp)):
        answer.set_cookie(
            name, secret, max_age=int(SIGNED_IN_S), path="/", httponly=True, samesite="strict", secure=is_https
        )  # fmt: skip
    return answer


@router.post(f"{FLOOR_PEOPLE}/leave")
def go(request: Request) -> Response:
    """End a person's time at the tablet; what waits there is still sent."""
    desk_of(request).floor_door.leave(request.cookies.get(COOKIE, ""))
    answer = RedirectResponse(FLOOR_PEOPLE, SEE_OTHER)
    for name in (COOKIE, STAMP, WHO):
        answer.delete_cookie(name, path="/", httponly=True, samesite="strict")
    return answer


def clock_ahead_s(now_ms: str) -> float:
    """How far a tablet's clock is ahead of this machine's, by the time that its page tells; 0.0 where it tells none."""
    is_told = now_ms.isascii() and now_ms.isdigit() and len(now_ms) < 16
    return int(now_ms) / 1000.0 - time.time() if is_told else 0.0


def names_here(request: Request) -> list[str]:
    """Names to tap where nobody has a PIN: those that wrote events as people of the shop."""
    return [row["who"] for row in desk_of(request).records.rows("people") if row["is_here"]]


def _asked(request: Request, after: str, *, said: str, status: int = 200, who: str = "") -> HTMLResponse:
    known = [one for one in desk_of(request).people.all() if one.pin is not None]
    names = [] if known else names_here(request)
    return page(
        request, "floor_people.html", title="Who are you?", status=status, after=after, said=said, known=known,
        names=names, who=who, is_open=is_open(request), local_only=LOCAL_ONLY,
    )  # fmt: skip
