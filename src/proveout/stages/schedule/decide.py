"""Decide when the work of an order is done, whether that is in time, and what would help."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from proveout.model.fact import Fact
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.schedule import OrderSchedule, PartDate
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_MIN
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.cases import bar_spans, best_case, nominal_case, worst_case
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.dates import (
    end_of,
    ends_by_date,
    has_several_dates,
    last_due,
    past_of,
    pasts_of,
    worst_part,
    worth_of,
)
from proveout.stages.schedule.hours import PEOPLE, dates_words, hour_notes, how_words, order_load, span_words
from proveout.stages.schedule.problem import Made, date_of, problem_of
from proveout.stages.schedule.promise import PartPromise, promise_of
from proveout.stages.schedule.rhythm import rhythm_of
from proveout.stages.schedule.routes import Route, routes_of
from proveout.stages.schedule.sequence import SEED, WORK_LIMIT, retimed, searched
from proveout.stages.schedule.steps import steps_of
from proveout.stages.schedule.unknown import never_collected, unknown_of
from proveout.stages.schedule.ways_out import Base, ways_out

NO_BOTTLENECK = "none"
SOURCE = "own-algorithm: schedule of the order"


def decide(*, parts: Sequence[OrderedPart], shop: Shop) -> OrderLoad:
    """The order against the calendar: hours asked, and where a first day is known the schedule and what follows.

    Verdict: "late" when not even the bound at the best ends is in time, "fits" when the same sequence is in time at
    the worst ends and all that it waits for is written, else "not shown", with the share of drawn cases in time.
    """
    load = order_load(parts=parts, shop=shop)
    if not load.start or not load.stations:
        return load
    routes = routes_of(parts, shop)
    never = never_collected(routes, shop, load.start)
    if never:
        why = f"On time: not shown ({dates_words(load)}): nothing is scheduled, as {'; '.join(never)}"
        return msgspec.structs.replace(
            load, notes=(why, *load.notes[1:]) if load.verdict == "not shown" else (*load.notes, why)
        )
    case = nominal_case(shop)
    made = problem_of(routes, shop, load.start, case)
    if not made.problem.tasks:
        return load
    kept = _kept(made, problem_of(routes, shop, load.start, best_case(shop)))
    slots = kept.slots
    worst_made = problem_of(routes, shop, load.start, worst_case(shop))
    worst = retimed(worst_made, made, slots)
    late = _late(made, kept.least_past, past_of(made, slots), past_of(worst_made, worst))
    gains = gains_of(made, slots)
    bottleneck = bottleneck_of(gains)
    steps = steps_of(made, slots)
    promise, promised = promise_of(routes=routes, shop=shop, start=load.start, made=made, slots=slots)
    spans = bar_spans(shop)
    bars_unknown = tuple(sorted({bar_id for route in routes for bar_id in route.bar_ids if bar_id not in spans}))
    schedule = OrderSchedule(
        steps=steps, done=_day(made, end_of(slots)), done_bound=_day(made, kept.least_end),
        done_worst=_day(made, end_of(worst)), length_s=end_of(slots) * S_PER_MIN, bound_s=kept.bound * S_PER_MIN,
        gap_ratio=kept.gap_ratio, status="proved" if kept.gap_ratio <= 0.0 else "not proved", seed=SEED,
        work_limit=WORK_LIMIT, late_days=late, bottleneck=bottleneck,
        gains_s={station: gain * S_PER_MIN for station, gain in gains.items()},
        promise=promise,
        rhythm=rhythm_of(steps=steps, routes=routes, parts=parts, shop=shop, made=made),
        faults=step_faults(steps=steps, parts=parts, names=[r.number for r in routes], shop=shop), notes=(),
        bars_taken_as_there=bars_unknown, late_part=worst_part(made, slots),
        parts=_part_dates(made, routes, slots, ends_by_date(worst_made, worst), promised),
        late_bound_days=None if kept.bound_past is None else round(kept.bound_past / made.day_min, 4),
        unknown=unknown_of(parts, routes, shop),
    )  # fmt: skip
    verdict = "not shown"
    if late is not None and not schedule.faults:
        is_known = not bars_unknown and not schedule.unknown
        verdict = "late" if late.low > 0.0 else "fits" if late.high <= 0.0 and is_known else "not shown"
    helps = ()
    if late is not None and late.nominal > 0.0:
        base = Base(tuple(routes), tuple(parts), shop, load.start, made, slots, case, bottleneck)
        worst_days = {one.part: one.done_worst for one in schedule.parts}
        helps = ways_out(base, worst_day=schedule.done_worst, worst_days=worst_days)
    schedule = msgspec.structs.replace(schedule, notes=_notes(schedule, routes, made, spans, shop))
    first = _verdict_words(load, verdict, late, bottleneck, schedule)
    # by hours alone a station is done sooner than scheduled: those days are left to the table of hours
    hours = hour_notes(load, parts, has_ends=False)
    how = how_words(parts, shop)
    return msgspec.structs.replace(
        load, verdict=verdict, late_days=late, bottleneck=bottleneck, ways_out=helps, schedule=schedule,
        notes=(first, *schedule.notes, *hours, f"The table of hours: {how[0].lower()}{how[1:]}",
        *(f"Way out: {w.text}" for w in helps)),
    )  # fmt: skip


class Kept(NamedTuple):
    """The schedule that is kept, and what no schedule in these lots beats, in minutes.

    bound, gap_ratio: of its length at nominal values.  bound_past: with several dates, of the worst part past its own.
    least_end, least_past: the same of the best ends; None without a date.
    """

    slots: tuple[Slot, ...]
    bound: int
    gap_ratio: float
    least_end: int
    bound_past: int | None
    least_past: int | None


def _kept(made: Made, best: Made) -> Kept:
    """Done soonest; where parts have dates of their own, its worst part as little past its own as can be found."""
    soonest, least = searched(made), searched(best)
    if not has_several_dates(made):
        past = least.bound - last_due(made) if made.dated else None
        return Kept(soonest.slots, soonest.bound, soonest.gap_ratio, least.bound, None, past)
    timely = searched(made, objective="most late", like=soonest.slots)
    least_late = searched(best, objective="most late", like=least.slots)
    end = end_of(timely.slots)
    gap = round((end - soonest.bound) / end, 6) if end else 0.0
    bound_past, least_past = timely.bound - last_due(made), least_late.bound - last_due(best)
    return Kept(timely.slots, soonest.bound, gap, least.bound, bound_past, least_past)


def _part_dates(
    made: Made, routes: Sequence[Route], slots: Sequence[Slot], worst_ends: Sequence[int],
    promised: Sequence[PartPromise],
) -> tuple[PartDate, ...]:  # fmt: skip
    """Every dated part against its own date."""
    dues = {route.number: route.due for route in routes}
    rows = zip(
        made.dated, made.problem.endings, ends_by_date(made, slots), pasts_of(made, slots), worst_ends, promised,
        strict=True,
    )  # fmt: skip
    return tuple(
        PartDate(
            part=part, due=dues[part], done=_day(made, end), done_worst=_day(made, worst_end),
            late_days=round(past / made.day_min, 4), on_time_ratio=share.on_time_ratio, most_day=share.most_day,
            late_days_worst=round((worst_end - ending.due) / made.day_min, 4),
        )
        for part, ending, end, past, worst_end, share in rows
    )  # fmt: skip


def _day(made: Made, minute: int) -> str:
    return date_of(made, minute, is_end=True).isoformat()


def _late(made: Made, least: int | None, likely: int | None, worst: int | None) -> Fact | None:
    """Working days of the worst part past its date, parts of a day kept; None without a date."""
    if least is None or likely is None or worst is None:
        return None
    days = [round(past / made.day_min, 4) for past in sorted((least, likely, worst))]
    return Fact(low=days[0], nominal=days[1], high=days[2], unit="working days", source=SOURCE, strength="assumed")


def bottleneck_of(gains: dict[str, int]) -> str:
    """The station that gains most, NO_BOTTLENECK where none gains anything."""
    best = max(sorted(gains), key=lambda s: gains[s])
    return best if gains[best] > 0 else NO_BOTTLENECK


def gains_of(made: Made, slots: Sequence[Slot]) -> dict[str, int]:
    """By how many minutes the end comes nearer when a station's minutes, or a stay outside, are halved.

    With dates of their own: the end of the part that is worst against its date.

    Collections are taken as daily here, so that a gain is not swallowed by the wait for the next one.
    """

    def worth(station: str) -> int:
        tasks = []
        for task, named in zip(made.problem.tasks, made.named, strict=True):
            ways = tuple(
                msgspec.structs.replace(
                    way,
                    duration=-(-way.duration // 2) if station and _is_at(made, way.machine, named.finisher, station)
                    else way.duration,
                )
                for way in task.ways
            )  # fmt: skip
            tasks.append(msgspec.structs.replace(task, ways=ways, starts=(), lasts=()))
        people = made.problem.people
        if station == PEOPLE and people is not None:
            people *= 2
        problem = msgspec.structs.replace(made.problem, tasks=tuple(tasks), people=people)
        other = made._replace(problem=problem)
        return worth_of(other, retimed(other, made, slots))

    whole = worth("")
    stations = [*made.stations, PEOPLE, *sorted({n.finisher for n in made.named if n.finisher})]
    return {station: max(0, whole - worth(station)) for station in stations}


def _is_at(made: Made, machine: int, finisher: str, station: str) -> bool:
    return (machine >= 0 and made.stations[machine] == station) or (machine < 0 and finisher == station)


def _verdict_words(
    load: OrderLoad, verdict: str, late: Fact | None, bottleneck: str, schedule: OrderSchedule
) -> str:  # fmt: skip
    promise = schedule.promise
    if late is None:
        return "On time: not shown; no due date is written"
    dates, part = dates_words(load), _part_words(load, schedule)
    share = "" if promise.on_time_ratio is None else f"{100.0 * promise.on_time_ratio:.0f} % of {promise.draws_count}"
    if verdict == "late":
        span = span_words(
            msgspec.structs.replace(
                late, low=math.ceil(late.low), nominal=math.ceil(late.nominal), high=math.ceil(late.high)
            )
        )
        return f"LATE ({dates}):{part} by {span} working days; the bottleneck is {bottleneck}"
    if verdict == "fits":
        return f"On time ({dates}): even at the worst ends,{part} {math.floor(-late.high)} working days are left"
    bars = schedule.bars_taken_as_there
    if late.high <= 0.0 and (bars or schedule.unknown):
        head = "On time: not shown" if schedule.unknown else "On time once the bars are there, else not shown"
        there = ", bars taken as there on the first day" if bars else ""
        left = f"even at the worst ends,{part} {math.floor(-late.high)} working days are left{there}"
        return f"{head} ({dates}): {left}{', but ' if schedule.unknown else ''}{'; '.join(schedule.unknown)}"
    return (
        f"On time: not shown ({dates}):{part} from {math.floor(-late.low)} working days early at best to "
        f"{math.ceil(late.high)} late at worst, in time in {share} drawn cases; the bottleneck is {bottleneck}"
    )


def _part_words(load: OrderLoad, schedule: OrderSchedule) -> str:
    """With several dates the part that is the worst against its own."""
    return f" {schedule.late_part}, worst against its own date," if len(load.dues) > 1 else ""


def _dates_notes(schedule: OrderSchedule) -> list[str]:
    """Where parts have dates of their own: each against its own."""
    if schedule.late_bound_days is None:
        return []
    notes = [
        f"{one.part}, wanted {one.due}: done {one.done} as scheduled, {one.done_worst} at the worst ends, in time in "
        f"{100.0 * one.on_time_ratio:.0f} % of the drawn cases, by {one.most_day} in 80 %"
        for one in schedule.parts
    ]
    worst = max(one.late_days for one in schedule.parts)
    bound = _past_words(schedule.late_bound_days)
    aim = f"{_past_words(worst)}; in these lots no schedule brings its worst part below {bound}"
    laid = f"Laid so that the worst part against its own date, {schedule.late_part}, is as early as can be found"
    return [*notes, f"{laid}: {aim}"]


def _past_words(days: float) -> str:
    return f"{days:.1f} working days past it" if days > 0.0 else f"{-days:.1f} working days before it"


def _notes(
    schedule: OrderSchedule, routes: Sequence[Route], made: Made, spans: dict[str, tuple[int, int]], shop: Shop
) -> tuple[str, ...]:  # fmt: skip
    promise = schedule.promise
    notes = [
        (
            f"Schedule: done {schedule.done} at nominal values and {schedule.done_worst} at the worst ends; in these "
            f"lots none is done before {schedule.done_bound} even at the best ends; "
            f"{schedule.length_s / S_PER_MIN / made.day_min:.1f} "
            f"working days long, none is shorter than "
            f"{schedule.bound_s / S_PER_MIN / made.day_min:.1f} at nominal values ({schedule.status})"
        ),
        (
            f"Promise: half of {promise.draws_count} drawn cases are done by {promise.half_day}, 80 % by "
            f"{promise.most_day}, 95 % by {promise.nearly_all_day}"
        ),
    ]
    notes += _dates_notes(schedule)
    if promise.on_time_ratio is not None:
        who = "Every part in" if schedule.late_bound_days is not None else "In"
        notes.append(f"{who} time in {100.0 * promise.on_time_ratio:.0f} % of the drawn cases")
    notes += [
        f"Bars {bar_id} are taken as there on the first day: nobody wrote how many days they take (supply)"
        for bar_id in schedule.bars_taken_as_there
    ]
    for bar_id in sorted({bar_id for route in routes for bar_id in route.bar_ids if bar_id in spans}):
        few, most = spans[bar_id]
        if most:
            days = f"{few}" if few == most else f"{few} to {most}"
            notes.append(f"Bars {bar_id}: ordered on the first day, {days} working days, sawn from the next morning on")
    notes += [f"{text[:1].upper()}{text[1:]}" for text in schedule.unknown]
    together = sorted({tuple(sorted((r.number, *r.rides_with))) for r in routes if r.rides_with})
    notes += [f"{' and '.join(group)} ride in one coat load, whatever the dates" for group in together]
    away = {finisher.id: finisher for route in routes for finisher in route.finishers}
    if shop.closed is not None:
        notes += [
            f"Days off of {name} are not known: taken as those of the shop file, at the best ends as none"
            for name in sorted(away)
            if away[name].closed is None
        ]
    for one in schedule.steps:
        if one.kind == "away":
            notes.append(f"{' and '.join(one.parts)}: leave for {one.station} on {one.day}, back {one.end_day}")
    if schedule.rhythm is not None:
        for left in schedule.rhythm.left_alone:
            edge = f"; {left.edge} lasts {left.edge_pieces_count} pieces" if left.edge else ""
            notes.append(
                f"{left.machine_id} with {left.part} can be left for {math.floor(left.run_s / S_PER_MIN)} min, then "
                f"{left.stops}{edge}"
            )
    notes += [f"The schedule cannot be kept: {fault}" for fault in schedule.faults]
    return tuple(notes)
