"""Who writes an event, where, and the event itself with an id and a time of its own."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime

from proveout.jobs.shop_day import shop_day
from proveout.model.batch import Batch
from proveout.model.events import Corrected, Event, Stating
from proveout.model.plan import Plan
from proveout.quantities.errors import Refused
from proveout.records.records import Records

DESK = "desk"


@dataclass(frozen=True)
class Signed:
    """A person who answers for what is written, and the station where it is.

    id: of the one event, so that a form sent twice counts once; empty for a new one each time.
    """

    person: str
    station: str = DESK
    id: str = ""

    def says(self, of: Stating | Corrected, *, batch: str = "") -> Event:
        """The event.

        Raises:   BadInput when nobody is named, or what it says cannot be.
        """
        now = datetime.now(UTC)
        return Event(
            id=self.id or str(uuid.uuid4()), at=now, person=self.person.strip(), station=self.station, batch=batch,
            of=of, day=shop_day(now).isoformat(),
        )  # fmt: skip


def post_once(records: Records, event: Event, *, plan: Plan | None = None) -> Batch | None:
    """Write an event, or let it be where the same form wrote it before; its batch, None of what is about none.

    Raises:   Refused when it cannot follow what is recorded; NotKept when it is not known to lie on disk.
    """
    try:
        records.post(event, plan=plan)
    except Refused:
        if not any(_is_the_same(event, other) for _, other in records.events(batch=event.batch)):
            raise
    return records.batch(event.batch) if event.batch else None


def _is_the_same(event: Event, other: Event) -> bool:
    """But for the time: a form sent twice says the same twice."""
    return (event.id, event.person, event.station, event.of) == (other.id, other.person, other.station, other.of)
