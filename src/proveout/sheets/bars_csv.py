"""The bars of a plan as a table for the saw and for buying."""

from __future__ import annotations

import csv
import io

from proveout.model.plan import Plan

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
)


def bars_csv(plan: Plan) -> str:
    """One line for each way of sawing, comma-separated, with a head; lengths in mm as the plan has them."""
    bars = plan.bars
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(HEAD)
    for pattern in bars.patterns:
        count = pattern.bundle_count * pattern.times
        sheet.writerow(
            [
                plain_words(pattern.bar_id),
                pattern.bar_length_mm,
                pattern.bundle_count,
                pattern.times,
                count,
                pattern.pieces_each,
                count * pattern.pieces_each,
                bars.cut_length_mm,
                bars.cut_tolerance_mm,
                bars.kerf_mm,
                bars.trim_mm,
                pattern.remnant_mm,
            ]
        )
    return out.getvalue()


def plain_words(words: str) -> str:
    """Words that no spreadsheet takes for a formula."""
    return f"'{words}" if words[:1] in ("=", "+", "-", "@", "\t", "\r") else words
