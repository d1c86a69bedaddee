"""What finishers mark on a part, in words: for the order that goes to them, and for whoever looks at it afterwards."""

from __future__ import annotations

from proveout.sheets import blocks as b
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

NOT_SAID = "not said yet"


def marking_block(writer: Writer, index: int) -> list[b.Block]:
    """What one order asks to be marked, a line each; nothing for an order that says none."""
    rows: list[list[b.Cell]] = []
    for k in range(len(writer.plan.finish_orders[index].markings)):
        at = ("plan", "finish_orders", index, "markings", k)
        where = writer.ink.words(*at, "where") or NOT_SAID
        rows.append(
            [
                b.strong(writer.ink.words(*at, "text")),
                capital(_faces(writer, index, k)),
                where,
                _height(writer, index, k),
            ]
        )
    if not rows:
        return []
    heads = [("mark, word for word", "54", "l"), ("on", "34", "l"), ("where on it", "1fr", "l"), ("high", "22", "r")]
    return [b.heading("Marking"), b.table(heads, rows)]


def marking_ticks(writer: Writer) -> list[str]:
    """What a marked piece must show, a line each, of all orders."""
    ticks: list[str] = []
    for index, order in enumerate(writer.plan.finish_orders):
        for k, one in enumerate(order.markings):
            at = ("plan", "finish_orders", index, "markings", k)
            where = f", {writer.ink.words(*at, 'where')}" if one.where else ""
            high = "" if one.height_mm is None else f", {_height(writer, index, k)} high"
            ticks.append(f"Marked {writer.ink.words(*at, 'text')} on {_faces(writer, index, k)}{where}{high}")
    return ticks


def _faces(writer: Writer, index: int, k: int) -> str:
    ids = writer.plan.finish_orders[index].markings[k].face_ids
    at = ("plan", "finish_orders", index, "markings", k, "face_ids")
    return writer.ink.words(*at, as_text=writer.names.faces(ids)) if ids else f"a face {NOT_SAID}"


def _height(writer: Writer, index: int, k: int) -> str:
    at = ("plan", "finish_orders", index, "markings", k, "height_mm")
    if writer.plan.finish_orders[index].markings[k].height_mm is None:
        return NOT_SAID
    return writer.ink.number(*at, unit="mm", digits=1)
