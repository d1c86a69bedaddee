"""Angles, textures and states of edges as they stand on the inspection sheet, and radii and chamfers without a line."""

from __future__ import annotations

from proveout.model.plan import NOT_KNOWN
from proveout.sheets import blocks as b
from proveout.sheets.writer import Writer

WORDS = {
    "radius": "radius",
    "angle": "angle",
    "chamfer": "leg of a chamfer",
    "texture": "surface texture",
    "edge": "state of edges",
}


def notes_blocks(writer: Writer) -> list[b.Block]:
    """One table of what is written beside the sizes and has no line of its own; nothing for a part without."""
    ink, rows = writer.ink, []
    for i in notes_unlined(writer):
        note, at = writer.plan.finishing.notes[i], ("plan", "finishing", "notes", i)
        kind = WORDS[note.kind] + (", every piece" if note.is_critical else "") + _gauge(writer, note.mark)
        row: list[b.Cell] = [
            b.strong(f"{ink.number(*at, 'balloon', digits=0)}: {ink.words(*at, 'text')}"), kind,
            note_ends(writer, i, "before_low", "before_high"), b.BOX, b.BOX,
            b.small(note_ends(writer, i, "low", "high")),
        ]  # fmt: skip
        rows.append(row)
    if not rows:
        return []
    coated = writer.plan.finishing.coated_area_mm2 > 0.0
    heads = [
        ("written", "36", "l"), ("what", "1fr", "l"), ("machine to", "32", "r"), ("first piece", "24", "c"),
        ("last piece", "24", "c"), ("after the coat - do not gauge here" if coated else "finished", "32", "r"),
    ]  # fmt: skip
    return [
        b.heading("Written beside the sizes"),
        b.table(heads, rows),
    ]


def notes_unlined(writer: Writer) -> list[int]:
    """Places of the notes that have no line of their own on the inspection sheet."""
    lined = {line.mark for line in writer.plan.inspection if line.of != "size"}
    return [i for i, note in enumerate(writer.plan.finishing.notes) if note.mark not in lined]


def note_gauge(writer: Writer, mark: str) -> str:
    """What tells a note, empty where the plan names nothing."""
    place = next((k for k, one in enumerate(writer.plan.note_gauges) if one.mark == mark), None)
    return "" if place is None else writer.words("plan", "note_gauges", place, "gauge")


def _gauge(writer: Writer, mark: str) -> str:
    """What tells it; nothing where the plan does not say."""
    if all(one.mark != mark for one in writer.plan.note_gauges):
        return ""
    gauge = note_gauge(writer, mark)
    return f", by: {gauge}" if gauge else ", nothing in the shop tells it: ask"


def note_ends(writer: Writer, index: int, low: str, high: str) -> str:
    """Both ends of a limit, one end alone, or a dash where it is kept in words."""
    note, at = writer.plan.finishing.notes[index], ("plan", "finishing", "notes", index)
    if note.kind in ("radius", "chamfer") and getattr(note, low) is None:
        return NOT_KNOWN
    digits = 3 if note.unit == "mm" else 2
    ends = [
        writer.ink.number(*at, name, unit=note.unit, digits=digits, as_is=True)
        for name in (low, high)
        if getattr(note, name) is not None
    ]
    if len(ends) == 1:
        return f"at most {ends[0]}"
    return " to ".join(ends) or "-"
