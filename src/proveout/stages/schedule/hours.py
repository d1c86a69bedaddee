"""An order against the calendar: hours asked of each machine and of the people, and hours there are.

Sums of hours against weeks, no schedule yet: within these sums nobody waits for anybody, so the dates are no earlier
than shown, and the lateness is a lower bound in that respect.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date

import msgspec

from proveout.model.closed_days import closed_dates
from proveout.model.fact import Fact, exact_fact
from proveout.model.order import DueParts, OrderedPart, OrderLoad, StationLoad
from proveout.model.plan import TimeLine
from proveout.model.shop import Finisher, Shop
from proveout.quantities.names_apart import names_apart
from proveout.quantities.units import S_PER_H
from proveout.stages.schedule.calendar import DAYS_A_WEEK, day_after, days_until, wait_days_max

PEOPLE = "people"
SOURCE = "own-algorithm: times of the plans x pieces"
BY_HAND = ("unload and load", "blow off vise and work")


def order_load(*, parts: Sequence[OrderedPart], shop: Shop) -> OrderLoad:
    """What the parts ask of each machine and of the people until the due date.

    Args:     parts: planned parts with their jobs; the earliest start counts for all, each date for its own parts.
              shop: machines, people and finishers.
    """
    starts = sorted(p.plan.start for p in parts if p.plan.start)
    start = (starts or [""])[0]
    dues = due_parts(parts, start, closed_dates(shop.closed))
    due, days = (dues[0].due, dues[0].working_days_count) if dues else ("", None)
    unknown = [p.plan for p in parts if p.plan.metal_unknown]
    if unknown:
        said = "; ".join(f"minutes of {plan.part.number} are not known, as {plan.metal_unknown}" for plan in unknown)
        return OrderLoad(
            start=start, due=due, working_days_count=days, stations=(), verdict="not shown", bottleneck="not shown",
            late_days=None, ways_out=(), notes=(f"On time: not shown; {said}",), dues=dues,
        )  # fmt: skip
    stations = tuple(
        _station(name, parts, shop, start=start, dues=dues)
        for name in [*sorted(m.id for m in shop.machines), PEOPLE]
        if name == PEOPLE or any(_asked_s(name, p, shop.scrap_ratio).high > 0.0 for p in parts)
    )
    worst = max(stations, key=lambda s: (s.days_needed.nominal + s.outside_days.nominal, s.station))
    late = worst.late_days
    if late is not None:
        every = [s.late_days for s in stations if s.late_days is not None]
        late = _days(max(f.low for f in every), max(f.nominal for f in every), max(f.high for f in every))
    # nobody waits for anybody in these sums: they can show that an order is late, never that it fits
    verdict = "late" if late is not None and late.low > 0.0 else "not shown"
    load = OrderLoad(
        start=start, due=due, working_days_count=days, stations=stations, verdict=verdict, bottleneck=worst.station,
        late_days=late, ways_out=(), notes=(), dues=dues,
    )  # fmt: skip
    notes = (_verdict_words(load), *hour_notes(load, parts, has_ends=True), how_words(parts, shop))
    return msgspec.structs.replace(load, notes=notes)


def names_of(parts: Sequence[OrderedPart]) -> tuple[str, ...]:
    """The numbers of the parts, made distinct where one is ordered twice."""
    return names_apart(part.plan.part.number for part in parts)


def due_parts(parts: Sequence[OrderedPart], start: str, closed: frozenset[date]) -> tuple[DueParts, ...]:
    """The dates that are written, earliest first, with the parts wanted on each and the working days until then."""
    found: dict[str, list[str]] = {}
    for part, name in zip(parts, names_of(parts), strict=True):
        if part.job.order.due:
            found.setdefault(part.job.order.due, []).append(name)
    return tuple(
        DueParts(
            due=due, parts=tuple(found[due]),
            working_days_count=(
                days_until(date.fromisoformat(start), date.fromisoformat(due), closed) if start else None
            ),
        )
        for due in sorted(found)
    )  # fmt: skip


def made_count(*, ordered_count: int, sawn_count: int, scrap_ratio: float) -> int:
    """Pieces to make so that enough are good, as far as blanks are sawn."""
    wanted = math.ceil(ordered_count / (1.0 - min(scrap_ratio, 0.9)) - 1e-9)
    return min(max(sawn_count, ordered_count), wanted)


def pieces_of(part: OrderedPart, scrap: Fact) -> Fact:
    """Pieces made: at best those ordered, else by the likely and the worst share of scrap, as scheduled."""
    ordered, sawn = part.plan.part.quantity, part.plan.bars.pieces_count
    likely, most = (
        made_count(ordered_count=ordered, sawn_count=sawn, scrap_ratio=ratio) for ratio in (scrap.nominal, scrap.high)
    )
    return _fact(ordered, likely, most, "pieces")


def _asked_s(station: str, part: OrderedPart, scrap: Fact, *, is_once: bool | None = None) -> Fact:
    """Seconds that a part asks of a station over the whole order, programming and jaws once.

    A machine: at best only its programs count, otherwise also loading, set-ups, prove-out and jaws, as the machine
    stands still meanwhile. People: everything but the running programs.   is_once: only what is done once a batch or
    design, or only what is done to each piece; None: both.
    """
    plan = part.plan
    machines = {c.machine_id for c in plan.clampings}
    pieces = pieces_of(part, scrap)
    low = nominal = high = 0.0
    for line in plan.time.lines:
        by_hand = _is_by_hand(line, machines)
        if is_once is not None and is_once != (line.per != "piece"):
            continue
        if not (by_hand if station == PEOPLE else line.station == station):
            continue
        made = pieces if line.per == "piece" else exact_fact(1.0, "pieces", "own-algorithm", "assumed")
        if station == PEOPLE or not by_hand:
            low += line.seconds.low * made.low
        nominal += line.seconds.nominal * made.nominal
        high += line.seconds.high * made.high
    return _fact(low, nominal, high, "s")


def _is_by_hand(line: TimeLine, machines: set[str]) -> bool:
    return line.per != "piece" or line.station not in machines or line.text.endswith(BY_HAND)


def _station(
    name: str, parts: Sequence[OrderedPart], shop: Shop, *, start: str, dues: Sequence[DueParts]
) -> StationLoad:  # fmt: skip
    """All that is asked of a station, and against each date what the parts wanted by then ask; the worst date counts.

    A part without a date is in no date's sum.
    """
    load = _hours_of(name, parts, shop, start=start)
    worst: StationLoad | None = None
    for due in dues:
        own = [p for p in parts if p.job.order.due and p.job.order.due <= due.due]
        days, one = due.working_days_count, _hours_of(name, own, shop, start=start)
        if days is None or one.asked_h.high <= 0.0:
            continue
        ends = ("low", "nominal", "high")
        late = _days(*(getattr(one.days_needed, e) + getattr(one.outside_days, e) - days for e in ends))
        there_h = round(load.there_h_per_week * max(0, days) / DAYS_A_WEEK, 4)
        if worst is None or worst.late_days is None or late.nominal > worst.late_days.nominal:
            worst = msgspec.structs.replace(load, late_days=late, there_h=there_h, due=due.due)
    return load if worst is None else worst


def _hours_of(name: str, parts: Sequence[OrderedPart], shop: Shop, *, start: str) -> StationLoad:
    """Without a date: hours, days and ends."""
    asked = [_asked_s(name, p, shop.scrap_ratio) for p in parts]
    low, nominal, high = (round(sum(getattr(a, end) for a in asked) / S_PER_H, 4) for end in ("low", "nominal", "high"))
    week = shop.people_count * shop.shift_h * DAYS_A_WEEK if name == PEOPLE else shop.spindle_h_per_week
    # set-ups, jaws and proving out take the shift's hours, cycles those that a machine may run
    once = [] if name == PEOPLE else [_asked_s(name, p, shop.scrap_ratio, is_once=True) for p in parts]
    once_h = [sum(getattr(a, end) for a in once) / S_PER_H for end in ("low", "nominal", "high")]
    needed = _days(
        *(
            (all_h - o) / week * DAYS_A_WEEK + o / shop.shift_h
            for all_h, o in zip((low, nominal, high), once_h, strict=True)
        )
    )
    busy = [_away(p, shop) for p, a in zip(parts, asked, strict=True) if a.high > 0.0]
    away = _days(
        min((f.low for f in busy), default=0.0), max((f.nominal for f in busy), default=0.0),
        max((f.high for f in busy), default=0.0),
    )  # fmt: skip
    ends = ["", ""]
    if start:
        first, closed = date.fromisoformat(start), closed_dates(shop.closed)
        ends = [
            day_after(first, needed.low + away.low, closed).isoformat(),
            day_after(first, needed.high + away.high, closed).isoformat(),
        ]
    return StationLoad(
        station=name, kind="people" if name == PEOPLE else "machine", asked_h=_fact(low, nominal, high, "h"),
        there_h_per_week=week, there_h=None, days_needed=needed, outside_days=away, late_days=None, end_low=ends[0],
        end_high=ends[1],
    )  # fmt: skip


def _away(part: OrderedPart, shop: Shop) -> Fact:
    """Working days at the outside finishers, one after the other; at worst with the longest wait for collection."""
    by_id: dict[str, Finisher] = {f.id: f for f in shop.finishers}
    lots = [by_id[n] for n in part.job.finisher_ids if n in by_id]
    low, high = sum(f.days_low for f in lots), sum(f.days_high + wait_days_max(f.pickup_weekdays) for f in lots)
    return _days(low, (low + high) / 2.0, high)


def _fact(low: float, nominal: float, high: float, unit: str) -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source=SOURCE, strength="assumed")


def _days(low: float, nominal: float, high: float) -> Fact:
    return _fact(round(low, 4), round(nominal, 4), round(high, 4), "working days")


def span_words(fact: Fact, *, digits: int = 0) -> str:
    """Low to high in words, one number when both print alike."""
    low, high = f"{fact.low:.{digits}f}", f"{fact.high:.{digits}f}"
    return low if low == high else f"{low} to {high}"


def hour_notes(load: OrderLoad, parts: Sequence[OrderedPart], *, has_ends: bool) -> list[str]:
    """One for each station.   has_ends: with the days between which it is done by its hours alone."""
    notes: list[str] = []
    for one in load.stations:
        there = "" if one.there_h is None else f", {one.there_h:.0f} h are there by the date"
        if len(load.dues) > 1 and one.late_days is not None:
            past = span_words(one.late_days, digits=1)
            there = f", worst against {one.due}: {past} working days past it with what is wanted by then"
        away = f", then {span_words(one.outside_days)} days outside" if one.outside_days.high > 0.0 else ""
        ends = f": done between {one.end_low} and {one.end_high}" if has_ends and one.end_low else ""
        who = "People" if one.kind == "people" else f"Machine {one.station}"
        notes.append(
            f"{who}: {span_words(one.asked_h)} h asked at {one.there_h_per_week:g} h a week{there}; "
            f"{span_words(one.days_needed)} working days{away}{ends}"
        )
    if load.due and not all(p.plan.ready for p in parts):
        notes.append("Not every part is ready; the hours are those of the plans as they stand")
    return notes


def dates_words(load: OrderLoad) -> str:
    """First day, days due and the working days between them, as far as they are written."""
    told: list[str] = []
    for one in load.dues:
        days = one.working_days_count or 0
        between = f"{days} working days with both" if days >= 0 else f"{-days} working days past the date at the start"
        who = f" for {' and '.join(one.parts)}" if len(load.dues) > 1 else ""
        told.append(f"due {one.due}{who}, {between}")
    return f"from {load.start}, {'; '.join(told)}"


def _verdict_words(load: OrderLoad) -> str:
    if load.late_days is None:
        missing = [w for w, value in (("start", load.start), ("due", load.due)) if not value]
        return f"On time: not shown; no {' and no '.join(missing)} date is written"
    dates = dates_words(load)
    late = load.late_days
    if load.verdict == "late":
        return f"LATE ({dates}): by {_late_words(late)} working days; the bottleneck is {load.bottleneck}"
    if late.high <= 0.0:
        left = f"by its hours alone {math.floor(-late.high)} working days are left at the worst ends"
        return f"On time: not shown ({dates}): {left}, but nobody waits for anybody in them"
    return (
        f"On time: not shown ({dates}): from {math.floor(-late.low)} working days early at best to "
        f"{math.ceil(late.high)} late at worst; the bottleneck is {load.bottleneck}"
    )


def _late_words(late: Fact) -> str:
    return span_words(_days(math.ceil(late.low), math.ceil(late.nominal), math.ceil(late.high)))


def how_words(parts: Iterable[OrderedPart], shop: Shop) -> str:
    """How the hours were reckoned, and whose days away are not known."""
    unknown = sorted(
        {
            n
            for p in parts
            for n in (*p.job.other_finishers, *([p.job.coat.finisher] if p.job.coat else []))
            if n not in {f.id for f in shop.finishers}
        }
    )
    off = "holidays are not known"
    if shop.closed is not None:
        off = "the days off of the shop file are left out, those of finishers not looked at"
    text = (
        f"Reckoned as sums of hours against weeks of Monday to Friday: nobody waits for anybody and {off}, so a real "
        "schedule ends no earlier"
    )
    return f"{text}; days away at {', '.join(n or 'the coater' for n in unknown)} are not known" if unknown else text
