"""What an order asks of the shop and whether it fits before its date: the keys under `load` in order.json."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.schedule import OrderSchedule
from proveout.model.shop import Noun


class OrderedPart(Noun, frozen=True, kw_only=True):
    """One part of an order: its plan and the job it was planned from."""

    plan: Plan
    job: Job


class DueParts(Noun, frozen=True, kw_only=True):
    """Parts that are wanted on one day. working_days_count: from the first day to it, both among them."""

    due: str
    parts: tuple[str, ...]
    working_days_count: int | None


class StationLoad(Noun, frozen=True, kw_only=True):
    """Hours asked of one machine, or of the people together, and the hours there are before the due date.

    days_needed: working days that the hours asked take, of a machine its cycles by the hours it may run and the rest by
    those of the shift.  outside_days: working days that the parts made here are
    away after the work here.  late_days: how many working days both together run past the date, negative when early;
    None when no due date is written.  With several dates there_h and late_days are those of `due`, the date that is
    worst here, and of the parts wanted by then; the other figures are of all parts.
    """

    station: str
    kind: Literal["machine", "people"]
    asked_h: Fact
    there_h_per_week: float
    there_h: float | None
    days_needed: Fact
    outside_days: Fact
    late_days: Fact | None
    end_low: str
    end_high: str
    due: str = ""


class WayOut(Noun, frozen=True, kw_only=True):
    """Something that would help. verdict: by itself, at nominal values.

    price: what it adds to the money of the order, None where that cannot be reckoned.
    """

    kind: Literal[
        "overtime", "another machine", "a later date", "fewer pieces", "several pieces in one clamping", "split lot"
    ]  # fmt: skip
    text: str
    hours: float | None
    price: float | None
    verdict: Literal["enough", "not enough", "not shown"]


class OrderLoad(Noun, frozen=True, kw_only=True):
    """The order against the calendar. Dates are ISO 8601, empty when not written.

    verdict: "fits" when even the worst ends do, "late" when even the best ends do not, else "not shown".
    bottleneck: with a schedule the station that it names, else the one that ends last by its hours alone.
    late_days: with a schedule from what no schedule beats to the worst ends, else by hours alone.
    schedule: None where minutes or the first day are not known.   due: the earliest date; working_days_count: from the
    first day to it, both among them, as what is done on the day due is in time.   dues: every date with its parts.
    late_days and verdict are of the part that is worst against its own date.
    """

    start: str
    due: str
    working_days_count: int | None
    stations: tuple[StationLoad, ...]
    verdict: Literal["fits", "late", "not shown"]
    bottleneck: str
    late_days: Fact | None
    ways_out: tuple[WayOut, ...]
    notes: tuple[str, ...]
    schedule: OrderSchedule | None = None
    dues: tuple[DueParts, ...] = ()


class OrderMoney(Noun, frozen=True, kw_only=True):
    """What the whole order costs. cost: all best ends together to all worst ends together, in the shop's currency.

    bars_saved: already taken off, by which bars sawn for all parts together cost less than each part's own whole bars.
    left_out: parts whose money is not known, as the shop's figures are not for their metal.
    """

    cost: Fact
    bars_saved: float
    left_out: tuple[str, ...] = ()
