"""An event: something that happened, who wrote it down, when and where. Never changed once it is kept."""

from __future__ import annotations

import uuid
from datetime import date, datetime, timedelta

from proveout.model.batch_events import BatchHappening, Happening
from proveout.model.change_events import ChangeHappening
from proveout.model.floor_events import FloorHappening
from proveout.model.outside_events import OutsideHappening
from proveout.model.shop import Noun
from proveout.model.shop_events import ShopHappening
from proveout.model.stock_events import StockHappening
from proveout.model.written import dated, named, plain
from proveout.quantities.errors import BadInput

DAY_MOST = timedelta(days=1)
"""No zone of the earth is farther from UTC."""

Stating = BatchHappening | ChangeHappening | FloorHappening | OutsideHappening | ShopHappening | StockHappening


class Corrected(Happening, frozen=True, kw_only=True):
    """An earlier event was wrong. event_id: which.   instead: what really happened, None when nothing did."""

    event_id: str
    why: str
    instead: Stating | None

    def __post_init__(self) -> None:
        named(self.why, where="why it is corrected")


class Event(Noun, frozen=True, kw_only=True):
    """One thing that happened.

    id: a UUID that its writer made, small letters; the same id posted twice is the same event.   at: UTC, by the
    writer's own clock.   person: who answers for it.   station: where it was written.   batch: empty where it is about
    none.   day: in the shop, ISO date, by the zone of the machine that wrote it; empty in events of before it was kept.
    """

    id: str
    at: datetime
    person: str
    station: str
    batch: str
    of: Stating | Corrected
    day: str = ""

    def __post_init__(self) -> None:
        try:
            is_uuid = str(uuid.UUID(self.id)) == self.id
        except ValueError:
            is_uuid = False
        if not is_uuid:
            raise BadInput("An event needs a UUID of its own", where="id", value=repr(self.id[:40]))
        if self.at.tzinfo is None or self.at.utcoffset() != timedelta(0):
            raise BadInput("An event needs its time in UTC", where=self.id, value=self.at.isoformat())
        dated(self.day, where=f"event {self.id}, day")
        if self.day and abs(date.fromisoformat(self.day) - self.at.date()) > DAY_MOST:
            raise BadInput(
                "No zone has that day at that time", where=self.id, value=self.day, limit=self.at.isoformat()
            )
        named(self.person, where=f"event {self.id}, person")
        named(self.station, where=f"event {self.id}, station")
        if self.batch:
            named(self.batch, where=f"event {self.id}, batch")
        plain(self, where=f"event {self.id}")

    @property
    def shop_day(self) -> str:
        """ISO date of the day in the shop; by UTC where the event says none."""
        return self.day or self.at.date().isoformat()

    @property
    def kind(self) -> str:
        """The word for what happened, as it is written."""
        return kind_of(self.of)


def kind_of(happening: Stating | Corrected) -> str:
    """The word under which a kind of happening is written."""
    return str(happening.__struct_config__.tag)
