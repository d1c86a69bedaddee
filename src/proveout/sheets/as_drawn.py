"""The lines of the inspection sheet for what the STEP file writes and the plan does not judge."""

from __future__ import annotations

from proveout.sheets import blocks as b
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

HEADING = "In the STEP file, not judged by this plan: measure as drawn"
COATED = (
    "In the STEP file, not judged by this plan. Finished part, after the coat - do not gauge here: measure as drawn "
    "once it is coated"
)
DATUMS = "Datums are the faces named here."


def as_drawn(writer: Writer) -> list[b.Block]:
    """A table of sizes and tolerances, and the datums they count from; nothing without any.

    What the file writes is the finished part: boxes for readings at the machine stand there only without a coat.
    """
    is_coated = writer.plan.finishing.coated_area_mm2 > 0.0
    boxes: list[b.Cell] = [] if is_coated else [b.BOX, b.BOX]
    rows: list[list[b.Cell]] = []
    datums: list[list[b.Cell]] = []
    for i, note in enumerate(writer.plan.pmi):
        if note.status != "not used" and not note.lost_ids:
            continue
        at = ("plan", "pmi", i)
        part = ("face_ids", note.face_ids) if note.status == "not used" else ("lost_ids", note.lost_ids)
        where = capital(writer.ink.words(*at, part[0], as_text=writer.names.faces(part[1])))
        what = capital(writer.ink.words(*at, "text"))
        if note.kind == "datum":
            datums.append([b.strong(what), where or "not told by the file"])
        else:
            rows.append([b.strong(what), where or "not told by the file", *boxes])
    if not rows:
        return []
    heads = [("what", "62", "l"), ("where", "1fr", "l")]
    heads += [] if is_coated else [("first", "26", "c"), ("last", "26", "c")]
    blocks: list[b.Block] = [b.heading(COATED if is_coated else HEADING), b.table(heads, rows)]
    if datums:
        blocks += [b.para(DATUMS), b.table([("datum", "30", "l"), ("faces", "1fr", "l")], datums, tight=True)]
    return blocks
