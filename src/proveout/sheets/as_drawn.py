"""The lines of the inspection sheet for what the STEP file writes and the plan does not judge."""

from __future__ import annotations

from proveout.sheets import blocks as b
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

HEADING = "In the STEP file, not judged by this plan: measure as drawn"
DATUMS = "Datums are the faces named here."


def as_drawn(writer: Writer) -> list[b.Block]:
    """A table of sizes and tolerances with boxes for readings, and the datums they count from; nothing without any."""
    rows: list[list[b.Cell]] = []
    datums: list[list[b.Cell]] = []
    for i, note in enumerate(writer.plan.pmi):
        if note.status != "not used":
            continue
        at = ("plan", "pmi", i)
        where = capital(writer.ink.words(*at, "face_ids", as_text=writer.names.faces(note.face_ids)))
        what = capital(writer.ink.words(*at, "text"))
        if note.kind == "datum":
            datums.append([b.strong(what), where or "not told by the file"])
        else:
            rows.append([b.strong(what), where or "not told by the file", b.BOX, b.BOX])
    if not rows:
        return []
    blocks: list[b.Block] = [
        b.heading(HEADING),
        b.table([("what", "62", "l"), ("where", "1fr", "l"), ("first", "26", "c"), ("last", "26", "c")], rows),
    ]
    if datums:
        blocks += [b.para(DATUMS), b.table([("datum", "30", "l"), ("faces", "1fr", "l")], datums, tight=True)]
    return blocks
