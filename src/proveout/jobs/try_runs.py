"""Tries that are under way: each in a thread of this process, so that what is stored is told at once."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

from proveout.jobs.home import Home
from proveout.jobs.trying import Tried, Wanted, drop_try, is_made, make_try, tried
from proveout.model.run import Run
from proveout.quantities.errors import BadInput, InternalError, Interrupted, ProveoutError

KEPT_MOST = 50
OPEN_MOST = 4


@dataclass
class TryRun:
    """One try under way. address: of its part.   said: what it does now.   fault: why it ended without a plan."""

    address: str
    run: Run
    thread: threading.Thread | None = None
    said: str = ""
    fault: ProveoutError | None = None
    done: threading.Event = field(default_factory=threading.Event)


class TryRuns:
    """The tries of one server; they end with it, and what they decided by then is stored."""

    def __init__(self, home: Home) -> None:
        self._home = home
        self._runs: dict[str, TryRun] = {}
        self._lock = threading.Lock()

    def begin(self, wanted: Wanted) -> None:
        """Begin a try, unless it is there or under way.

        Raises:   BadInput when too many are under way: each plans a part in this very process.
        """
        with self._lock:
            now = self._runs.get(wanted.id)
            if is_made(self._home, wanted.id) or (now is not None and not now.done.is_set()):
                return
            if sum(not one.done.is_set() for one in self._runs.values()) >= OPEN_MOST:
                raise BadInput(
                    "Too many changes are being worked out", limit=f"{OPEN_MOST} at once",
                    do="drop one of them, or wait until one is done",
                )  # fmt: skip
            for id in [id for id, one in self._runs.items() if one.done.is_set()][:-KEPT_MOST]:
                del self._runs[id]
            one = TryRun(address=wanted.place.address, run=Run())
            one.run = Run(tell=lambda stage, text, _: _hear(one, stage, text))
            one.thread = threading.Thread(target=self._make, args=(wanted, one), daemon=True)
            self._runs[wanted.id] = one
        one.thread.start()

    def wait(self, id: str, *, most_s: float) -> None:
        """Until the try has ended, or the time is over."""
        one = self._runs.get(id)
        if one is not None:
            one.done.wait(most_s)

    def under_way(self, id: str) -> TryRun | None:
        """The try while nothing has come of it; None where it is made, or nobody began it."""
        return None if is_made(self._home, id) else self._runs.get(id)

    def made(self, id: str) -> Tried:
        """The try once it is made.

        Raises:   the fault that ended it; BadInput where there is none.
        """
        one = self._runs.get(id)
        if one is not None and one.fault is not None and not is_made(self._home, id):
            raise one.fault
        return tried(self._home, id)

    def drop(self, id: str) -> None:
        """End it, and forget it."""
        one = self._runs.pop(id, None)
        if one is not None:
            one.run.cancel()
        drop_try(self._home, id)

    def _make(self, wanted: Wanted, one: TryRun) -> None:
        try:
            make_try(self._home, wanted, run=one.run)
        except Interrupted:
            one.fault = BadInput("The try was dropped", where=wanted.id, do="try the change again")
        except ProveoutError as fault:
            one.fault = fault
        except Exception as fault:  # noqa: BLE001 - the door of a thread: whatever ends it is told on its page
            one.fault = InternalError("Proveout is at fault", where=wanted.id, value=f"{type(fault).__name__}: {fault}")
        finally:
            one.done.set()


def _hear(one: TryRun, stage: str, text: str) -> None:
    one.said = f"{stage}: {text}" if text and "/" not in text else stage
