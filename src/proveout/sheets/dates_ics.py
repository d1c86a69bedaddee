"""Dates of a plan or an order as an iCalendar file (RFC 5545) that any calendar takes in."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Sequence

from proveout.model.order import DueParts, OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import Replanned, ScheduledStep
from proveout.model.shop import Shop

STAMP = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # one time stamp for all, so that the same plan gives the same bytes
NO_SCHEDULE = "Sums of hours against weeks, no schedule: a real one ends no earlier."


def part_dates(plan: Plan) -> bytes:
    """First day of work and the day wanted; empty when neither is written."""
    name = plan.part.title
    ready = "" if plan.ready else " (plan NOT READY: do not cut)"
    events = []
    if plan.start:
        events.append(
            ("first day", f"{name}: first day of work{ready}", plan.start, plan.start, f"{plan.part.quantity} pieces")
        )
    if plan.due:
        events.append(("wanted", f"{name}: {plan.part.quantity} pieces wanted", plan.due, plan.due, ""))
    return _calendar(f"part {plan.part.number}", events)


def order_dates(
    load: OrderLoad, *, name: str, shop: Shop | None = None, unready: Sequence[str] = ()
) -> bytes:  # fmt: skip
    """First day, day wanted, and the schedule: each part at each station, stays outside, the day to promise.

    Without a schedule the days between which each station is done by its hours alone; empty when nothing is dated.
    shop: whose machines go by their names, None for their ids.   unready: numbers of the parts that are not ready.
    """
    events = []
    if load.start:
        ready = f" ({' and '.join(unready)} NOT READY: do not cut)" if unready else ""
        events.append(("first day", f"{name}: first day of work{ready}", load.start, load.start, ""))
    events += _of_schedule(load, name, _names(shop))
    for one in load.stations:
        if one.end_low and load.schedule is None:
            who = "people" if one.kind == "people" else _names(shop).get(one.station, one.station)
            words = f"{name}: {who} done, outside work back"
            events.append((f"{one.kind} {one.station} done", words, one.end_low, one.end_high, NO_SCHEDULE))
    notes = "\n".join(load.notes)
    for id, machine in sorted(_names(shop).items(), key=lambda one: (-len(one[0]), one[0])):
        notes = re.sub(rf"(?<![\w-]){re.escape(id)}(?![\w-])", machine, notes)
    late = {"late": " - LATE", "fits": "", "not shown": " - on time: not shown"}[load.verdict]
    if len(load.dues) > 1:
        worst = "" if load.schedule is None else load.schedule.late_part
        for one in load.dues:
            said = late if worst in one.parts or not worst else _said(load, one)
            events.append(_wanted_of(one, f"{name}: {' and '.join(one.parts)} wanted{said}", notes))
    elif load.due:
        events.append(("wanted", f"{name}: wanted{late}", load.due, load.due, notes))
    return _calendar(f"order {name}", events)


def _as_replanned(late_days: float) -> str:
    return f" - {'LATE' if late_days > 0.0 else 'in time'} at nominal values as replanned"


def _wanted_of(one: DueParts, words: str, more: str) -> tuple[str, str, str, str, str]:
    """The entry of one of several dates."""
    return (f"wanted {' and '.join(one.parts)}", words, one.due, one.due, more)


def _said(load: OrderLoad, one: DueParts) -> str:
    """Of parts that are not the worst of the order: late only where the schedule itself is."""
    parts = () if load.schedule is None else load.schedule.parts
    here = [p for p in parts if p.part in one.parts]
    if here and all(p.late_days_worst <= 0.0 for p in here):
        return " - in time even at the worst ends" if load.verdict == "fits" else " - in time as scheduled"
    late = any(p.late_days > 0.0 for p in here)
    return " - late as scheduled" if late else " - on time: not shown"


def _names(shop: Shop | None) -> dict[str, str]:
    """Machines by id, as they are called on the floor."""
    return {} if shop is None else {machine.id: machine.name for machine in shop.machines}


def replanned_dates(found: Replanned, *, start: str, due: str, name: str, dues: Sequence[DueParts] = ()) -> bytes:
    """First day, the steps as they are now, the new end and the days wanted; what was promised before is left out.

    dues: where parts have dates of their own, all of them; `due` alone else.
    """
    events = [("first day", f"{name}: first day of work", start, start, "")]
    events += _of_steps(found.steps, name, {})
    events.append(("done", f"{name}: done as replanned", found.done, found.done, ""))
    if len(dues) > 1:
        for one in dues:
            parts, late = " and ".join(one.parts), ""
            if found.late_days is not None and (found.late_days <= 0.0 or found.late_part in one.parts):
                late = _as_replanned(found.late_days)
            events.append(_wanted_of(one, f"{name}: {parts} wanted{late}", "\n".join(found.notes)))
    elif due:
        late = ""
        if found.late_days is not None:
            late = _as_replanned(found.late_days)
        events.append(("wanted", f"{name}: wanted{late}", due, due, "\n".join(found.notes)))
    return _calendar(f"order {name}", events)


def _of_schedule(load: OrderLoad, name: str, names: dict[str, str]) -> list[tuple[str, str, str, str, str]]:
    """The steps, the end as scheduled and the day by which most drawn cases are done."""
    if load.schedule is None:
        return []
    promise = load.schedule.promise
    cases = f"{promise.draws_count} drawn cases: half by {promise.half_day}, 80 % by {promise.most_day}, 95 % by "
    done = ("done", f"{name}: done as scheduled", load.schedule.done, load.schedule.done, "")
    most = (
        "promise",
        f"{name}: done by then in 80 % of drawn cases",
        promise.most_day,
        promise.most_day,
        cases + promise.nearly_all_day,
    )
    return [*_of_steps(load.schedule.steps, name, names), done, most]


def _of_steps(
    steps: Sequence[ScheduledStep], name: str, names: dict[str, str]
) -> list[tuple[str, str, str, str, str]]:  # fmt: skip
    """One entry for each part at each station from its first lot to its last, and for each stay outside.

    Programming, proving out and boxing stand by themselves, as they may lie weeks before and after.
    """
    found: dict[tuple[str, str], tuple[str, str, str, str, str]] = {}
    for step in steps:
        parts = " and ".join(step.parts)
        if step.kind == "away":
            words = f"{name}: {parts} at {step.station}: collected first day, back last day"
            found[step.id, ""] = (step.id, words, step.day, step.end_day, f"{step.pieces_count} pieces")
            continue
        apart = {"programming": " programming", "prepare": " proving out", "kit": " kit and box"}.get(step.kind, "")
        key = (parts, f"{step.station}{apart}")
        before = found.get(key)
        first = step.day if before is None else min(before[2], step.day)
        last = step.end_day if before is None else max(before[3], step.end_day)
        at = f" at {names.get(step.station, step.station)}"
        where = f"{parts}{apart or at}{at if step.kind == 'prepare' else ''}"
        found[key] = (f"{parts} {key[1]}", f"{name}: {where}", first, last, "")
    return list(found.values())


def _calendar(of: str, events: list[tuple[str, str, str, str, str]]) -> bytes:
    """events: kind, what, first and last day as ISO dates, more words. Whole days, which block nobody's time.

    of: part number or order. With the kind it makes an entry's own number, which no other words change.
    """
    if not events:
        return b""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//proveout//dates of a plan//EN")
    calendar.add("version", "2.0")
    for kind, what, first, last, more in events:
        event = Event()
        digest = hashlib.sha256(f"{of}|{kind}".encode()).hexdigest()[:20]
        event.add("uid", f"{digest}@proveout.invalid")
        event.add("dtstamp", STAMP)
        event.add("dtstart", dt.date.fromisoformat(first))
        event.add("dtend", dt.date.fromisoformat(last) + dt.timedelta(days=1))  # the day after the last
        event.add("summary", what)
        event.add("transp", "TRANSPARENT")
        if more:
            event.add("description", more)
        calendar.add_component(event)
    return bytes(calendar.to_ical())
