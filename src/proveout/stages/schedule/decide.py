"""Decide when the work of an order is done, whether that is in time, and what would help."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from proveout.model.fact import Fact
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.schedule import OrderSchedule
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_MIN
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.cases import bar_spans, best_case, nominal_case, worst_case
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.hours import PEOPLE, dates_words, hour_notes, how_words, order_load, span_words
from proveout.stages.schedule.problem import Made, date_of, problem_of
from proveout.stages.schedule.promise import promise_of
from proveout.stages.schedule.rhythm import rhythm_of
from proveout.stages.schedule.routes import Route, routes_of
from proveout.stages.schedule.sequence import SEED, WORK_LIMIT, Found, end_of, retimed, searched
from proveout.stages.schedule.steps import steps_of
from proveout.stages.schedule.ways_out import Base, ways_out

NO_BOTTLENECK = "none"
SOURCE = "own-algorithm: schedule of the order"


def decide(*, parts: Sequence[OrderedPart], shop: Shop) -> OrderLoad:
    """The order against the calendar: hours asked, and where a first day is known the schedule and what follows.

    Verdict: "late" when not even the bound at the best ends is in time, "fits" when the same sequence is in time at
    the worst ends, else "not shown", with the share of drawn cases that are in time.
    """
    load = order_load(parts=parts, shop=shop)
    if not load.start or not load.stations:
        return load
    routes = routes_of(parts, shop)
    case = nominal_case(shop)
    made = problem_of(routes, shop, load.start, case)
    if not made.problem.tasks:
        return load
    found = searched(made)
    best = problem_of(routes, shop, load.start, best_case(shop))
    least = searched(best).bound
    worst_made = problem_of(routes, shop, load.start, worst_case(shop))
    worst = end_of(retimed(worst_made, made, found.slots))
    late = _late(made, least, found.end, worst)
    gains = gains_of(made, found.slots)
    bottleneck = bottleneck_of(gains)
    steps = steps_of(made, found.slots)
    spans = bar_spans(shop)
    bars_unknown = tuple(sorted({bar_id for route in routes for bar_id in route.bar_ids if bar_id not in spans}))
    schedule = OrderSchedule(
        steps=steps, done=_day(made, found.end), done_bound=_day(made, least), done_worst=_day(made, worst),
        length_s=found.end * S_PER_MIN, bound_s=found.bound * S_PER_MIN, gap_ratio=found.gap_ratio,
        status=found.status, seed=SEED, work_limit=WORK_LIMIT, late_days=late, bottleneck=bottleneck,
        gains_s={station: gain * S_PER_MIN for station, gain in gains.items()},
        promise=promise_of(routes=routes, shop=shop, start=load.start, made=made, slots=found.slots),
        rhythm=rhythm_of(steps=steps, routes=routes, parts=parts, shop=shop, made=made),
        faults=step_faults(steps=steps, parts=parts, names=[r.number for r in routes], shop=shop), notes=(),
        bars_taken_as_there=bars_unknown,
    )  # fmt: skip
    verdict = "not shown"
    if late is not None and not schedule.faults:
        unknown = bars_unknown or any(route.unknown_finishers for route in routes)
        verdict = "late" if late.low > 0.0 else "fits" if late.high <= 0.0 and not unknown else "not shown"
    helps = ()
    if late is not None and late.nominal > 0.0:
        base = Base(tuple(routes), tuple(parts), shop, load.start, made, found.slots, case, bottleneck)
        helps = ways_out(base, worst_day=schedule.done_worst)
    schedule = msgspec.structs.replace(schedule, notes=_notes(schedule, routes, made, found, spans))
    first = _verdict_words(load, verdict, late, bottleneck, schedule)
    # by hours alone a station is done sooner than scheduled: those days are left to the table of hours
    hours = hour_notes(load, parts, has_ends=False)
    how = how_words(parts, shop)
    return msgspec.structs.replace(
        load, verdict=verdict, late_days=late, bottleneck=bottleneck, ways_out=helps, schedule=schedule,
        notes=(first, *schedule.notes, *hours, f"The table of hours: {how[0].lower()}{how[1:]}",
        *(f"Way out: {w.text}" for w in helps)),
    )  # fmt: skip


def _day(made: Made, minute: int) -> str:
    return date_of(made, minute, is_end=True).isoformat()


def _late(made: Made, least: int, likely: int, worst: int) -> Fact | None:
    """Working days past the date, parts of a day kept; None without a date."""
    if made.due_min is None:
        return None
    ends = sorted((least, likely, worst))
    days = [round((end - made.due_min) / made.day_min, 4) for end in ends]
    return Fact(low=days[0], nominal=days[1], high=days[2], unit="working days", source=SOURCE, strength="assumed")


def bottleneck_of(gains: dict[str, int]) -> str:
    """The station that gains most, NO_BOTTLENECK where none gains anything."""
    best = max(sorted(gains), key=lambda s: gains[s])
    return best if gains[best] > 0 else NO_BOTTLENECK


def gains_of(made: Made, slots: Sequence[Slot]) -> dict[str, int]:
    """By how many minutes the end comes nearer when a station's minutes, or a stay outside, are halved.

    Collections are taken as daily here, so that a gain is not swallowed by the wait for the next one.
    """

    def end(station: str) -> int:
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
            tasks.append(msgspec.structs.replace(task, ways=ways, starts=()))
        people = made.problem.people
        if station == PEOPLE and people is not None:
            people *= 2
        problem = msgspec.structs.replace(made.problem, tasks=tuple(tasks), people=people)
        return end_of(retimed(made._replace(problem=problem), made, slots))

    whole = end("")
    stations = [*made.stations, PEOPLE, *sorted({n.finisher for n in made.named if n.finisher})]
    return {station: max(0, whole - end(station)) for station in stations}


def _is_at(made: Made, machine: int, finisher: str, station: str) -> bool:
    return (machine >= 0 and made.stations[machine] == station) or (machine < 0 and finisher == station)


def _verdict_words(
    load: OrderLoad, verdict: str, late: Fact | None, bottleneck: str, schedule: OrderSchedule
) -> str:  # fmt: skip
    promise = schedule.promise
    if late is None:
        return "On time: not shown; no due date is written"
    dates = dates_words(load)
    share = "" if promise.on_time_ratio is None else f"{100.0 * promise.on_time_ratio:.0f} % of {promise.draws_count}"
    if verdict == "late":
        span = span_words(
            msgspec.structs.replace(
                late, low=math.ceil(late.low), nominal=math.ceil(late.nominal), high=math.ceil(late.high)
            )
        )
        return f"LATE ({dates}): by {span} working days; the bottleneck is {bottleneck}"
    if verdict == "fits":
        return f"On time ({dates}): even at the worst ends, {math.floor(-late.high)} working days are left"
    if schedule.bars_taken_as_there and late.high <= 0.0:
        return (
            f"On time once the bars are there, else not shown ({dates}): even at the worst ends "
            f"{math.floor(-late.high)} working days are left, bars taken as there on the first day"
        )
    return (
        f"On time: not shown ({dates}): from {math.floor(-late.low)} working days early at best to "
        f"{math.ceil(late.high)} late at worst, in time in {share} drawn cases; the bottleneck is {bottleneck}"
    )


def _notes(
    schedule: OrderSchedule, routes: Sequence[Route], made: Made, found: Found, spans: dict[str, tuple[int, int]]
) -> tuple[str, ...]:  # fmt: skip
    promise = schedule.promise
    notes = [
        (
            f"Schedule: done {schedule.done} at nominal values and {schedule.done_worst} at the worst ends; in these "
            f"lots none is done before {schedule.done_bound} even at the best ends; {found.end / made.day_min:.1f} "
            f"working days long, none is shorter than {found.bound / made.day_min:.1f} at nominal values "
            f"({schedule.status})"
        ),
        (
            f"Promise: half of {promise.draws_count} drawn cases are done by {promise.half_day}, 80 % by "
            f"{promise.most_day}, 95 % by {promise.nearly_all_day}"
        ),
    ]
    if promise.on_time_ratio is not None:
        notes.append(f"In time in {100.0 * promise.on_time_ratio:.0f} % of the drawn cases")
    notes += [
        f"Bars {bar_id} are taken as there on the first day: nobody wrote how many days they take (supply)"
        for bar_id in schedule.bars_taken_as_there
    ]
    for bar_id in sorted({bar_id for route in routes for bar_id in route.bar_ids if bar_id in spans}):
        few, most = spans[bar_id]
        if most:
            days = f"{few}" if few == most else f"{few} to {most}"
            notes.append(f"Bars {bar_id}: ordered on the first day, {days} working days, sawn from the next morning on")
    together = sorted({tuple(sorted((r.number, *r.rides_with))) for r in routes if r.rides_with})
    notes += [f"{' and '.join(group)} ride in one coat load, whatever the dates" for group in together]
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
