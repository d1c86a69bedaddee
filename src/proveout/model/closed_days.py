"""Days on which nobody works, as they are written: single days and spans of them."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

SPAN = ".."
SPAN_DAYS_MOST = 366
NONE_CLOSED: frozenset[date] = frozenset()


def span_of(text: str) -> tuple[date, date]:
    """First and last day of "2026-12-25..2027-01-02", or the same day twice of "2026-12-24".

    Raises:   ValueError for what is no date, for a span that ends before it begins or is longer than a year.
    """
    first, _, last = text.partition(SPAN)
    ends = date.fromisoformat(first.strip()), date.fromisoformat((last or first).strip())
    if not timedelta(0) <= ends[1] - ends[0] < timedelta(days=SPAN_DAYS_MOST):
        raise ValueError(text)
    return ends


@lru_cache(maxsize=64)
def closed_dates(spans: tuple[str, ...] | None) -> frozenset[date]:
    """Every day of the spans; none where nobody wrote any."""
    found: set[date] = set()
    for text in spans or ():
        first, last = span_of(text)
        found |= {first + timedelta(days=n) for n in range((last - first).days + 1)}
    return frozenset(found)
