"""Days off of the shop and of a finisher: working days, schedule, promise, dates and a replanned order know them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import msgspec
import pytest
from flows.ordered import lone_plan, part_of, steady_shop
from flows.small import SHOP

from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import understood
from proveout.model.closed_days import closed_dates
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.schedule import OrderSchedule, Trouble
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.sheets.dates_ics import order_dates
from proveout.sheets.order_html import order_html
from proveout.solving.feasible import broken_rules
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import NO_MACHINE, ShopProblem, Task, Way
from proveout.stages.schedule.calendar import day_after, days_until, working_days
from proveout.stages.schedule.checking import step_faults
from proveout.stages.schedule.decide import decide
from proveout.stages.schedule.replan import replan


@pytest.fixture(scope="module")
def shop() -> Shop:
    return steady_shop()


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Job]:
    return lone_plan(tmp_path_factory.mktemp("ordered"))


def off(shop: Shop, *days: str, there: tuple[str, ...] | None = None) -> Shop:
    """The shop with days off, and those of its finishers."""
    finishers = tuple(msgspec.structs.replace(f, closed=there) for f in shop.finishers)
    return msgspec.structs.replace(shop, closed=days, finishers=finishers)


def scheduled(planned: tuple[Plan, Job], shop: Shop, *, due: str, coat: bool) -> OrderSchedule:
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due=due, coat=coat)
    load = decide(parts=[part], shop=shop)
    assert load.schedule is not None
    assert load.schedule.faults == ()
    return load.schedule


def test_days_off_are_no_working_days() -> None:
    """worked: 2026-12-21 is a Monday; the 24th, 25th, 28th to 31st and 1st are off: 3 days, then Monday the 4th."""
    closed = closed_dates(("2026-12-24", "2026-12-25..2027-01-02"))
    monday = date(2026, 12, 21)
    assert len(closed) == 10
    assert working_days(monday, date(2027, 1, 5), closed) == 4
    assert working_days(monday, date(2027, 1, 5)) == 11
    assert [day_after(monday, n, closed).isoformat() for n in (0, 2, 3, 4)] == [
        "2026-12-21", "2026-12-23", "2027-01-04", "2027-01-05"
    ]  # fmt: skip
    assert days_until(monday, date(2026, 12, 31), closed) == 3
    assert days_until(date(2027, 1, 4), date(2026, 12, 23), closed) == 0


def test_work_stands_still_on_a_day_off(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 592 min of 480 a day from Monday the 5th: with Tuesday off done on Wednesday, on the second day."""
    closed = scheduled(planned, off(shop, "2026-01-06"), due="2026-01-07", coat=False)
    assert (closed.done, closed.length_s, closed.parts[0].late_days) == ("2026-01-07", 592 * 60.0, -0.7667)
    assert closed.promise.most_day == "2026-01-07"
    assert {s.day for s in closed.steps} == {"2026-01-05", "2026-01-07"}
    first = scheduled(planned, off(shop, "2026-01-05"), due="2026-01-07", coat=False)
    assert min(s.day for s in first.steps) == "2026-01-06"


@pytest.mark.parametrize(
    ("here", "there", "left", "back"),
    [
        ((), (), "2026-01-08", "2026-01-19"),
        ((), ("2026-01-12",), "2026-01-08", "2026-01-20"),  # a day longer there
        ((), ("2026-01-08",), "2026-01-15", "2026-01-26"),  # nobody collects
        (("2026-01-12",), (), "2026-01-08", "2026-01-19"),  # they work on
        (("2026-01-12",), None, "2026-01-08", "2026-01-20"),  # not known: as here
        (("2026-01-19",), (), "2026-01-08", "2026-01-20"),  # nobody is here to take it in
    ],
)
def test_a_stay_outside_counts_their_days_and_ours(
    planned: tuple[Plan, Job], shop: Shop, here: tuple[str, ...], there: tuple[str, ...] | None, left: str, back: str
) -> None:
    """worked: ready on Tuesday the 6th, collected on Thursdays, 7 of their days likely."""
    schedule = scheduled(planned, off(shop, *here, there=there), due="2026-02-16", coat=True)
    away = next(s for s in schedule.steps if s.kind == "away")
    assert (away.day, away.end_day, schedule.done) == (left, back, back)


def test_the_best_ends_let_an_unknown_finisher_work_on_our_days_off(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 6 days at best from Thursday the 8th are over on the morning of Friday 16, whatever is closed here."""
    for there, bound in ((None, "2026-01-15"), (("2026-01-13",), "2026-01-16")):
        schedule = scheduled(planned, off(shop, "2026-01-13", there=there), due="2026-02-16", coat=True)
        assert schedule.done_bound == bound
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=True)
    said = "Days off of hard-coat are not known: taken as those of the shop file, at the best ends as none"
    assert said in decide(parts=[part], shop=off(shop, "2026-01-13")).notes
    assert said not in decide(parts=[part], shop=off(shop, "2026-01-13", there=())).notes
    nobody_asked = msgspec.structs.replace(shop, closed=None)
    assert any("holidays are not known" in note for note in decide(parts=[part], shop=nobody_asked).notes)
    assert not any("holidays are not" in note for note in decide(parts=[part], shop=off(shop)).notes)


@pytest.mark.parametrize(
    ("here", "there", "coat", "lacks"),
    [
        ((), (), True, ()),
        ((), None, False, ()),  # nothing goes there
        (None, (), True, ("days off here are not known and taken as none: write closed into [calendar]",)),
        ((), None, True, ("days off of hard-coat are not known: write closed into its [[finisher]]",)),
        (None, None, True, ("days off here are not known", "days off of hard-coat are not known")),
    ],
)
def test_without_the_days_off_no_order_fits(
    planned: tuple[Plan, Job], shop: Shop, *, here: tuple[str, ...] | None, there: tuple[str, ...] | None, coat: bool,
    lacks: tuple[str, ...],
) -> None:  # fmt: skip
    """Weeks before its date even at the worst ends; whether a week between is closed nobody wrote."""
    finishers = tuple(msgspec.structs.replace(f, closed=there) for f in shop.finishers)
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=coat)
    asked = msgspec.structs.replace(shop, closed=here, finishers=finishers)
    load = decide(parts=[part], shop=asked)
    assert load.schedule is not None
    assert load.verdict == ("not shown" if lacks else "fits")
    assert len(load.schedule.unknown) == len(lacks)
    top = order_html(parts=[(part.plan, "p")], load=load, shop=asked).split("<main>", maxsplit=1)[0]
    assert top.count("write closed into") == len(lacks)
    for said, lack in zip(load.schedule.unknown, lacks, strict=True):
        assert said.startswith(lack)
        assert said in load.notes[0]
    assert load.notes[0].startswith("On time: not shown (" if lacks else "On time (")


def test_an_order_that_is_late_anyway_stays_late_without_them(planned: tuple[Plan, Job], shop: Shop) -> None:
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-01-12", coat=True)
    assert decide(parts=[part], shop=msgspec.structs.replace(shop, closed=None)).verdict == "late"


def test_what_a_plan_does_not_make_is_in_no_minutes_and_never_fits(planned: tuple[Plan, Job], shop: Shop) -> None:
    """Faces that no pass makes, and a part that nothing holds beside one that is planned."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=False)
    left = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, not_cut=example_plan().not_cut))
    loose = msgspec.structs.replace(part, plan=msgspec.structs.replace(part.plan, clampings=()))
    for parts, word in (([left], "no pass makes"), ([part, loose], "nothing holds it")):
        load = decide(parts=parts, shop=shop)
        assert (load.verdict, word in load.notes[0]) == ("not shown", True)


def test_a_finisher_who_never_collects_is_told_and_not_scheduled(planned: tuple[Plan, Job], shop: Shop) -> None:
    """Collected on Thursdays; each Thursday of three years is a day off there, or here."""
    thursdays = tuple((date(2026, 1, 1) + timedelta(days=7 * n)).isoformat() for n in range(160))
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=True)
    for other in (off(shop, there=thursdays), off(shop, *thursdays, there=()), off(shop, *thursdays)):
        load = decide(parts=[part], shop=other)
        assert (load.verdict, load.schedule) == ("not shown", None)
        assert load.notes[0].startswith("On time: not shown (from 2026-01-05, due 2026-02-16")
        assert "hard-coat never collects: from 2026-01-05 on each Thursday of 104 weeks is a day off" in load.notes[0]
        assert "never collects: from 2026-01-05 on each Thursday" in order_html(
            parts=[(part.plan, "p")], load=load, shop=other
        )
    assert decide(parts=[part], shop=off(shop, there=thursdays[:20])).schedule is not None


def test_a_finisher_who_collects_at_weekends_alone_is_refused() -> None:
    text = Path(SHOP).read_text("utf-8")
    assert 'pickup = ["Thu"]' in text
    for days in ('["Sat"]', '["Sat", "Sun"]'):
        with pytest.raises(BadInput, match="collects at weekends alone"):
            shop_from_text(text.replace('pickup = ["Thu"]', f"pickup = {days}"), folder=Path(SHOP).parent)
    both = shop_from_text(text.replace('pickup = ["Thu"]', 'pickup = ["Thu", "Sat"]'), folder=Path(SHOP).parent)
    assert any(finisher.pickup_weekdays == (3, 5) for finisher in both.finishers)


def test_the_check_refuses_what_falls_on_days_off(planned: tuple[Plan, Job], shop: Shop) -> None:
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=True)
    steps = scheduled(planned, shop, due="2026-02-16", coat=True).steps

    def faults(other: Shop) -> str:
        return " ".join(step_faults(steps=steps, parts=[part], names=("EX-102",), shop=other))

    assert faults(shop) == ""
    assert "begins on 2026-01-07, not on 2026-01-06" in faults(off(shop, "2026-01-06", there=()))
    assert "leaves on 2026-01-08, a day off there" in faults(off(shop, there=("2026-01-08",)))
    assert "is back before 6 days" in faults(off(shop, there=("2026-01-09", "2026-01-12..2026-01-14")))


def test_the_check_refuses_more_people_than_there_are(planned: tuple[Plan, Job], shop: Shop) -> None:
    """The same work with nobody there: whoever loads, sets up or breaks edges is one too many."""
    schedule = scheduled(planned, shop, due="2026-02-16", coat=False)
    nobody = msgspec.structs.replace(shop, people_count=0)
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=False)
    faults = step_faults(steps=schedule.steps, parts=[part], names=("EX-102",), shop=nobody)
    assert any("there are 0" in fault for fault in faults), faults


def test_a_replanned_order_counts_the_same_days(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: the mill ends the first day's work on the morning of the 7th; a day of standing then moves it to the 8th.

    What goes out moves from Thursday the 8th by a week, and is a day longer there.
    """
    closed = off(shop, "2026-01-06", there=("2026-01-20",))
    part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due="2026-02-16", coat=True)
    load = decide(parts=[part], shop=closed)
    assert load.schedule is not None
    assert next(s.day for s in load.schedule.steps if s.kind == "away") == "2026-01-08"
    trouble = Trouble(at="2026-01-07", down_days={"mill-3": 1})
    found = replan(parts=[part], shop=closed, start=load.start, schedule=load.schedule, trouble=trouble)
    away = next(s for s in found.steps if s.kind == "away")
    assert (found.faults, away.day, away.end_day) == ((), "2026-01-15", "2026-01-27")
    dates = order_dates(load, name="one").decode().replace("\r\n ", "")
    assert "one: done as scheduled\r\nDTSTART;VALUE=DATE:20260119" in dates


def test_what_lasts_by_its_start_is_scheduled_so() -> None:
    """worked: 9 steps from 0 on, 2 from 5 on: done at 7; before 5 is over nothing can begin with a release of 6."""
    task = Task(ways=(Way(machine=NO_MACHINE, duration=2),), starts=(0, 5), lasts=(9, 2))
    problem = ShopProblem(machines_count=1, tasks=(task,))
    found = solve_shop(problem, objective="makespan")
    assert (found.value, found.slots[0].start, broken_rules(problem, found.slots)) == (7, 5, ())
    early = msgspec.structs.replace(found.slots[0], start=0, end=2)
    assert broken_rules(problem, (early,)) == ("task 0 takes 2 and needs 9",)


def test_days_off_are_read_and_said_and_what_is_no_day_is_refused() -> None:
    text = Path(SHOP).read_text("utf-8")
    assert any("Holidays are not known" in line for line in understood(read_shop(SHOP)))
    days = '["2026-12-24", "2026-12-25..2027-01-02"]'
    read = shop_from_text(f"{text}\n[calendar]\nclosed = {days}\n", folder=Path(SHOP).parent)
    assert read.closed == ("2026-12-24", "2026-12-25..2027-01-02")
    assert any("Closed 2026-12-24" in line for line in understood(read))
    for wrong in ("2026-13-01", "2027-01-02..2026-12-25", "2026-01-01..2028-01-01", "Christmas"):
        with pytest.raises(BadInput, match="no day and no span"):
            shop_from_text(f'{text}\n[calendar]\nclosed = ["{wrong}"]\n', folder=Path(SHOP).parent)
