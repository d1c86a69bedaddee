"""The close-out of a batch as one page, in the look of the other papers."""

from __future__ import annotations

from typing import Any

from proveout.model.close_out import CloseOut
from proveout.sheets import blocks as b
from proveout.sheets.close_out_words import Line, driver_lines, held_line, sections
from proveout.sheets.names import digest_words
from proveout.sheets.typesetting import typeset

TITLE = "Close-out"
COLUMNS = [("", "1fr", "l"), ("planned", "34", "r"), ("actual", "26", "r"), ("", "62", "l")]


def close_out_pdf(told: CloseOut, *, shop: str) -> bytes:
    """The page as PDF bytes, the same for the same close-out."""
    return typeset(close_out_document(told, shop=shop))


def close_out_document(told: CloseOut, *, shop: str) -> dict[str, Any]:
    """The page as plain data."""
    return {
        "title": f"Close-out of batch {told.batch}", "part": told.part, "revision": told.revision, "shop": shop,
        "fingerprint": digest_words(told.plan), "start": "", "ready": True, "band": "",
        "source": f"Batch {told.batch}", "pages": [_page(told)],
    }  # fmt: skip


def _page(told: CloseOut) -> dict[str, Any]:
    blocks: list[b.Block] = [b.lead(held_line(told))]
    for title, lines in sections(told):
        blocks += [b.heading(title), b.table(COLUMNS, _rows(lines), tight=True)]
    money = told.money
    if money is not None:
        head = [("input, exchanged alone", "1fr", "l"), ("planned", "34", "r"), ("actual", "26", "r"),
                (f"{money.currency} a good piece", "38", "r")]  # fmt: skip
        blocks += [
            b.heading("What made the difference"), b.table(head, _rows(driver_lines(told)), tight=True),
            b.para(f"Taken as planned, as no event tells of them: {', '.join(money.as_planned)}."),
        ]  # fmt: skip
    return b.page(sheet=TITLE, title=f"{TITLE}: batch {told.batch}, {told.state}", blocks=blocks, one_page=True)


def _rows(lines: list[Line]) -> list[list[b.Cell]]:
    return [[b.strong(what), planned, actual, more] for what, planned, actual, more in lines]
