"""Who is signed in at a desk that other machines can reach, and how often a wrong password may be tried."""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from ipaddress import IPv6Address, ip_address
from urllib.parse import quote

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from proveout.jobs.password import Password
from proveout.jobs.turns import Turns
from proveout.model.run import Run

COOKIE = "proveout-session"
SIGN_IN = "/sign-in"
OPEN_TO_ALL = (SIGN_IN,)
STATIC = "/static/"
SIGNED_IN_S = 12 * 3600.0
SESSIONS_MOST = 500
WRONG_MOST, WRONG_OF_ALL_MOST = 5, 60
WRONG_WITHIN_S = 900.0
PAUSE_S = 2.0  # before each guess once many were wrong, of one machine or of all together
WAITING_MOST, WAIT_S = 6, 30.0  # guesses that wait for their turn
TOKEN_BYTES = 32
SEE_OTHER, UNKNOWN = 303, 401


class Door:
    """Sessions and wrong tries of one server; a server that begins anew knows nobody.

    Wrong tries are counted by the address of the asker, which has to wait after WRONG_MOST of them. Whoever asks from
    this machine never has to: it is the owner's. Once many were wrong together, from whatever addresses, every guess is
    kept back a little while, so that many addresses guess slowly and nobody is locked out by them.

    Args:     password: what opens it.   now: seconds of a clock that only goes forward.   pause: stands still so long.
    """

    def __init__(
        self, password: Password, *, now: Callable[[], float] = time.monotonic,
        pause: Callable[[float], None] = time.sleep,
    ) -> None:  # fmt: skip
        self._password, self._now, self._pause = password, now, pause
        self._sessions: dict[str, float] = {}
        self._wrong: list[tuple[float, str]] = []
        self._lock = threading.Lock()
        # a guess costs memory: one after the other; this machine's wait for nobody else's
        self._turns = {is_own: Turns(at_a_time=1, waiting_most=WAITING_MOST, wait_s=WAIT_S) for is_own in (True, False)}

    def wait_s(self, address: str) -> float:
        """How long nobody at that address may try, 0.0 when one may."""
        with self._lock:
            return self._wait_s(address)

    def enter(self, typed: str, *, address: str) -> str | None:
        """A token for the right password; None for a wrong one, and while that address has to wait.

        Raises:   Busy where too many guess at once.
        """
        if self.wait_s(address) > 0.0:
            return None
        with self._turns[_is_this_machine(address)].turn(Run()):
            if self.wait_s(address) > 0.0:
                return None
            if self._is_braked(address):
                self._pause(PAUSE_S)
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
        if len(own) >= WRONG_MOST and not _is_this_machine(address):
            return own[-WRONG_MOST] + WRONG_WITHIN_S - now
        return 0.0

    def _is_braked(self, address: str) -> bool:
        """True where a guess is kept back: of this machine after its own wrong ones, of others after those of all."""
        with self._lock:
            if _is_this_machine(address):
                return sum(who == address for _, who in self._wrong) >= WRONG_MOST
            return len(self._wrong) >= WRONG_OF_ALL_MOST

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


def _is_this_machine(address: str) -> bool:
    """True for an address that only this machine has for itself."""
    try:
        found = ip_address(address)
    except ValueError:
        return False
    own = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return (own or found).is_loopback


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


def own_address(text: str) -> str:
    """The address of a page of this desk, never one elsewhere."""
    is_own = text.startswith("/") and not text.startswith(("//", "/\\")) and text.isprintable() and "\\" not in text
    return text if is_own and not text.startswith(SIGN_IN) else "/"
