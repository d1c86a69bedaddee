"""Rows as comma-separated text that a spreadsheet reads as it stands."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

Cell = str | float | None


def csv_text(rows: Iterable[Sequence[Cell]]) -> str:
    """One line a row; a cell is empty where there is no value, and no word is taken for a formula."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    for row in rows:
        sheet.writerow([plain_words(cell) if isinstance(cell, str) else cell for cell in row])
    return out.getvalue()


def plain_words(words: str) -> str:
    """Words that no spreadsheet takes for a formula."""
    return f"'{words}" if words[:1] in ("=", "+", "-", "@", "\t", "\r") else words
