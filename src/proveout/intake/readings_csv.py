"""Readings that somebody typed: a table in CSV, one reading a row, its first line naming the columns."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from proveout.intake.cutters_csv import refuse_doubles
from proveout.intake.toml_words import Place, refuse_unknown, shown
from proveout.quantities.errors import BadInput, Unreadable

READING = "reading"
ROWS_MOST = 100_000
COLUMNS: Mapping[str, str] = {
    "reading": "what the gauge showed",
    "group": "which readings were made one after the other: a number or a word, the same for all of a group",
    "minutes": "minutes the cutter had been used by then",
    "part": "which part was read: a number or a word",
    "person": "who read it",
}
NUMBERS = ("reading", "minutes")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Readings:
    """The rows in their order. words: by column, of those that hold names;  numbers: of the others."""

    file: str
    numbers: Mapping[str, tuple[float, ...]]
    words: Mapping[str, tuple[str, ...]]

    @property
    def readings(self) -> tuple[float, ...]:
        """The readings."""
        return self.numbers[READING]


def read_readings(text: str, *, file: str, needed: tuple[str, ...], also: tuple[str, ...] = ()) -> Readings:
    """The table's columns.

    Args:     needed: columns that must be there, beside reading.   also: those that may be.
    Raises:   Unreadable, BadInput with row and column where a row does not fit or a reading is no number.
    """
    text = text.removeprefix("\ufeff")
    first = text.split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else "\t" if "\t" in first else ","
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise Unreadable("This is no CSV table", where=file, value=str(error), do="save it as plain CSV") from error
    if not any(field.strip() for line in lines for field in line):
        raise Unreadable("This table is empty", where=file, do="name the columns in its first line: reading")
    heads = [field.strip().lower() for field in lines[0]]
    rows = list(enumerate(lines[1:], start=2))
    if not needed and len(heads) == 1 and _NUMBER.fullmatch(heads[0].replace(",", ".")):
        heads, rows = [READING], list(enumerate(lines, start=1))  # one bare column of numbers says what it is
    place = Place(file=file, path="row 1")
    if any(_NUMBER.fullmatch(head) for head in heads):
        raise BadInput(
            "The first line names no columns", where=place.at(), value=lines[0][0], limit=_columns(needed, also),
            do="write the columns' names in the first line",
        )  # fmt: skip
    refuse_unknown(heads, [READING, *needed, *also], place)
    refuse_doubles(heads, place)
    for column in (READING, *needed):
        if column not in heads:
            raise BadInput(
                f"The column {column} is missing", where=place.at(), value=", ".join(heads),
                limit=_columns(needed, also), do=f"add a column {column}: {COLUMNS[column]}",
            )  # fmt: skip
    numbers: dict[str, list[float]] = {head: [] for head in heads if head in NUMBERS}
    words: dict[str, list[str]] = {head: [] for head in heads if head not in NUMBERS}
    for number, line in rows:
        if any(field.strip() for field in line):
            row = Place(file=file, path=f"row {number}", key_noun="column")
            _take(line, heads, numbers, words, row, decimal_comma=mark == ";")
    if not numbers[READING]:
        raise BadInput("This table has no readings", where=file, do="write one reading a row below the first line")
    if len(numbers[READING]) > ROWS_MOST:
        raise BadInput(
            "There are more readings than anybody typed", where=file, value=f"{len(numbers[READING])}",
            limit=f"{ROWS_MOST}", do="give a part of them",
        )  # fmt: skip
    return Readings(
        file=file, numbers={head: tuple(own) for head, own in numbers.items()},
        words={head: tuple(own) for head, own in words.items()},
    )  # fmt: skip


def _columns(needed: tuple[str, ...], also: tuple[str, ...]) -> str:
    may = f"; {', '.join(also)} may be there" if also else ""
    return ", ".join((READING, *needed)) + may


def _take(
    line: list[str], heads: list[str], numbers: dict[str, list[float]], words: dict[str, list[str]], place: Place,
    *, decimal_comma: bool,
) -> None:  # fmt: skip
    if len(line) != len(heads):
        hint = "write 20,013 as 20.013, or part the columns by semicolons" if len(line) > len(heads) else ""
        raise BadInput(
            "This row has another number of fields than the first line", where=place.at(), value=f"{len(line)} fields",
            limit=f"{len(heads)} fields", do=hint or "fill in what is missing, or take the row out",
        )  # fmt: skip
    for head, field in zip(heads, (one.strip() for one in line), strict=True):
        if head not in NUMBERS:
            if not field:
                raise BadInput(f"A {head} is missing", where=place.of(head), do=f"write it ({COLUMNS[head]})")
            words[head].append(field)
            continue
        plain = field.replace(",", ".") if decimal_comma or field.count(",") == 1 else field
        value = float(plain) if _NUMBER.fullmatch(plain) else math.nan
        if not math.isfinite(value):
            raise BadInput(
                f"A {head} is no number", where=place.of(head), value=shown(field) if field else "nothing",
                limit="a number without its unit", do=f"write {COLUMNS[head]}, or take the row out",
            )  # fmt: skip
        numbers[head].append(value)
