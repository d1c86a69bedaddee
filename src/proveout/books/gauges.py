"""Gauges that were checked: which are right and in date, and which readings rest on one that was not."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.model.batch_events import ReadingTaken
from proveout.model.events import Event, Stating
from proveout.model.stock_events import GaugeChecked
from proveout.model.stock_kept import Gauge
from proveout.quantities.errors import InternalError, Refused


def gauge_after(gauge: Gauge | None, event: Event, of: Stating) -> Gauge:
    """The gauge once this has happened.

    Raises:   Refused for a reading by a gauge that nobody checked, that was found wrong or is out of date.
    """
    day = event.shop_day
    if isinstance(of, GaugeChecked):
        count = 0 if gauge is None else gauge.readings_count + gauge.doubtful_count
        return Gauge(gauge=of.gauge, checked=day, until=of.until, person=event.person,
                     doubtful_count=0 if of.is_right else count)  # fmt: skip
    if not isinstance(of, ReadingTaken):
        raise InternalError("This does not happen to a gauge", where=event.kind)
    refuse_gauge(gauge, of.gauge, day=day)
    assert gauge is not None
    return replace(gauge, readings_count=gauge.readings_count + 1)


def refuse_gauge(gauge: Gauge | None, name: str, *, day: str) -> None:
    """Refuse to read by a gauge on a day. day: ISO date.

    Raises:   Refused.
    """
    do = "check it against something known, and write that down under Stock; or take another gauge"
    if gauge is None:
        raise Refused("Nobody has checked this gauge", where=f"gauge {name}", do=do)
    if not gauge.is_right:
        raise Refused("This gauge was found not to read right", where=f"gauge {name}", value=f"on {gauge.checked}",
                      do=do)  # fmt: skip
    if not gauge.is_good_on(day):
        raise Refused("This gauge is out of date", where=f"gauge {name}", value=day, limit=gauge.until, do=do)
