"""Pages used at the machine beside the setup sheets: inspection sheet and prove-out sheet."""

from __future__ import annotations

from typing import Any

from proveout.model.plan import NOT_KNOWN, InspectionLine, Window
from proveout.sheets import as_drawn, general_sizes
from proveout.sheets import blocks as b
from proveout.sheets.notes_words import notes_blocks
from proveout.sheets.pages_places import prove_out_words
from proveout.sheets.turned_words import first_piece_rows
from proveout.sheets.writer import Writer

MEASURED = {"size": "", "radius": "radius", "chamfer": "leg of the chamfer"}
LET_PASS = ("quality limit", "no bad piece")
AS_MACHINED = "Every size on this sheet is as machined, before the coat."
NEXT = "All other sizes, what is looked at by eye, and the signatures stand on the next page."
SAMPLE_CAUTION = (
    "A sample lets lots with bad pieces pass. Whatever could hurt someone is gauged on every piece, or made so that it "
    "cannot go wrong."
)


def _place(writer: Writer, balloon: int) -> str:
    """Where a written size is: its hole with the middle of the mouth, or its face; empty when none is numbered so."""
    ink, survey = writer.ink, writer.plan.survey
    for i, hole in enumerate(survey.holes):
        if hole.balloon == balloon:
            writer.names.used.add(hole.id)
            middle = [
                f"{axis} {ink.number('plan', 'survey', 'holes', i, 'entry_mm', k, digits=2)}"
                for k, axis in enumerate("xyz")
            ]
            return f"Hole {ink.number('plan', 'survey', 'holes', i, 'balloon', digits=0)}, mouth at {', '.join(middle)}"
    for i, note in enumerate(survey.faces):
        if note.balloon == balloon:
            writer.names.used.add(note.face_id)
            return f"Face {ink.number('plan', 'survey', 'faces', i, 'balloon', digits=0)}"
    return ""


def _after(line: InspectionLine, window: Window | None, finished: str) -> tuple[str, str]:
    """What stands small beside the readings: the words above the finished limits, and those limits."""
    ends = (line.finished_low_mm, line.finished_high_mm)
    is_bare = line.of != "size" and line.is_decided and (line.before_low_mm, line.before_high_mm) == ends
    if not is_bare and (window is None or not window.is_masked):
        return "after coat - do not gauge here", finished
    return "plugged or masked: no coat here", "the same after coat"


def _wanted(writer: Writer, index: int, window: Window | None) -> str:
    """That no gauge fits, and what would; of a coated thread of an older plan the gauges before its coat."""
    if writer.plan.inspection[index].wanted:
        return f"none in the shop fits: {writer.words('plan', 'inspection', index, 'wanted')}"
    if window is None or not window.gauges:
        return "none in the shop fits: ask"
    at = ("plan", "finishing", "windows", writer.plan.finishing.windows.index(window), "gauges")
    return f"none in the shop fits; {writer.ink.words(*at)}"


def _reads(writer: Writer, index: int) -> str:
    """What the gauge may read, where its own error draws the limits in; empty where it draws nothing in."""
    line, at = writer.plan.inspection[index], ("plan", "inspection", index)
    drawn_in = (line.accept_low_mm, line.accept_high_mm)
    if None in drawn_in or not line.is_decided or drawn_in == (line.before_low_mm, line.before_high_mm):
        return ""
    low, high = (writer.ink.number(*at, f"accept_{end}_mm", digits=3) for end in ("low", "high"))
    return f"the gauge may read {low} – {high}"


def _more(writer: Writer, index: int) -> str:
    """Where readings go for which a size has no box; empty when each has one."""
    at = ("derived", "readings", index)
    if not writer.derived.readings[index].open_from:
        return ""
    return (
        f"No more boxes: from piece {writer.ink.number(*at, 'open_from', digits=0)} on write number and reading on a "
        "second sheet, as often, and pin it here."
    )


def inspection_page(writer: Writer) -> dict[str, Any]:
    """Limits to machine to in a large box, finished limits small and out of the way, boxes for readings."""
    ink = writer.ink
    is_coated = writer.plan.finishing.coated_area_mm2 > 0.0
    stage = ", before the coat" if is_coated else ""
    windows = {(window.balloon, window.text): window for window in writer.plan.finishing.windows}
    rows = []
    for index, line in enumerate(writer.plan.inspection):
        window = windows.get((line.balloon, line.text))
        at = ("plan", "inspection", index)
        to = NOT_KNOWN
        if line.is_decided:
            to = " – ".join(ink.number(*at, f"before_{end}_mm", digits=3) for end in ("low", "high"))
        done = f"{ink.number(*at, 'finished_low_mm', digits=3)} to {ink.number(*at, 'finished_high_mm', digits=3)}"
        boxes = len(writer.derived.readings[index].pieces)
        pieces = [ink.number("derived", "readings", index, "pieces", k, digits=0) for k in range(boxes)]
        after, finished = _after(line, window, done) if is_coated else ("", "")
        rows.append(
            {
                "what": "MACHINE TO - before coat" if is_coated else "MACHINE TO",
                "reads": _reads(writer, index),
                "measured": "pitch diameter" if window is not None and window.kind == "thread" else MEASURED[line.of],
                "place": _place(writer, line.balloon),
                "after": after,
                "balloon": ink.number(*at, "balloon", digits=0),
                "text": writer.title(*at, "text"),
                "before": to,
                "finished": finished,
                "gauge": writer.words(*at, "gauge") or _wanted(writer, index, window),
                "often": writer.words(*at, "how_often"),
                "why": f"({writer.words(*at, 'every_why')})" if line.every_why and line.every_count > 1 else "",
                "correct": writer.sentence(*at, "correct") if line.correct else "",
                "reaction": writer.sentence(*at, "reaction"),
                "sample": writer.sentence(*at, "sample_words") if line.sample_words else "",
                "critical": "every piece" if line.is_critical else "",
                "readings": [f"piece {n}" for n in pieces] + ["last piece" if pieces else "the piece"],
                "more": _more(writer, index),
            }
        )
    sampled = any(line.sample is not None and line.sample.plan in LET_PASS for line in writer.plan.inspection)
    blocks: list[b.Block] = [
        b.para(f"All sizes in mm at the machine{stage}. Clean, dry, at room temperature."),
        b.para(
            "Each box is for the one piece named above it; pieces are counted as they leave the vise. Write what was "
            "measured; with a plug or ring, a tick when GO goes and NO-GO does not."
        ),
        *([b.framed(SAMPLE_CAUTION)] if sampled else []),
        {"kind": "limits", "rows": rows},
    ]
    if not rows:
        blocks = [
            b.framed("No size is written for this part: measure against the drawing and write the readings here.")
        ]
    title = "Inspection sheet - before coat" if is_coated else "Inspection sheet"
    blocks.append({"kind": "may-break", "title": f"{title}, all else", "note": NEXT})
    blocks += [*notes_blocks(writer), *as_drawn.at_the_machine(writer), *general_sizes.at_the_machine(writer)]
    blocks += [
        b.heading("By eye, every piece"),
        b.ticks(
            [
                "Every hole there, clean, no burr",
                "Show faces clean, no mark of jaw or clamp",
                "No edge sharp to the finger",
            ]
        ),
        b.keys([], across=3, boxes=("first piece signed", "last piece signed", "set aside, how many")),
    ]
    return b.page(sheet="Inspection sheet", title=title, blocks=blocks, one_page=True)


def prove_out_page(writer: Writer) -> dict[str, Any]:
    """Piece one through all operations: dry run lifted, stop points with the reading to expect."""
    plan, ink, has_trial = writer.plan, writer.ink, bool(writer.plan.bars.trial_count)
    blocks: list[b.Block] = [
        b.framed("Take piece one through ALL operations and gauge it before piece two is clamped."),
        *([b.para(AS_MACHINED)] if plan.finishing.coated_area_mm2 > 0.0 else []),
        *([b.para(writer.batch.first_piece)] if writer.batch is not None and writer.batch.first_piece else []),
        b.ticks(
            [
                "All papers carry the same fingerprint, and it is the one of this plan",
                "Every stick-out and every zero measured and written on the setup sheets",
                "Jaws clean, work seated without a gap, clamped to the torque",
                "Dry run with the work zero lifted as below: no cutter may come near work or jaws",
                "Then cut with rapids slowed, one hand on the stop, holding at each stop point",
                *(["Trial blanks come first, each through ALL operations; none is delivered"] if has_trial else []),
            ]
        ),
    ]
    rows_of: list[int] = []
    begins: list[int] = []
    for index, clamping in enumerate(plan.clampings):
        begins.append(len(blocks))
        lift = ink.number("derived", "clampings", clamping.id, "lift_mm", unit="mm", digits=0)
        blocks.append(b.heading(f"{writer.op(index)} - dry run lifted by {lift}{prove_out_words(writer, index)}"))
        turns = clamping.is_tilted
        tilts = {tilt.id: i for i, tilt in enumerate(clamping.tilts)}
        seen: set[tuple[str, str]] = set()
        rows: list[list[b.Cell]] = []
        for place in writer.passes_of(clamping.id):
            one = plan.passes[place]
            low = writer.derived.passes[one.id].low_mm
            first = not {("cutter", one.cutter_id), ("tilt", one.tilt_id)} <= seen
            seen |= {("cutter", one.cutter_id), ("tilt", one.tilt_id)}
            if low is None or not (first or one.kind in ("face", "finish floor", "bore", "ream")):
                continue
            reading = b.strong(f"Z {ink.number('derived', 'passes', one.id, 'low_mm', digits=2)}")
            what = "measured after it" if one.kind in ("face", "finish floor") else "tip at its deepest"
            feature = writer.feature(place)
            pocket = ink.number("derived", "pockets", clamping.machine_id, one.cutter_id, digits=0)
            row: list[b.Cell] = [f"{one.kind}, {feature}", pocket]
            if turns:
                at = ("plan", "clampings", index, "tilts", tilts[one.tilt_id])
                row += [ink.number(*at, f"{axis}_rad", unit="°", digits=1) for axis in ("a", "c")]
            rows.append([*row, what, reading, b.BOX])
        columns = [("stop at pass", "1fr", "l"), ("pocket", "16", "r")]
        if turns:
            columns += [("A", "15", "r"), ("C", "17", "r")]
        columns += [("look at", "34", "l"), ("expect, mm", "24", "r"), ("reading", "28", "c")]
        rows += first_piece_rows(writer, index, columns=len(columns))
        blocks.append(b.table(columns, rows, tight=True))
        rows_of.append(len(rows))
        if turns:
            blocks.append(b.para("Z of a tilted pass runs along its own cutter axis, from the work zero."))
    last = [
        b.heading("Piece one is out"),
        b.ticks(["Gauged on every line of the inspection sheet", "Corrections entered and written down"]),
        b.keys([], across=2, boxes=("released for piece two by", "date")),
    ]
    blocks.append(b.together(last))
    if len(begins) > 1:
        cut = middle_of(rows_of)
        op = writer.op(cut)
        note = f"{op}{' and what follows' if cut + 1 < len(begins) else ''}, and the release, stand on the next page."
        blocks.insert(begins[cut], {"kind": "may-break", "title": f"Prove-out - piece one, {op} on", "note": note})
    return b.page(sheet="Prove-out sheet", title="Prove-out - piece one", blocks=blocks, one_page=True)


def middle_of(rows: list[int]) -> int:
    """Before which operation, the first left out, two pages share the rows most evenly."""
    return min(range(1, len(rows)), key=lambda at: (abs(sum(rows[:at]) - sum(rows[at:])), at))
