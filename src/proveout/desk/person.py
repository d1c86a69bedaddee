"""Who writes at the desk: who is signed in, else the name typed into the form, which the browser keeps for the next."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import RedirectResponse

from proveout.desk.page import inside_of
from proveout.jobs.signed import Signed

COOKIE = "proveout-person"
A_SHIFT_S = 12 * 3600
SEE_OTHER = 303


def person_of(request: Request) -> str:
    """Who is signed in, else the name that was typed last in this browser; empty for none."""
    if (inside := inside_of(request)) is not None and inside.who:
        return inside.who
    return unquote(request.cookies.get(COOKIE, ""))[:200]


def writer_shown(request: Request, typed: Mapping[str, str]) -> str:
    """The name that a form shows as its writer's: who is signed in, else what was typed into it, else the last one."""
    inside = inside_of(request)
    return person_of(request) if inside is not None and inside.who else typed.get("person", "") or person_of(request)


def new_form() -> str:
    """An id for one event, that a form carries so that it counts once however often it is sent."""
    return str(uuid.uuid4())


def signed_by(request: Request, typed: Mapping[str, str]) -> Signed:
    """Who answers for what a form says: whoever is signed in, whatever name was sent with it."""
    inside = inside_of(request)
    person = inside.who if inside is not None and inside.who else typed.get("person", "")
    return Signed(person=person, id=typed.get("event", ""))


def gone_to(address: str, typed: Mapping[str, str]) -> RedirectResponse:
    """On to a page, the name kept for the next form."""
    answer = RedirectResponse(address, SEE_OTHER)
    if not typed.get("person", "").strip():
        return answer
    answer.set_cookie(
        COOKIE, quote(typed.get("person", "").strip()), max_age=A_SHIFT_S, path="/", httponly=True, samesite="strict"
    )
    return answer
