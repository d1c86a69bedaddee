"""Who is signed in at a desk that other machines can reach, and how often a wrong password may be tried."""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from urllib.parse import quote

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from proveout.jobs.password import Password

COOKIE = "proveout-session"
SIGN_IN = "/sign-in"
OPEN_TO_ALL = (SIGN_IN,)
STATIC = "/static/"
SIGNED_IN_S = 12 * 3600.0
SESSIONS_MOST = 500
WRONG_MOST, WRONG_OF_ALL_MOST = 5, 60
WRONG_WITHIN_S = 900.0
TOKEN_BYTES = 32
SEE_OTHER, UNKNOWN = 303, 401


class Door:
    """Sessions and wrong tries of one server; a server that begins anew knows nobody.

    Args:     password: what opens it.   now: seconds of a clock that only goes forward.
    """

    def __init__(self, password: Password, *, now: Callable[[], float] = time.monotonic) -> None:
        self._password, self._now = password, now
        self._sessions: dict[str, float] = {}
        self._wrong: list[tuple[float, str]] = []
        self._lock = threading.Lock()
        self._one_guess = threading.Lock()

    def wait_s(self, address: str) -> float:
        """How long nobody at that address may try, 0.0 when one may."""
        with self._lock:
            return self._wait_s(address)

    def enter(self, typed: str, *, address: str) -> str | None:
        """A token for the right password; None for a wrong one, and while that address has to wait."""
        with self._one_guess:  # a guess costs memory: one after the other
            if self.wait_s(address) > 0.0:
                return None
            is_right = self._password.matches(typed)
            with self._lock:
                if not is_right:
                    self._wrong.append((self._now(), address))
                    return None
                token = secrets.token_urlsafe(TOKEN_BYTES)
                self._forget()
                self._sessions[mark_of(token)] = self._now() + SIGNED_IN_S
                return token

    def knows(self, token: str) -> bool:
        """True for a token that was given out and has neither ended nor been given back."""
        with self._lock:
            return self._sessions.get(mark_of(token), -1.0) > self._now()

    def leave(self, token: str) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(mark_of(token), None)

    def _wait_s(self, address: str) -> float:
        now = self._now()
        self._wrong = [(at, who) for at, who in self._wrong if now - at < WRONG_WITHIN_S]
        own = [at for at, who in self._wrong if who == address]
        if len(own) >= WRONG_MOST:
            return own[-WRONG_MOST] + WRONG_WITHIN_S - now
        if len(self._wrong) >= WRONG_OF_ALL_MOST:
            return self._wrong[-WRONG_OF_ALL_MOST][0] + WRONG_WITHIN_S - now
        return 0.0

    def _forget(self) -> None:
        """Drop what has ended, and the oldest of too many."""
        now = self._now()
        left = sorted((end, mark) for mark, end in self._sessions.items() if end > now)
        self._sessions = {mark: end for end, mark in left[-(SESSIONS_MOST - 1) :]}


class SignedInOnly:
    """Lets through what comes with a session; a page that is asked for without one becomes the page to sign in at."""

    def __init__(self, app: ASGIApp, *, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or send it to the door."""
        if scope["type"] != "http" or scope["path"] in OPEN_TO_ALL or scope["path"].startswith(STATIC):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if self.door.knows(token_in(headers.get("cookie", ""))):
            await self.app(scope, receive, send)
            return
        if scope["method"] == "GET" and "text/html" in headers.get("accept", ""):
            query = scope.get("query_string", b"").decode("latin-1")
            wanted = scope["path"] + (f"?{query}" if query else "")
            answer = RedirectResponse(f"{SIGN_IN}?next={quote(wanted, safe='')}", SEE_OTHER)
        else:
            answer = PlainTextResponse("Sign in first.\n", UNKNOWN)
        await answer(scope, receive, send)


def token_in(cookies: str) -> str:
    """The token in a header of cookies; empty for none."""
    try:
        found = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""


def mark_of(token: str) -> str:
    """What is kept of a token: whoever reads the memory of the server cannot sign in with it."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
