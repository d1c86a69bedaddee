"""The papers of an order: what to buy once for all parts, the saw, the work lot by lot, one day person by person."""

from __future__ import annotations

import csv
import io
import re

import msgspec
import pypdfium2
import pytest
from fixture_plan import FINGERPRINT
from fixture_shop import fact
from ooxml_rules import broken_rules
from overlaps import beyond_edge, is_coloured, overlapping
from test_addresses import MARKED, expected, left_over, page_text, pdf_text
from test_calendar import planned
from test_lists import cells
from test_order_page import sawing_of

from proveout.model.order import OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.purchase import OrderBuying, OrderPurchase, PartShare, SupplierSum
from proveout.model.schedule import DayRhythm, LeftAlone, RhythmStep
from proveout.model.shop import Shop
from proveout.sheets.ink import resolve
from proveout.sheets.lists import order_lists_xlsx, order_purchase_csv
from proveout.sheets.order_html import marked_order, order_html
from proveout.sheets.order_papers import marked_papers, order_pdf
from proveout.sheets.order_printing import OrderPrinting, day_lines


def done(person: int, begin_min: float, minutes: float, what: str, station: str) -> RhythmStep:
    hours, rest = divmod(int(begin_min), 60)
    return RhythmStep(
        person=person, begin_s=60.0 * begin_min, end_s=60.0 * (begin_min + minutes), what=what, station=station,
        part="EX-102", into_shift=f"{hours}:{rest:02d}",
    )  # fmt: skip


LOAD, GAUGE = "unload, blow off, load op3-mill3-vise-b", "gauge, break edges"
RHYTHM = DayRhythm(
    day="2026-03-03",
    steps=(
        done(1, 0, 1, "load op3-mill3-vise-b", "mill3"), done(1, 1, 2, GAUGE, "bench"), done(1, 3, 2, GAUGE, "bench"),
        done(1, 10, 1, LOAD, "mill3"), done(1, 11, 2, GAUGE, "bench"),
        done(1, 20, 1, LOAD, "mill3"), done(1, 21, 2, GAUGE, "bench"),
        done(1, 30, 1, LOAD, "mill3"), done(1, 31, 2.5, GAUGE, "bench"), done(2, 65, 2, "blast", "cabinet"),
    ),
    left_alone=(
        LeftAlone(machine_id="mill3", part="EX-102", clamping_ids=("op3-mill3-vise-b",), pieces_count=1, run_s=540.0,
                  stops="the 1 loaded piece is done", edge="mill-6", edge_pieces_count=44),
    ),
    idle_s={"mill3": 0.0}, pieces_count={"mill3": 4},
)  # fmt: skip


def buying() -> OrderBuying:
    """Invented: a bar, edges and screws for two parts; nobody wrote who sells the edges."""
    lines = (
        OrderPurchase(kind="bar", what="square-25, 3 m", count=1, unit="bars", price_total=55.69, supplier="Metals",
                      why="6061-T6, one heat for all", days_low=3, days_high=5,
                      shares=(PartShare(part="EX-102"), PartShare(part="EX-103"))),
        OrderPurchase(kind="kit", what="lock screw", count=190, unit="pieces", packs_count=2, pack_count=100,
                      pack_price=11.5, price_total=23.0, supplier="Fasteners", why="1 with each piece", days_low=2,
                      days_high=2, shares=(PartShare(part="EX-102", count=150), PartShare(part="EX-103", count=40))),
        OrderPurchase(kind="cutter", what="mill-6", count=None, unit="edges", why="life not known",
                      shares=(PartShare(part="EX-102"),)),
    )  # fmt: skip
    sums = (
        SupplierSum(supplier="Metals", lines_count=1, price_total=55.69, unpriced_count=0, days_high=5),
        SupplierSum(supplier="Fasteners", lines_count=1, price_total=23.0, unpriced_count=0, days_high=2),
        SupplierSum(supplier="", lines_count=1, price_total=0.0, unpriced_count=1, days_high=None),
    )
    return OrderBuying(lines=lines, suppliers=sums, price_total=78.69, unpriced_count=1)


MONEY = OrderMoney(cost=fact(900.0, 1000.0, 1250.0, "EUR"), bars_saved=55.69)


@pytest.fixture(scope="module")
def load() -> OrderLoad:
    found = planned()
    assert found.schedule is not None
    return msgspec.structs.replace(found, schedule=msgspec.structs.replace(found.schedule, rhythm=RHYTHM))


def printed(plan: Plan, shop: Shop, load: OrderLoad) -> tuple[list[str], OrderPrinting]:
    order = OrderPrinting(
        parts=[(plan, "EX-102")], load=load, shop=shop, marked=True, sawing=sawing_of(), buying=buying(), money=MONEY
    )
    return pdf_text(marked_papers(order, name="spring", fingerprint=FINGERPRINT)[0]), order


def test_every_number_of_the_orders_papers_stands_at_an_address(plan: Plan, shop: Shop, load: OrderLoad) -> None:
    texts, order = printed(plan, shop, load)
    text = "\n".join(texts)
    assert len(MARKED.findall(text)) > 60
    assert left_over(text) == []
    for entry in order.ink.lines:
        value = resolve(order.ink.roots[str(entry.address[0])], entry.address[1:])
        if not entry.is_words:
            assert entry.text == expected(entry, value), entry


def test_the_purchase_list_names_suppliers_sums_packs_parts_and_days(plan: Plan, shop: Shop, load: OrderLoad) -> None:
    texts, _ = printed(plan, shop, load)
    page = next(text for text in texts if "Purchase list of the order" in text)
    plain = re.sub(r"\s+", " ", re.sub("[‹›]", "", page))
    for words in (
        "Metals 55.69 EUR", "square-25, 3 m 1 bar", "lock screw 190 pieces 2 of 100 23.00 2", "No supplier written",
        "EX-102 150, EX-103 40: 1 with each piece", "and 1 line without a price", "In all 78.69 EUR",
    ):  # fmt: skip
        assert words in plain


def test_the_papers_say_what_it_costs_when_it_is_done_and_who_does_what(
    plan: Plan, shop: Shop, load: OrderLoad
) -> None:
    made = order_pdf(
        parts=[(plan, "EX-102")], load=load, shop=shop, name="spring", fingerprint=FINGERPRINT, fits=(),
        sawing=sawing_of(), sawing_proofs=(), buying=buying(), money=MONEY, is_ready=False,
    )  # fmt: skip
    texts = [re.sub(r"\s+", " ", text) for text in pdf_text(made)]
    assert all("NOT READY" in text and "Order spring" in text for text in texts)
    for words in ("1000", "900 to 1250", "day to promise", "2026-03-09", "Late, as reckoned even at the best ends"):
        assert words in texts[0]
    whole = " ".join(texts)
    assert "remnant R-9, heat 77A12: 20 of 41.50" in whole
    assert "31.2 kg: two" in whole
    saw = next(text for text in texts if "Saw ticket of the order" in text)
    plus = f"± {shop.saw.length_tolerance_mm:.2f}"
    assert saw.count(plus) == sum(len(section.lots) for section in sawing_of().sections), "whoever saws needs the limit"
    for words in ("trim each bar", "kerf", "least tail held", "heat no.", "no hand reaches past the guard"):
        assert words in saw
    assert "Person 1" in whole
    assert "Person 2" in whole
    assert "+0:10 +0:34 3 Three-axis mill: unload, blow off, load op 3 (EX-102); then Bench: gauge" in whole
    document = pypdfium2.PdfDocument(made)
    for number in range(len(document)):
        page = document[number]
        assert (is_coloured(page), overlapping(page), beyond_edge(page)) == (False, [], []), number
    assert not re.search(r"\bsafe|op3-mill3-vise-b", whole, re.IGNORECASE)
    assert made == order_pdf(
        parts=[(plan, "EX-102")], load=load, shop=shop, name="spring", fingerprint=FINGERPRINT, fits=(),
        sawing=sawing_of(), sawing_proofs=(), buying=buying(), money=MONEY, is_ready=False,
    )  # fmt: skip


def test_what_is_done_over_and_over_in_turn_is_one_line() -> None:
    """worked: loaded at 0:00, two gauged, then three times loaded and gauged: from 0:10 to 33.5 min, so 0:34."""
    lines = day_lines(RHYTHM)
    assert [(x.person, x.begins, x.ends, len(x.works), x.times_count) for x in lines] == [
        (1, "0:00", "0:01", 1, 1), (1, "0:01", "0:05", 1, 2), (1, "0:10", "0:34", 2, 3), (2, "1:05", "1:07", 1, 1),
    ]  # fmt: skip
    assert sum(len(x.works) * x.times_count for x in lines) == len(RHYTHM.steps)


def test_the_orders_page_has_the_same_list_with_its_sum(plan: Plan, shop: Shop, load: OrderLoad) -> None:
    page, ink = marked_order(
        parts=[(plan, "EX-102")], load=load, shop=shop, sawing=sawing_of(), buying=buying(), money=MONEY
    )
    text = page_text(page)
    assert left_over(text) == []
    assert ("order", "buying", "price_total") in {line.address for line in ink.lines}
    plain = re.sub(r"\s+", " ", re.sub("[‹›]", "", text))
    assert "Lock screw 190 pieces 2 of 100 23.00 2 EX-102 150, EX-103 40 Fasteners" in plain
    assert "In all 78.69 1" in plain
    assert "The whole order costs 1000 EUR as usual, 900 to 1250" in plain
    page = order_html(parts=[(plan, "EX-102")], load=load, shop=shop, sawing=sawing_of(), buying=buying())
    assert 'href="papers.pdf"' in page
    old = order_html(parts=[(plan, "EX-102")], load=load, shop=shop)
    assert "plan it again" in old
    assert 'href="papers.pdf"' not in old


def test_the_orders_table_and_workbook_hold_the_list() -> None:
    rows = list(csv.DictReader(io.StringIO(order_purchase_csv(buying(), currency="EUR"))))
    assert [row["what"] for row in rows] == ["square-25, 3 m", "lock screw", "mill-6"]
    assert rows[1]["parts"] == "EX-102: 150, EX-103: 40"
    assert (rows[1]["packs_count"], rows[1]["pack_price"], rows[1]["price_total"]) == ("2", "11.5", "23.0")
    assert (rows[2]["count"], rows[2]["price_total"], rows[2]["supplier"]) == ("", "", "")
    book = order_lists_xlsx(name="spring", buying=buying(), sawing=sawing_of(), currency="EUR")
    assert book == order_lists_xlsx(name="spring", buying=buying(), sawing=sawing_of(), currency="EUR")
    assert broken_rules(book) == []
    assert [row[2] for row in cells(book, 1)[1:]] == [row["what"] for row in rows]
    assert cells(book, 2)[-1][:3] == ["in all", "3", "78.69"]
    assert cells(book, 3)[1][0] == "square-25"
