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
from proveout.stages.schedule.problem import Made, date_of
from proveout.stages.schedule.routes import Op, Route
from proveout.stages.schedule.steps import clock


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


class Bench(NamedTuple):
    """One piece that is due at the bench or the cabinet."""

    kind: str
    station: str
    number: str
    seconds: float


def rhythm_of(
    *, steps: Sequence[ScheduledStep], routes: Sequence[Route], parts: Sequence[OrderedPart], shop: Shop, made: Made
) -> DayRhythm | None:  # fmt: skip
    """The first day on which the most machines run from its beginning; None when none runs.

    No more pieces are loaded than the schedule has done that day. Each machine is loaded as soon as a person is free,
    the one that has stood longest first. Nobody begins a piece at the bench that would keep a machine waiting when
    another person is not free for it. A machine stops for the day once it has run its share of the week's spindle
    hours.
    """
    number, running, bench = _day(steps, routes, parts, shop)
    if not running:
        return None
    done, idle, count = _simulated(running, bench, shop)
    return DayRhythm(
        day=date_of(made, number * made.day_min).isoformat(), steps=tuple(done),
        left_alone=tuple(_alone(one) for one in running), idle_s=idle, pieces_count=count,
    )  # fmt: skip


def _day(
    steps: Sequence[ScheduledStep], routes: Sequence[Route], parts: Sequence[OrderedPart], shop: Shop
) -> tuple[int, list[Running], list[Bench]]:
    """The day's number, what runs on it, and the pieces that are due at the bench and the cabinet."""
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
    bench = [
        Bench(one.kind, one.station, one.parts[0], ops[one.parts[0], _op_name(one)][0].by_hand.nominal)
        for one in steps
        if one.kind in ("bench", "blast") and one.begin_s // shift_s == number
        for _ in range(one.pieces_count)
    ]
    return number, found, bench


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


def _simulated(
    running: list[Running], due: list[Bench], shop: Shop
) -> tuple[list[RhythmStep], dict[str, float], dict[str, int]]:
    """Second by second only where something ends: persons take what stands longest, else a piece at the bench."""
    shift_s = shop.shift_h * S_PER_H
    allowed_s = min(shift_s, shop.spindle_h_per_week / DAYS_A_WEEK * S_PER_H)
    free = [0.0] * shop.people_count
    ready = {one.machine_id: 0.0 for one in running}
    ran = {one.machine_id: 0.0 for one in running}
    idle = {one.machine_id: 0.0 for one in running}
    count = {one.machine_id: 0 for one in running}
    bench = list(due)
    steps: list[RhythmStep] = []
    cabinet_free_s = 0.0
    while True:
        person = min(range(len(free)), key=lambda p: (free[p], p))
        now = free[person]
        if now >= shift_s:
            return steps, {k: round(v, 3) for k, v in idle.items()}, count
        left = [r for r in running if ran[r.machine_id] + r.run_s <= allowed_s and count[r.machine_id] < r.most_count]
        waiting = [r for r in left if ready[r.machine_id] <= now + 1e-9]
        if waiting:
            work = min(waiting, key=lambda r: (ready[r.machine_id], r.machine_id))
            machine = work.machine_id
            idle[machine] += now - ready[machine]
            end = now + work.load_s
            what = "load" if count[machine] == 0 else "unload, blow off, load"
            steps.append(_step(person, now, end, f"{what} {work.op.name}", machine, work.number))
            ready[machine], free[person] = end + work.run_s, end
            ran[machine] += work.run_s
            count[machine] += work.pieces_count
            continue
        next_ready = min((ready[r.machine_id] for r in left), default=shift_s)
        others = [f for p, f in enumerate(free) if p != person]
        one = next((b for b in bench if b.kind != "blast" or cabinet_free_s <= now), None)
        if one and (now + one.seconds <= next_ready + 1e-9 or any(f <= next_ready for f in others) or not left):
            bench.remove(one)
            end = now + one.seconds
            cabinet_free_s = end if one.kind == "blast" else cabinet_free_s
            what = "blast" if one.kind == "blast" else "gauge, break edges"
            steps.append(_step(person, now, end, what, one.station, one.number))
            free[person] = end
        else:
            free[person] = max(now + 1.0, min([next_ready, shift_s, *(f for f in others if f > now)]))


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
