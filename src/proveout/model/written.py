"""What may stand in an event: names and words without control signs, numbers that are finite, counts from 0 up."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import msgspec

from proveout.quantities.errors import BadInput, OutOfRange

NAME_LENGTH = 200
WORDS_LENGTH = 2000
COUNT_MOST = 10_000_000
NUMBER_MOST = 1e12
NO_DAY = "9999"
"""In place of a day that nobody wrote, where the nearest day comes first."""
_LINE_SIGNS = "\n\t"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def named(text: str, *, where: str) -> None:
    """Refuse a name that is empty, only blanks, wider than NAME_LENGTH or of several lines.

    Raises:   BadInput.
    """
    if not text.strip() or text != text.strip() or len(text) > NAME_LENGTH or any(sign in text for sign in _LINE_SIGNS):
        raise BadInput(
            "A name is needed", where=where, value=repr(text[:40]),
            limit=f"1 to {NAME_LENGTH} signs on one line, no blanks at its ends",
        )  # fmt: skip


def counted(count: int, *, where: str, least: int = 0) -> None:
    """Refuse a count below `least` or above COUNT_MOST.

    Raises:   OutOfRange.
    """
    if not least <= count <= COUNT_MOST:
        raise OutOfRange("A count is out of range", where=where, value=str(count), limit=f"{least} to {COUNT_MOST}")


def dated(day: str, *, where: str) -> None:
    """Refuse what is neither empty nor a day of the calendar written YYYY-MM-DD.

    Raises:   BadInput.
    """
    if day and not _is_day(day):
        raise BadInput("A day is needed", where=where, value=repr(day[:40]), limit="YYYY-MM-DD, or empty when not said")


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return _DAY.fullmatch(text) is not None  # no other form that says a day


def plain(noun: msgspec.Struct, *, where: str) -> None:
    """Refuse control signs and half signs in any text of the noun, texts too long to be read, numbers not finite.

    Raises:   BadInput; OutOfRange for numbers.
    """
    for value in _values(noun):
        if isinstance(value, float):
            if not math.isfinite(value) or abs(value) > NUMBER_MOST:
                raise OutOfRange("A number is out of range", where=where, value=str(value), limit=f"±{NUMBER_MOST:g}")
        elif isinstance(value, str):
            _plain_words(value, where)


def _plain_words(text: str, where: str) -> None:
    if len(text) > WORDS_LENGTH:
        raise BadInput("A text is too long", where=where, value=f"{len(text)} signs", limit=f"{WORDS_LENGTH} signs")
    if any((sign < " " and sign not in _LINE_SIGNS) or sign == "\x7f" or "\ud800" <= sign <= "\udfff" for sign in text):
        raise BadInput(
            "A text holds a control sign", where=where, value=repr(text[:40]), do="type it again without that sign"
        )


def _values(value: Any) -> Iterator[Any]:
    """Every text and number in a noun, at any depth."""
    if isinstance(value, msgspec.Struct):
        for field in value.__struct_fields__:
            yield from _values(getattr(value, field))
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from _values(key)
            yield from _values(one)
    elif isinstance(value, tuple):
        for one in value:
            yield from _values(one)
    else:
        yield value
