"""The page of an order: its verdict first, every number at an address, links that stay in the folder."""

from __future__ import annotations

import re

import msgspec
import pytest
from fixture_shop import fact
from test_addresses import MARKED, expected, left_over, page_text
from test_page import read

from proveout.model.fact import exact_fact
from proveout.model.order import OrderLoad, StationLoad, WayOut
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.ink import resolve
from proveout.sheets.order_html import marked_order, order_html


def load_of(verdict: str) -> OrderLoad:
    """An invented load of the example's mill: 150 to 220 h against 30 h a week."""
    late = {"late": fact(2.0, 12.0, 23.0, "working days"), "fits": fact(-9.0, -5.0, -1.0, "working days")}
    days = late.get(verdict, fact(-3.0, 1.0, 4.0, "working days"))
    station = StationLoad(
        station="mill3",
        kind="machine",
        asked_h=fact(150.0, 180.0, 220.0, "h"),
        there_h_per_week=30.0,
        there_h=180.0,
        days_needed=fact(25.0, 30.0, 37.0, "working days"),
        outside_days=exact_fact(0.0, "working days", "x", "assumed"),
        late_days=days,
        end_low="2026-02-18",
        end_high="2026-03-19",
    )
    way = WayOut(kind="overtime", text="overtime on mill3: 72 h more", hours=72.0, price=6400.0, verdict="enough")
    return OrderLoad(
        start="2026-01-05",
        due="2026-02-16",
        working_days_count=30,
        stations=(station,),
        verdict=verdict,  # type: ignore[arg-type]
        bottleneck="mill3",
        late_days=days,
        ways_out=(way,) if verdict != "fits" else (),
        notes=("nobody waits for anybody", "Way out: overtime on mill3: 72 h more"),
    )


@pytest.mark.parametrize(
    ("verdict", "words", "others"),
    [
        ("late", "Late by 2 to 23 working days", "Fits before"),
        ("fits", "Fits before the date", "Late"),
        ("not shown", "is not shown", "Late by"),
    ],
)
def test_whether_it_is_late_stands_first_in_words(
    plan: Plan, shop: Shop, verdict: str, words: str, others: str
) -> None:
    page = order_html(parts=[(plan, "EX-102")], load=load_of(verdict), shop=shop)
    top = page.split("<main>", maxsplit=1)[0]
    assert words in top
    assert others not in top
    assert ("Three-axis mill" in top) == (verdict != "fits")  # the bottleneck by its name


def test_parts_that_are_not_ready_are_counted_beside_it(plan: Plan, ready_plan: Plan, shop: Shop) -> None:
    both = order_html(parts=[(plan, "A"), (ready_plan, "B")], load=load_of("fits"), shop=shop)
    assert "Parts that are not ready - do not cut them: 1." in both.split("<main>", maxsplit=1)[0]
    ready = order_html(parts=[(ready_plan, "B")], load=load_of("fits"), shop=shop)
    assert "Every part is ready." in ready
    assert "do not cut" not in ready
    assert not re.search(r"\bsafe", both, re.IGNORECASE)


def test_a_way_out_is_told_once_with_its_hours_and_price(plan: Plan, shop: Shop) -> None:
    page = order_html(parts=[(plan, "EX-102")], load=load_of("late"), shop=shop)
    assert page.count("Overtime on Three-axis mill: 72 h more.") == 1
    assert ">6400</td>" in page
    assert "mill3" not in page
    assert "Nobody waits for anybody." in page


def test_the_order_page_is_well_formed_and_asks_nobody(plan: Plan, shop: Shop) -> None:
    odd = msgspec.structs.replace(plan, part=msgspec.structs.replace(plan.part, name="<b>jaw</b> & more"))
    page = order_html(parts=[(odd, 'a "b" c')], load=load_of("late"), shop=shop, name="<i>spring</i>")
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    assert "<b>" not in page
    assert "<i>" not in page
    assert not re.search(r"https?:|\b(src|action)=|@import", page)
    links = [link for link in re.findall(r'href="([^"]*)"', page) if not link.startswith("#")]
    assert links == ["a%20%22b%22%20c/plan.html", "a%20%22b%22%20c/papers.pdf"]


def test_every_number_of_the_order_page_stands_at_an_address(plan: Plan, shop: Shop) -> None:
    page, ink = marked_order(parts=[(plan, "folder")], load=load_of("late"), shop=shop)
    text = page_text(page)
    assert len(MARKED.findall(text)) > 20
    assert left_over(text) == []
    for entry in ink.lines:
        value = resolve(ink.roots[str(entry.address[0])], entry.address[1:])
        if not entry.is_words:
            assert entry.text == expected(entry, value), entry
