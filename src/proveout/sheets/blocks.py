"""The pieces that a page of the papers is built of: plain tables of words, laid out by papers.typ."""

from __future__ import annotations

from typing import Any

Block = dict[str, Any]
Cell = str | dict[str, Any]
BOX: dict[str, Any] = {"box": True}


def heading(text: str, *, more: str = "") -> Block:
    """A heading inside a page; `more` stands behind it on the line in plain letters."""
    return {"kind": "heading", "text": text, "more": more}


def para(text: str, *, strong: bool = False) -> Block:
    """A paragraph."""
    return {"kind": "para", "text": text, "strong": strong}


def lead(text: str) -> Block:
    """A paragraph in larger letters."""
    return {"kind": "lead", "text": text}


def framed(text: str) -> Block:
    """A paragraph inside a frame."""
    return {"kind": "framed", "text": text}


def framed_lines(lines: list[str]) -> Block:
    """Short warnings inside a frame, one below the other; the words before a first colon stand bold."""
    split = [line.partition(": ") if ": " in line[:9] else ("", "", line) for line in lines]
    return {"kind": "framed-lines", "lines": [{"head": f"{a}:" if a else "", "text": c} for a, _, c in split]}


def strong(text: str) -> Cell:
    """A cell in bold."""
    return {"text": text, "strong": True}


def big(text: str) -> Cell:
    """A cell to be read at arm's length."""
    return {"text": text, "big": True}


def small(text: str) -> Cell:
    """A cell in smaller letters."""
    return {"text": text, "small": True}


def keys(items: list[tuple[str, str]], *, across: int = 4, size: int = 17, boxes: tuple[str, ...] = ()) -> Block:
    """Key numbers with their labels over them, then empty boxes to write in under the labels of `boxes`."""
    shown: list[dict[str, Any]] = [{"label": label, "value": value, "size": size} for label, value in items]
    shown += [{"label": label, "box": True} for label in boxes]
    return {"kind": "keys", "across": across, "items": shown}


def table(columns: list[tuple[str, str, str]], rows: list[list[Cell]], *, tight: bool = False) -> Block:
    """A ruled table. columns: head, width ("auto", "1fr" or millimetres), alignment l, c or r."""
    return {
        "kind": "table",
        "head": [c[0] for c in columns],
        "widths": [c[1] for c in columns],
        "align": [c[2] for c in columns],
        "rows": rows,
        "tight": tight,
    }


def ticks(items: list[str]) -> Block:
    """Things to do, each with a box to tick."""
    return {"kind": "ticks", "items": items}


def points(items: list[str]) -> Block:
    """Things to know, each behind a dash."""
    return {"kind": "list", "items": items}


def picture(*, svg: str, alt: str, width_mm: float, caption: str) -> dict[str, Any]:
    """One picture of a row of pictures."""
    return {"svg": svg, "alt": alt, "width": width_mm, "caption": caption}


def pictures(
    *shown: dict[str, Any], small: list[dict[str, Any]] | None = None, keys: list[tuple[str, str]] | None = None
) -> Block:
    """Pictures side by side; `small` are the same drawn smaller, for a sheet short of room.

    keys: key numbers in a row below, or beside the smaller pictures.
    """
    items = [{"label": label, "value": value, "size": 16} for label, value in keys or []]
    return {"kind": "pictures", "pictures": list(shown), "small": small or list(shown), "keys": items}


def together(blocks: list[Block]) -> Block:
    """Blocks that stay on one page."""
    return {"kind": "together", "blocks": blocks}


def beside(left: list[Block], *, svg: str, alt: str, width_mm: float) -> Block:
    """Blocks with a picture to their right."""
    return {"kind": "beside", "left": left, "svg": svg, "alt": alt, "width": width_mm}


def page(*, sheet: str, title: str, blocks: list[Block], one_page: bool = False) -> dict[str, Any]:
    """One sheet; a long one runs on over several pages with the same head.

    one_page: set closer, step by step, until it fits one page.
    """
    return {"sheet": sheet, "title": title, "blocks": blocks, "one_page": one_page}
