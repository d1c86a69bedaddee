"""What goes over from one operation to the next, in the words of the floor."""

from __future__ import annotations

from proveout.model.turned import Meeting
from proveout.sheets import blocks as b
from proveout.sheets.writer import Writer


def between(writer: Writer, index: int) -> str:
    """The two operations of a meeting, as "Op 1 to Op 2"."""
    ids = [c.id for c in writer.plan.clampings]
    return " to ".join(writer.op(ids.index(id)) for id in writer.plan.turned.meetings[index].clamping_ids)


def what(writer: Writer, index: int) -> str:
    """The size or the surface of a meeting in words."""
    at = ("plan", "turned", "meetings", index)
    one = writer.plan.turned.meetings[index]
    if one.kind == "size":
        mark = f"size {writer.ink.words(*at, 'mark')}, " if one.mark else ""
        return mark + writer.words(*at, "text")
    return f"step at {writer.told(*at, 'subject')}"


def first_piece_rows(writer: Writer, index: int, *, columns: int) -> list[list[b.Cell]]:
    """What to measure once an operation has cut piece one: its largest step and its widest size over two operations.

    columns: of the table, four and those for the positions of a turned table.
    """
    rows: list[list[b.Cell]] = []
    for kind in ("step", "size"):
        own = [
            i
            for i, one in enumerate(writer.plan.turned.meetings)
            if one.kind == kind and one.clamping_ids[1] == writer.plan.clampings[index].id
        ]
        if not own:
            continue
        place = max(own, key=lambda i: (_urgency(writer.plan.turned.meetings[i]), -i))
        rows.append(_row(writer, place, columns))
    return [*rows, *_wall_rows(writer, index, columns)]


def _wall_rows(writer: Writer, index: int, columns: int) -> list[list[b.Cell]]:
    """What an indicator is to read on walls that the jaws press on, where no proof shows that they stay as they are."""
    start = f"holding:{writer.plan.clampings[index].id}:wall "
    own = [i for i, one in enumerate(writer.plan.proofs) if one.id.startswith(start) and one.verdict != "holds"]
    if not own:
        return []
    bend = next((i for i in own if writer.plan.proofs[i].id == f"{start}bent in"), None)
    expect = "0.00 once open"
    if bend is not None and writer.plan.proofs[bend].limit is not None:
        expect = f"at most {writer.ink.number('plan', 'proofs', bend, 'limit', digits=3)}; {expect}"
    gap: list[b.Cell] = ["-"] * (columns - 4)
    return [["walls before a hollow, vise closed, then open", *gap, "indicator on each", b.strong(expect), b.BOX]]


def _urgency(one: Meeting) -> float:
    """Nearest to its limit first; what nobody knows before anything."""
    if one.off_mm is None:
        return float("inf")
    return one.off_mm.high / one.limit_mm if one.limit_mm else one.off_mm.high


def _row(writer: Writer, place: int, columns: int) -> list[b.Cell]:
    at, one, ink = ("plan", "turned", "meetings", place), writer.plan.turned.meetings[place], writer.ink
    off = "not shown" if one.off_mm is None else ink.number(*at, "off_mm", "high", digits=3)
    if one.kind == "step":
        expect = f"at most {off}" if one.off_mm is not None else off
    else:
        expect = f"{ink.number(*at, 'size_mm', digits=3)} ±{off}" if one.off_mm is not None else off
    gap: list[b.Cell] = ["-"] * (columns - 4)
    return [f"{what(writer, place)}, {between(writer, place)}", *gap, "on the piece", b.strong(expect), b.BOX]


def facing_words(writer: Writer, index: int) -> str:
    """The stages of facing of an operation in one sentence; empty where it faces none that a slab is left of."""
    ink, id = writer.ink, writer.plan.clampings[index].id
    for place, facing in enumerate(writer.plan.turned.facings):
        if facing.clamping_id != id:
            continue
        steps = []
        for n, stage in enumerate(facing.stages):
            at = ("plan", "turned", "facings", place, "stages", n)
            times = "" if stage.count == 1 else f"{ink.number(*at, 'count', digits=0)} x "
            steps.append(
                f"{times}{ink.number(*at, 'depth_mm', digits=2)} down to Z {ink.number(*at, 'height_mm', digits=2)}"
            )
        return f"Facing, mm: {', '.join(steps)}{', the last a skim' if facing.count > 1 else ''}."
    return ""
