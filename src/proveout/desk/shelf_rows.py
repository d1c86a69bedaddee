"""Rows of the shelf as the page shows them: each with its drawing, its weakest proof and where it leads."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from proveout.jobs.glances import Glances
from proveout.jobs.shelf_lines import PartLine, Pictured, ShelfLine
from proveout.sheets.derived import mark_of
from proveout.sheets.html_parts import proof_bar


@dataclass(frozen=True)
class Row:
    """One row. drawing: address of its picture, empty for none.   bar: ready SVG.

    mark: what the script asks for until it is drawn.
    """

    line: ShelfLine | None
    part: PartLine | None
    title: str
    name: str
    address: str
    drawing: str = ""
    mark: str = ""
    bar: str = ""
    parts: tuple[Row, ...] = ()


def rows_of(lines: Iterable[ShelfLine], glances: Glances) -> list[Row]:
    """A row for each line; an order's parts stand below it."""
    return [_row(line, glances) for line in lines]


def _row(line: ShelfLine, glances: Glances) -> Row:
    entry = f"/entries/{quote(line.name)}"
    picture = f"{entry}/drawing.svg"
    if line.kind == "order":
        parts = tuple(
            Row(
                line=None, part=part.line, title=part.line.number, name=part.line.name,
                address=f"/parts/{quote(part.address, safe=':')}", bar=bar_of(part.line), drawing=drawing, mark=mark,
            )
            for part in line.parts
            for drawing, mark in [_picture(picture, part.pictured, glances, sub=part.address.partition(":")[2])]
        )  # fmt: skip
        address = f"/orders/{quote(line.name)}" if line.is_planned else entry
        return Row(line=line, part=None, title=line.asked.number, name="", address=address, parts=parts)
    part = line.parts[0].line if line.parts else None
    drawing, mark = _picture(picture, line.pictured, glances)
    return Row(
        line=line, part=part, title=part.number if part else line.asked.number,
        name=part.name if part else line.asked.name, bar=bar_of(part) if part else "",
        address=f"/parts/{quote(line.name)}" if part else entry, drawing=drawing, mark=mark,
    )  # fmt: skip


def bar_of(part: PartLine) -> str:
    """The weakest proof as a ruled line with its limit mark."""
    return "" if part.weakest is None else proof_bar(part.weakest, mark_of(part.weakest))


def _picture(address: str, pictured: Pictured | None, glances: Glances, *, sub: str = "") -> tuple[str, str]:
    """Where the drawing is, and the mark to ask for when it is still to be made."""
    if pictured is None or not pictured.digest:
        return "", ""
    asked = {"part": sub} if sub else {}
    if glances.drawing(pictured.digest, pictured.solid_name) is not None:
        return f"{address}?{urlencode({**asked, 'v': pictured.digest[:16]})}", ""
    mark = f"{pictured.digest} {pictured.solid_name}".strip()
    return (f"{address}?{urlencode(asked)}" if asked else address), mark
