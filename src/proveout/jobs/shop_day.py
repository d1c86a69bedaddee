"""The day in the shop: an evening there may be the next day in UTC."""

from __future__ import annotations

from datetime import UTC, date, datetime

from proveout.model.events import Event


def shop_day(at: datetime) -> date:
    """The day on which something happened, by the zone of this machine."""
    return at.astimezone().date()


def shop_today() -> date:
    """The day of now: read at a door, and handed on."""
    return shop_day(datetime.now(UTC))


def day_of(event: Event) -> str:
    """ISO date of an event's day; by the zone of this machine where it was written before events said their day."""
    return event.day or shop_day(event.at).isoformat()
