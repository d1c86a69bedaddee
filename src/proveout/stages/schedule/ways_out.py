"""What would help an order that is late: each way is scheduled anew and priced by what it adds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from proveout.model.order import OrderedPart, WayOut
from proveout.model.shop import Finisher, Shop
from proveout.money.finisher_lot import lot_price, once_a_lot
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.solving.shop_problem import NO_MACHINE, Slot
from proveout.stages.schedule.calendar import DAYS_A_WEEK
from proveout.stages.schedule.cases import Case
from proveout.stages.schedule.dates import end_of, has_several_dates, past_of, pasts_of, worst_part, worth_of
from proveout.stages.schedule.hours import PEOPLE
from proveout.stages.schedule.problem import Made, Named, date_of, problem_of
from proveout.stages.schedule.routes import Route, ops_named, spindle_share
from proveout.stages.schedule.sequence import aimed_at, retimed, swept

MIN_PER_H = S_PER_H / S_PER_MIN
OVERTIME_H = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
SHARES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1)


class Base(NamedTuple):
    """The schedule that is late: its problem, slots and case."""

    routes: tuple[Route, ...]
    parts: tuple[OrderedPart, ...]
    shop: Shop
    start: str
    made: Made
    slots: tuple[Slot, ...]
    case: Case
    bottleneck: str


class Tried(NamedTuple):
    """One way scheduled."""

    made: Made
    slots: tuple[Slot, ...]

    @property
    def end(self) -> int:
        """When all is done."""
        return end_of(self.slots)

    @property
    def worth(self) -> int:
        """The less the better: the worst part against its date."""
        return worth_of(self.made, self.slots)


def ways_out(base: Base, *, worst_day: str, worst_days: dict[str, str]) -> tuple[WayOut, ...]:
    """Overtime, another machine, more than one piece up, a split lot, fewer pieces first, a later date.

    worst_days: by part that has a date, when it is done at the worst ends.
    """
    found = [_overtime(base), _another_machine(base), _several(base), _split(base)]
    found += [_fewer(base), _later(base, worst_day, worst_days)]
    return tuple(way for way in found if way is not None)


def _try(base: Base, case: Case) -> Tried:
    """The better of the same sequence and a fresh sweep."""
    made = problem_of(base.routes, base.shop, base.start, case)
    fresh = swept(made, objective=aimed_at(made))
    options = [fresh] if case.others else [retimed(made, base.made, base.slots), fresh]
    return Tried(made, min(options, key=lambda slots: worth_of(made, slots)))


def _done_words(base: Base, tried: Tried) -> str:
    day = date_of(tried.made, tried.end, is_end=True).isoformat()
    early = end_of(base.slots) - tried.end
    days = f"{early / base.made.day_min:.1f} working days earlier" if early > 0 else "no earlier"
    return f"done {day} at nominal values, {days}{_worst_words(tried)}"


def _worst_words(tried: Tried) -> str:
    """With several dates the part that is then the worst against its own; else nothing."""
    past = past_of(tried.made, tried.slots)
    if past is None or not has_several_dates(tried.made):
        return ""
    if past <= 0:
        return ", every part by its own date"
    return f", {worst_part(tried.made, tried.slots)} {past / tried.made.day_min:.1f} working days past its date"


def more_words(price: float, shop: Shop) -> str:
    """Money that a way out adds, or saves."""
    return f"{abs(price):.0f} {shop.currency} {'less' if price < 0.0 else 'more'}"


def _in_time(tried: Tried) -> bool:
    past = past_of(tried.made, tried.slots)
    return past is not None and past <= 0


def _overtime(base: Base) -> WayOut:
    """Fewest hours a day that are enough: at the bottleneck alone, else at every machine; else what comes nearest."""
    rates = _rates(base.shop)
    mills = tuple(sorted({op.station for r in base.routes for op in r.ops if op.kind == "machine"} & set(rates)))
    groups = [(base.bottleneck,)] if base.bottleneck in mills else [(PEOPLE,)]
    groups += [mills] if len(mills) > 1 else []
    best, chosen, hours = Tried(base.made, base.slots), groups[0], 0.0
    for group in groups:
        for more in OVERTIME_H:
            if base.shop.spindle_h_per_week / DAYS_A_WEEK + more > 24.0 or _in_time(best):
                break
            one = _try(base, base.case._replace(more_h=dict.fromkeys(group, more)))
            if one.worth < best.worth:
                best, chosen, hours = one, group, more
    if hours <= 0.0:
        return WayOut(
            kind="overtime", text=f"overtime on {' and '.join(chosen)}, up to {OVERTIME_H[-1]:g} h a day, ends no "
            "earlier", hours=None, price=None, verdict="not enough",
        )  # fmt: skip
    by_station = {station: hours * math.ceil(_last_at(best, station) / best.made.day_min) for station in chosen}
    total = sum(by_station.values())
    price, words = _late_hours_money(base.shop, by_station)
    return WayOut(
        kind="overtime", hours=round(total, 2), price=price,
        text=f"overtime on {' and '.join(chosen)}: {hours:g} h a day until its last lot, {total:.0f} h in all; "
        f"{words}; {_done_words(base, best)}",
        verdict="enough" if _in_time(best) else "not enough",
    )  # fmt: skip


def _late_hours_money(shop: Shop, hours: dict[str, float]) -> tuple[float | None, str]:
    """What late hours of each station cost beyond the ordinary rates, those of people at the rate of hand work."""
    extra = shop.overtime_ratio
    if extra is None:
        return None, (
            "what they cost beyond the ordinary rates, which the order pays anyway, is not known (the shop file has no "
            "overtime_percent)"
        )  # fmt: skip
    rates = _rates(shop) | {PEOPLE: shop.bench.rate_per_h}
    money = sum(rates[station] * h for station, h in hours.items())
    ends = dict.fromkeys(f"{money * end:.0f}" for end in (extra.low, extra.high))
    return round(money * extra.nominal, 2), (
        f"{' to '.join(ends)} {shop.currency} beyond the ordinary rates, which the order pays anyway"
    )


def _last_at(tried: Tried, station: str) -> int:
    """When a machine has done its last task; for people when all goes out or is boxed."""
    if station == PEOPLE:
        return tried.end
    return max(
        (
            slot.end
            for slot, task in zip(tried.slots, tried.made.problem.tasks, strict=True)
            if _station(tried.made, task.ways[slot.way].machine) == station
        ),
        default=0,
    )


def _another_machine(base: Base) -> WayOut | None:
    """Clampings that need no turning may go to any machine; priced by minutes and set-ups at the machines' rates."""
    if not any(op.others for route in base.routes for op in route.ops if op.station == base.bottleneck):
        return None
    tried = _try(base, base.case._replace(others=True))
    moved = [
        (named, slot.end - slot.start, _station(tried.made, task.ways[slot.way].machine))
        for named, task, slot in zip(tried.made.named, tried.made.problem.tasks, tried.slots, strict=True)
        if named.kind == "machine" and slot.way > 0
    ]
    if not moved:
        return WayOut(
            kind="another machine", text="work on another machine ends no earlier", hours=None, price=None,
            verdict="not enough",
        )  # fmt: skip
    hours = sum(minutes for _, minutes, _ in moved) / spindle_share(base.shop) / MIN_PER_H
    price = _machine_money(base.shop, tried.made, tried.slots) - _machine_money(base.shop, base.made, base.slots)
    told = ", ".join(sorted({f"{named.parts[0]} lot {named.lot} to {there}" for named, _, there in moved}))
    return WayOut(
        kind="another machine", hours=round(hours, 2), price=round(price, 2),
        text=f"another machine: {told}; {hours:.0f} h of the machine moved, {more_words(price, base.shop)} with "
        f"its set-ups; {_done_words(base, tried)}; travels, vises, jaws, cutters and proving out are not checked for "
        "it here: pin the machine in the job file and plan again",
        verdict="not shown" if _in_time(tried) else "not enough",
    )  # fmt: skip


def _several(base: Base) -> WayOut | None:
    """Quicker ways of filling the tables that the plans name and do not take."""
    factor: dict[tuple[str, str], float] = {}
    saved_h, more, told = 0.0, 0.0, []
    for route, part in zip(base.routes, base.parts, strict=True):
        for station in sorted({op.station for op in route.ops if op.kind == "machine"}):
            options = [o for o in part.plan.table_options if o.machine_ids == (station,)]
            if not options:
                continue
            quickest = min(options, key=lambda o: (o.seconds, o.each))
            saved_s = options[0].seconds - quickest.seconds
            if saved_s <= 0.0:
                continue
            for op in route.ops:
                if op.station == station:
                    factor[route.number, op.name] = quickest.seconds / options[0].seconds
            saved_h += saved_s * route.ordered_count / S_PER_H
            more += (quickest.each - options[0].each) * route.ordered_count
            told.append(f"{route.number}: {ops_named(part.plan, quickest.text)} ({quickest.why_not})")
    if not told:
        return None
    tried = _try(base, base.case._replace(factor=factor))
    return WayOut(
        kind="several pieces in one clamping", hours=round(saved_h, 2), price=round(more, 2),
        text=f"several pieces in one cycle save {saved_h:.1f} h, {more_words(more, base.shop)}: "
        f"{'; '.join(told)}; {_done_words(base, tried)}; pin it in the job file and plan again",
        verdict="not shown" if _in_time(tried) else "not enough",
    )  # fmt: skip


def _split(base: Base) -> WayOut | None:
    """Two halves to each finisher, so that the first is back sooner; parts that ride together are never split."""
    if not any(route.finishers for route in base.routes):
        return None
    kept = sorted({route.number for route in base.routes if route.rides_with})
    why = f"{' and '.join(kept)} stay in one coat load, for shade" if kept else ""
    if len(kept) == len(base.routes):
        return WayOut(
            kind="split lot", text=f"a split lot is not offered: {why}", hours=None, price=None, verdict="not enough"
        )
    tried, kept_words = _try(base, base.case._replace(split=True)), f"; {why}" if why else ""
    price = _finisher_money(tried.made, base.shop) - _finisher_money(base.made, base.shop)
    by_piece = any(f.charges_plugs for route in base.routes for f in route.finishers)
    same = "; plugs and masks go by the piece and cost the same" if by_piece else ""
    return WayOut(
        kind="split lot", hours=None, price=round(price, 2),
        text=f"a split lot: two halves to each finisher, {price:.0f} {base.shop.currency} more for minimum "
        f"charge, loading, further part numbers and freight{same}; {_done_words(base, tried)}{kept_words}",
        verdict="enough" if _in_time(tried) else "not enough",
    )  # fmt: skip


def _fewer(base: Base) -> WayOut | None:
    """The largest tried share of the pieces that is done by the date."""
    for share in SHARES:
        tried = _try(base, base.case._replace(share=share))
        if _in_time(tried):
            counts = ", ".join(f"{math.floor(r.ordered_count * share)} {r.number}" for r in base.routes)
            price, days = _second_lots_money(base), "dates" if has_several_dates(base.made) else "date"
            return WayOut(
                kind="fewer pieces", hours=None, price=round(price, 2),
                text=f"a first delivery on the {days} of about {100.0 * share:.0f} %: {counts}; the rest later, with "
                f"another lot at each finisher, up to {price:.0f} {base.shop.currency} more",
                verdict="enough",
            )  # fmt: skip
    return None


def _later(base: Base, worst_day: str, worst_days: dict[str, str]) -> WayOut:
    """Later dates, with several for those parts alone that are late."""
    made = base.made
    words = f"{_day(made, end_of(base.slots))} as scheduled, {worst_day} at the worst ends"
    text = f"a later date: {words}"
    if has_several_dates(made):
        told = [
            f"{part} {_day(made, past + ending.due)} as scheduled, {worst_days[part]} at the worst ends"
            for part, past, ending in zip(
                made.dated, pasts_of(made, base.slots), made.problem.endings, strict=True
            )
            if past > 0
        ]  # fmt: skip
        text = f"later dates: {'; '.join(told)}"
    return WayOut(kind="a later date", text=text, hours=None, price=None, verdict="enough")


def _day(made: Made, minute: int) -> str:
    return date_of(made, minute, is_end=True).isoformat()


def _station(made: Made, machine: int) -> str:
    return made.stations[machine] if machine != NO_MACHINE else ""


def _rates(shop: Shop) -> dict[str, float]:
    return {machine.id: machine.rate_per_h for machine in shop.machines}


def _machine_money(shop: Shop, made: Made, slots: Sequence[Slot]) -> float:
    """Hours of the machines with their set-ups, at their rates; cycles without the hours in which they may not run."""
    rates, share = _rates(shop), spindle_share(shop)
    total = 0.0
    for task, named, slot in zip(made.problem.tasks, made.named, slots, strict=True):
        rate = rates.get(_station(made, task.ways[slot.way].machine), 0.0)
        cycles = (slot.end - slot.start) / (share if named.kind == "machine" else 1.0)
        total += (cycles + slot.setup) / MIN_PER_H * rate
    return total


def _stays(made: Made, shop: Shop) -> list[tuple[Finisher, Named]]:
    """What goes out, each time with its finisher."""
    by_id = {f.id: f for f in shop.finishers}
    return [(by_id[named.finisher], named) for named in made.named if named.kind == "away"]


def _finisher_money(made: Made, shop: Shop) -> float:
    """Lots at the finishers; plugs and masks, which go by the piece however lots are split, are left out."""
    return sum(
        lot_price(finisher, pieces_count=stay.pieces_count, parts_count=len(stay.parts))
        for finisher, stay in _stays(made, shop)
    )


def _second_lots_money(base: Base) -> float:
    """What a second lot for all that goes out adds at most: its minimum charge, loading and freight."""
    return sum(
        finisher.lot_minimum + once_a_lot(finisher, parts_count=len(stay.parts))
        for finisher, stay in _stays(base.made, base.shop)
    )
