"""The page to sign in at, of a desk that other machines can reach or whose people have passwords of their own."""

from __future__ import annotations

import math
from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.door import COOKIE, SIGN_IN, SIGNED_IN_S, Door, token_in
from proveout.desk.page import page
from proveout.model.written import NAME_LENGTH

router = APIRouter()
SEE_OTHER, WRONG, TOO_MANY, NOT_FOUND = 303, 401, 429, 404
S_PER_MINUTE = 60.0


@router.get(SIGN_IN)
def sign_in_page(request: Request, next: str = "/") -> HTMLResponse:  # noqa: A002 - its name in the address
    """The form for name and password."""
    door = door_of(request)
    return _asked(request, door, after=own_address(next))


@router.post(SIGN_IN)
def sign_in(
    request: Request,
    password: Annotated[str, Form()] = "",
    who: Annotated[str, Form()] = "",
    next: Annotated[str, Form()] = "/",  # noqa: A002 - its name in the form
) -> Response:
    """Begin a session with the right password."""
    door, who = door_of(request), who.strip()[:NAME_LENGTH]
    address = request.client.host if request.client is not None else ""
    token = door.enter(password, address=address, who=who)
    if token is None:
        wait_s = door.wait_s(address)
        said = "That is not the password of this name." if who else "That is not the password."
        if wait_s > 0.0:
            said = f"Too many wrong passwords. Wait {math.ceil(wait_s / S_PER_MINUTE)} minutes, then try again."
        status = TOO_MANY if wait_s > 0.0 else WRONG
        return _asked(request, door, after=own_address(next), said=said, who=who, status=status)
    answer = RedirectResponse(own_address(next), SEE_OTHER)
    answer.set_cookie(
        COOKIE, token, max_age=int(SIGNED_IN_S), path="/", httponly=True, samesite="strict",
        secure=request.url.scheme == "https",
    )  # fmt: skip
    return answer


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End the session."""
    door = door_of(request)
    door.leave(token_in(request.headers.get("cookie", "")))
    answer = RedirectResponse(SIGN_IN, SEE_OTHER)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    return answer


def door_of(request: Request) -> Door:
    """The door of the desk.

    Raises:   HTTPException, as where there is no such page, while nobody has to sign in.
    """
    door: Door = request.app.state.door
    if not door.asks:
        raise HTTPException(NOT_FOUND)
    return door


def _asked(
    request: Request, door: Door, *, after: str, said: str = "", who: str = "", status: int = 200
) -> HTMLResponse:  # fmt: skip
    return page(
        request, "sign_in.html", title="Sign in", status=status, next=after, said=said, who=who, door=door
    )  # fmt: skip


def own_address(text: str) -> str:
    """The address of a page of this desk, never one elsewhere."""
    is_own = text.startswith("/") and not text.startswith(("//", "/\\")) and text.isprintable() and "\\" not in text
    return text if is_own and not text.startswith(SIGN_IN) else "/"
