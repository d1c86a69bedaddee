"""Words of the days off: of the shop, and of a finisher."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, read_words, table_at
from proveout.model.closed_days import SPAN_DAYS_MOST, span_of
from proveout.quantities.errors import BadInput

CLOSED = Word(
    stem="closed", text="days on which nobody works, as 2026-12-24 or 2026-12-25..2027-01-02", kind="texts",
    default=None, quiet=True,
)  # fmt: skip
CALENDAR = Section(name="calendar", text="days off; holidays are not known without it", words=(CLOSED,))


def closed_of_words(raw: Mapping[str, Any], top: Place) -> tuple[str, ...] | None:
    """The shop's days off; None where nobody wrote any.

    Raises:   BadInput.
    """
    table = table_at(raw, CALENDAR.name, top, must=False)
    if table is None:
        return None
    place = Place(file=top.file, path=CALENDAR.name)
    return checked_days(read_words(table, CALENDAR.words, place, [])[CLOSED.stem], place)


def checked_days(days: tuple[str, ...] | None, place: Place) -> tuple[str, ...] | None:
    """The same days, once each is known to be one.

    Raises:   BadInput for what is no day and no span of at most a year.
    """
    for text in days or ():
        try:
            span_of(text)
        except ValueError as fault:
            raise BadInput(
                "This is no day and no span of days", where=place.of(CLOSED.stem), value=text,
                limit=f"a span of at most {SPAN_DAYS_MOST} days, first day first",
                do='write it as "2026-12-24" or "2026-12-25..2027-01-02"',
            ) from fault  # fmt: skip
    return days
