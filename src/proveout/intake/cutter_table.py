"""The cutters that a program calls by number: a table in CSV with the columns of the crib and a number."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from proveout.intake.cutters_csv import WORD_OF, cutter_value
from proveout.intake.shop_file import cutter_from_words
from proveout.intake.toml_words import Place, refuse_unknown
from proveout.model.shop import Cutter
from proveout.quantities.errors import BadInput, Unreadable

NUMBER, LENGTH = "number", "length_mm"
SPEEDS = {"cutting_speed_m_per_min": 100.0, "tooth_feed_mm": 0.05}
"""What a crib must say and no check of a program reads."""


@dataclass(frozen=True)
class NumberedCutter:
    """A cutter by its number.

    length_mm: from the spindle's nose to the tip; None: the holder and what sticks out of it; 0: program zero was set
    with this cutter's own tip, and no length word is needed.
    """

    number: int
    cutter: Cutter
    length_mm: float | None


def read_cutter_table(text: str, *, file: str) -> tuple[NumberedCutter, ...]:
    """The table's rows.

    Raises:   Unreadable, BadInput with row and column when a row is no cutter or a number stands twice.
    """
    text = text.removeprefix("\ufeff")
    first = text.split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    lines = [line for line in csv.reader(io.StringIO(text), delimiter=mark) if any(f.strip() for f in line)]
    if not lines:
        raise Unreadable("This table is empty", where=file, do="name the columns in its first line")
    heads = [field.strip() for field in lines[0]]
    refuse_unknown(heads, [*WORD_OF, NUMBER, LENGTH], Place(file=file, path="row 1"))
    if NUMBER not in heads:
        raise BadInput(
            "The table does not say which number calls which cutter", where=f"{file} row 1", value=", ".join(heads),
            do="add a column number: 3 where the program says T3",
        )  # fmt: skip
    found: dict[int, NumberedCutter] = {}
    for at, line in enumerate(lines[1:], start=2):
        place = Place(file=file, path=f"row {at}", key_noun="column")
        if len(line) != len(heads):
            raise BadInput(
                "This row has another number of fields than the first line", where=place.at(),
                value=f"{len(line)} fields", limit=f"{len(heads)} fields",
                do="put a text with a comma in it in double quotes",
            )  # fmt: skip
        fields = {head: field.strip() for head, field in zip(heads, line, strict=True) if field.strip()}
        number = _number(fields.pop(NUMBER, ""), place)
        length = fields.pop(LENGTH, "")
        row = {head: cutter_value(field, head, place, decimal_comma=mark == ";") for head, field in fields.items()}
        row.setdefault("id", f"T{number}")
        row = {**{key: value for key, value in SPEEDS.items() if not WORD_OF[key].keys.keys() & row.keys()}, **row}
        cutter = cutter_from_words(row, place, [])
        if number in found:
            raise BadInput("Two rows have one number", where=place.of(NUMBER), value=str(number), do="correct one")
        found[number] = NumberedCutter(number, cutter, _length(length, place, decimal_comma=mark == ";"))
    if not found:
        raise BadInput("This table has no cutters", where=file, do="write one row a cutter")
    return tuple(found[number] for number in sorted(found))


def _number(field: str, place: Place) -> int:
    text = field.upper().removeprefix("T")
    if not text.isdigit() or not 1 <= int(text) <= 99_999:
        raise BadInput(
            "The number that calls a cutter is a whole one from 1", where=place.of(NUMBER), value=field or "nothing",
            do="write 3 where the program says T3",
        )  # fmt: skip
    return int(text)


def _length(field: str, place: Place, *, decimal_comma: bool) -> float | None:
    if not field:
        return None
    try:
        value = float(field.replace(",", ".") if decimal_comma else field)
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1000.0:
        raise BadInput(
            "The length from the spindle's nose to the tip is a number of mm", where=place.of(LENGTH), value=field,
            limit="from 0 to 1000 mm", do="measure it, leave it empty, or write 0 where zero was set with this tip",
        )  # fmt: skip
    return value
