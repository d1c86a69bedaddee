"""Kit and pack sheet, and the labels of the lot with their square code."""

from __future__ import annotations

import io
from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.marking_words import marking_ticks
from proveout.sheets.names import digest_words
from proveout.sheets.writer import NOT_SHOWN, Writer

TITLE = "Kit and pack sheet"
LABELS = "Lot labels"
LABEL_ROWS, LABEL_COLUMNS = 5, 2  # a sixth row leaves no room for what stands at the head of a plan not ready
UNSEEN = "too light to see on this scale - COUNT it"
SEEN = "a missing one shows on the scale"
UNKNOWN = "not shown: weigh"


def lot_text(writer: Writer) -> str:
    """What the square code of a lot says: part, revision, plan, first day, any batch, parted by semicolons."""
    part, batch = writer.plan.part, [] if writer.batch is None else [writer.batch.batch]
    mark = digest_words(writer.fingerprint).replace(" ", "")
    return ";".join([part.number, part.revision, mark, writer.plan.start, *batch])


def square_code_svg(text: str) -> str:
    """A QR code (ISO/IEC 18004, error correction M) as an SVG without a size of its own."""
    import segno

    stream = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        stream, kind="svg", border=2, xmldecl=False, svgns=True, omitsize=True
    )
    return stream.getvalue().decode("utf-8")


def _row(writer: Writer, index: int) -> list[b.Cell]:
    ink, line = writer.ink, writer.plan.packing.lines[index]
    at = ("plan", "packing", "lines", index)
    packs = "-" if line.packs_count is None else ink.number(*at, "packs_count", digits=0)
    mass = "-" if line.item.mass_kg is None else ink.span(*at, "item", "mass_kg", unit="g", digits=2)
    told = UNKNOWN if line.is_seen is None else SEEN if line.is_seen else UNSEEN
    return [
        b.strong(ink.words(*at, "item", "name")),
        b.big(ink.number(*at, "item", "count", digits=0)),
        ink.words(*at, "item", "bin") or "-",
        mass,
        b.strong(told) if line.is_seen is False else told,
        ink.number(*at, "pieces_count", digits=0),
        packs,
        b.BOX,
    ]


def pack_page(writer: Writer) -> dict[str, Any]:
    """What to pick for a piece, what a full bag reads, what goes into the box, what was packed."""
    plan, ink = writer.plan, writer.ink
    packing = plan.packing
    blocks: list[b.Block] = []
    if packing.lines:
        window = NOT_SHOWN
        if packing.low_kg is not None:
            low = ink.number("plan", "packing", "low_kg", unit="g", digits=1, bare=True)
            window = f"{low} to {ink.number('plan', 'packing', 'high_kg', unit='g', digits=1)}"
        boxes = "-" if packing.boxes_count is None else ink.number("plan", "packing", "boxes_count", digits=0)
        each = "-" if packing.bag.pieces_a_box is None else ink.number(
            "plan", "packing", "bag", "pieces_a_box", digits=0
        )  # fmt: skip
        blocks += [
            b.keys(
                [("a full bag reads", window), ("pieces a box", each), ("boxes", boxes)], across=3, size=17,
            ),
            b.heading("Into each bag"),
            b.table(
                [
                    ("item", "1fr", "l"), ("in a bag", "16", "r"), ("bin", "16", "l"), ("one weighs", "26", "r"),
                    ("missing?", "38", "l"), ("for the batch", "18", "r"), ("packs", "13", "r"), ("picked", "20", "c"),
                ],
                [_row(writer, i) for i in range(len(packing.lines))],
            ),
            b.para(
                "Every bag goes on the scale; one outside the window is opened and counted. Zero the scale, and weigh "
                "one bag counted by two people first."
            ),
        ]  # fmt: skip
    else:
        blocks.append(
            b.framed("No kit is written in the job file: pack the piece alone, or write the kit and plan again.")
        )
    blocks += [
        b.heading("Into the box"),
        b.ticks(
            [
                "Each piece looked at in good light: show faces clean, shade like the sample",
                *marking_ticks(writer),
                "Piece and bag apart, so that nothing rubs on the way",
                "Right part, right revision, lot label on box and slip; the code of the label read back",
                "Only pieces that passed the receiving check",
            ]
        ),
        b.heading("Packed"),
        b.table(
            [
                ("box", "16", "l"),
                *((f"{head}", "1fr", "c") for head in ("pieces", "bags", "weight, kg", "label", "by, date")),
            ],
            [[b.strong(str(n)), *[b.BOX] * 5] for n in ("first", "", "", "", "last")],
        ),
        b.keys([], across=3, boxes=("pieces packed", "kept as spares", "signed")),
    ]
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks, one_page=True)


def labels_page(writer: Writer) -> dict[str, Any]:
    """A sheet of labels for trays and boxes: part, revision, lot, square code, room for count and box number."""
    ink = writer.ink
    svg = square_code_svg(lot_text(writer))
    number, name = ink.words("plan", "part", "number"), ink.words("plan", "part", "name")
    lot = digest_words(writer.fingerprint) if writer.batch is None else writer.batch.batch
    label = {
        "number": number, "name": name if name != number else "", "revision": ink.words("plan", "part", "revision"),
        "alloy": ink.words("plan", "part", "alloy"), "lot": lot,
        "start": ink.words("plan", "start") if writer.plan.start else "",
    }  # fmt: skip
    block = {
        "kind": "labels", "rows": LABEL_ROWS, "columns": LABEL_COLUMNS, "svg": svg, "label": label,
        "alt": f"Square code of the lot: {lot_text(writer)}",
    }  # fmt: skip
    return b.page(sheet=LABELS, title=LABELS, blocks=[block], one_page=True)
