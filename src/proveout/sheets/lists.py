"""The purchase list, and the lists of purchases, saw and bench as one workbook."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

from proveout.model.plan import Plan
from proveout.sheets.bars_csv import bar_rows
from proveout.sheets.csv_text import csv_text

BUY_HEAD = (
    "supplier", "kind", "what", "count", "unit", "packs_count", "pack_count", "price_total", "currency", "days_low",
    "days_high", "why",
)  # fmt: skip
EDGE_HEAD = ("letter", "by", "length_mm", "runs_count", "after_clamping", "seconds_low", "seconds_high")
MADE = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # one time stamp for all, so that the same plan gives the same bytes
Row = tuple[Any, ...]


def _buy_rows(plan: Plan) -> list[Row]:
    return [
        (one.supplier, one.kind, one.what, one.count, one.unit, one.packs_count, one.pack_count, one.price_total,
         plan.cost.currency, one.days_low, one.days_high, one.why)
        for one in plan.purchases
    ]  # fmt: skip


def purchase_csv(plan: Plan) -> str:
    """The purchase list, comma-separated with a head; empty where a value is not known."""
    return csv_text([BUY_HEAD, *_buy_rows(plan)])


def _edge_rows(plan: Plan) -> list[Row]:
    return [
        (run.letter, run.manner, run.length_mm, run.runs_count, run.clamping or None,
         None if run.seconds is None else round(run.seconds.low, 1),
         None if run.seconds is None else round(run.seconds.high, 1))
        for run in plan.bench.edges
    ]  # fmt: skip


def lists_xlsx(plan: Plan) -> bytes:
    """Saw, purchases and edges as pages of one workbook; the same plan gives the same bytes."""
    import xlsxwriter

    saw = bar_rows(plan)
    pages: list[tuple[str, Row, list[Row]]] = [
        ("Buy", BUY_HEAD, _buy_rows(plan)), ("Saw", saw[0], saw[1:]), ("Edges", EDGE_HEAD, _edge_rows(plan)),
    ]  # fmt: skip
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    title = f"Lists of {plan.part.number}, revision {plan.part.revision}"
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
