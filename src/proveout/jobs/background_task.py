"""What is known of one piece of long work, and how much room each kind of it has."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

from proveout.jobs.store import code_digest
from proveout.quantities.canonical import digest_of

State = Literal[
    "waiting", "under way", "done", "ready", "not ready", "refused", "failed", "out of time", "cancelled", "stopped"
]  # fmt: skip
Kind = Literal["plan", "try", "check", "revision", "reading", "comparison"]
OPEN: tuple[State, ...] = ("waiting", "under way")
NS_PER_S = 1_000_000_000
ID_SIGNS = 16


class Room(msgspec.Struct, frozen=True, kw_only=True):
    """How much of one kind of work there may be.

    at_once: that run; None for one a core.   open_most: that wait or run, None for any number.   kept_most: ended ones
    that are remembered.   limit_s: after which one is ended, None for as long as it takes.
    """

    at_once: int | None
    open_most: int | None
    kept_most: int
    limit_s: float | None


ROOMS: dict[Kind, Room] = {
    "plan": Room(at_once=None, open_most=None, kept_most=300, limit_s=None),
    "try": Room(at_once=2, open_most=4, kept_most=50, limit_s=None),
    "check": Room(at_once=1, open_most=8, kept_most=30, limit_s=900.0),
    "revision": Room(at_once=1, open_most=4, kept_most=30, limit_s=180.0),
    "reading": Room(at_once=2, open_most=20, kept_most=60, limit_s=600.0),
    "comparison": Room(at_once=1, open_most=8, kept_most=30, limit_s=300.0),
}
"""Each kind has its own, so that no try waits for a plan."""


class BackgroundTask(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of long work. subject: what it is about; of one subject one plan is open at a time.

    arguments: of `proveout plan`, without --out; of other kinds there are none, and what was asked lies in a file.
    out: its result folder, empty where it writes none.   page: address of the page that shows what an errand finds,
    empty of a plan.
    asked_at, begun_at, ended_at: UTC, ISO 8601, empty when not yet.   pid, birth: its process.   is_unwanted: somebody
    cancelled it.   said: the sentence that it ended with.
    """

    id: str
    subject: str
    title: str
    arguments: tuple[str, ...]
    out: str
    kind: Kind = "plan"
    page: str = ""
    state: State = "waiting"
    asked_at: str = ""
    begun_at: str = ""
    ended_at: str = ""
    pid: int = 0
    birth: str = ""
    is_unwanted: bool = False
    said: str = ""

    @property
    def is_open(self) -> bool:
        """It waits or is under way."""
        return self.state in OPEN

    @property
    def address(self) -> str:
        """Of the page to look at."""
        return self.page or f"/tasks/{self.id}"

    @property
    def ended_ns(self) -> int:
        """When it ended, as files tell when they were written; 0 when it has not."""
        return int(datetime.fromisoformat(self.ended_at).timestamp() * NS_PER_S) if self.ended_at else 0


def errand_id(kind: Kind, *made_from: object) -> str:
    """The id of an errand: the same for the same that it is made from, as long as the code is the same."""
    return f"{kind}-{digest_of((*made_from, code_digest()))[:ID_SIGNS]}"
