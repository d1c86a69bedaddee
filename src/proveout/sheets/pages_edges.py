"""The cutter list: what is loaded and measured, how long each edge lasts in the batch, and what to buy."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets import html_parts as h
from proveout.sheets.writer import Writer

TITLE = "Cutter list"
NOT_IN_IT = (
    "Minutes of cutting against the life that the shop file writes, at the worst end. Not in them: chip nests, chips "
    "cut again, a built-up edge, broken cutters, crashes and fire. A cutter may be done long before: look at edge, "
    "chips and sound at every piece."
)
HOW = (
    "Minutes left on the edge in the spindle after the piece named above each column; after any other piece, those "
    "after the piece before it less the minutes of a piece, and a new life at each change."
)


def _name(writer: Writer, index: int) -> str:
    use = writer.plan.cutter_uses[index]
    return f"{writer.shop_name('cutters', use.cutter_id)}, {writer.shop_name('machines', use.machine_id)}"


def _used(writer: Writer, index: int) -> list[str]:
    """A piece, life, pieces an edge, edges for the batch, spares to buy, changed before."""
    ink, at, use = writer.ink, ("plan", "cutter_uses", index), writer.plan.cutter_uses[index]
    sheet, counted = writer.derived.edges[index], ("derived", "edges", index)
    known = [("life_s", "min"), ("pieces_each", ""), ("edges_count", "")]
    told = [
        "-" if getattr(use, name) is None else ink.number(*at, name, unit=unit, digits=0, bare=True)
        for name, unit in known
    ]
    spares = "-" if sheet.spares_count is None else ink.number(*counted, "spares_count", digits=0)
    changes = ", ".join(ink.number(*counted, "changes", k, digits=0) for k in range(len(sheet.changes)))
    if sheet.more_count:
        changes += f" and {ink.number(*counted, 'more_count', digits=0)} more"
    return [ink.span(*at, "piece_s", unit="min", digits=2), *told, spares, changes or "-"]


HEADS = ("a piece", "life, min", "pieces an edge", "edges for the batch", "spares to buy", "change before piece")


def _left(writer: Writer, index: int) -> list[str]:
    """Minutes left after each piece told."""
    sheet = writer.derived.edges[index]
    return [
        "-"
        if left is None
        else writer.ink.number("derived", "edges", index, "left_s", k, unit="min", digits=1, bare=True)
        for k, left in enumerate(sheet.left_s)
    ]


def _pieces(writer: Writer) -> list[str]:
    pieces = writer.derived.edges[0].pieces
    return [f"piece {writer.ink.number('derived', 'edges', 0, 'pieces', k, digits=0)}" for k in range(len(pieces))]


def _loaded(writer: Writer, index: int) -> list[b.Cell]:
    """Pocket, cutter with machine, diameter and life, and the stick-out that the plan counts on."""
    ink, use = writer.ink, writer.plan.cutter_uses[index]
    known = writer.derived.pockets.get(use.machine_id, {})
    pocket = "-"
    if use.cutter_id in known:
        pocket = ink.number("derived", "pockets", use.machine_id, use.cutter_id, digits=0)
    place = writer.place("cutters", use.cutter_id)
    stick_out = "-" if place is None else ink.number("shop", "cutters", place, "stick_out_mm", digits=1)
    return [b.strong(writer.shop_name("machines", use.machine_id)), b.big(pocket),
            writer.shop_name("cutters", use.cutter_id), b.strong(stick_out)]  # fmt: skip


def edges_page(writer: Writer) -> dict[str, Any] | None:
    """The cutter list: what to load and measure, and how long each edge lasts; None for a plan that counts none."""
    uses = range(len(writer.plan.cutter_uses))
    if not uses:
        return None
    order = sorted(uses, key=lambda k: _place(writer, k))
    used: list[list[b.Cell]] = []
    for k in order:
        _, life, pieces, edges, spares, changes = _used(writer, k)
        piece = " to ".join(
            writer.ink.number("plan", "cutter_uses", k, "piece_s", end, unit="min", digits=2, bare=True)
            for end in ("low", "high")
        )
        used.append([*_loaded(writer, k), b.BOX, b.BOX, piece, life, pieces, edges, spares, changes])
    left: list[list[b.Cell]] = [[b.strong(_name(writer, k)), *_left(writer, k)] for k in order]
    blocks: list[b.Block] = [
        b.framed(NOT_IN_IT),
        b.table(
            [("machine", "21", "l"), ("pocket", "11", "r"), ("cutter", "1fr", "l"), ("stick-out, mm", "12", "r"),
             ("measured", "14", "c"), ("min left now", "13", "c"), ("min a piece", "24", "r"), ("life, min", "10", "r"),
             ("pieces an edge", "12", "r"), ("edges", "11", "r"), ("to buy", "9", "r"),
             ("change before piece", "22", "r")], used, tight=True,
        ),
        {"kind": "may-break", "title": f"{TITLE}, minutes left", "note": "Minutes left stand on the next page."},
        b.heading("Left on the edge, min"),
        b.para(HOW),
        b.table([("cutter", "1fr", "l"), *((f"after {p}", "22", "r") for p in _pieces(writer))], left, tight=True),
    ]  # fmt: skip
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks, one_page=True)


def _place(writer: Writer, index: int) -> tuple[str, int, str]:
    """Machine, then pocket."""
    use = writer.plan.cutter_uses[index]
    return (use.machine_id, writer.derived.pockets.get(use.machine_id, {}).get(use.cutter_id, 999), use.cutter_id)


def edges_html(writer: Writer) -> str:
    """The same on the page of the plan."""
    uses = range(len(writer.plan.cutter_uses))
    if not uses:
        return ""
    used = [[_name(writer, k), *_used(writer, k)] for k in uses]
    left = [[_name(writer, k), *_left(writer, k)] for k in uses]
    pieces = [f"after {p}" for p in _pieces(writer)]
    return (
        h.table("Cutter minutes, at the worst end", ["cutter", *HEADS], used, numeric=set(range(1, len(HEADS) + 1)))
        + h.text("p", NOT_IN_IT)
        + h.table(
            "Left on the edge, min", ["cutter", *pieces], left, numeric=set(range(1, len(pieces) + 1))
        )
        + h.text("p", HOW)
    )  # fmt: skip
