"""Blocks of the papers as parts of a page on a screen: what is to be written in by hand is left out."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

from proveout.sheets import html_parts as h
from proveout.sheets.blocks import Block, Cell

CUTTER_HEADS = ("pocket", "cutter", "diameter, mm", "stick-out, mm", "life, min")


def blocks_html(blocks: list[Block], *, level: int = 3, without: tuple[str, ...] = ()) -> str:
    """The blocks in their order.

    Args:     level: of the headings among them.   without: kinds that are left out.
    """
    made: list[str] = []
    under = ""
    for block in blocks:
        kind = str(block["kind"])
        if kind == "table":
            made.append(_table(block, under))
        elif kind == "together":
            made.append(blocks_html(block["blocks"], level=level, without=without))
        elif kind == "beside":
            made.append(_figure(block["svg"], ""))
            made.append(blocks_html(block["left"], level=level, without=without))
        elif kind == "heading":
            under = str(block["text"])
            more = h.text("p", block["more"], class_="soft") if block["more"] else ""
            made.append(h.text(f"h{level}", block["text"]) + more)
        elif kind not in without and kind in SHOWN:
            made.append(SHOWN[kind](block))
    return "".join(made)


def _para(block: Block) -> str:
    return h.tag("p", h.text("strong", block["text"]) if block.get("strong") else escape(block["text"]))


def _lead(block: Block) -> str:
    return h.text("p", block["text"], class_="lead")


def _framed(block: Block) -> str:
    return h.text("p", block["text"], class_="framed")


def _framed_lines(block: Block) -> str:
    rows = "".join(
        h.tag("li", f"{h.text('b', one['head'])} {escape(one['text'])}" if one["head"] else escape(one["text"]))
        for one in block["lines"]
    )
    return h.tag("ul", rows, class_="framed")


def _keys(block: Block) -> str:
    items = [(one["label"], one["value"]) for one in block["items"] if not one.get("box")]
    return h.keys(items) if items else ""


def _is_box(cell: Cell) -> bool:
    return not isinstance(cell, str) and bool(cell.get("box"))


def cell_words(cell: Cell) -> str:
    """The words of a cell; empty for a box to write in."""
    return cell if isinstance(cell, str) else str(cell.get("text", ""))


def _table(block: Block, under: str) -> str:
    """The table without its columns of boxes; nothing where no other column would be left but the first.

    under: heading that it stands under, which names it to readers of the screen.
    """
    rows: list[list[Cell]] = block["rows"]
    kept = [i for i in range(len(block["head"])) if not rows or not all(_is_box(row[i]) for row in rows)]
    if not rows or len(kept) < 2:
        return ""
    numeric = {place for place, i in enumerate(kept) if block["align"][i] == "r"}
    head = [block["head"][i] for i in kept]
    words = [[cell_words(row[i]) for i in kept] for row in rows]
    named = under or ", ".join(word for word in head if word)
    return h.tag("div", h.table(named, head, words, numeric=numeric), class_="paper")


def _cutters(block: Block) -> str:
    rows = [
        [one["pocket"], one["name"], one["diameter"], one["stick_out"], one["life"]] for one in block["rows"]
    ]  # fmt: skip
    return h.table("Cutters by pocket", list(CUTTER_HEADS), rows, numeric={0, 2, 3, 4}) if rows else ""


def _named(block: Block) -> str:
    rows = "".join(f"<div>{h.text('dt', one['head'])}{h.text('dd', one['text'])}</div>" for one in block["rows"])
    return h.text("p", block["lead"]) + h.tag("dl", rows, class_="keys")


def _list(block: Block) -> str:
    return h.points(list(block["items"])) if block["items"] else ""


def _figure(svg: str, caption: str) -> str:
    return h.tag("figure", svg + (h.text("figcaption", caption) if caption else ""))


def _pictures(block: Block) -> str:
    figures = "".join(_figure(one["svg"], one["caption"]) for one in block["pictures"])
    items = [(one["label"], one["value"]) for one in block["keys"]]
    return (h.tag("div", figures, class_="pictures") if figures else "") + (h.keys(items) if items else "")


def _limits(block: Block) -> str:
    """The sizes of the inspection sheet, each with its limits, its gauge and what is done beyond them."""
    rows = []
    for one in block["rows"]:
        often = " ".join(word for word in (one["often"], one["why"], one["critical"]) if word)
        after = " ".join(word for word in (one["correct"], one["reaction"], one["sample"]) if word)
        size = f"{one['balloon']}: {one['text']}" + (f" ({one['place']})" if one["place"] else "")
        rows.append([size, one["before"], one["gauge"], often, after, one["finished"] or "-"])
    if not rows:
        return ""
    head = ["size", block["rows"][0]["what"].lower() + ", mm", "gauge", "how often", "what then",
            block["rows"][0]["after"] or "finished, mm"]  # fmt: skip
    return h.table("Sizes that are gauged", head, rows, numeric={1, 5})


SHOWN: dict[str, Callable[[dict[str, Any]], str]] = {
    "para": _para, "lead": _lead, "framed": _framed, "framed-lines": _framed_lines, "keys": _keys,
    "cutters": _cutters, "named": _named, "ticks": _list, "list": _list, "pictures": _pictures, "limits": _limits,
}  # fmt: skip
