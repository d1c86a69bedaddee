"""Who writes at the desk: the name typed into the form, which the browser keeps for the next one."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from urllib.parse import quote, unquote

from fastapi import Request
from fastapi.responses import RedirectResponse

from proveout.jobs.signed import Signed

COOKIE = "proveout-person"
A_SHIFT_S = 12 * 3600
SEE_OTHER = 303


def person_of(request: Request) -> str:
    """The name that was typed last in this browser; empty for none."""
    return unquote(request.cookies.get(COOKIE, ""))[:200]


def new_form() -> str:
    """An id for one event, that a form carries so that it counts once however often it is sent."""
    return str(uuid.uuid4())


def signed_by(typed: Mapping[str, str]) -> Signed:
    """Who answers for what a form says."""
    return Signed(person=typed.get("person", ""), id=typed.get("event", ""))


def gone_to(address: str, typed: Mapping[str, str]) -> RedirectResponse:
    """On to a page, the name kept for the next form."""
    answer = RedirectResponse(address, SEE_OTHER)
    answer.set_cookie(
        COOKIE, quote(typed.get("person", "").strip()), max_age=A_SHIFT_S, path="/", httponly=True, samesite="strict"
    )
    return answer
