"""The inspection of a plan as a table for a spreadsheet: what is gauged, and a page to type the readings into."""

from __future__ import annotations

import io
from typing import Any

import msgspec

from proveout.model.plan import NOT_KNOWN, InspectionLine, Plan
from proveout.model.shop import Shop
from proveout.sheets.csv_text import csv_text, plain_words
from proveout.sheets.lists import MADE
from proveout.sheets.names import Names, digest_words

# what comes after the coat stands last, and says so
HEAD = (
    "balloon", "size", "is_critical", "machine_to_low_mm", "machine_to_high_mm", "accept_low_mm", "accept_high_mm",
    "correct_below_mm", "correct_above_mm", "gauge", "how_often", "every_count", "every_why", "correct", "reaction",
    "lot_count", "sample_plan", "sample_count", "accept_count", "told_bad_count", "told_bad_pass_ratio",
    "caught_bad_count", "measured", "after_coat_low_mm", "after_coat_high_mm", "after_coat_gauge",
)  # fmt: skip
WIDTHS = {
    "size": 26,
    "gauge": 20,
    "after_coat_gauge": 20,
    "how_often": 40,
    "every_why": 34,
    "correct": 46,
    "reaction": 46,
}
ROWS_MOST = 5000
"""Pieces that get a row of their own for readings."""


def inspection_csv(plan: Plan, shop: Shop | None = None) -> str:
    """One line a size, comma-separated, with a head; sizes in mm as the plan has them, empty where there is none.

    shop: whose cutters and gauges go by their names in the words of how often; None for their ids.
    """
    return csv_text([HEAD, *(_row(line) for line in _named(plan, shop))])


def _named(plan: Plan, shop: Shop | None) -> tuple[InspectionLine, ...]:
    """The lines with what is to be read by people in plain names."""
    if shop is None:
        return plan.inspection
    names = Names(plan=plan, shop=shop)
    return tuple(msgspec.structs.replace(line, how_often=names.short(line.how_often)) for line in plan.inspection)


def _before(line: InspectionLine) -> list[float | str]:
    """The ends to machine to, or that they are not known."""
    return [line.before_low_mm, line.before_high_mm] if line.is_decided else [NOT_KNOWN, NOT_KNOWN]


def _row(line: InspectionLine) -> list[Any]:
    sample = line.sample
    of_lot: list[Any] = [None] * 7
    if sample is not None:
        of_lot = [
            sample.lot_count, sample.plan, sample.sample_count, sample.accept_count, sample.bad_count,
            sample.accept_ratio, sample.caught_count,
        ]  # fmt: skip
    return [
        line.balloon, plain_words(line.text), "yes" if line.is_critical else "no", *_before(line),
        line.accept_low_mm, line.accept_high_mm, line.act_low_mm, line.act_high_mm,
        plain_words(line.gauge), line.how_often, line.every_count, line.every_why, line.correct, line.reaction,
        *of_lot, "" if line.of == "size" else line.of, line.finished_low_mm, line.finished_high_mm,
        plain_words(line.after_gauge),
    ]  # fmt: skip


def inspection_xlsx(plan: Plan, shop: Shop | None = None, *, mark: str = "") -> bytes:
    """The same as a workbook, with a page that has a row for each piece that is gauged and a column for each size.

    A reading outside the accepted ones turns white on black as it is typed; sizes not due on a piece are hatched.
    mark: digest of plan.json, as the papers carry it; readings are kept, and belong to one plan.
    """
    import xlsxwriter

    out = io.BytesIO()
    book: Any = xlsxwriter.Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": f"Inspection of {plan.part.number}", "created": MADE, "comments": ""})
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    size = book.add_format({"num_format": "0.000", "valign": "top"})
    ratio = book.add_format({"num_format": "0.0000", "valign": "top"})
    sheet = book.add_worksheet("Sizes")
    sheet.freeze_panes(1, 2)
    for column, name in enumerate(HEAD):
        sheet.set_column(column, column, WIDTHS.get(name, 12))
        sheet.write_string(0, column, name, bold)
    for row, line in enumerate(_named(plan, shop), start=1):
        for column, (name, value) in enumerate(zip(HEAD, _row(line), strict=True)):
            _write(sheet, row, column, value, size if name.endswith("_mm") else ratio if "ratio" in name else wrap)
    _readings(book, plan, bold, mark)
    book.close()
    return out.getvalue()


def _write(sheet: Any, row: int, column: int, value: Any, form: Any) -> None:
    if value is None:
        return
    if isinstance(value, str):
        sheet.write_string(row, column, value, form)
    else:
        sheet.write_number(row, column, value, form)


def _readings(book: Any, plan: Plan, bold: Any, mark: str) -> None:
    """Rows for the pieces, columns for the sizes; the limits to machine to stand above, never those after the coat."""
    sheet = book.add_worksheet("Readings")
    size, number = book.add_format({"num_format": "0.000", "border": 1}), book.add_format({"border": 1})
    idle = book.add_format({"pattern": 14, "border": 1})
    out = book.add_format({"bold": True, "font_color": "#FFFFFF", "bg_color": "#000000"})
    is_coated = plan.finishing.coated_area_mm2 > 0.0
    heads = ("size", "gauge", "machine to, low, mm", "machine to, high, mm", "accept from, mm", "accept to, mm")
    title = "Readings in mm" + (", BEFORE THE COAT" if is_coated else "")
    of_plan = f", plan {digest_words(mark)}" if mark else ""
    sheet.write_string(0, 0, f"{title}. Part {plan.part.number}, revision {plan.part.revision}{of_plan}", bold)
    sheet.set_column(0, 0, 24)
    for at, head in enumerate(heads, start=1):
        sheet.write_string(at, 0, head, bold)
    first = len(heads) + 2
    sheet.write_string(first - 1, 0, "piece", bold)
    sheet.freeze_panes(first, 1)
    pieces = [line.pieces(_lot(plan)) for line in plan.inspection]
    rows = sorted({n for own in pieces for n in own})[:ROWS_MOST]
    for row, piece in enumerate(rows, start=first):
        sheet.write_number(row, 0, piece, number)
    for column, (line, own) in enumerate(zip(plan.inspection, pieces, strict=True), start=1):
        sheet.set_column(column, column, 18)
        limits = (*_before(line), line.accept_low_mm, line.accept_high_mm)
        for at, value in enumerate((plain_words(line.text), plain_words(line.gauge), *limits), start=1):
            _write(sheet, at, column, value, size if isinstance(value, float) else bold)
        sheet.write_string(first - 1, column, f"balloon {line.balloon}", bold)
        due = set(own)
        for row, piece in enumerate(rows, start=first):
            sheet.write_blank(row, column, None, size if piece in due else idle)
        if line.accept_low_mm is not None and line.accept_high_mm is not None and rows:
            for sign, value in (("<", line.accept_low_mm), (">", line.accept_high_mm)):
                sheet.conditional_format(
                    first, column, first + len(rows) - 1, column,
                    {"type": "formula", "criteria": _outside(first, column, sign, value), "format": out},
                )  # fmt: skip


def _outside(row: int, column: int, sign: str, value: float) -> str:
    """A condition that an empty cell never meets."""
    from xlsxwriter.utility import xl_rowcol_to_cell

    cell = xl_rowcol_to_cell(row, column)
    hair = "-0.0000001" if sign == "<" else "+0.0000001"
    return f"=AND(ISNUMBER({cell}),{cell}{sign}{value:.6f}{hair})"


def _lot(plan: Plan) -> int:
    return max(plan.bars.pieces_count, plan.part.quantity)
