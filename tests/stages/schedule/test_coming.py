"""When pieces are at the bench on one day: never before they are out of their machine, counted piece by piece."""

from __future__ import annotations

import itertools
from types import SimpleNamespace
from typing import Any

import pytest

from proveout.model.fact import exact_fact
from proveout.model.schedule import RhythmStep, ScheduledStep, StepKind
from proveout.stages.schedule.coming import due_on, lots_coming_out, pieces_done
from proveout.stages.schedule.rhythm import Day, Running
from proveout.stages.schedule.routes import Op

SHIFT_S = 8 * 3600.0
RUN_S, LOAD_S, GAUGE_S, BLAST_S = 540.0, 60.0, 120.0, 90.0
CYCLE_S = RUN_S + LOAD_S  # ten minutes a piece


def step(kind: StepKind, station: str, lot: int, pieces: int, begin_s: float, end_s: float) -> ScheduledStep:
    name = {"machine": "op", "bench": "bench", "blast": "blast"}[kind]
    return ScheduledStep(
        id=f"A {name} {lot}", kind=kind, parts=("A",), what="", station=station, lot=lot, pieces_count=pieces,
        begin_s=begin_s, end_s=end_s, setup_s=0.0, people_ratio=1.0, day="", end_day="", into_shift="",
    )  # fmt: skip


# A lot of 40 on the mill from two hours before the second day to its middle, then gauged and blasted as one lot.
MILL = step("machine", "mill", 2, 40, SHIFT_S - 12 * CYCLE_S, SHIFT_S + 28 * CYCLE_S)
BENCH = step("bench", "bench", 2, 40, MILL.end_s, MILL.end_s + 40 * GAUGE_S)
CABINET = step("blast", "cabinet", 2, 40, BENCH.end_s, BENCH.end_s + 40 * BLAST_S)
STEPS = (MILL, BENCH, CABINET)
RUNNING = {("mill", "A op")}


def day_of(steps: tuple[ScheduledStep, ...], *, people: int = 2) -> list[RhythmStep]:
    """The second day as the persons go through it."""
    seconds = {"op": exact_fact(RUN_S, "s", "x", "assumed"), "hand": exact_fact(LOAD_S, "s", "x", "assumed")}
    op: Any = SimpleNamespace(name="op", told="op 1", running=seconds["op"], by_hand=seconds["hand"])
    typed: Op = op
    plan: Any = None
    running = [Running("mill", "A", typed, 1, 28, plan)]
    due = due_on(steps, at_s=SHIFT_S, shift_s=SHIFT_S, running=RUNNING)
    hands = [GAUGE_S if one.kind == "bench" else BLAST_S for one in due]
    coming = {"mill": lots_coming_out(steps, station="mill", name="A op", at_s=SHIFT_S, shift_s=SHIFT_S)}
    shop: Any = SimpleNamespace(shift_h=8.0, spindle_h_per_week=40.0, people_count=people)
    day = Day(running, due, hands, coming, shop)
    day.work()
    return day.steps


def test_what_the_mill_made_the_day_before_is_there_and_the_rest_comes_out_of_it() -> None:
    """worked: 12 of 40 pieces are made when the day begins; the cabinet has none until the bench gives them."""
    bench, cabinet = due_on(STEPS, at_s=SHIFT_S, shift_s=SHIFT_S, running=RUNNING)
    assert (bench.count, bench.there, bench.machine_id) == (40, 12, "mill")
    assert (cabinet.count, cabinet.there, cabinet.after) == (40, 0, 1)
    assert lots_coming_out(STEPS, station="mill", name="A op", at_s=SHIFT_S, shift_s=SHIFT_S) == [(2, 28)]


def test_a_lot_of_a_machine_that_is_not_followed_comes_when_the_schedule_has_it() -> None:
    (bench, _) = due_on(STEPS, at_s=SHIFT_S, shift_s=SHIFT_S, running=set())
    assert (bench.there, bench.come_s) == (0, MILL.end_s - SHIFT_S)


def test_a_lot_that_was_begun_goes_on_with_what_is_left() -> None:
    """worked: ten of forty gauged when the day begins leave thirty, which are all there."""
    begun = step("bench", "bench", 1, 40, SHIFT_S - 10 * GAUGE_S, SHIFT_S + 30 * GAUGE_S)
    before = step("machine", "mill", 1, 40, 0.0, begun.begin_s)
    (bench,) = due_on((before, begun), at_s=SHIFT_S, shift_s=SHIFT_S, running=RUNNING)
    assert (bench.count, bench.there) == (30, 30)
    assert pieces_done(begun, SHIFT_S) == 10


@pytest.mark.parametrize("people", [1, 2, 3])
def test_no_piece_is_gauged_before_it_is_out_nor_blasted_before_it_is_gauged(people: int) -> None:
    steps = day_of(STEPS, people=people)
    loads = sorted((one for one in steps if one.station == "mill"), key=lambda s: s.begin_s)
    out = sorted([*(one.end_s for one in loads[1:]), loads[-1].end_s + RUN_S])
    gauged = sorted(one.begin_s for one in steps if one.station == "bench")
    done = sorted(one.end_s for one in steps if one.station == "bench")
    blasted = sorted(one.begin_s for one in steps if one.station == "cabinet")
    assert len(loads) == 28
    assert len(gauged) == len(blasted) == 40
    for number, begin_s in enumerate(gauged):
        made = 12 + sum(at <= begin_s + 1e-6 for at in out)
        assert number + 1 <= made
    for number, begin_s in enumerate(blasted):
        assert number + 1 <= sum(at <= begin_s + 1e-6 for at in done)


def test_nobody_is_at_two_places_and_the_cabinet_holds_one() -> None:
    steps = day_of(STEPS)
    for own in (
        [one for one in steps if one.person == 1], [one for one in steps if one.person == 2],
        [one for one in steps if one.station == "cabinet"],
    ):  # fmt: skip
        ordered = sorted(own, key=lambda s: s.begin_s)
        assert all(a.end_s <= b.begin_s + 1e-6 for a, b in itertools.pairwise(ordered))
