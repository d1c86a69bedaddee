"""Cutters from a table in CSV: one row a cutter, one column a key of [crib] cutter."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

from proveout.intake import shop_words as words
from proveout.intake.shop_file import cutter_from_words
from proveout.intake.toml_words import Place, Word, refuse_twice, refuse_unknown, shown, wanted
from proveout.quantities.errors import BadInput, Unreadable

WORD_OF: dict[str, Word] = {key: word for word in words.CUTTER.words for key in word.keys}


def columns_words() -> list[str]:
    """One sentence for each column: its name, whether it is needed, what it holds."""
    lines: list[str] = []
    for word in words.CUTTER.words:
        need = "needed" if word.must else "may be left out"
        names = " or ".join(word.keys)
        lines.append(f"{names} ({need}): {word.text}; {wanted(word, word.key)}.")
    return lines


def cutter_rows(text: str, *, file: str = "cutters.csv") -> tuple[dict[str, Any], ...]:
    """The rows as keys and values of [crib] cutter, each tried as a cutter; empty fields are left out.

    Fields are parted by commas, or by semicolons with decimal commas; the first line names the columns.
    """
    text = text.removeprefix("\ufeff")
    first = text.split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise Unreadable("This is no CSV table", where=file, value=str(error), do="save it as plain CSV") from error
    if not lines or not any(field.strip() for field in lines[0]):
        raise Unreadable("This table is empty", where=file, do="name the columns in its first line")
    heads = [field.strip() for field in lines[0]]
    top = Place(file=file, path="row 1")
    refuse_unknown(heads, list(WORD_OF), top)
    refuse_doubles(heads, top)
    needed = [word for word in words.CUTTER.words if word.must and not word.keys.keys() & set(heads)]
    if needed:
        raise BadInput(
            f"The column {needed[0].key} is missing", where=top.at(), limit=wanted(needed[0], needed[0].key),
            do=f"add the column {needed[0].key} ({needed[0].text})",
        )  # fmt: skip
    rows: list[dict[str, Any]] = []
    for number, line in enumerate(lines[1:], start=2):
        if not any(field.strip() for field in line):
            continue
        place = Place(file=file, path=f"row {number}", key_noun="column")
        if len(line) != len(heads):
            raise BadInput(
                "This row has another number of fields than the first line", where=place.at(),
                    value=f"{len(line)} fields",
                limit=f"{len(heads)} fields", do="put a text with a comma in it in double quotes",
            )  # fmt: skip
        fields = {head: field.strip() for head, field in zip(heads, line, strict=True) if field.strip()}
        row = {head: cutter_value(field, head, place, decimal_comma=mark == ";") for head, field in fields.items()}
        cutter_from_words(row, place, [])
        rows.append(row)
    if not rows:
        raise BadInput("This table has no cutters", where=file, do="write one row a cutter")
    refuse_twice([row["id"] for row in rows], "the rows", Place(file=file, key_noun="column"))
    return tuple(rows)


def refuse_doubles(heads: list[str], place: Place) -> None:
    """BadInput when a column stands twice."""
    for head in heads:
        if heads.count(head) > 1:
            raise BadInput("A column stands twice", where=place.at(), value=head, do="keep one of them")


def cutter_value(field: str, head: str, place: Place, *, decimal_comma: bool) -> Any:
    """What a field of a column holds, as the crib takes it; BadInput where it is of the wrong kind."""
    word = WORD_OF[head]
    if word.kind not in ("number", "count", "fact"):
        return field
    plain = field.replace(",", ".") if decimal_comma else field
    if re.fullmatch(r"[+-]?\d+", plain):
        return int(plain)
    if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", plain):
        return float(plain)
    raise BadInput(
        f"{head} has the wrong kind of value", where=place.of(head), value=shown(field), limit=wanted(word, head),
        do=f"write {head} ({word.text}) as a number without its unit",
    )  # fmt: skip
