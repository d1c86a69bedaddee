"""Who is signed in at the stations of the floor by a PIN, and how a wrong one slows the next try.

A session has two secrets: one in a cookie that no script reads, and a stamp that the page puts on every tap. What was
tapped while a session held may be sent later, when the network is back: the stamp is known for some days more. Both
are kept as hashes, in a file beside the people, so that a server that begins anew still takes what waits on a tablet.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import msgspec

from proveout.desk.door import TOKEN_BYTES, mark_of
from proveout.jobs.password import ONLY_OURS
from proveout.jobs.people import Known, People
from proveout.jobs.whole_files import write_whole

COOKIE = "proveout-floor"
SIGNED_IN_S = 10 * 3600.0
SENT_LATER_S = 7 * 24 * 3600.0
CLOCK_S = 120.0
"""How much later than the end of a session a tap may say it was, as clocks are never quite alike."""
FREE_TRIES = 3
WAIT_MOST_S = 30.0
WRONG_WITHIN_S = 600.0
SESSIONS_MOST = 2000
FILE = "floor-sessions.json"


class Session(msgspec.Struct, frozen=True, kw_only=True):
    """One person's time at one station. mark, stamp: hashes of its secrets.   ends_s: of this machine's clock.

    clock_s: how far the tablet's clock is ahead of it.   pin: hash of what is kept of the PIN that it began with.
    """

    mark: str
    stamp: str
    who: str
    ends_s: float
    clock_s: float
    pin: str


class Signed(msgspec.Struct, frozen=True, kw_only=True):
    """What a new session is told: its secrets, and for how long."""

    token: str
    stamp: str
    ends_s: float


class FloorDoor:
    """Sessions of people with PINs, and wrong tries by station.

    Args:     kept: file of the sessions.   now: seconds of this machine's clock.
    """

    def __init__(self, people: People, kept: Path, *, now: Callable[[], float] = time.time) -> None:
        self._people, self._kept, self._now = people, kept, now
        self._lock = threading.Lock()
        self._one_guess = threading.Lock()
        self._wrong: dict[tuple[str, str], tuple[int, float]] = {}  # by station and whose PIN it was to be
        self._sessions: dict[str, Session] = {}
        with suppress(OSError, msgspec.MsgspecError):
            held = msgspec.json.decode(kept.read_bytes(), type=tuple[Session, ...])
            self._sessions = {one.mark: one for one in held}

    def wait_s(self, station: str) -> float:
        """How long that station waits before its next try: never long, and no other station waits with it."""
        with self._lock:
            now = self._now()
            return max((_wait_s(*wrong, now) for (at, _), wrong in self._wrong.items() if at == station), default=0.0)

    def known(self, who: str, pin: str, *, station: str) -> Known | None:
        """Somebody by their PIN; None for a wrong one, and while that station waits.   station: its address.

        A right PIN forgets the wrong ones of its own person alone: nobody guesses another's between two of their own.
        """
        if self.wait_s(station) > 0.0:
            return None
        with self._one_guess:  # a guess costs memory: one after the other
            if self.wait_s(station) > 0.0:  # those that came together have been wrong meanwhile
                return None
            is_right = self._people.matches(who, pin)
            known = self._people.of(who)
            with self._lock:
                key = station, "" if known is None else who
                if is_right:
                    self._wrong.pop(key, None)
                    return known
                count, last = self._wrong.get(key, (0, 0.0))
                count = 0 if self._now() - last > WRONG_WITHIN_S else count
                self._wrong[key] = count + 1, self._now()
                return None

    def enter(self, who: str, pin: str, *, station: str, clock_s: float = 0.0) -> Signed | None:
        """Begin a session; None as for `known`."""
        known = self.known(who, pin, station=station)
        if known is None or known.pin is None:
            return None
        token, stamp = secrets.token_urlsafe(TOKEN_BYTES), secrets.token_urlsafe(TOKEN_BYTES)
        ends_s = self._now() + SIGNED_IN_S
        with self._lock:
            made = Session(mark=mark_of(token), stamp=mark_of(stamp), who=who, ends_s=ends_s, clock_s=clock_s,
                           pin=mark_of(known.pin.hashed))  # fmt: skip
            self._sessions[made.mark] = made
            self._keep()
        return Signed(token=token, stamp=stamp, ends_s=ends_s)

    def inside(self, token: str) -> Known | None:
        """Who is signed in with a cookie; None for nobody."""
        with self._lock:
            session = self._sessions.get(mark_of(token))
        return None if session is None or session.ends_s <= self._now() else self._person(session)

    def _person(self, session: Session) -> Known | None:
        """Whose session it is; None for somebody who is gone, or has another PIN by now."""
        known = self._people.of(session.who)
        if known is None or known.pin is None:
            return None
        return known if mark_of(known.pin.hashed) == session.pin else None

    def session_of(self, stamp: str) -> Session | None:
        """The session of a stamp, though it may have ended some days ago; None for an unknown one."""
        mark = mark_of(stamp)
        with self._lock:
            session = next((one for one in self._sessions.values() if one.stamp == mark), None)
        return None if session is None or self._now() > session.ends_s + SENT_LATER_S else session

    def tapped(self, stamp: str, *, at: datetime) -> Known | None:
        """Who made a tap at that time, by its stamp; None when nobody was signed in with it then."""
        session = self.session_of(stamp)
        if session is None:
            return None
        if at.timestamp() - session.clock_s > session.ends_s + CLOCK_S:
            return None
        return self._person(session)

    def leave(self, token: str) -> None:
        """End a session; what was tapped in it may still be sent."""
        with self._lock:
            session = self._sessions.get(mark_of(token))
            if session is not None and session.ends_s > self._now():
                self._sessions[session.mark] = msgspec.structs.replace(session, ends_s=self._now())
                self._keep()

    def _keep(self) -> None:
        """Forget what is long over and write down the rest."""
        now = self._now()
        left = sorted((one for one in self._sessions.values() if one.ends_s + SENT_LATER_S > now), key=_ends)
        self._sessions = {one.mark: one for one in left[-SESSIONS_MOST:]}
        with suppress(OSError):  # what cannot be kept holds until this server ends
            self._kept.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self._kept, msgspec.json.encode(tuple(self._sessions.values())), mode=ONLY_OURS)


def _ends(session: Session) -> float:
    return session.ends_s


def _wait_s(count: int, last: float, now: float) -> float:
    """How long after so many wrong tries, the last of them at a time."""
    if count < FREE_TRIES or now - last > WRONG_WITHIN_S:
        return 0.0
    return max(0.0, min(WAIT_MOST_S, 2.0 ** min(count - FREE_TRIES + 1, 9)) - (now - last))
