"""What would help an order that is late, with its price where that can be reckoned."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from proveout.model.order import OrderedPart, OrderLoad, StationLoad, WayOut
from proveout.model.shop import Machine, Shop
from proveout.model.work import Clamping
from proveout.quantities.units import S_PER_H
from proveout.stages.schedule.calendar import DAYS_A_WEEK, day_after

SAME_ANGLE_RAD = 1e-9


def ways_out(*, load: OrderLoad, parts: Sequence[OrderedPart], shop: Shop) -> tuple[WayOut, ...]:
    """Ways out of lateness at the station that ends last: overtime, another machine, a later date, fewer pieces.

    They are reckoned from the nominal hours; where only the worst ends are late, from those.
    """
    station = next(s for s in load.stations if s.station == load.bottleneck)
    days = load.working_days_count or 0
    # the hours at hand end where the days outside begin
    asked_h, away = station.asked_h.nominal, station.outside_days.nominal
    if asked_h <= _room_h(station, days, away):
        asked_h, away = station.asked_h.high, station.outside_days.high
    room_h = _room_h(station, days, away)
    short_h = max(0.0, asked_h - room_h)
    found = [_overtime(station, short_h, room_h, away, shop, load)] if short_h > 0.0 else []
    if station.kind == "machine" and short_h > 0.0:
        found += _other_machines(station, short_h, parts, shop, load)
    found += [_later(station, load), *_fewer(asked_h, room_h, parts)]
    if station.kind == "machine":
        several = several_pieces(station, short_h, parts, shop)
        found += [several] if several is not None else []
    return tuple(found)


def several_pieces(
    station: StationLoad, short_h: float, parts: Sequence[OrderedPart], shop: Shop
) -> WayOut | None:  # fmt: skip
    """Quicker ways of filling this machine's table that the plans name and do not take, with what they would save.

    None on a machine with rotary axes, and where the plans take the quickest way already.
    """
    machine = next((m for m in shop.machines if m.id == station.station), None)
    if machine is None or machine.rotary is not None:
        return None
    saved_h, more, told = 0.0, 0.0, []
    for part in parts:
        options = [o for o in part.plan.table_options if o.machine_ids == (machine.id,)]
        if not options:
            continue
        quickest = min(options, key=lambda o: (o.seconds, o.each))
        hours = (options[0].seconds - quickest.seconds) * part.plan.part.quantity / S_PER_H
        if hours <= 0.0:
            continue
        saved_h += hours
        more += (quickest.each - options[0].each) * part.plan.part.quantity
        told.append(f"{part.plan.part.number}: {quickest.text} ({quickest.why_not})")
    if not told:
        return None
    enough = saved_h >= short_h - 1e-9
    return WayOut(
        kind="several pieces in one clamping",
        text=f"several pieces in one cycle save {saved_h:.1f} h on {machine.id}, {more:.0f} {shop.currency} more: "
        f"{'; '.join(told)}; pin it in the job file and plan again",
        hours=round(saved_h, 2), price=round(more, 2), verdict="not shown" if enough else "not enough",
    )  # fmt: skip


def _room_h(station: StationLoad, days: int, away_days: float) -> float:
    """Hours that are there before the work must go out."""
    return max(0.0, (days - away_days) / DAYS_A_WEEK * station.there_h_per_week)


def _overtime(
    station: StationLoad, short_h: float, room_h: float, away_days: float, shop: Shop, load: OrderLoad
) -> WayOut:
    rates = {m.id: m.rate_per_h for m in shop.machines}
    rate = rates.get(station.station, shop.bench.rate_per_h)
    weeks = max(0.0, (load.working_days_count or 0) - away_days) / DAYS_A_WEEK
    price = round(short_h * rate, 2)
    text = (
        f"overtime on {station.station}: {math.ceil(short_h)} h more before the work goes out, {price:.0f} "
        f"{shop.currency} at the ordinary rate of {rate:g} an hour (an extra for late hours is not in the shop file)"
    )
    if weeks <= 0.0:
        return WayOut(
            kind="overtime", text="overtime does not help: the days outside alone fill the time before the date",
            hours=round(short_h, 2), price=None, verdict="not enough",
        )  # fmt: skip
    a_week = (room_h + short_h) / weeks
    people = 24.0 * 7.0 * (shop.people_count if station.kind == "people" else 1)
    enough = a_week <= people
    text += f"; {station.station} then runs {a_week:.0f} h a week" + ("" if enough else ", more than a week has")
    return WayOut(
        kind="overtime", text=text, hours=round(short_h, 2), price=price, verdict="enough" if enough else "not enough"
    )  # fmt: skip


def _other_machines(
    station: StationLoad, short_h: float, parts: Sequence[OrderedPart], shop: Shop, load: OrderLoad
) -> list[WayOut]:
    here = next(m for m in shop.machines if m.id == station.station)
    found: list[WayOut] = []
    for machine in sorted(shop.machines, key=lambda m: m.id):
        if machine.id == here.id:
            continue
        other = next((s for s in load.stations if s.station == machine.id), None)
        taken = other.asked_h.nominal if other is not None else 0.0
        away = other.outside_days.nominal if other is not None else station.outside_days.nominal
        away = max(away, station.outside_days.nominal)
        free = max(0.0, ((load.working_days_count or 0) - away) / DAYS_A_WEEK * shop.spindle_h_per_week - taken)
        movable = _movable_h(here, machine, parts)
        if not movable:
            continue
        moved = min(sum(hours for _, hours in movable), short_h, free)
        if moved <= 0.0:
            continue
        setups = _setups(movable, moved)
        price = round(
            moved * (machine.rate_per_h - here.rate_per_h) + setups * machine.setup_s / S_PER_H * machine.rate_per_h, 2
        )
        enough = moved >= short_h - 1e-9
        text = (
            f"move {moved:.0f} h from {here.id} to {machine.id}, which has {free:.0f} h free: {setups} more "
            f"set-up{'' if setups == 1 else 's'}, {price:.0f} {shop.currency} more; its travels, vises and cutters are "
            "not checked for it here: pin the machine in the job file and plan again"
        )
        if not enough:
            text += f"; {math.ceil(short_h - moved)} h stay too many on {here.id}"
        found.append(
            WayOut(
                kind="another machine", text=text, hours=round(moved, 2), price=price,
                verdict="not shown" if enough else "not enough",
            )
        )  # fmt: skip
    return found


def _movable_h(here: Machine, there: Machine, parts: Sequence[OrderedPart]) -> list[tuple[str, float]]:
    """Clampings on `here` that need no rotary axis which `there` lacks, with their hours, longest first."""
    found: list[tuple[str, float]] = []
    for part in parts:
        for clamping in part.plan.clampings:
            if clamping.machine_id != here.id or (there.kind == "3-axis" and _needs_tilting(clamping)):
                continue
            each_s = sum(
                line.seconds.nominal
                for line in part.plan.time.lines
                if line.per == "piece" and line.text.startswith(f"{clamping.id}:")
            )
            found.append((f"{part.plan.part.number} {clamping.id}", each_s * part.plan.part.quantity / S_PER_H))
    return sorted(found, key=lambda one: (-one[1], one[0]))


def _needs_tilting(clamping: Clamping) -> bool:
    return len(clamping.tilts) > 1 or any(abs(t.a_rad) > SAME_ANGLE_RAD for t in clamping.tilts)


def _setups(movable: list[tuple[str, float]], moved: float) -> int:
    """Set-ups that moving so many hours takes, the longest clampings first."""
    count, left = 0, moved
    while left > 1e-9 and count < len(movable):
        left -= movable[count][1]
        count += 1
    return max(1, count)


def _later(station: StationLoad, load: OrderLoad) -> WayOut:
    at = day_after(date.fromisoformat(load.start), station.days_needed.nominal + station.outside_days.nominal)
    return WayOut(
        kind="a later date",
        text=f"a later date: {at.isoformat()} as reckoned, {station.end_high} at the worst ends",
        hours=None, price=None, verdict="enough",
    )  # fmt: skip


def _fewer(asked_h: float, room_h: float, parts: Sequence[OrderedPart]) -> list[WayOut]:
    share = room_h / asked_h if asked_h > 0.0 else 1.0
    if not 0.0 < share < 1.0:
        return []
    counts = ", ".join(f"{math.floor(p.plan.part.quantity * share)} {p.plan.part.number}" for p in parts)
    return [
        WayOut(
            kind="fewer pieces", text=f"a first delivery on the date of about {100.0 * share:.0f} %: {counts}; the "
            "rest later, with another lot at each finisher", hours=None, price=None, verdict="enough",
        )
    ]  # fmt: skip
