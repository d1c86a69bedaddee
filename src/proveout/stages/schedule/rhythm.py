"""The rhythm of one day: which person loads what when, and gauges and breaks edges while machines run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from proveout.model.order import OrderedPart
from proveout.model.plan import Plan
from proveout.model.schedule import DayRhythm, LeftAlone, RhythmStep, ScheduledStep
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.stages.schedule.calendar import DAYS_A_WEEK
from proveout.stages.schedule.coming import Due, due_on, lots_coming_out
from proveout.stages.schedule.problem import Made, date_of
from proveout.stages.schedule.routes import Op, Route
from proveout.stages.schedule.steps import clock

SLACK_S = 1e-9


class Running(NamedTuple):
    """What one machine works at on that day."""

    machine_id: str
    number: str
    op: Op
    pieces_count: int
    most_count: int
    plan: Plan

    @property
    def run_s(self) -> float:
        """One cycle at nominal values."""
        return self.op.running.nominal * self.pieces_count

    @property
    def load_s(self) -> float:
        """Unload, blow off and load for one cycle."""
        return self.op.by_hand.nominal * self.pieces_count


def rhythm_of(
    *, steps: Sequence[ScheduledStep], routes: Sequence[Route], parts: Sequence[OrderedPart], shop: Shop, made: Made
) -> DayRhythm | None:  # fmt: skip
    """The first day on which the most machines run from its beginning; None when none runs.

    No more pieces are loaded than the schedule has done that day. Each machine is loaded as soon as a person is free,
    the one that has stood longest first. A piece is at the bench once it is out of its machine, and at the cabinet once
    it is done at the bench. Nobody begins a piece at the bench that would keep a machine waiting when
    another person is not free for it. A machine stops for the day once it has run its share of the week's spindle
    hours.
    """
    number, running = _day(steps, routes, parts, shop)
    if not running:
        return None
    shift_s = shop.shift_h * S_PER_H
    names = {(one.machine_id, f"{one.number} {one.op.name}") for one in running}
    due = due_on(steps, at_s=number * shift_s, shift_s=shift_s, running=names)
    hands = {(r.number, op.name): op.by_hand.nominal for r in routes for op in r.ops}
    coming = {
        machine: lots_coming_out(steps, station=machine, name=name, at_s=number * shift_s, shift_s=shift_s)
        for machine, name in names
    }
    day = Day(running, due, [hands[one.part, _op_name(steps[one.place])] for one in due], coming, shop)
    day.work()
    return DayRhythm(
        day=date_of(made, number * made.day_min).isoformat(), steps=tuple(day.steps),
        left_alone=tuple(_alone(one) for one in running), idle_s={k: round(v, 3) for k, v in day.idle_s.items()},
        pieces_count=day.count,
    )  # fmt: skip


def _day(
    steps: Sequence[ScheduledStep], routes: Sequence[Route], parts: Sequence[OrderedPart], shop: Shop
) -> tuple[int, list[Running]]:
    """The day's number, and what runs on it."""
    shift_s = shop.shift_h * S_PER_H
    ops = {(r.number, op.name): (op, p) for r, p in zip(routes, parts, strict=True) for op in r.ops}
    best: tuple[int, bool, int] = (0, False, 0)
    for number in sorted({int(s.begin_s // shift_s) + more for s in steps if s.kind == "machine" for more in (0, 1)}):
        there = _there(steps, number * shift_s, shift_s)
        has_bench = any(s.kind in ("bench", "blast") and s.begin_s // shift_s == number for s in steps)
        best = max(best, (len(there), has_bench, -number))
    number = -best[2]
    found: list[Running] = []
    for one in sorted(_there(steps, number * shift_s, shift_s), key=lambda s: s.station):
        op, part = ops[one.parts[0], _op_name(one)]
        found.append(
            Running(
                one.station,
                one.parts[0],
                op,
                _pieces_a_cycle(part.plan, op),
                _most(steps, one, number, shift_s),
                part.plan,
            )
        )
    return number, found


def _most(steps: Sequence[ScheduledStep], like: ScheduledStep, number: int, shift_s: float) -> int:
    """Pieces of that operation that the schedule has done in the day."""
    at_s, found = number * shift_s, 0.0
    for one in steps:
        if one.kind == "machine" and one.parts == like.parts and _op_name(one) == _op_name(like):
            shared = min(one.end_s, at_s + shift_s) - max(one.begin_s, at_s)
            found += one.pieces_count * max(0.0, shared) / (one.end_s - one.begin_s)
    return math.ceil(found)


def _there(steps: Sequence[ScheduledStep], at_s: float, shift_s: float) -> list[ScheduledStep]:
    """Machines at work in the first half of a day."""
    return [
        s for s in steps if s.kind == "machine" and s.begin_s <= at_s + S_PER_MIN and s.end_s >= at_s + shift_s / 2.0
    ]


def _op_name(step: ScheduledStep) -> str:
    return step.id.removeprefix(f"{step.parts[0]} ").rsplit(" ", 1)[0]


def _pieces_a_cycle(plan: Plan, op: Op) -> int:
    """Pieces that lie in one cycle and need a hand each."""
    load = plan.load_of(op.clamping_ids[0]) if op.clamping_ids else None
    return 1 if load is None else plan.table_loads[load].pieces_count


class Day:
    """One day, followed only where something ends: persons take what stands longest, else a piece at the bench.

    hands_s: by what is due, seconds of one piece.   coming: by machine, lots and their pieces as they come out.
    """

    def __init__(
        self, running: list[Running], due: list[Due], hands_s: list[float], coming: dict[str, list[tuple[int, int]]],
        shop: Shop,
    ) -> None:  # fmt: skip
        self.running, self.due, self.hands_s = running, due, hands_s
        self.shift_s = shop.shift_h * S_PER_H
        self.allowed_s = min(self.shift_s, shop.spindle_h_per_week / DAYS_A_WEEK * S_PER_H)
        self.free_s = [0.0] * shop.people_count
        self.ready_s, self.ran_s, self.idle_s = ({one.machine_id: 0.0 for one in running} for _ in range(3))
        self.count = {one.machine_id: 0 for one in running}
        self.steps: list[RhythmStep] = []
        self.coming = {machine: [list(lot) for lot in lots] for machine, lots in coming.items()}
        self.came_s = [[0.0] * min(one.there, one.count) for one in due]  # when each piece that is not yet done came
        self.left = [one.count for one in due]
        for number, one in enumerate(due):
            if not one.machine_id and one.after is None:
                self.came_s[number] += [one.come_s] * (one.count - len(self.came_s[number]))
        self.cabinet_free_s = 0.0

    def work(self) -> None:
        """Until the shift is over for everybody."""
        while True:
            person = min(range(len(self.free_s)), key=lambda p: (self.free_s[p], p))
            now = self.free_s[person]
            if now >= self.shift_s:
                return
            left = [one for one in self.running if self._goes_on(one)]
            waiting = [one for one in left if self.ready_s[one.machine_id] <= now + SLACK_S]
            if waiting:
                self._load(person, min(waiting, key=lambda r: (self.ready_s[r.machine_id], r.machine_id)))
                continue
            next_ready = min((self.ready_s[one.machine_id] for one in left), default=self.shift_s)
            others = [free for p, free in enumerate(self.free_s) if p != person]
            number = self._at_hand(now)
            is_free = number is not None and (
                now + self.hands_s[number] <= next_ready + SLACK_S or any(f <= next_ready for f in others) or not left
            )
            if number is not None and is_free:
                self._handle(person, number)
            else:
                comes = min((at for times in self.came_s for at in times if at > now), default=self.shift_s)
                after = (f for f in others if f > now)
                self.free_s[person] = max(now + 1.0, min([next_ready, self.shift_s, comes, *after]))

    def _goes_on(self, one: Running) -> bool:
        machine = one.machine_id
        return self.ran_s[machine] + one.run_s <= self.allowed_s and self.count[machine] < one.most_count

    def _load(self, person: int, work: Running) -> None:
        machine, now = work.machine_id, self.free_s[person]
        self.idle_s[machine] += now - self.ready_s[machine]
        end = now + work.load_s
        is_first = self.count[machine] == 0
        what = "load" if is_first else "unload, blow off, load"
        self.steps.append(_step(person, now, end, f"{what} {work.op.told}", machine, work.number))
        self.ready_s[machine], self.free_s[person] = end + work.run_s, end
        self.ran_s[machine] += work.run_s
        self.count[machine] += work.pieces_count
        if not is_first:
            self._come_out(machine, work.pieces_count, end)
        if not self._goes_on(work):
            self._come_out(machine, work.pieces_count, self.ready_s[machine])

    def _come_out(self, machine: str, pieces_count: int, at_s: float) -> None:
        """Pieces out of a machine, lot by lot, to where they are due."""
        for _ in range(pieces_count):
            lot = next((one for one in self.coming[machine] if one[1] > 0), None)
            if lot is None:
                return
            lot[1] -= 1
            for number, one in enumerate(self.due):
                if one.machine_id == machine and one.lot == lot[0]:
                    self.came_s[number].append(at_s)

    def _at_hand(self, now: float) -> int | None:
        """What is due first and has a piece there."""
        for number, one in enumerate(self.due):
            is_there = any(at <= now + SLACK_S for at in self.came_s[number])
            if self.left[number] > 0 and is_there and (one.kind != "blast" or self.cabinet_free_s <= now):
                return number
        return None

    def _handle(self, person: int, number: int) -> None:
        one, now = self.due[number], self.free_s[person]
        self.came_s[number].remove(min(self.came_s[number]))
        self.left[number] -= 1
        end = now + self.hands_s[number]
        if one.kind == "blast":
            self.cabinet_free_s = end
        what = "blast" if one.kind == "blast" else "gauge, break edges"
        self.steps.append(_step(person, now, end, what, one.station, one.part))
        self.free_s[person] = end
        for follower, other in enumerate(self.due):
            if other.after == one.place:
                self.came_s[follower].append(end)


def _step(person: int, begin_s: float, end_s: float, what: str, station: str, part: str) -> RhythmStep:
    return RhythmStep(
        person=person + 1, begin_s=round(begin_s, 3), end_s=round(end_s, 3), what=what, station=station, part=part,
        into_shift=clock(int(begin_s // S_PER_MIN)),
    )  # fmt: skip


def _alone(one: Running) -> LeftAlone:
    """A cycle is loaded by hand, so its end stops the machine; before that an edge may, if it is used up within it."""
    passes = {p.cutter_id for p in one.plan.passes if p.clamping_id in one.op.clamping_ids}
    edges = [
        (use.pieces_each, use.cutter_id)
        for use in one.plan.cutter_uses
        if use.machine_id == one.machine_id and use.cutter_id in passes and use.pieces_each is not None
    ]
    run_s = one.op.running.low * one.pieces_count
    edge = min(edges, default=None)
    stops = f"the {one.pieces_count} loaded {'piece is' if one.pieces_count == 1 else 'pieces are'} done"
    if edge is not None and edge[0] < one.pieces_count:
        stops = f"{edge[1]} lasts {edge[0]} pieces, fewer than are loaded"
    return LeftAlone(
        machine_id=one.machine_id, part=one.number, clamping_ids=one.op.clamping_ids, pieces_count=one.pieces_count,
        run_s=round(run_s, 3), stops=stops, edge="" if edge is None else edge[1],
        edge_pieces_count=None if edge is None else edge[0],
    )  # fmt: skip
