"""The schedule of an order as a calendar: to scale, every lot in its own place, dates that the plan has."""

from __future__ import annotations

import re

import msgspec
import pytest
from test_addresses import left_over, page_text
from test_order_page import load_of, sawing_of
from test_page import read

from proveout.model.fact import exact_fact
from proveout.model.order import OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import OrderSchedule, Promise, ScheduledStep
from proveout.model.shop import Shop
from proveout.sheets.calendar_picture import LEFT_MM, RIGHT_MM, WIDTH_MM, lanes_of
from proveout.sheets.order_html import order_body, order_html

DAY_S = 8 * 3600.0


def step(
    station: str, part: str, begin_h: float, end_h: float, *, day: str, setup_h: float = 0.0, more: tuple[str, ...] = ()
) -> ScheduledStep:
    return ScheduledStep(
        id=f"{part} {station} {begin_h}", kind="machine", parts=(part, *more), what="a lot", station=station, lot=1,
        pieces_count=10, begin_s=begin_h * 3600.0, end_s=end_h * 3600.0, setup_s=setup_h * 3600.0, people_ratio=1.0,
        day=day, end_day=day, into_shift="0:00",
    )  # fmt: skip


STEPS = (
    step("saw", "EX-1", 1.0, 2.0, day="2026-03-02", setup_h=1.0),
    step("mill3", "EX-1", 2.0, 10.0, day="2026-03-02"),
    step("bench", "EX-1", 10.0, 12.0, day="2026-03-03"),
    step("bench", "EX-2", 11.0, 13.0, day="2026-03-03"),
    step("coat-house", "EX-1", 16.0, 40.0, day="2026-03-04", more=("EX-2",)),
)


def planned(steps: tuple[ScheduledStep, ...] = STEPS) -> OrderLoad:
    promise = Promise(
        draws_count=100, seed=1, on_time_ratio=0.5, half_day="2026-03-06", most_day="2026-03-09",
        nearly_all_day="2026-03-10",
    )  # fmt: skip
    schedule = OrderSchedule(
        steps=steps, done="2026-03-06", done_bound="2026-03-05", done_worst="2026-03-10", length_s=40 * 3600.0,
        bound_s=39 * 3600.0, gap_ratio=0.025, status="not proved", seed=1, work_limit=1.0,
        late_days=exact_fact(1.0, "working days", "x", "assumed"), bottleneck="mill3", gains_s={}, promise=promise,
        rhythm=None, faults=(), notes=(),
    )  # fmt: skip
    return msgspec.structs.replace(load_of("late"), schedule=schedule)


def boxes(page: str) -> list[tuple[float, float, float, str]]:
    """Left, right and top of each filled bar of the calendar, with its filling."""
    svg = re.search(r'<svg[^>]*aria-labelledby="tcalendar".*?</svg>', page, re.DOTALL)
    assert svg
    found = []
    for d, fill in re.findall(r'<path d="M([^"]*)Z" fill="([^"]*)" stroke="#000" stroke-width="0.25"', svg.group(0)):
        points = [tuple(float(v) for v in point.split()) for point in d.split("L")]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        found.append((min(xs), max(xs), min(ys), fill))
    return found


def test_bars_lie_where_their_hours_are(plan: Plan, shop: Shop) -> None:
    """worked: 40 h are five days of eight; the mill's lot from hour 2 to 10 is a fifth of the width."""
    page, _ = order_body(parts=[(plan, "/parts/o:EX-102")], load=planned(), shop=shop)
    wide = WIDTH_MM - LEFT_MM - RIGHT_MM
    want = [
        (LEFT_MM + s.begin_s / (5 * DAY_S) * wide, LEFT_MM + s.end_s / (5 * DAY_S) * wide) for s in STEPS
    ]  # fmt: skip
    bars = boxes(page)[: len(STEPS)]
    assert [(x, end) for x, end, _, _ in bars] == [pytest.approx(one, abs=0.02) for one in want]
    fills = [fill for *_, fill in bars]
    assert fills[0] == fills[1] != fills[3]


def test_lots_at_one_station_at_one_time_lie_in_lanes(plan: Plan, shop: Shop) -> None:
    bench = [one for one in STEPS if one.station == "bench"]
    assert lanes_of(bench) == [0, 1]
    after = [step("saw", "A", 0.0, 2.0, day="x"), step("saw", "B", 3.0, 4.0, day="x", setup_h=1.0)]
    assert lanes_of(after) == [0, 0]
    early = [step("saw", "A", 0.0, 2.5, day="x"), step("saw", "B", 3.0, 4.0, day="x", setup_h=1.0)]
    assert lanes_of(early) == [0, 1]
    page, _ = order_body(parts=[(plan, "x")], load=planned(), shop=shop)
    tops = [top for *_, top, _ in boxes(page)[:5]]
    assert len({round(top, 1) for top in tops}) == 5


def test_the_order_links_its_parts_and_tells_all_in_words_too(plan: Plan, shop: Shop) -> None:
    page, _ = order_body(parts=[(plan, "/parts/o:EX-102")], load=planned(), shop=shop)
    assert '<a href="/parts/o:EX-102">EX-102</a>' in page
    assert "<summary>Every lot as a table</summary>" in page
    assert page.index("Late") < page.index("The parts") < page.index("Ways out") < page.index("The work, lot by lot")
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert not re.search(r"<style|\sstyle=", page)


def test_every_number_of_the_order_stands_at_an_address(plan: Plan, shop: Shop) -> None:
    page, ink = order_body(parts=[(plan, "x")], load=planned(), shop=shop, is_marked=True)
    assert left_over(page_text(page)) == []
    assert len(ink.lines) > 40


def test_without_a_schedule_no_calendar_is_drawn(plan: Plan, shop: Shop) -> None:
    assert "tcalendar" not in order_html(parts=[(plan, "x")], load=load_of("late"), shop=shop)
    assert "tcalendar" in order_html(parts=[(plan, "x")], load=planned(), shop=shop)
    assert "tcalendar" not in order_html(parts=[(plan, "x")], load=planned(steps=()), shop=shop)


def test_an_order_whose_sawing_is_open_says_so_first(plan: Plan, ready_plan: Plan, shop: Shop) -> None:
    """Every part may be ready and the order not: its saw plan has proofs of its own."""
    open_one = next(p for p in plan.proofs if p.blocks_release and p.verdict != "holds")
    held = next(p for p in plan.proofs if p.verdict == "holds")
    of = {"parts": [(ready_plan, "x")], "load": load_of("fits"), "shop": shop, "sawing": sawing_of()}
    page, ink = order_body(**of, sawing_proofs=(held, open_one), is_marked=True)  # type: ignore[arg-type]
    top = page.split("<section", maxsplit=1)[0]
    assert "Sawing together is not ready either" in top
    listed = page.split("Proofs of sawing together, weakest first</caption>")[1]
    assert listed.index(open_one.verdict) < listed.index("<td>holds</td>")
    assert left_over(page_text(page)) == []
    assert ink.lines
    calm, _ = order_body(**of, sawing_proofs=(held,))  # type: ignore[arg-type]
    assert "not ready" not in calm.split("<section", maxsplit=1)[0]
