"""The purchase list: what the batch needs beside what is there, by supplier, in packs, with the days it takes."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.bought_cells import bought_cells, bought_what
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

TITLE = "Purchase list"
NOT_THERE = "What lies on the shelf is not known and not taken off: count before ordering."
NOBODY = "no supplier written"
OF_ORDER = (
    "This part is one of an order: buy by the order's own list, in its papers and its purchases.csv. There packs, "
    "edges and bars are counted once for all parts; what stands here is what this part by itself would ask for."
)


def buy_page(writer: Writer) -> dict[str, Any] | None:
    """One page; None for a plan that needs nothing."""
    plan = writer.plan
    if not plan.purchases:
        return None
    blocks: list[b.Block] = [b.framed(OF_ORDER)] if plan.is_of_order else []
    blocks.append(b.para(NOT_THERE))
    for _, some in groupby(range(len(plan.purchases)), key=lambda k: plan.purchases[k].supplier):
        places = list(some)
        first = ("plan", "purchases", places[0], "supplier")
        named = plan.purchases[places[0]].supplier
        blocks += [
            b.heading(capital(writer.ink.words(*first)) if named else capital(NOBODY)),
            b.table(
                [
                    ("what", "44", "l"), ("count", "20", "r"), ("packs", "18", "r"),
                    (writer.shop.currency, "17", "r"), ("working days", "22", "r"), ("why", "1fr", "l"),
                    ("ordered", "15", "c"),
                ],
                [_row(writer, k) for k in places], tight=True,
            ),
        ]  # fmt: skip
    blocks.append(b.keys([], across=3, boxes=("ordered by", "date", "all here, heat no. of bars")))
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks)


def _row(writer: Writer, index: int) -> list[b.Cell]:
    ink, line = writer.ink, writer.plan.purchases[index]
    at = ("plan", "purchases", index)
    what = writer.shop_name("cutters", line.what) if line.kind == "cutter" else writer.words(*at, "what")
    cells = bought_cells(ink, line, at)
    return [b.strong(bought_what(line, what)), *cells, writer.sentence(*at, "why"), b.BOX]
