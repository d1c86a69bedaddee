"""The bars of a plan as a table for the saw and for buying."""

from __future__ import annotations

from proveout.model.plan import Plan
from proveout.model.sawing import OrderSawing
from proveout.sheets.csv_text import csv_text

HEAD = (
    "bar",
    "bar_length_mm",
    "bundle_count",
    "times",
    "bars_count",
    "pieces_each",
    "pieces_count",
    "cut_length_mm",
    "cut_tolerance_mm",
    "kerf_mm",
    "trim_mm",
    "remnant_mm",
    "last_in_doubt",
)


def bar_rows(plan: Plan) -> list[tuple[str | float, ...]]:
    """The head, then one row for each way of sawing; lengths in mm as the plan has them."""
    bars = plan.bars
    rows: list[tuple[str | float, ...]] = [HEAD]
    for pattern in bars.patterns:
        count = pattern.bundle_count * pattern.times
        rows.append(
            (
                pattern.bar_id, pattern.bar_length_mm, pattern.bundle_count, pattern.times, count, pattern.pieces_each,
                count * pattern.pieces_each, bars.cut_length_mm, bars.cut_tolerance_mm, bars.kerf_mm, bars.trim_mm,
                pattern.remnant_mm, "yes" if pattern.is_last_in_doubt else "",
            )
        )  # fmt: skip
    return rows


def bars_csv(plan: Plan) -> str:
    """The same rows, comma-separated."""
    return csv_text(bar_rows(plan))


SAW_HEAD = (
    "bar", "bar_length_mm", "remnant_tag", "heat", "bundle_count", "times", "bar_mass_kg", "needs_two", "cut_length_mm",
    "pieces_each", "pieces_count", "remnant_mm", "goes_back", "last_in_doubt",
)  # fmt: skip


def saw_rows(sawing: OrderSawing) -> list[tuple[str | float, ...]]:
    """How an order is sawn: the head, then a row for each cut length of each kind of bundle, in the order of sawing."""
    rows: list[tuple[str | float, ...]] = [SAW_HEAD]
    rows += [
        (
            section.bar_id, row.bar_length_mm, row.tag, row.heat, row.bundle_count, row.times, row.bar_mass_kg,
            "yes" if row.needs_two else "", length, count, count * row.bundle_count * row.times,
            row.remnant_mm, "yes" if row.is_kept else "", "yes" if row.is_last_in_doubt else "",
        )
        for section in sawing.sections
        for row in section.rows
        for length, count in row.pieces
    ]  # fmt: skip
    return rows


def saw_csv(sawing: OrderSawing) -> str:
    """The same rows, comma-separated."""
    return csv_text(saw_rows(sawing))
