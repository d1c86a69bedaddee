"""An order whose parts have dates of their own: each counts by its own, and the worst of them is named."""

from __future__ import annotations

import msgspec
import pytest
from flows.ordered import lone_plan, part_of, steady_shop

from proveout.model.job import Job
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import Trouble
from proveout.model.shop import Shop
from proveout.sheets.dates_ics import order_dates, replanned_dates
from proveout.sheets.order_html import marked_order, order_html
from proveout.solving.feasible import broken_rules, worth
from proveout.solving.job_shop import solve_shop
from proveout.solving.shop_problem import Ending, ShopProblem, Task, Way
from proveout.stages.schedule.decide import decide
from proveout.stages.schedule.hours import order_load
from proveout.stages.schedule.replan import replan


@pytest.fixture(scope="module")
def shop() -> Shop:
    return steady_shop()


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Job]:
    return lone_plan(tmp_path_factory.mktemp("ordered"))


def order_of(planned: tuple[Plan, Job], *, a_due: str, b_due: str) -> list[OrderedPart]:
    """Two parts of 12 pieces: 60 min of setting up, 496 on the mill, 36 at the bench, each."""
    found: list[OrderedPart] = []
    for number, due in (("A", a_due), ("B", b_due)):
        part = part_of(planned, pieces=12, sawn=12, minutes=30.0, due=due, coat=False)
        renamed = msgspec.structs.replace(part.plan.part, number=number)
        found.append(OrderedPart(plan=msgspec.structs.replace(part.plan, part=renamed), job=part.job))
    return found


@pytest.fixture(scope="module")
def late(planned: tuple[Plan, Job], shop: Shop) -> OrderLoad:
    return decide(parts=order_of(planned, a_due="2026-01-12", b_due="2026-01-05"), shop=shop)


def test_each_part_is_in_time_by_its_own_date(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: 592 min are done on the second day, both on the third (1148 of 480): B is wanted on the second, A later.

    By the earliest date for both the order would be late by 188 min.
    """
    load = decide(parts=order_of(planned, a_due="2026-01-12", b_due="2026-01-06"), shop=shop)
    schedule = load.schedule
    assert schedule is not None
    assert (load.verdict, schedule.faults, load.ways_out) == ("fits", (), ())
    assert [(p.part, p.due, p.done) for p in schedule.parts] == [
        ("A", "2026-01-12", "2026-01-07"), ("B", "2026-01-06", "2026-01-06")
    ]  # fmt: skip
    assert [p.on_time_ratio for p in schedule.parts] == [1.0, 1.0]
    assert schedule.promise.on_time_ratio == 1.0
    assert (schedule.late_part, schedule.late_bound_days) == ("B", pytest.approx((592 - 960) / 480, abs=1e-3))
    assert load.late_days is not None
    assert load.late_days.nominal == pytest.approx((592 - 960) / 480, abs=1e-3)
    assert load.notes[0].startswith(
        "On time (from 2026-01-05, due 2026-01-06 for B, 2 working days with both; due 2026-01-12 for A, 6 working "
        "days with both): even at the worst ends, B, worst against its own date, 0 working days are left"
    )


def test_late_by_the_worst_of_them_which_is_named(late: OrderLoad) -> None:
    """worked: B ends at 592 min and is wanted at 480: 0.2333 days late; at best 480 on the mill and 36 at the bench."""
    schedule = late.schedule
    assert schedule is not None
    assert (late.verdict, schedule.late_part) == ("late", "B")
    assert late.late_days is not None
    assert late.late_days.nominal == pytest.approx(112 / 480, abs=1e-3)
    assert late.notes[0].split("): ")[1].startswith("B, worst against its own date, by 1 working days")
    own = {p.part: p for p in schedule.parts}
    assert (own["A"].late_days < 0.0, own["B"].late_days) == (True, pytest.approx(112 / 480, abs=1e-3))
    assert (schedule.promise.on_time_ratio, own["A"].on_time_ratio, own["B"].on_time_ratio) == (0.0, 1.0, 0.0)
    ways = {way.kind: way for way in late.ways_out}
    assert ways["a later date"].text == "later dates: B 2026-01-06 as scheduled, 2026-01-06 at the worst ends"
    assert ways["overtime"].text.endswith(("past its date", "every part by its own date"))


def test_hours_are_held_against_each_date(planned: tuple[Plan, Job], shop: Shop) -> None:
    """worked: the mill asks 7.2 h a part, 6 and 1 h of set-up: 6.2 / 30 x 5 + 1 / 8 is 1.158 days, and 2.317 for both.

    Due on the third day both are early by 0.683 and B, wanted on the first, is late by 0.158.
    """
    load = order_load(parts=order_of(planned, a_due="2026-01-07", b_due="2026-01-05"), shop=shop)
    mill = next(s for s in load.stations if s.station == "mill-3")
    assert mill.late_days is not None
    assert (mill.due, mill.late_days.nominal) == ("2026-01-05", pytest.approx(0.158, abs=1e-3))
    assert mill.days_needed.nominal == pytest.approx(2.317, abs=1e-3)
    both = order_load(parts=order_of(planned, a_due="2026-01-05", b_due="2026-01-05"), shop=shop)
    mill = next(s for s in both.stations if s.station == "mill-3")
    assert mill.late_days is not None
    assert mill.late_days.nominal == pytest.approx(1.317, abs=1e-3)


def test_a_part_without_a_date_is_never_late(planned: tuple[Plan, Job], shop: Shop) -> None:
    load = decide(parts=order_of(planned, a_due="", b_due="2026-01-06"), shop=shop)
    assert load.schedule is not None
    assert (load.verdict, [p.part for p in load.schedule.parts]) == ("fits", ["B"])


def test_page_and_dates_name_each_part_with_its_date(planned: tuple[Plan, Job], shop: Shop, late: OrderLoad) -> None:
    from test_addresses import left_over, page_text  # pyright: ignore[reportMissingImports]

    plans = [(p.plan, p.plan.part.number) for p in order_of(planned, a_due="2026-01-12", b_due="2026-01-05")]
    page = order_html(parts=plans, load=late, shop=shop)
    assert "A part is late by its own date" in page
    for words in ("Wanted B 2026-01-05, A 2026-01-12.", "for B, the worst against its own date", "Each part against"):
        assert words in page
    assert left_over(page_text(marked_order(parts=plans, load=late, shop=shop)[0])) == []
    dates = order_dates(late, name="two").decode().replace("\r\n ", "")
    assert "two: B wanted - LATE" in dates
    assert "two: A wanted - in time as scheduled" in dates


def test_a_bad_morning_keeps_each_part_within_its_own_date(planned: tuple[Plan, Job], shop: Shop) -> None:
    """B, wanted on the third day, stays in time though letting it slip would move less."""
    parts = order_of(planned, a_due="2026-01-12", b_due="2026-01-06")
    load = decide(parts=parts, shop=shop)
    assert load.schedule is not None
    trouble = Trouble(at="2026-01-06", down_days={"mill-3": 1})
    found = replan(parts=parts, shop=shop, start=load.start, schedule=load.schedule, trouble=trouble)
    assert (found.late_part, found.faults) == ("B", ())
    assert found.late_days == pytest.approx((592 + 480 - 960) / 480, abs=1e-3)
    assert "B 0.2 working days past its date" in found.notes[0]
    dates = replanned_dates(found, start=load.start, due=load.due, name="two", dues=load.dues).decode()
    assert "two: B wanted - LATE at nominal values" in dates.replace("\r\n ", "")


def test_the_worst_ending_is_brought_as_low_as_can_be() -> None:
    """worked: 4 steps due at 12, 3 due at 4, one machine: 3 first, so that none is late; the last may end at 7.

    Counted from 12: 3 - 4 + 12 = 11 against 7 - 12 + 12 = 7. With the second at latest 2 it cannot be.
    """
    tasks = tuple(Task(ways=(Way(machine=0, duration=n),)) for n in (4, 3))
    endings = (Ending(tasks=(0,), due=12), Ending(tasks=(1,), due=4))
    problem = ShopProblem(machines_count=1, tasks=tasks, endings=endings)
    found = solve_shop(problem, objective="most late")
    assert (found.value, found.bound, found.status) == (11, 11, "proved")
    assert worth(problem, found.slots, "most late") == 11
    assert found.slots[1].start == 0
    held = msgspec.structs.replace(problem, endings=(endings[0], Ending(tasks=(1,), due=4, latest=2)))
    assert solve_shop(held, objective="most late").status == "cannot"
    assert any("the latest for it" in fault for fault in broken_rules(held, found.slots))
