"""The page to sign in at, of a desk that other machines can reach."""

from __future__ import annotations

import math
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proveout.desk.door import COOKIE, SIGN_IN, SIGNED_IN_S, Door, own_address, token_in
from proveout.desk.page import page

router = APIRouter()
SEE_OTHER, WRONG, TOO_MANY = 303, 401, 429
S_PER_MINUTE = 60.0


@router.get(SIGN_IN)
def sign_in_page(request: Request, next: str = "/") -> HTMLResponse:  # noqa: A002 - its name in the address
    """The form for the password."""
    return page(request, "sign_in.html", title="Sign in", next=own_address(next), said="")


@router.post(SIGN_IN)
def sign_in(
    request: Request,
    password: Annotated[str, Form()] = "",
    next: Annotated[str, Form()] = "/",  # noqa: A002 - its name in the form
) -> Response:
    """Begin a session with the right password."""
    door: Door = request.app.state.door
    address = request.client.host if request.client is not None else ""
    token = door.enter(password, address=address)
    if token is None:
        wait_s = door.wait_s(address)
        said = "That is not the password."
        if wait_s > 0.0:
            said = f"Too many wrong passwords. Wait {math.ceil(wait_s / S_PER_MINUTE)} minutes, then try again."
        status = TOO_MANY if wait_s > 0.0 else WRONG
        return page(request, "sign_in.html", title="Sign in", status=status, next=own_address(next), said=said)
    answer = RedirectResponse(own_address(next), SEE_OTHER)
    answer.set_cookie(
        COOKIE, token, max_age=int(SIGNED_IN_S), path="/", httponly=True, samesite="strict",
        secure=request.url.scheme == "https",
    )  # fmt: skip
    return answer


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End the session."""
    door: Door = request.app.state.door
    door.leave(token_in(request.headers.get("cookie", "")))
    answer = RedirectResponse(SIGN_IN, SEE_OTHER)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    return answer
