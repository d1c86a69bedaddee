"""What is bought for a batch, and the lists of saw, bench and purchases as one workbook."""

from __future__ import annotations

import csv
import datetime as dt
import io
from typing import Any

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.work import Clamping
from proveout.sheets.bars_csv import bar_rows, plain_words
from proveout.sheets.derived import cutters_by_id

BUY_HEAD = ("kind", "what", "count", "unit", "packs_count", "supplier", "price_total", "currency", "why")
EDGE_HEAD = ("letter", "by", "length_mm", "runs_count", "after_clamping", "seconds_low", "seconds_high")
MADE = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # one time stamp for all, so that the same plan gives the same bytes
Row = tuple[Any, ...]


def purchase_rows(plan: Plan, shop: Shop) -> list[Row]:
    """What the batch needs beside what is there: bars, spare edges, jaw plates, hardware; None where nobody said.

    A cutter whose life nobody wrote has a line without a count: how many edges it asks for is not known.

    Bars stand with their money once, on the first line.  Stock on the shelf is not known and not taken off.
    """
    rows: list[Row] = []
    currency = plan.cost.currency
    bars: dict[tuple[str, float], int] = {}
    for pattern in plan.bars.patterns:
        key = (pattern.bar_id, pattern.bar_length_mm)
        bars[key] = bars.get(key, 0) + pattern.bundle_count * pattern.times
    for number, ((bar_id, length), count) in enumerate(sorted(bars.items())):
        price = None if plan.metal_unknown or number else round(plan.bars.price, 2)
        why = f"{plan.part.alloy}, one heat for the lot" + ("" if number or len(bars) == 1 else "; price of all bars")
        rows.append(("bar", f"{bar_id}, {length / 1000.0:g} m", count, "bars", None, "", price, currency, why))
    cutters = cutters_by_id(shop)
    for use in plan.cutter_uses:
        if use.edges_count is None:
            rows.append(("cutter", use.cutter_id, None, "edges", None, "", None, currency, "life not known"))
            continue
        spares = use.edges_count - 1
        if spares > 0:
            known = cutters.get(use.cutter_id)
            price = None if known is None else round(spares * known.price, 2)
            rows.append(
                ("cutter", use.cutter_id, spares, "edges", None, "", price, currency, "the edge in use wears out")
            )  # fmt: skip
    rows.extend(
        ("jaws", one.jaws_id, 1, "pair", None, "", None, currency, f"cut to the work of op {one.number}")
        for one in plan.clampings
        if _is_cut_to_form(plan, one)
    )
    for line in plan.packing.lines:
        item = line.item
        price = None
        if line.packs_count is not None and item.pack_price is not None:
            price = round(line.packs_count * item.pack_price, 2)
        rows.append(
            ("kit", item.name, line.pieces_count, "pieces", line.packs_count, item.supplier, price, currency,
             f"{item.count} with each piece")
        )  # fmt: skip
    return rows


def _is_cut_to_form(plan: Plan, clamping: Clamping) -> bool:
    return any(form.clamping_id == clamping.id for form in plan.jaw_forms)


def purchase_csv(plan: Plan, shop: Shop) -> str:
    """The purchase list, comma-separated with a head; empty where nothing is known."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(BUY_HEAD)
    for row in purchase_rows(plan, shop):
        cells = [plain_words(value) if isinstance(value, str) else value for value in row]
        sheet.writerow(["" if value is None else value for value in cells])
    return out.getvalue()


def _edge_rows(plan: Plan) -> list[Row]:
    return [
        (run.letter, run.manner, run.length_mm, run.runs_count, run.clamping or None,
         None if run.seconds is None else round(run.seconds.low, 1),
         None if run.seconds is None else round(run.seconds.high, 1))
        for run in plan.bench.edges
    ]  # fmt: skip


def lists_xlsx(plan: Plan, shop: Shop) -> bytes:
    """Saw, purchases and edges as pages of one workbook; the same plan gives the same bytes."""
    import xlsxwriter

    saw = bar_rows(plan)
    pages: list[tuple[str, Row, list[Row]]] = [
        ("Buy", BUY_HEAD, purchase_rows(plan, shop)), ("Saw", saw[0], saw[1:]), ("Edges", EDGE_HEAD, _edge_rows(plan)),
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
