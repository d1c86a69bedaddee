"""The purchase list of a part or an order, and it with what is sawn and which edges are broken as one workbook."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

from proveout.model.plan import Plan
from proveout.model.purchase import OrderBuying, Purchase
from proveout.model.sawing import OrderSawing
from proveout.sheets.bars_csv import bar_rows, saw_rows
from proveout.sheets.csv_text import csv_text

BUY_HEAD = (
    "supplier", "kind", "what", "count", "unit", "packs_count", "pack_count", "pack_price", "price_total", "currency",
    "days_low", "days_high", "why",
)  # fmt: skip
OF_PART = "bought_by"
THIS_LIST, ORDERS_LIST = "this list", "the order's list"
SUM_HEAD = ("supplier", "lines_count", "price_total", "currency", "unpriced_count", "days_high")
EDGE_HEAD = ("letter", "by", "length_mm", "runs_count", "after_clamping", "seconds_low", "seconds_high")
MADE = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # one time stamp for all, so that the same plan gives the same bytes
Row = tuple[Any, ...]


def _buy_row(one: Purchase, currency: str) -> Row:
    return (
        one.supplier, one.kind, one.what, one.count, one.unit, one.packs_count, one.pack_count, one.pack_price,
        one.price_total, currency, one.days_low, one.days_high, one.why,
    )  # fmt: skip


def _part_rows(plan: Plan) -> list[Row]:
    """Of one part; of an order's part each line says that the order's own list is the one to buy by."""
    by = ORDERS_LIST if plan.is_of_order else THIS_LIST
    return [(*_buy_row(one, plan.cost.currency), by) for one in plan.purchases]


def purchase_csv(plan: Plan) -> str:
    """The purchase list, comma-separated with a head; empty where a value is not known."""
    return csv_text([(*BUY_HEAD, OF_PART), *_part_rows(plan)])


def _order_rows(buying: OrderBuying, currency: str) -> list[Row]:
    """Of a whole order, with the parts that ask for each line and, where told, how many."""
    return [
        (
            *_buy_row(one, currency),
            ", ".join(s.part if s.count is None else f"{s.part}: {s.count}" for s in one.shares),
        )
        for one in buying.lines
    ]  # fmt: skip


def order_purchase_csv(buying: OrderBuying, *, currency: str) -> str:
    """The purchase list of an order, comma-separated with a head."""
    return csv_text([(*BUY_HEAD, "parts"), *_order_rows(buying, currency)])


def _edge_rows(plan: Plan) -> list[Row]:
    return [
        (run.letter, run.manner, run.length_mm, run.runs_count, run.clamping or None,
         None if run.seconds is None else round(run.seconds.low, 1),
         None if run.seconds is None else round(run.seconds.high, 1))
        for run in plan.bench.edges
    ]  # fmt: skip


def lists_xlsx(plan: Plan) -> bytes:
    """Saw, purchases and edges as pages of one workbook; the same plan gives the same bytes."""
    saw = bar_rows(plan)
    return _workbook(
        f"Lists of {plan.part.number}, revision {plan.part.revision}",
        [
            ("Buy", (*BUY_HEAD, OF_PART), _part_rows(plan)), ("Saw", saw[0], saw[1:]),
            ("Edges", EDGE_HEAD, _edge_rows(plan)),
        ],
    )  # fmt: skip


def order_lists_xlsx(*, name: str, buying: OrderBuying, sawing: OrderSawing, currency: str) -> bytes:
    """Purchases, sums by supplier and the common saw plan of an order as pages of one workbook."""
    saw = saw_rows(sawing)
    sums: list[Row] = [
        (one.supplier, one.lines_count, one.price_total, currency, one.unpriced_count, one.days_high)
        for one in buying.suppliers
    ]
    sums.append(("in all", len(buying.lines), buying.price_total, currency, buying.unpriced_count, None))
    return _workbook(
        f"Lists of the order {name}".strip(),
        [
            ("Buy", (*BUY_HEAD, "parts"), _order_rows(buying, currency)), ("Suppliers", SUM_HEAD, sums),
            ("Saw", saw[0], saw[1:]),
        ],
    )  # fmt: skip


def _workbook(title: str, pages: list[tuple[str, Row, list[Row]]]) -> bytes:
    """Tables as pages: name, head and rows of each."""
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": title, "created": MADE, "comments": ""})
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    plain = book.add_format({"text_wrap": True, "valign": "top"})
    for name, head, rows in pages:
        sheet = book.add_worksheet(name)
        sheet.freeze_panes(1, 1)
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        for column, text in enumerate(head):
            widest = max((len(str(row[column])) for row in rows if row[column] is not None), default=0)
            sheet.set_column(column, column, min(48, max(11, widest + 2)))
            sheet.write_string(0, column, str(text), bold)
        for place, row in enumerate(rows, start=1):
            for column, value in enumerate(row):
                if isinstance(value, str):
                    sheet.write_string(place, column, value, plain)
                elif value is not None:
                    sheet.write_number(place, column, value, plain)
    book.close()
    return out.getvalue()
