"""The day in the shop: an evening there may be the next day in UTC."""

from __future__ import annotations

from datetime import UTC, date, datetime


def shop_day(at: datetime) -> date:
    """The day on which something happened, by the zone of this machine."""
    return at.astimezone().date()


def shop_today() -> date:
    """The day of now: read at a door, and handed on."""
    return shop_day(datetime.now(UTC))
