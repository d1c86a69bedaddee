"""Routes as tasks in whole minutes of working time: lots, set-ups, people, collections, and who rides together."""

from __future__ import annotations

import math
from datetime import date
from typing import NamedTuple

from proveout.model.closed_days import NONE_CLOSED, closed_dates
from proveout.model.schedule import StepKind
from proveout.model.shop import Finisher, Shop
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.solving.shop_problem import NO_FAMILY, NO_MACHINE, Ending, ShopProblem, Task, Way
from proveout.stages.schedule.calendar import DAYS_A_WEEK, day_after, days_until, stays_from, working_days
from proveout.stages.schedule.cases import Case, nominal
from proveout.stages.schedule.routes import Op, Route, spindle_share

PERSON = 100  # shares of one person are counted in hundredths
LOTS_MOST = 5
SHIFTS_A_LOT = 2.0  # own choice: a lot goes on when it is worth about two shifts of its slowest machine
WEEKS_AHEAD = 104


class Named(NamedTuple):
    """What a task is to people: see ScheduledStep."""

    id: str
    kind: StepKind
    parts: tuple[str, ...]
    what: str
    lot: int
    pieces_count: int
    finisher: str = ""


class Made(NamedTuple):
    """The problem, what its tasks are, the names of its machines, minutes in a day, the first day and days off.

    dated: the part whose date each ending of the problem is.   parts_count: with work to do, dated or not.
    """

    problem: ShopProblem
    named: tuple[Named, ...]
    stations: tuple[str, ...]
    day_min: int
    first: date
    dated: tuple[str, ...]
    parts_count: int
    closed: frozenset[date]


class Stay(NamedTuple):
    """Pieces that go to one finisher together."""

    finisher: Finisher
    routes: tuple[int, ...]
    half: int


def problem_of(routes: tuple[Route, ...], shop: Shop, start: str, case: Case) -> Made:
    """Every lot of every part as tasks."""
    return _Maker(routes, shop, start, case).made()


def stays_at(
    finisher: Finisher, *, first: date, closed: frozenset[date], days: int, at_best: bool
) -> tuple[tuple[int, ...], tuple[int, ...]]:  # fmt: skip
    """Working days from `first` on which a finisher collects, and how long each stay lasts; none where none meets."""
    weekdays = {d for d in finisher.pickup_weekdays if d < DAYS_A_WEEK} or set(range(DAYS_A_WEEK))
    away = closed_dates(finisher.closed)
    if finisher.closed is None:  # days off there are not known: at best none, else those of the shop
        away = NONE_CLOSED if at_best else closed
    return stays_from(
        first=first, closed=closed, away_closed=away, weekdays=frozenset(weekdays), days=days, is_back_early=at_best,
        ahead_count=WEEKS_AHEAD * DAYS_A_WEEK,
    )  # fmt: skip


class _Maker:
    def __init__(self, routes: tuple[Route, ...], shop: Shop, start: str, case: Case) -> None:
        self.routes, self.shop, self.case = routes, shop, case
        self.closed = closed_dates(shop.closed)
        self.first = day_after(date.fromisoformat(start), 0.0, self.closed)
        self.day_min = round(shop.shift_h * S_PER_H / S_PER_MIN)
        used = {op.station for r in routes for op in r.ops if op.station != "bench"}
        if case.others:
            used |= {m for r in routes for op in r.ops for m in op.others}
        self.stations = tuple(sorted(used))
        self.tasks: list[Task] = []
        self.named: list[Named] = []
        self.before: list[tuple[int, int]] = []
        self.setups: dict[tuple[int, int, int], int] = {}
        self.families: list[tuple[str, str]] = []
        self.endings: list[Ending] = []
        self.lot_counts: list[list[int]] = []

    def made(self) -> Made:
        last = [self._work(route) for route in self.routes]
        kits = self._away(last)
        dated: list[str] = []
        for number, route in enumerate(self.routes):
            if route.due and kits[number]:
                due = days_until(self.first, date.fromisoformat(route.due), self.closed) * self.day_min
                self.endings.append(Ending(tasks=tuple(kits[number]), due=due))
                dated.append(route.number)
        people = self.shop.people_count * PERSON
        people += round(PERSON * self.case.more_h.get("people", 0.0) / self.shop.shift_h)
        problem = ShopProblem(
            machines_count=len(self.stations), tasks=tuple(self.tasks), before=tuple(self.before), setups=self.setups,
            people=people, setup_people=PERSON, endings=tuple(self.endings),
        )  # fmt: skip
        named, count = tuple(self.named), sum(1 for kit in kits if kit)
        return Made(problem, named, self.stations, self.day_min, self.first, tuple(dated), count, self.closed)

    def _minutes(self, seconds: float) -> int:
        """Whole minutes, rounded against ourselves except where the best is asked for."""
        return math.floor(seconds / S_PER_MIN) if self.case.at_best else math.ceil(seconds / S_PER_MIN - 1e-9)

    def _stretch(self, station: str) -> float:
        """Shift hours for each hour that a machine may run its cycles; overtime adds to those it may.

        Set-ups and proving out take their own minutes of the shift.
        """
        machines = {m.id for m in self.shop.machines}
        if station not in machines:
            return 1.0
        more = self.case.more_h.get(station, 0.0) * DAYS_A_WEEK
        week = self.shop.spindle_h_per_week
        return spindle_share(self.shop) * week / (week + more)

    def _add(self, task: Task, named: Named, after: list[int]) -> int:
        index = len(self.tasks)
        self.tasks.append(task)
        self.named.append(named)
        self.before += [(one, index) for one in after]
        return index

    def _by_hand(self, seconds: float) -> Task:
        return Task(ways=(Way(machine=NO_MACHINE, duration=self._minutes(seconds), people=PERSON),))

    def _family(self, route: Route, op: Op) -> int:
        key = (route.number, op.name)
        if key not in self.families:
            self.families.append(key)
        return self.families.index(key)

    def _lots(self, route: Route, pieces: int) -> list[int]:
        """Equal lots, each worth about two shifts of the slowest machine; an even number of halves when split."""
        slowest = max(
            (nominal(op.running) + nominal(op.by_hand) for op in route.ops if op.kind == "machine"), default=0
        )
        hours = slowest * pieces * spindle_share(self.shop) / S_PER_H
        count = max(1, min(LOTS_MOST, pieces, math.ceil(hours / (SHIFTS_A_LOT * self.shop.shift_h))))
        if self.case.split and not route.rides_with and pieces > 1:
            count += count % 2
        return [pieces // count + (1 if i < pieces % count else 0) for i in range(count)]

    def _work(self, route: Route) -> list[int]:
        """Everything before the pieces go out; the last task of each lot."""
        case = self.case
        whole = route.pieces(case.scrap) if not case.at_best else route.ordered_count
        pieces = max(1, math.ceil(whole * case.share - 1e-9))
        lots = self._lots(route, pieces)
        self.lot_counts.append(lots)
        name = route.number
        programmed: list[int] = []
        if case.hand(route.programming) > 0.0:
            programmed = [
                self._add(
                    self._by_hand(case.hand(route.programming)),
                    Named(f"{name} programming", "programming", (name,), "write and check programs", 0, 0), [],
                )
            ]  # fmt: skip
        done: list[list[int]] = [[] for _ in lots]
        sawn: list[int] = []
        for op in route.ops:
            family = self._family(route, op)
            self._note_setups(op, family)
            ready = self._prepare(route, op, family, [*programmed, *sawn])
            previous = -1
            for lot, count in enumerate(lots):
                after = [*done[lot], *(ready if lot == 0 or case.others else [])]
                if previous >= 0 and not case.others:
                    after.append(previous)
                release = self._bars_there(route) if op is route.ops[0] else 0
                task = Task(ways=self._ways(route, op, count, pieces), family=family, release=release)
                words = f"{count} pieces, {op.told}" if op.kind == "machine" else f"{count} pieces"
                previous = self._add(
                    task, Named(f"{name} {op.name} {lot + 1}", op.kind, (name,), words, lot + 1, count), after
                )
                done[lot] = [previous]
            if op.kind == "saw" and route.trial_count and not case.at_best:  # at best the rack gives them
                sawn = done[0]
        return [index for lot in done for index in lot]

    def _bars_there(self, route: Route) -> int:
        """From when its bars can be sawn: the morning after the day on which they come, at best of that very day."""
        days = max((self.case.bar_days.get(bar_id, 0) for bar_id in route.bar_ids), default=0)
        if not days or (self.case.at_best and route.may_be_racked):
            return 0
        if not self.case.at_best:
            return (days + 1) * self.day_min
        come = day_after(self.first, days)  # who brings them may work on our days off
        return working_days(self.first, come, self.closed) * self.day_min

    def _prepare(self, route: Route, op: Op, family: int, before: list[int]) -> list[int]:
        """Jaws and proving out on the machine, with a person there all the time.  before: what must be done first."""
        seconds = self.case.hand(op.prepare)
        if self._minutes(seconds) <= 0 or op.kind != "machine":
            return before if op.kind == "machine" else []
        machine = self.stations.index(op.station)
        way = Way(machine=machine, duration=self._minutes(seconds), people=0 if self.case.at_best else PERSON)
        named = Named(f"{route.number} {op.name} prepare", "prepare", (route.number,), f"{op.told}: prove out", 0, 0)
        return [self._add(Task(ways=(way,), family=family), named, before)]

    def _note_setups(self, op: Op, family: int) -> None:
        if self.case.at_best or op.station == "bench":
            return
        for station in (op.station, *(op.others if self.case.others else ())):
            machine = self.stations.index(station)
            length = self._minutes(self.case.setup(op.setup))
            for other in range(NO_FAMILY, len(self.routes) * (max(len(r.ops) for r in self.routes) + 1)):
                if other != family and length:
                    self.setups[machine, other, family] = length

    def _sawn(self, route: Route, op: Op, count: int, pieces: int) -> float:
        """Seconds of a lot at the saw: its share of all blanks; at best spares and trial blanks are sawn afterwards."""
        share = count / route.blanks_count if self.case.at_best else self.case.share * count / pieces
        return self.case.setup(op.by_hand) * share

    def _ways(self, route: Route, op: Op, count: int, pieces: int) -> tuple[Way, ...]:
        """Of one lot of so many pieces.   pieces: of all its lots."""
        case = self.case
        factor = case.factor.get((route.number, op.name), 1.0)
        running, by_hand = case.machine(op.running) * factor * count, case.hand(op.by_hand) * count
        if op.kind == "saw":
            by_hand = self._sawn(route, op, count, pieces)
        if op.kind != "machine":
            machine = NO_MACHINE if op.station == "bench" else self.stations.index(op.station)
            return (Way(machine=machine, duration=self._minutes(running + by_hand), people=PERSON),)
        ways: list[Way] = []
        for station in (op.station, *(op.others if case.others else ())):
            # at best loading falls into the hours in which the machine may not run anyway
            stretch = self._stretch(station)
            whole = (running + by_hand) * (1.0 if case.at_best else stretch)
            if case.at_best:
                whole = running * stretch if stretch < 1.0 else max(whole, running * stretch)
            minutes = max(1, self._minutes(whole))
            share = math.floor if case.at_best else math.ceil
            people = min(PERSON, share(PERSON * by_hand / S_PER_MIN / minutes))
            ways.append(Way(machine=self.stations.index(station), duration=minutes, people=people))
        return tuple(ways)

    def _away(self, last: list[list[int]]) -> list[list[int]]:
        """Stays outside, one after the other, then the kit; the tasks with which each part is done."""
        ready = [[list(ends)] for ends in last]
        for number, route in enumerate(self.routes):
            if self.case.split and not route.rides_with and route.finishers and len(last[number]) > 1:
                half = len(last[number]) // 2
                ready[number] = [last[number][:half], last[number][half:]]
        deepest = max((len(r.finishers) for r in self.routes), default=0)
        for place in range(deepest):
            for stay in self._stays(place, ready):
                after = [one for number in stay.routes for one in ready[number][stay.half]]
                index = self._add(self._stay(stay), self._stay_named(stay, place, ready), after)
                for number in stay.routes:
                    ready[number][stay.half] = [index]
        return [self._kit(route, ready[number]) for number, route in enumerate(self.routes)]

    def _stays(self, place: int, ready: list[list[list[int]]]) -> list[Stay]:
        """Who goes to the finisher of this place: parts of one coat load together, the coat being the first."""
        numbers = {route.number: i for i, route in enumerate(self.routes)}
        found: dict[tuple[int, ...], Stay] = {}
        for number, route in enumerate(self.routes):
            if place >= len(route.finishers):
                continue
            here = route.finishers[place]
            group = {number}
            if place == 0:
                group |= {numbers[n] for n in route.rides_with if n in numbers}
                group = {i for i in group if self.routes[i].finishers and self.routes[i].finishers[0].id == here.id}
            for half in range(len(ready[number])):
                key = (*sorted(group), -1 - half)
                found.setdefault(key, Stay(here, tuple(sorted(group)), half))
        return list(found.values())

    def _stay(self, stay: Stay) -> Task:
        """Collected in the morning of one of its days, back in the course of the last day."""
        starts, lasts = stays_at(
            stay.finisher, first=self.first, closed=self.closed, days=self.case.days[stay.finisher.id],
            at_best=self.case.at_best,
        )  # fmt: skip
        by_start = tuple(n * self.day_min for n in lasts)
        return Task(
            ways=(Way(machine=NO_MACHINE, duration=min(by_start, default=0)),),
            starts=tuple(n * self.day_min for n in starts),
            lasts=by_start if len(set(by_start)) > 1 else (),
        )

    def _stay_named(self, stay: Stay, place: int, ready: list[list[list[int]]]) -> Named:
        parts = tuple(self.routes[i].number for i in stay.routes)
        halved = any(len(ready[i]) > 1 for i in stay.routes)
        lot = stay.half + 1 if halved else 0
        pieces = 0
        for i in stay.routes:
            lots = self.lot_counts[i]
            half = len(lots) // 2
            pieces += sum(lots if not halved else (lots[:half] if stay.half == 0 else lots[half:]))
        name = f"{' and '.join(parts)} at {stay.finisher.id} {place + 1}{f' lot {lot}' if lot else ''}"
        return Named(name, "away", parts, stay.finisher.process, lot, pieces, stay.finisher.id)

    def _kit(self, route: Route, ready: list[list[int]]) -> list[int]:
        """Kit and box what came back, shared out among the people; without any the last tasks."""
        seconds = self.case.hand(route.kit)
        pieces = max(1, math.ceil(route.ordered_count * self.case.share - 1e-9))
        if seconds <= 0.0:
            return [one for half in ready for one in half]
        found: list[int] = []
        sharers = [(after, person) for after in ready for person in range(self.shop.people_count)]
        for lot, (after, _) in enumerate(sharers):
            count = pieces // len(sharers) + (1 if lot < pieces % len(sharers) else 0)
            if count:
                named = Named(
                    f"{route.number} kit {lot + 1}", "kit", (route.number,), f"{count} pieces", lot + 1, count
                )
                found.append(self._add(self._by_hand(seconds * count), named, after))
        return found


def date_of(made: Made, minute: int, *, is_end: bool = False) -> date:
    """The day in which a minute of working time lies; the end of a shift belongs to its own day."""
    day = max(0, (minute - 1) // made.day_min) if is_end else minute // made.day_min
    return day_after(made.first, day, made.closed)
