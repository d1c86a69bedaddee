"""Lists for buying and dates for the calendar, read back by other means than they were written with."""

from __future__ import annotations

import csv
import io
import zipfile
from xml.etree import ElementTree as ET

import msgspec
import pytest

from proveout.model.fact import exact_fact
from proveout.model.order import OrderLoad, StationLoad
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.dates_ics import order_dates, part_dates
from proveout.sheets.lists import lists_xlsx, purchase_csv
from proveout.sheets.pages_buy import buy_page
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.writer import Writer

NS = {"m": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


def printed(plan: Plan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(purchase_csv(plan))))


def test_the_list_prints_what_the_plan_decided_to_buy(plan: Plan) -> None:
    rows = printed(plan)
    assert [row["what"] for row in rows] == [one.what for one in plan.purchases]
    assert rows[0] == {
        "kind": "bar", "what": "square-25, 3 m", "count": "5", "unit": "bars", "packs_count": "", "pack_count": "",
        "supplier": "Example Metals", "days_low": "3", "days_high": "5", "price_total": "278.44", "currency": "EUR",
        "why": "6061-T6, one heat for the lot", "pack_price": "", "bought_by": "this list",
    }  # fmt: skip
    assert [(row["count"], row["price_total"], row["why"]) for row in rows if row["what"] == "mill-6"] == [
        ("", "", "life not known")
    ]
    assert [(row["count"], row["packs_count"], row["pack_count"]) for row in rows if row["kind"] == "kit"] == [
        ("300", "3", "100")
    ]
    assert printed(msgspec.structs.replace(plan, purchases=())) == []


def test_the_list_of_an_orders_part_says_that_the_orders_own_is_the_one_to_buy_by(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    ordered = msgspec.structs.replace(plan, is_of_order=True)
    assert {row["bought_by"] for row in printed(ordered)} == {"the order's list"}
    words = "This part is one of an order: buy by the order's own list"
    for one, is_told in ((plan, False), (ordered, True)):
        writer = Writer(plan=one, shop=shop, drawings=drawings, fingerprint="5f0c2a9be41d")
        assert (words in str(buy_page(writer))) == is_told


def test_no_name_is_a_formula_to_a_spreadsheet(plan: Plan) -> None:
    line = msgspec.structs.replace(plan.purchases[-1], what="=lock screw", supplier="+1 Fasteners")
    (row,) = printed(msgspec.structs.replace(plan, purchases=(line,)))
    assert (row["what"], row["supplier"]) == ("'=lock screw", "'+1 Fasteners")


def cells(book: bytes, page: int) -> list[list[str]]:
    """Texts and numbers of one page, read from the package's own parts."""
    with zipfile.ZipFile(io.BytesIO(book)) as parts:
        texts = ET.fromstring(parts.read("xl/sharedStrings.xml"))  # noqa: S314 - made here
        shared = ["".join(t.text or "" for t in one.iter(f"{{{NS['m']}}}t")) for one in texts.findall("m:si", NS)]
        sheet = ET.fromstring(parts.read(f"xl/worksheets/sheet{page}.xml"))  # noqa: S314
    rows = []
    for row in sheet.iterfind(".//m:row", NS):
        found = []
        for cell in row.findall("m:c", NS):
            value = cell.find("m:v", NS)
            text = "" if value is None or value.text is None else value.text
            found.append(shared[int(text)] if cell.get("t") == "s" else text)
        rows.append(found)
    return rows


def test_the_workbook_holds_what_the_lists_say_and_is_the_same_every_time(plan: Plan) -> None:
    book = lists_xlsx(plan)
    assert book == lists_xlsx(plan)
    buy = cells(book, 1)
    assert len(buy) == 1 + len(plan.purchases)
    assert buy[1][1:4] == ["bar", plan.purchases[0].what, "5"]
    edges = cells(book, 3)
    assert [row[0] for row in edges[1:]] == [run.letter for run in plan.bench.edges]
    assert float(edges[1][2]) == pytest.approx(plan.bench.edges[0].length_mm)


def lines(calendar: bytes) -> list[str]:
    """Logical lines: a line that begins with a blank goes on the one before it (RFC 5545, 3.1)."""
    return calendar.decode().replace("\r\n ", "").split("\r\n")


def test_a_part_has_its_first_day_and_the_day_wanted(plan: Plan) -> None:
    dated = msgspec.structs.replace(plan, start="2026-01-05", due="2026-02-16")
    found = lines(part_dates(dated))
    assert found.count("BEGIN:VEVENT") == 2
    assert "DTSTART;VALUE=DATE:20260105" in found
    assert "DTEND;VALUE=DATE:20260106" in found  # a whole day ends on the next
    assert "DTSTART;VALUE=DATE:20260216" in found
    assert any(line.startswith("SUMMARY:") and "NOT READY" in line for line in found)
    assert part_dates(dated) == part_dates(dated)
    assert all(len(line.encode()) <= 75 for line in part_dates(dated).decode().split("\r\n"))


def test_entries_of_a_part_are_two_whatever_it_is_called_and_keep_their_numbers(plan: Plan) -> None:
    named = msgspec.structs.replace(plan.part, name="clamp - left")
    dated = msgspec.structs.replace(plan, part=named, start="2026-01-05", due="2026-02-16", ready=False)
    more = msgspec.structs.replace(dated, ready=True, part=msgspec.structs.replace(named, name="clamp", quantity=7))
    uids = [[x for x in lines(part_dates(one)) if x.startswith("UID:")] for one in (dated, more)]
    assert len(set(uids[0])) == 2
    assert uids[0] == uids[1]
    other = msgspec.structs.replace(dated, part=msgspec.structs.replace(named, number="another"))
    assert not set(uids[0]) & {x for x in lines(part_dates(other)) if x.startswith("UID:")}


def test_nothing_dated_gives_no_calendar(plan: Plan) -> None:
    assert part_dates(msgspec.structs.replace(plan, start="", due="")) == b""


def test_an_order_that_is_late_says_so_on_its_day() -> None:
    days = exact_fact(20.0, "working days", "own-algorithm", "assumed")
    mill = StationLoad(
        station="mill-3", kind="machine", asked_h=exact_fact(300.0, "h", "own-algorithm", "assumed"),
        there_h_per_week=30.0, there_h=180.0, days_needed=days, outside_days=days, late_days=days,
        end_low="2026-02-20", end_high="2026-03-09",
    )  # fmt: skip
    load = OrderLoad(
        start="2026-01-05", due="2026-02-16", working_days_count=30, stations=(mill,), verdict="late",
        bottleneck="mill-3", late_days=days, ways_out=(), notes=("LATE: by 20 working days",),
    )  # fmt: skip
    found = lines(order_dates(load, name="Lamp clamps"))
    assert found.count("BEGIN:VEVENT") == 3
    assert "SUMMARY:Lamp clamps: wanted - LATE" in found
    assert "DTEND;VALUE=DATE:20260310" in found
    uids = [line for line in found if line.startswith("UID:")]
    assert len(set(uids)) == 3


def test_the_calendar_keeps_an_entry_when_only_its_verdict_changes() -> None:
    load = OrderLoad(
        start="", due="2026-02-16", working_days_count=None, stations=(), verdict="late", bottleneck="",
        late_days=None, ways_out=(), notes=(),
    )  # fmt: skip
    other = msgspec.structs.replace(load, verdict="fits")
    uid = [next(x for x in lines(order_dates(one, name="A")) if x.startswith("UID:")) for one in (load, other)]
    assert uid[0] == uid[1]
