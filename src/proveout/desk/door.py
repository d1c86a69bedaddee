"""Who is signed in at the desk, by their own password or by that of all stations; how often a wrong one is tried."""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from ipaddress import IPv6Address, ip_address
from typing import NamedTuple

from proveout.jobs.password import Password
from proveout.jobs.people import People, Role
from proveout.jobs.rights import MAY_DO, OF_A_STATION, RIGHTS, Right
from proveout.jobs.turns import Turns
from proveout.model.run import Run

COOKIE = "proveout-session"
SIGN_IN = "/sign-in"
SIGNED_IN_S = 12 * 3600.0
SESSIONS_MOST = 500
WRONG_MOST, WRONG_OF_ALL_MOST = 5, 60
WRONG_WITHIN_S = 900.0
PAUSE_S = 2.0  # before each guess once many were wrong, of one machine or of all together
WAITING_MOST, WAIT_S = 6, 30.0  # guesses that wait for their turn
TOKEN_BYTES = 32


@dataclass(frozen=True)
class Inside:
    """Who is signed in. who, name: empty for a station that came in with the one password of all stations.

    may: what they may do, by their role as it is now.
    """

    who: str
    name: str
    role: Role | None
    may: frozenset[Right]


class _Session(NamedTuple):
    """ends_s: of the door's clock.   who: empty for a station.   secret: hash of what is kept of their password."""

    ends_s: float
    who: str
    secret: str


class Door:
    """Sessions and wrong tries of one server; a server that begins anew knows nobody.

    Somebody with a password of their own comes in with it and may what their role may. The one password of all
    stations opens everything while nobody has an own one, and from then on what a station needs.

    Wrong tries are counted by the address of the asker, which has to wait after WRONG_MOST of them. Whoever asks from
    this machine never has to: it is the owner's. Once many were wrong together, from whatever addresses, or many for
    one person, every such guess is kept back a little while, so that many addresses guess slowly and nobody is locked
    out by them.

    Args:     password: of all stations, None where there is none.   people: with passwords of their own.
              asks_always: else nobody is asked while nobody has a password of their own, as on this machine alone.
              now: seconds of a clock that only goes forward.   pause: stands still so long.
    """

    def __init__(
        self, password: Password | None, people: People | None = None, *, asks_always: bool = True,
        now: Callable[[], float] = time.monotonic, pause: Callable[[float], None] = time.sleep,
    ) -> None:  # fmt: skip
        self._password, self._people, self._asks_always = password, people, asks_always
        self._now, self._pause = now, pause
        self._sessions: dict[str, _Session] = {}
        self._wrong: list[tuple[float, str, str]] = []
        self._lock = threading.Lock()
        # a guess costs memory: one after the other; this machine's wait for nobody else's
        self._turns = {is_own: Turns(at_a_time=1, waiting_most=WAITING_MOST, wait_s=WAIT_S) for is_own in (True, False)}

    @property
    def asks(self) -> bool:
        """Whether anybody has to sign in."""
        return self._asks_always or self.has_people

    @property
    def has_people(self) -> bool:
        """Whether anybody has a password of their own."""
        return self._people is not None and self._people.have_passwords

    @property
    def has_stations(self) -> bool:
        """Whether stations have a password of theirs."""
        return self._password is not None

    def wait_s(self, address: str) -> float:
        """How long nobody at that address may try, 0.0 when one may."""
        with self._lock:
            return self._wait_s(address)

    def enter(self, typed: str, *, address: str, who: str = "") -> str | None:
        """A token for the right password; None for a wrong one, and while that address has to wait.

        Args:     who: whose password it is to be; empty for that of all stations.
        Raises:   Busy where too many guess at once.
        """
        if not self.is_right(typed, address=address, who=who):
            return None
        secret = self._secret(who)
        with self._lock:
            token = secrets.token_urlsafe(TOKEN_BYTES)
            self._forget()
            self._sessions[mark_of(token)] = _Session(self._now() + SIGNED_IN_S, who, secret)
            return token

    def is_right(self, typed: str, *, address: str, who: str = "") -> bool:
        """Whether it is the password; a wrong one is counted. False while that address has to wait.

        Raises:   Busy where too many guess at once.
        """
        if self.wait_s(address) > 0.0:
            return False
        with self._turns[_is_this_machine(address)].turn(Run()):
            if self.wait_s(address) > 0.0:
                return False
            if self._is_braked(address, who):
                self._pause(PAUSE_S)
            is_right = self._matches(typed, who)
            if not is_right:
                with self._lock:
                    self._wrong.append((self._now(), address, who))
            return is_right

    def inside(self, token: str) -> Inside | None:
        """Who is signed in with a token; None for nobody, and for somebody who is gone or has another password now."""
        with self._lock:
            session = self._sessions.get(mark_of(token))
        if session is None or session.ends_s <= self._now():
            return None
        if not session.who:
            return Inside("", "", None, OF_A_STATION if self.has_people else frozenset(RIGHTS))
        known = self._people.of(session.who) if self._people is not None else None
        if known is None or known.password is None or self._secret(session.who) != session.secret:
            return None
        return Inside(known.who, known.name, known.role, MAY_DO[known.role])

    def leave(self, token: str) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(mark_of(token), None)

    def _matches(self, typed: str, who: str) -> bool:
        if who:
            return self._people is not None and self._people.matches_password(who, typed)
        return self._password is not None and self._password.matches(typed)

    def _secret(self, who: str) -> str:
        known = self._people.of(who) if who and self._people is not None else None
        return "" if known is None or known.password is None else mark_of(known.password.hashed)

    def _wait_s(self, address: str) -> float:
        now = self._now()
        self._wrong = [one for one in self._wrong if now - one[0] < WRONG_WITHIN_S]
        own = [at for at, where, _ in self._wrong if where == address]
        if len(own) >= WRONG_MOST and not _is_this_machine(address):
            return own[-WRONG_MOST] + WRONG_WITHIN_S - now
        return 0.0

    def _is_braked(self, address: str, who: str) -> bool:
        """True where a guess is kept back: of this machine after its own wrong ones, of others after those of all.

        Also where many were wrong for one person, from whatever other machines.
        """
        with self._lock:
            if _is_this_machine(address):
                return sum(where == address for _, where, _ in self._wrong) >= WRONG_MOST
            if who and sum(whose == who for _, _, whose in self._wrong) >= WRONG_MOST:
                return True
            return len(self._wrong) >= WRONG_OF_ALL_MOST

    def _forget(self) -> None:
        """Drop what has ended, and the oldest of too many."""
        now = self._now()
        left = sorted((one.ends_s, mark) for mark, one in self._sessions.items() if one.ends_s > now)
        self._sessions = {mark: self._sessions[mark] for _, mark in left[-(SESSIONS_MOST - 1) :]}


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
