"""What stands behind the door: who comes with a session, and whether they may do what they ask for."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import Request
from fastapi.responses import Response
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from proveout.desk.door import SIGN_IN, Door, Inside, token_in
from proveout.desk.page import INSIDE, inside_of, page
from proveout.desk.rights_of_routes import OPEN, Needed, right_of
from proveout.jobs.rights import WORDS, Right, roles_with
from proveout.quantities.errors import BadInput, ProveoutError

STATIC, FLOOR = "/static/", "/floor"
SEE_OTHER, UNKNOWN, FORBIDDEN, FAULT = 303, 401, 403, 500


class NotYours(BadInput):
    """Whoever is signed in may not do this."""


class SignedInOnly:
    """Lets through whoever may do what they ask for; a page asked for without a session becomes the page to sign in."""

    def __init__(self, app: ASGIApp, *, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, send it to the door, or say that it is not for them."""
        if scope["type"] != "http" or scope["path"].startswith(STATIC):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        try:
            is_asked = self.door.asks
            inside = self.door.inside(token_in(headers.get("cookie", "")))
        except ProveoutError as fault:  # nobody can be told from anybody else: nothing is shown
            await PlainTextResponse(f"{fault.message}\n", FAULT)(scope, receive, send)
            return
        if not is_asked:
            await self.app(scope, receive, send)
            return
        scope.setdefault("state", {})[INSIDE] = inside
        needed = right_of(scope["method"], scope["path"])
        if needed == OPEN or (inside is not None and needed in inside.may):
            await self.app(scope, receive, send)
            return
        is_page = "text/html" in headers.get("accept", "")
        if inside is not None and scope["method"] == "GET" and scope["path"] == "/" and is_page:
            await RedirectResponse(FLOOR, SEE_OTHER)(scope, receive, send)  # where the work is of whoever sees no plans
            return
        if inside is not None:
            answer = _not_yours(Request(scope), inside, needed) if is_page else PlainTextResponse(
                "This is not for you to do.\n", FORBIDDEN
            )  # fmt: skip
        elif scope["method"] == "GET" and is_page:
            query = scope.get("query_string", b"").decode("latin-1")
            wanted = scope["path"] + (f"?{query}" if query else "")
            answer = RedirectResponse(f"{SIGN_IN}?next={quote(wanted, safe='')}", SEE_OTHER)
        else:
            answer = PlainTextResponse("Sign in first.\n", UNKNOWN)
        await answer(scope, receive, send)


def need(request: Request, right: Right, *, what: str) -> None:
    """Go on only where whoever is signed in has a further right.

    Args:     what: what it is needed for, as a sentence.
    Raises:   NotYours.
    """
    inside = inside_of(request)
    if inside is not None and not may(request, right):
        raise _refusal(inside, right, what=what)


def may(request: Request, right: Right) -> bool:
    """Whether whoever asks has a right; everybody where nobody has to sign in."""
    inside = inside_of(request)
    return inside is None or right in inside.may


def _refusal(inside: Inside, right: Right, *, what: str) -> NotYours:
    who = f"{inside.name}, {inside.role}" if inside.who else "a station of the floor"
    allowed = " or ".join(roles_with(right))
    do = f"ask the {allowed}" if inside.who else "sign out, and sign in with your own name and password"
    return NotYours(f"{what}: {WORDS[right]}", where=who, do=do)


def _not_yours(request: Request, inside: Inside, needed: Needed | None) -> Response:
    what = "This is not for you to do"
    fault = (
        _refusal(inside, needed, what=what)
        if needed is not None and needed != OPEN
        else NotYours(what, where=request.url.path)
    )
    return page(request, "refused.html", title="Not for you", fault=fault, status=FORBIDDEN, is_unchanged=True)
