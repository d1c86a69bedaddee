"""Rows as comma-separated text that a spreadsheet takes for words and numbers alone."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence


def csv_text(rows: Iterable[Sequence[str | float | None]]) -> str:
    """One line a row; a cell that is None stays empty."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    for row in rows:
        sheet.writerow([plain_words(cell) if isinstance(cell, str) else cell for cell in row])
    return out.getvalue()


def plain_words(words: str) -> str:
    """Words that no spreadsheet takes for a formula."""
    return f"'{words}" if words[:1] in ("=", "+", "-", "@", "\t", "\r") else words
