"""Whether the steps of an order can be kept: by its plans, its jobs and the shop alone, not by how they were found."""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

from proveout.model.closed_days import closed_dates
from proveout.model.order import OrderedPart
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.stages.schedule.needs import Needs, need_faults, needs_of

WEEK_END = (5, 6)
NOTHING_STRETCHED: Mapping[str, float] = {}


def step_faults(
    *, steps: Sequence[ScheduledStep], parts: Sequence[OrderedPart], names: Sequence[str], shop: Shop,
    stretched_s: Mapping[str, float] = NOTHING_STRETCHED, left_lying: Collection[str] = (),
) -> tuple[str, ...]:  # fmt: skip
    """What cannot be, in words; empty when everything can.

    Bars are not worked before they can be there; pieces go on in lots that add up at every station; nothing is made
    before it is sawn, proved out before its trial blanks are, or kitted before it is back; a machine does one thing at
    a time and no lot quicker than its minutes; there are no more people than there are; finishers collect on their days
    and keep pieces for their days; parts of one coat load go together.
    Minutes, set-ups and shares of a person are reckoned anew from plan and shop. The days and the clock told are those
    of the first and the last second.   names: how each part is named in the steps.   stretched_s, left_lying: steps
    that some trouble makes longer, and those at which nobody works meanwhile.
    """
    needs = needs_of(
        steps=steps, parts=parts, names=names, shop=shop, stretched_s=stretched_s, left_lying=left_lying
    )  # fmt: skip
    found = need_faults(steps, needs)
    for part, name in zip(parts, names, strict=True):
        found += _part_faults(part, name, [s for s in steps if name in s.parts])
    for station in sorted({s.station for s in steps if s.kind not in ("away", "bench", "kit", "programming")}):
        found += _one_at_a_time(station, steps, needs)
    for part, name in zip(parts, names, strict=True):
        found += _before_bars(part, [s for s in steps if name in s.parts], shop)
    found += _wrong_days(steps, parts, shop)
    found += _people(steps, needs, shop)
    found += _stays(steps, parts, shop)
    for part in parts:
        for order in part.plan.finish_orders:
            for other in order.same_load:
                rides = [s for s in steps if s.kind == "away" and s.station == order.finisher_id]
                found += [
                    f"{part.plan.part.number} and {other} are not in one coat load"
                    for stay in rides
                    if (part.plan.part.number in stay.parts) != (other in stay.parts)
                ]
    return tuple(dict.fromkeys(found))


def _part_faults(part: OrderedPart, number: str, steps: Sequence[ScheduledStep]) -> list[str]:
    found: list[str] = []
    by_lot: dict[int, list[ScheduledStep]] = {}
    sums: dict[str, int] = {}
    for one in steps:
        if one.kind in ("saw", "machine", "bench", "blast"):
            by_lot.setdefault(one.lot, []).append(one)
            name = one.id.rsplit(" ", 1)[0]
            sums[name] = sums.get(name, 0) + one.pieces_count
    if len(set(sums.values())) > 1:
        found.append(f"{number}: pieces do not add up: {sums}")
    if sums and min(sums.values()) < part.plan.part.quantity:
        found.append(f"{number}: {min(sums.values())} pieces of {part.plan.part.quantity}")
    clampings = {c.id: c.number for c in part.plan.clampings}

    def place(one: ScheduledStep) -> int:
        first = one.id.removeprefix(f"{number} ").split(" ")[0]
        return {"saw": 0, "machine": clampings.get(first, 1), "bench": 1000, "blast": 1001}[one.kind]

    stays = sorted((s for s in steps if s.kind == "away"), key=lambda s: s.begin_s)
    back = max((s.end_s for s in stays), default=0.0)
    for lot, own in by_lot.items():
        chain = sorted(own, key=place)
        for first, then in itertools.pairwise(chain):
            if then.begin_s < first.end_s:
                found.append(f"{number} lot {lot}: {then.station} begins before {first.station} ends")
        own_stays = [s for s in stays if s.lot in (0, _half(lot, len(by_lot)))]
        if own_stays and chain[-1].end_s > own_stays[0].begin_s:
            found.append(f"{number} lot {lot} goes out before it is done")
    sawn = [s.end_s for s in steps if s.kind == "saw"]
    for one in steps:
        if one.kind == "prepare" and part.plan.bars.trial_count and sawn and one.begin_s < min(sawn):
            found.append(f"{one.id} begins before its trial blanks are sawn")
        if one.kind == "kit" and stays and one.begin_s < min(s.end_s for s in stays[-2:]):
            found.append(f"{one.id} begins before pieces are back")
        if one.kind == "kit" and not any(s.lot for s in stays) and one.begin_s < back:
            found.append(f"{one.id} begins before pieces are back")
    return found


def _wrong_days(steps: Sequence[ScheduledStep], parts: Sequence[OrderedPart], shop: Shop) -> list[str]:
    """Steps whose days are not those in which their first and last seconds lie, from the first day of the plans on."""
    days = _days_of(parts, shop, until_s=max((one.end_s for one in steps), default=0.0))
    if not days:
        return []
    shift_s = shop.shift_h * S_PER_H
    found: list[str] = []
    for one in steps:
        begins = days[int(max(0.0, (one.begin_s + 1e-6) // shift_s))].isoformat()
        if one.day != begins:
            found.append(f"{one.id} begins on {begins}, not on {one.day}")
        minutes = round((one.begin_s % shift_s) / S_PER_MIN) % round(shift_s / S_PER_MIN)
        into = f"{minutes // 60}:{minutes % 60:02d}"
        if one.into_shift != into:
            found.append(f"{one.id} begins {into} into the shift, not {one.into_shift}")
        ends = days[max(0, math.ceil((one.end_s - 1e-6) / shift_s) - 1)].isoformat()
        if one.end_day != ends:
            found.append(f"{one.id} ends on {ends}, not on {one.end_day}")
    return found


def _days_of(parts: Sequence[OrderedPart], shop: Shop, *, until_s: float) -> list[date]:
    """Days on which people work here, from the first day of the plans on; empty where none is written."""
    starts = sorted(part.plan.start for part in parts if part.plan.start)
    if not starts:
        return []
    day, off, found = date.fromisoformat(starts[0]), closed_dates(shop.closed), []
    while len(found) * shop.shift_h * S_PER_H <= until_s:
        if day.weekday() not in WEEK_END and day not in off:
            found.append(day)
        day += timedelta(days=1)
    return found


def _before_bars(part: OrderedPart, steps: Sequence[ScheduledStep], shop: Shop) -> list[str]:
    """Lots that are begun sooner than the fewest days after which their bars come; a rack may have them at once."""
    if part.plan.bars.rack:
        return []
    days = {one.what: one.days_low for one in shop.supplies if one.days_low and one.days_high is not None}
    wait = max((days.get(p.bar_id, 0) for p in part.plan.bars.patterns), default=0)
    open_days = _days_of([part], shop, until_s=max((one.end_s for one in steps), default=0.0))
    if open_days and wait:  # they may come on days off of the shop
        come = _on_or_after(open_days[0], wait, frozenset())
        wait = sum(day < come for day in open_days)
    wait_s = wait * shop.shift_h * S_PER_H
    return [
        f"{one.id} begins before its bars can be there"
        for one in steps
        if one.kind in ("saw", "machine") and one.begin_s < wait_s
    ]


def _on_or_after(day: date, count: int, off: frozenset[date]) -> date:
    """The working day so many working days later, Saturdays, Sundays and the days off left out."""
    while count > 0:
        day += timedelta(days=1)
        count -= day.weekday() not in WEEK_END and day not in off
    return day


def _half(lot: int, lots_count: int) -> int:
    """Which of two halves a lot goes out with."""
    return 1 if lot <= lots_count // 2 else 2


def _one_at_a_time(station: str, steps: Sequence[ScheduledStep], needs: Mapping[str, Needs]) -> list[str]:
    own = sorted((s for s in steps if s.station == station and s.kind != "away"), key=lambda s: s.begin_s)
    return [
        f"{then.id} takes {station} before {first.id} ends"
        for first, then in itertools.pairwise(own)
        if then.begin_s - needs[then.id].setup_s < first.end_s
    ]


def _people(steps: Sequence[ScheduledStep], needs: Mapping[str, Needs], shop: Shop) -> list[str]:
    taken = [(s.begin_s, s.end_s, needs[s.id].share) for s in steps if needs[s.id].share > 0.0]
    taken += [(s.begin_s - needs[s.id].setup_s, s.begin_s, 1.0) for s in steps if needs[s.id].setup_s > 0.0]
    for moment in sorted({begin for begin, _, _ in taken}):
        asked = sum(share for begin, end, share in taken if begin <= moment < end)
        if asked > shop.people_count + 1e-9:
            return [
                f"{asked:.2f} people are asked {moment / S_PER_H:.2f} h after the start; there are {shop.people_count}"
            ]
    return []


def _stays(steps: Sequence[ScheduledStep], parts: Sequence[OrderedPart], shop: Shop) -> list[str]:
    by_id = {f.id: f for f in shop.finishers}
    days = _days_of(parts, shop, until_s=max((one.end_s for one in steps), default=0.0))
    shift_s = shop.shift_h * S_PER_H
    found: list[str] = []
    for one in steps:
        if one.kind != "away":
            continue
        finisher = by_id.get(one.station)
        if finisher is None:
            found.append(f"{one.id}: no such finisher")
            continue
        if finisher.pickup_weekdays and date.fromisoformat(one.day).weekday() not in finisher.pickup_weekdays:
            found.append(f"{one.id} leaves on {one.day}, when nobody collects")
        if one.begin_s % shift_s > 1e-6:
            found.append(f"{one.id} leaves in the middle of a day")
        left, off = date.fromisoformat(one.day), closed_dates(finisher.closed)
        if left in off:
            found.append(f"{one.id} leaves on {one.day}, a day off there")
        back = _on_or_after(left, finisher.days_low, off)
        least = sum(left <= day < back for day in days) if days else finisher.days_low
        if one.end_s - one.begin_s < least * shift_s - 1e-6:
            found.append(f"{one.id} is back before {finisher.days_low} days")
    return found
