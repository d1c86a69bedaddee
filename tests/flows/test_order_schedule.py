"""Schedules of orders whose days can be counted by hand, the check of their steps, promises, ways out and rhythm."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import msgspec
import numpy as np
import pytest
from flows.ordered import part_of, steady_shop
from flows.small import SHOP, write_job

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import shop_from_text
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Job
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.plan import Plan
from proveout.model.sawing import SawnBars
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Shop
from proveout.model.stock import Supply
from proveout.model.table_load import TableOption
from proveout.sheets.order_html import marked_order, order_html
from proveout.sheets.schedule_csv import schedule_csv
from proveout.stages.schedule.cases import drawn_at, drawn_case, nominal_case, worst_case
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.decide import bottleneck_of, decide
from proveout.stages.schedule.problem import problem_of
from proveout.stages.schedule.routes import routes_of

MINUTE = 60.0


@pytest.fixture(scope="module")
def shop() -> Shop:
    """Two people of 8 h a day, a mill that runs 30 h of the 40 of a week, no scrap, bars there at once, no days off."""
    return steady_shop()


def supply(low: int | None, high: int | None) -> Supply:
    """Of the bar that the invented plan names."""
    return Supply(what="square-25", supplier="Example Metals", days_low=low, days_high=high)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Job]:
    """An invented plan of one clamping on the 3-axis mill, and the job of the small plate."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    found = example_plan()
    clamping = found.clampings[0]
    level = msgspec.structs.replace(clamping.tilts[0], a_rad=0.0)
    alone = msgspec.structs.replace(clamping, machine_id="mill-3", tilts=(level,))
    job = read_job(write_job(tmp_path_factory.mktemp("ordered")))
    plain = msgspec.structs.replace(
        found, clampings=(alone,), table_loads=(), table_options=(), finish_orders=(), not_cut=(),
        bars=msgspec.structs.replace(found.bars, rack=()),
    )  # fmt: skip
    return plain, job


def named(part: OrderedPart, number: str, *, rides_with: tuple[str, ...] = ()) -> OrderedPart:
    """The part under another number, in one coat load with others."""
    from fixture_finish import finish_orders  # pyright: ignore[reportMissingImports]

    orders = tuple(
        msgspec.structs.replace(one, finisher_id="hard-coat", same_load=rides_with) for one in finish_orders()[:1]
    )
    plan = msgspec.structs.replace(
        part.plan, part=msgspec.structs.replace(part.plan.part, number=number),
        finish_orders=orders if rides_with else (),
    )  # fmt: skip
    return OrderedPart(plan=plan, job=part.job)


@pytest.fixture(scope="module")
def late(planned: tuple[Plan, Job], shop: Shop) -> OrderLoad:
    """Two parts, 40 and 80 pieces, that ride in one coat load, wanted long before they can be there."""
    return decide(parts=riders(planned, due="2026-01-19"), shop=shop)


def riders(planned: tuple[Plan, Job], *, due: str) -> list[OrderedPart]:
    few = part_of(planned, pieces=40, sawn=40, minutes=10.0, due=due, coat=True)
    many = part_of(planned, pieces=80, sawn=80, minutes=30.0, due=due, coat=True)
    return [named(few, "A", rides_with=("B",)), named(many, "B", rides_with=("A",))]


def test_the_days_are_those_of_a_hand_count(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 60 min of setting up and 12 x 31 min at 4 thirds are 556; 36 at the bench: 592 of 480 a day."""
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-01-12", coat=False)
    load = decide(parts=[part], shop=shop)
    schedule = load.schedule
    assert schedule is not None
    assert (schedule.length_s, schedule.bound_s, schedule.status) == (592.0 * MINUTE, 592.0 * MINUTE, "proved")
    assert (schedule.done, schedule.faults, load.verdict) == ("2026-01-06", (), "fits")
    assert schedule.promise.on_time_ratio == 1.0
    assert [s.kind for s in schedule.steps] == ["machine", "bench"]
    assert schedule.steps[0].setup_s == 60.0 * MINUTE


def test_work_waits_for_its_bars(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 3 to 5 days, likely 4, sawn the morning after: on the sixth day, Monday 12; 496 + 36 min to the 13th.

    At best on the fourth day, Thursday 8: 360 min of programs at 4 thirds fill it, the bench ends on Friday 9.
    At worst a day later than likely, the 14th.
    """
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=False)
    load = decide(parts=[part], shop=msgspec.structs.replace(shop, supplies=(supply(3, 5),)))
    schedule = load.schedule
    assert schedule is not None
    assert min(s.day for s in schedule.steps) == "2026-01-12"
    assert (schedule.done_bound, schedule.done, schedule.done_worst) == ("2026-01-09", "2026-01-13", "2026-01-14")
    assert (load.verdict, schedule.faults, schedule.bars_taken_as_there) == ("fits", (), ())
    assert "Bars square-25: ordered on the first day, 3 to 5 working days, sawn from the next morning on" in load.notes
    assert schedule.promise.half_day in {"2026-01-12", "2026-01-13", "2026-01-14"}
    sooner = [msgspec.structs.replace(s, begin_s=s.begin_s - 3 * 8 * 3600.0) for s in schedule.steps]
    assert "begins before its bars can be there" in " ".join(
        step_faults(steps=sooner, parts=[part], names=["EX-102"], shop=msgspec.structs.replace(
            shop, supplies=(supply(3, 5),)
        ))
    )  # fmt: skip
    rack = SawnBars(
        bar_length_mm=500.0, bundle_count=1, times=1, pieces=((30.0, 12),), remnant_mm=0.0, bar_mass_kg=1.0
    )  # fmt: skip
    bars = msgspec.structs.replace(part.plan.bars, rack=(rack,))
    racked = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, bars=bars))
    alone = decide(parts=[racked], shop=msgspec.structs.replace(shop, supplies=(supply(3, 5),))).schedule
    assert alone is not None
    assert min(s.day for s in alone.steps) == "2026-01-05"


def test_set_ups_are_as_far_off_as_the_shop_says(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 60 min of setting up at 0.5 to 3 times, likely 1.5: 30, 90 and 180 min."""
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=False)
    ratio = Fact(low=0.5, nominal=1.5, high=3.0, unit="ratio", source="shop-file", strength="measured here")
    money = msgspec.structs.replace(shop.money, setup_ratio=ratio)
    (route,) = routes_of([part], msgspec.structs.replace(shop, money=money))
    (plain,) = routes_of([part], shop)
    setup = route.ops[0].setup
    assert (setup.low, setup.nominal, setup.high) == (30.0 * MINUTE, 90.0 * MINUTE, 180.0 * MINUTE)
    found = [
        problem_of((route,), shop, "2026-01-05", case).problem.setups for case in (nominal_case(shop), worst_case(shop))
    ]
    before = problem_of((plain,), shop, "2026-01-05", worst_case(shop)).problem.setups
    lengths = [max(one.values()) for one in (before, *found)]
    assert [length / lengths[0] for length in lengths] == [1.0, 1.5, 3.0]
    drawn = {
        max(
            problem_of((route,), shop, "2026-01-05", drawn_case(shop, np.random.default_rng(n))).problem.setups.values()
        )
        for n in range(20)
    }
    assert lengths[0] * 0.5 < min(drawn) < max(drawn) < lengths[2]


def test_bars_of_unknown_days_are_told_and_never_fit(planned: tuple[Plan, Job], shop: Shop) -> None:
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=False)
    for supplies in ((), (supply(3, None),)):
        load = decide(parts=[part], shop=msgspec.structs.replace(shop, supplies=supplies))
        assert load.schedule is not None
        assert (load.verdict, load.schedule.bars_taken_as_there) == ("not shown", ("square-25",))
        assert load.notes[0].startswith("On time once the bars are there, else not shown (from 2026-01-05, due")
        assert any(note.startswith("Bars square-25 are taken as there on the first day") for note in load.notes)
        page = order_html(parts=[(part.plan, "p")], load=load, shop=shop)
        assert "Bars square-25 are taken as there: nobody wrote how many days they take." in page
        assert "Fits by the date" not in page


def test_a_coat_waits_for_its_day_and_comes_back_within_its_days(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: ready on Tuesday, collected on Thursday 8 January, 7 days likely: back in the course of Monday 19.

    At best 6 days, there on the morning of Friday 16, as good as Thursday's evening: due on the 14th is late by a day.
    """
    for due, verdict in (("2026-01-14", "late"), ("2026-01-15", "not shown")):
        load = decide(parts=[part_of(planned, pieces=12, sawn=12, minutes=30.0, due=due, coat=True)], shop=shop)
        assert load.schedule is not None
        away = next(s for s in load.schedule.steps if s.kind == "away")
        assert (away.day, away.end_day, load.schedule.done) == ("2026-01-08", "2026-01-19", "2026-01-19")
        assert (load.schedule.done_bound, load.verdict, load.schedule.faults) == ("2026-01-15", verdict, ())
        assert load.late_days is not None
        assert load.late_days.low == (1.0 if due == "2026-01-14" else 0.0)


def test_parts_of_one_coat_load_leave_together_though_one_is_ready_a_week_sooner(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad
) -> None:
    """worked: A asks 11 min x 40 at 4 thirds, 1.2 days, B 31 x 80, 6.9, set-ups 0.3: 8.4, past Thursday the 15th."""
    assert late.schedule is not None
    away = [s for s in late.schedule.steps if s.kind == "away"]
    assert [(s.parts, s.day) for s in away] == [(("A", "B"), "2026-01-22")]
    ready = {p: max(s.end_s for s in late.schedule.steps if s.kind == "bench" and s.parts == (p,)) for p in "AB"}
    assert min(ready.values()) < 8 * 8 * 3600.0
    assert any("A and B ride in one coat load" in note for note in late.notes)
    alone = decide(parts=[named(one, one.plan.part.number) for one in riders(planned, due="2026-01-19")], shop=shop)
    assert alone.schedule is not None
    days = {s.parts: s.day for s in alone.schedule.steps if s.kind == "away"}
    assert min(days.values()) < "2026-01-22"


def test_lateness_names_the_bottleneck_and_prices_the_ways_out(late: OrderLoad) -> None:
    """Half of the mill's 8.4 days is more than half of the 8 days away."""
    assert (late.verdict, late.bottleneck) == ("late", "mill-3")
    assert late.notes[0].startswith("LATE (from 2026-01-05, due 2026-01-19, 11 working days with both): by ")
    ways = {way.kind: way for way in late.ways_out}
    assert "A and B stay in one coat load, for shade" in ways["split lot"].text
    assert (ways["split lot"].price, ways["split lot"].verdict) == (None, "not enough")
    assert late.schedule is not None
    assert late.schedule.done in ways["a later date"].text


def test_more_lots_pay_minimum_loading_and_freight_once_more(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 48 at 6.50 are 312, two halves pay 300 each: 288 more, and 38 of loading and 45 of freight.

    A first delivery leaves any number for a second lot: at most 300, 38 and 45 more.
    """
    coater = msgspec.structs.replace(next(f for f in shop.finishers if f.id == "hard-coat"), loading_price=38.0)
    part = part_of(planned, pieces=48, sawn=48, minutes=30.0, due="2026-01-19", coat=True)
    load = decide(parts=[part], shop=msgspec.structs.replace(shop, finishers=(coater,)))
    ways = {way.kind: way for way in load.ways_out}
    assert ways["split lot"].price == 371.0
    assert ways["fewer pieces"].price == 383.0


def test_the_bottleneck_is_none_where_nothing_helps() -> None:
    assert bottleneck_of({"mill-3": 0, "people": 0}) == "none"
    assert bottleneck_of({"mill-3": 0, "people": 2, "saw": 2}) == "people"


def test_how_the_hours_were_reckoned_is_said_of_their_table(late: OrderLoad) -> None:
    (how,) = [note for note in late.notes if "sums of hours" in note]
    assert how.startswith("The table of hours: reckoned as sums of hours")


def test_overtime_is_scheduled_and_its_extra_is_not_known(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 48 x 31 min are 24.8 h, 4.3 days of 6 h with set-up; an hour more a day: 25.8 / 7 < 4."""
    part = part_of(planned, pieces=48, sawn=48, minutes=30.0, due="2026-01-08", coat=False)
    load = decide(parts=[part], shop=shop)
    assert load.late_days is not None
    assert load.late_days.nominal > 0.0
    assert load.bottleneck == "mill-3"
    way = next(w for w in load.ways_out if w.kind == "overtime")
    assert (way.hours, way.price, way.verdict) == (4.0, None, "enough")


def test_overtime_is_priced_by_the_extra_that_the_shop_writes(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 4 h late on the mill at 90 an hour, 25 % more: 90; 20 to 50 % are 72 to 180. Hand work goes at 45."""
    extra = Fact(low=0.2, nominal=0.25, high=0.5, unit="ratio", source="shop-file", strength="owner's guess")
    paid = msgspec.structs.replace(shop, overtime_ratio=extra)
    part = part_of(planned, pieces=48, sawn=48, minutes=30.0, due="2026-01-08", coat=False)
    way = next(w for w in decide(parts=[part], shop=paid).ways_out if w.kind == "overtime")
    assert (way.hours, way.price) == (4.0, 90.0)
    assert f"72 to 180 {shop.currency} beyond the ordinary rates" in way.text
    text = SHOP.read_text("utf-8").replace("[people]\n", "[people]\novertime_percent = 25\n")
    read = shop_from_text(text, folder=SHOP.parent).overtime_ratio
    assert read is not None
    assert read.nominal == 0.25


def test_a_second_lot_of_two_parts_pays_its_further_number_and_no_plug_twice(
    planned: tuple[Plan, Job], shop: Shop
) -> None:
    """worked: a second lot at most 300 of minimum, 45 of freight and 12 for the second number; plugs by the piece."""
    one = exact_fact(2.5, "money", "x", "assumed")
    coater = msgspec.structs.replace(
        next(f for f in shop.finishers if f.id == "hard-coat"), further_part_price=12.0, charges_plugs=True,
        plug_price=one, mask_price=one,
    )  # fmt: skip
    wider = msgspec.structs.replace(shop, finishers=(coater,))
    load = decide(parts=riders(planned, due="2026-01-19"), shop=wider)
    ways = {way.kind: way for way in load.ways_out}
    assert ways["fewer pieces"].price == 357.0
    part = part_of(planned, pieces=48, sawn=48, minutes=30.0, due="2026-01-19", coat=True)
    split = next(w for w in decide(parts=[part], shop=wider).ways_out if w.kind == "split lot")
    assert split.price == 333.0  # 2 x 300 less 312, and freight
    assert "plugs and masks go by the piece and cost the same" in split.text


def test_another_machine_is_scheduled_with_its_set_up(planned: tuple[Plan, Job], shop: Shop) -> None:
    """A second mill as dear: what moves costs its set-ups alone, and halves the days."""
    second = msgspec.structs.replace(shop.machines[0], id="mill-4")
    wider = msgspec.structs.replace(shop, machines=(*shop.machines, second))
    part = part_of(planned, pieces=150, sawn=150, minutes=30.0, due="2026-01-15", coat=False)
    load = decide(parts=[part], shop=wider)
    way = next(w for w in load.ways_out if w.kind == "another machine")
    assert way.verdict == "not shown"  # its cutters and vises are not looked at
    assert way.price == pytest.approx(60.0 / 60.0 * 90.0)


def test_a_quicker_way_of_filling_the_table_is_scheduled(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 600 s a piece less for 48 are 8 h, 0.5 dearer each 24; 21 min x 48 x 4 thirds and set-up: 2.97 days."""
    part = part_of(planned, pieces=48, sawn=48, minutes=30.0, due="2026-01-08", coat=False)
    options = (
        TableOption(loads=(), text="one piece of c1", machine_ids=("mill-3",), seconds=1800.0, each=45.0),
        TableOption(
            loads=("2 x c1",), text="2 pieces of c1", machine_ids=("mill-3",), seconds=1200.0, each=45.5,
            why_not="dearer",
        ),
    )  # fmt: skip
    quick = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, table_options=options))
    way = next(
        w for w in decide(parts=[quick], shop=shop).ways_out if w.kind == "several pieces in one clamping"
    )  # fmt: skip
    assert (way.hours, way.price, way.verdict) == (8.0, 24.0, "not shown")


def _earlier(step: ScheduledStep) -> ScheduledStep:
    return msgspec.structs.replace(step, begin_s=step.begin_s - 7200.0, end_s=step.end_s - 7200.0)


def _with(**changed: object) -> Callable[[ScheduledStep], ScheduledStep]:
    return lambda step: msgspec.structs.replace(step, **changed)


MUTATIONS: dict[str, tuple[str, Callable[[ScheduledStep], ScheduledStep]]] = {
    "s and needs": ("machine", lambda s: msgspec.structs.replace(s, end_s=s.begin_s + 60.0)),
    "bench begins before": ("bench", _earlier),
    "pieces do not add up": ("bench", lambda s: msgspec.structs.replace(s, pieces_count=s.pieces_count - 1)),
    "not on 2026-01-02": ("bench", _with(day="2026-01-02")),
    "not on 2026-01-01": ("bench", _with(end_day="2026-01-01")),
    "when nobody collects": ("away", _with(day="2026-01-14")),
    "is back before 6 days": ("away", lambda s: msgspec.structs.replace(s, end_s=s.begin_s + 8 * 3600.0)),
    "are not in one coat load": ("away", _with(parts=("A",))),
    "of a person and needs": ("bench", _with(people_ratio=2.5)),
    "is set up for": ("machine", lambda s: msgspec.structs.replace(s, setup_s=s.setup_s + 60.0)),
    "into the shift, not": ("machine", _with(into_shift="9:59")),
}


@pytest.mark.parametrize("words", sorted(MUTATIONS))
def test_the_check_refuses_steps_that_cannot_be_kept(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad, words: str
) -> None:
    assert late.schedule is not None
    parts = riders(planned, due="2026-01-19")
    steps = late.schedule.steps
    assert step_faults(steps=steps, parts=parts, names=("A", "B"), shop=shop) == ()
    kind, change = MUTATIONS[words]
    for at in [i for i, s in enumerate(steps) if s.kind == kind]:
        changed = (*steps[:at], change(steps[at]), *steps[at + 1 :])
        faults = step_faults(steps=changed, parts=parts, names=("A", "B"), shop=shop)
        assert any(words in fault for fault in faults), steps[at].id


def test_steps_that_swap_machines_time_are_refused_a_thousand_times(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad
) -> None:
    """Two lots of the mill laid on the same time, by seeded draws."""
    assert late.schedule is not None
    parts, steps, rng = riders(planned, due="2026-01-19"), late.schedule.steps, np.random.default_rng(5)
    mill = [i for i, s in enumerate(steps) if s.kind == "machine"]
    for _ in range(1000):
        one, other = (int(i) for i in rng.choice(mill, 2, replace=False))
        moved = msgspec.structs.replace(
            steps[one], begin_s=steps[other].begin_s,
            end_s=steps[other].begin_s + steps[one].end_s - steps[one].begin_s,
        )  # fmt: skip
        changed = (*steps[:one], moved, *steps[one + 1 :])
        faults = step_faults(steps=changed, parts=parts, names=("A", "B"), shop=shop)
        assert any("takes mill-3 before" in fault for fault in faults)


def _said_otherwise(step: ScheduledStep, rng: np.random.Generator) -> ScheduledStep:
    """The step with one thing that it says changed by a drawn amount."""
    what, by = ("people_ratio", "setup_s", "end_day", "day", "end_s", "into_shift")[int(rng.integers(6))], rng.random()
    if what == "people_ratio":
        other = by if abs(by - step.people_ratio) > 0.02 else step.people_ratio + 0.03
        return msgspec.structs.replace(step, people_ratio=other)
    if what == "setup_s":
        return msgspec.structs.replace(step, setup_s=60.0 * int(by * 60) if step.setup_s == 0.0 and by > 0.02 else 7.0)
    if what == "end_s":
        away = 8 * 3600.0 if step.kind == "away" else 0.0
        least = 0.0 if not away else 3 * away
        return msgspec.structs.replace(step, end_s=step.end_s - least - 61.0 - 1000.0 * by)
    if what == "into_shift":
        return msgspec.structs.replace(step, into_shift=f"{step.into_shift}0")
    moved = date.fromisoformat(getattr(step, what)) + timedelta(days=int(by * 9) - 10)
    return msgspec.structs.replace(step, **{what: moved.isoformat()})


def test_steps_that_say_something_else_are_refused_a_thousand_times(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad
) -> None:
    """Shares of a person, set-ups, days, clocks and lengths, by seeded draws of step and amount."""
    assert late.schedule is not None
    parts, steps, rng = riders(planned, due="2026-01-19"), late.schedule.steps, np.random.default_rng(7)
    for _ in range(1000):
        at = int(rng.integers(len(steps)))
        changed = (*steps[:at], _said_otherwise(steps[at], rng), *steps[at + 1 :])
        faults = step_faults(steps=changed, parts=parts, names=("A", "B"), shop=shop)
        assert any(steps[at].id in fault for fault in faults), changed[at]


def test_too_few_people_are_found_though_no_step_says_so(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad
) -> None:
    """Bench work that says it takes nobody still takes one of them, reckoned from the job."""
    assert late.schedule is not None
    alone = msgspec.structs.replace(shop, people_count=1)
    steps = [msgspec.structs.replace(s, people_ratio=0.0) for s in late.schedule.steps]
    faults = step_faults(steps=steps, parts=riders(planned, due="2026-01-19"), names=("A", "B"), shop=alone)
    assert any("people are asked" in fault for fault in faults)


def test_a_promise_is_a_share_of_drawn_cases_and_the_same_every_time(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: collected on the 8th; 6, 7 or 8 days, each drawn as often: back in the course of the 16th, 19th, 20th."""
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-01-16", coat=True)
    schedule = decide(parts=[part], shop=shop).schedule
    again = decide(parts=[part], shop=shop).schedule
    assert schedule == again
    assert schedule is not None
    assert schedule.promise.on_time_ratio == pytest.approx(1.0 / 3.0, abs=0.12)
    assert (schedule.promise.half_day, schedule.promise.nearly_all_day) == ("2026-01-19", "2026-01-20")


def test_two_items_of_one_number_are_told_apart(planned: tuple[Plan, Job], shop: Shop) -> None:
    two = [part_of(planned, pieces=n, sawn=n, minutes=30.0, due="2026-02-16", coat=False) for n in (4, 6)]
    schedule = decide(parts=two, shop=shop).schedule
    assert schedule is not None
    assert schedule.faults == ()
    assert len({part for step in schedule.steps for part in step.parts}) == 2


def test_minutes_of_an_operation_are_drawn_as_well_as_they_are_known(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 20 to 40 min, likely 24: timed here half lie below 40 - sqrt 160, of nobody's knowing half below 30."""
    part = part_of(planned, pieces=12, sawn=12, minutes=24.0, due="", coat=False)
    for strength, half in (("measured here", 40.0 - 160.0**0.5), ("common practice", 30.0)):
        lines = tuple(
            msgspec.structs.replace(
                x, seconds=msgspec.structs.replace(x.seconds, low=1200.0, high=2400.0, strength=strength)
            )
            if x.text.endswith("rough") else x
            for x in part.plan.time.lines
        )  # fmt: skip
        plan = msgspec.structs.replace(part.plan, time=msgspec.structs.replace(part.plan.time, lines=lines))
        (route,) = routes_of([msgspec.structs.replace(part, plan=plan)], shop)
        assert drawn_at(0.5)(route.ops[0].running) == pytest.approx(half * MINUTE)


def test_the_rhythm_loads_gauges_and_says_how_long_a_mill_can_be_left(late: OrderLoad, shop: Shop) -> None:
    assert late.schedule is not None
    rhythm = late.schedule.rhythm
    assert rhythm is not None
    for person in range(1, shop.people_count + 1):
        own = sorted((s for s in rhythm.steps if s.person == person), key=lambda s: s.begin_s)
        assert all(a.end_s <= b.begin_s + 1e-6 for a, b in itertools.pairwise(own))
    loads = [s for s in rhythm.steps if s.station == "mill-3"]
    part = rhythm.left_alone[0].part
    minutes = {"A": 10.0, "B": 30.0}[part]
    gaps = {round(b.begin_s - a.begin_s, 3) for a, b in itertools.pairwise(loads)}
    assert gaps == {(minutes + 1.0) * MINUTE}  # loaded again as soon as it has run
    assert len(loads) == 6 * 60 // minutes  # its share of 30 h a week
    assert rhythm.left_alone[0].run_s == minutes * MINUTE


def test_without_a_first_day_nothing_is_scheduled(planned: tuple[Plan, Job], shop: Shop) -> None:
    part = part_of(planned, pieces=3, sawn=3, minutes=30.0, due="", coat=False)
    undated = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, start=""))
    assert decide(parts=[undated], shop=shop).schedule is None
    dated = decide(parts=[part], shop=shop)
    assert dated.schedule is not None
    assert (dated.verdict, dated.schedule.late_days, dated.schedule.promise.on_time_ratio) == ("not shown", None, None)


def test_the_page_shows_work_and_rhythm_with_every_number_at_an_address(
    planned: tuple[Plan, Job], shop: Shop, late: OrderLoad
) -> None:
    from test_addresses import MARKED, left_over, page_text  # pyright: ignore[reportMissingImports]

    plans = [(one.plan, one.plan.part.number) for one in riders(planned, due="2026-01-19")]
    text = page_text(marked_order(parts=plans, load=late, shop=shop)[0])
    assert len(MARKED.findall(text)) > 100
    assert left_over(text) == []
    page = order_html(parts=plans, load=late, shop=shop)
    for words in ("The work, lot by lot", "The rhythm of a day", "can be left", "Scheduled to be done", "split lot"):
        assert words in page


def test_a_schedule_reads_back(late: OrderLoad, tmp_path: Path) -> None:
    from proveout.jobs.writing import write_schedule
    from proveout.sheets.dates_ics import order_dates

    assert msgspec.json.decode(msgspec.json.encode(late), type=OrderLoad, strict=True) == late
    write_schedule(tmp_path, late)
    assert late.schedule is not None
    rows = (tmp_path / "schedule.csv").read_text("utf-8").splitlines()
    assert len(rows) == 1 + len(late.schedule.steps)
    odd = msgspec.structs.replace(late.schedule.steps[0], parts=("=A",))
    assert ",'=A," in schedule_csv(msgspec.structs.replace(late.schedule, steps=(odd,)))
    dates = order_dates(late, name="two").decode()
    assert "two: A and B at hard-coat" in dates.replace("\r\n ", "")
    assert "two: done by then in 80 % of drawn cases" in dates.replace("\r\n ", "")
    assert dates.count("BEGIN:VEVENT") == 1 + 2 * 2 + 1 + 2 + 1  # first day, mill and bench a part, stay, ends, wanted
