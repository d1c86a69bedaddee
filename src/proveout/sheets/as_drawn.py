"""The lines of the inspection sheet for what the STEP file writes and the plan does not judge."""

from __future__ import annotations

from proveout.sheets import blocks as b
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

HEADING = "In the STEP file, not judged by this plan: measure as drawn"
COATED = "In the STEP file, not judged by this plan: measure as drawn, after the coat"
ELSEWHERE = (
    "The STEP file writes more of the finished part than is listed here. It stands on the receiving check: do not "
    "gauge it before the coat."
)
DATUMS = "Datums are the faces named here."


def as_drawn(writer: Writer) -> list[b.Block]:
    """A table of sizes and tolerances with boxes for readings, and the datums they count from; nothing without any.

    What the file writes is the finished part: of a coated one it has no place on the sheet at the machine.
    """
    is_coated = writer.plan.finishing.coated_area_mm2 > 0.0
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
            rows.append([b.strong(what), where or "not told by the file", b.BOX, b.BOX])
    if not rows:
        return []
    heads = [("what", "62", "l"), ("where", "1fr", "l"), ("first", "26", "c"), ("last", "26", "c")]
    blocks: list[b.Block] = [b.heading(COATED if is_coated else HEADING), b.table(heads, rows)]
    if datums:
        blocks += [b.para(DATUMS), b.table([("datum", "30", "l"), ("faces", "1fr", "l")], datums, tight=True)]
    return blocks


def at_the_machine(writer: Writer) -> list[b.Block]:
    """The same on the inspection sheet; of a coated part only where it stands instead."""
    drawn = as_drawn(writer)
    return [b.para(ELSEWHERE)] if drawn and writer.plan.finishing.coated_area_mm2 > 0.0 else drawn
