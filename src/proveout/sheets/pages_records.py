"""Pages that are filled in as the batch goes: receiving check, certificate trail, close-out."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.as_drawn import as_drawn
from proveout.sheets.general_sizes import once_back
from proveout.sheets.marking_words import marking_ticks
from proveout.sheets.notes_words import WORDS, note_ends, note_gauge, notes_unlined
from proveout.sheets.pages_floor import MEASURED
from proveout.sheets.pages_front import OUTSIDE, outside_work
from proveout.sheets.pages_pack import lot_text, square_code_svg
from proveout.sheets.writer import Writer

RECEIVING = "Receiving check"
TRAIL = "Certificate trail"
CLOSE = "Batch close-out"
SENT_OUT = "packing slip, finisher's certificate, coupon"


def receiving_page(writer: Writer) -> dict[str, Any] | None:
    """What comes back from outside: count, shade, thickness, finished sizes; None for a part that nobody sends out."""
    plan = writer.plan
    outside = outside_work(writer)
    if not outside:
        return None
    blocks: list[b.Block] = [
        b.framed("Count, look and measure BEFORE the box is put away: claims run out."),
        b.table(
            [
                ("from", "1fr", "l"), ("sent", "17", "c"), ("back", "17", "c"), ("good", "17", "c"),
                ("rejects, photo", "34", "c"), ("back on", "24", "c"), ("claim by", "24", "c"),
            ],
            [[words, *[b.BOX] * 6] for words in outside],
        ),
    ]  # fmt: skip
    if plan.finishing.coated_area_mm2 > 0.0:
        blocks += [*_coat_blocks(writer), *as_drawn(writer), *once_back(writer)]
    blocks += [
        b.heading("By eye, every piece"),
        b.ticks(
            [
                "Shade within the master chips, light and dark; pieces of one set side by side",
                "Rack marks only where they may be",
                "No burn or chip on an edge, no powder, no stain, no weeping hole",
                "No bare place that was to be coated, no coat where a mask was",
                *marking_ticks(writer),
            ]
        ),
        b.heading("Thickness, one reading a piece on a flat away from edges", more=_thickness(writer)),
        b.keys([], across=6, boxes=tuple(f"piece {n}" for n in ("one", "two", "three", "four", "five", "six"))),
        b.para("By eddy current (ASTM B244, ISO 2360), zero set on a bare piece of the same bar."),
        b.keys([], across=3, boxes=("taken in by", "date", "told the finisher on")),
    ]
    return b.page(sheet=RECEIVING, title=RECEIVING, blocks=blocks, one_page=True)


def _thickness(writer: Writer) -> str:
    """What the coat was ordered at, empty when no order says it."""
    for index, order in enumerate(writer.plan.finish_orders):
        if order.thickness_mm is not None:
            span = writer.ink.span("plan", "finish_orders", index, "thickness_mm", unit="mm", digits=3)
            return f"ordered: {span}; outside it tell the finisher before the claim runs out."
    return ""


def _coat_blocks(writer: Writer) -> list[b.Block]:
    """Finished sizes after the coat, by number: each with its limits and gauge, masked ones told apart.

    Radii and chamfers that have a line on the inspection sheet stand among them, and what is written beside the sizes.
    """
    plan = writer.plan
    places = {(line.balloon, line.text): i for i, line in enumerate(plan.inspection)}
    rows: list[tuple[int, str, list[b.Cell]]] = []
    for i, window in enumerate(plan.finishing.windows):
        at = ("plan", "finishing", "windows", i)
        coat = "plugged or masked: no coat here" if window.is_masked else "coated"
        measured = ", pitch diameter" if window.kind == "thread" else ""
        place = places.get((window.balloon, window.text))
        rows.append((window.balloon, window.mark, _finished_row(writer, at, measured, coat, place)))
    for i, line in enumerate(plan.inspection):
        if line.of != "size":
            ends = (line.finished_low_mm, line.finished_high_mm)
            is_bare = line.is_decided and (line.before_low_mm, line.before_high_mm) == ends
            said = (f", {MEASURED[line.of]}", "no coat here" if is_bare else "coated")
            rows.append((line.balloon, line.mark, _finished_row(writer, ("plan", "inspection", i), *said, i)))
    for i in notes_unlined(writer):
        note = plan.finishing.notes[i]
        rows.append((note.balloon, note.mark, _note_row(writer, i)))
    if not rows:
        return [b.para("No size of its own is written: gauge what mates, after the coat.")]
    columns = [
        ("", "9", "l"), ("size", "1fr", "l"), ("AFTER coat, mm", "38", "r"), ("gauge", "40", "l"), ("first", "18", "c"),
        ("middle", "18", "c"), ("last", "18", "c"),
    ]  # fmt: skip
    by_number = [row for *_, row in sorted(rows, key=lambda one: one[:2])]
    return [b.heading("Finished sizes - after the coat"), b.table(columns, by_number)]


def _note_row(writer: Writer, index: int) -> list[b.Cell]:
    """An angle, a texture or a state of edges of the finished part."""
    note, at = writer.plan.finishing.notes[index], ("plan", "finishing", "notes", index)
    number = writer.ink.number(*at, "balloon", digits=0)
    text = f"{writer.words(*at, 'text')}, {WORDS[note.kind]}"
    gauge = note_gauge(writer, note.mark)
    return [
        b.strong(number), text, b.strong(note_ends(writer, index, "low", "high")), gauge, b.BOX, b.BOX, b.BOX,
    ]  # fmt: skip


def _finished_row(
    writer: Writer, at: tuple[str | int, ...], measured: str, coat: str, place: int | None
) -> list[b.Cell]:
    """One finished size; place: of its line on the inspection sheet."""
    ink = writer.ink
    low, high = (ink.number(*at, f"finished_{end}_mm", digits=3) for end in ("low", "high"))
    gauge = "" if place is None else writer.words("plan", "inspection", place, "after_gauge")
    is_asked = place is None or bool(writer.plan.inspection[place].mark)  # older plans chose none for after the coat
    return [
        b.strong(ink.number(*at, "balloon", digits=0)), f"{writer.words(*at, 'text')}{measured}; {coat}",
        b.strong(f"{low} – {high}"), gauge or ("none in the shop fits: ask" if is_asked else ""), b.BOX, b.BOX, b.BOX,
    ]  # fmt: skip


def trail_page(writer: Writer) -> dict[str, Any]:
    """Which papers belong to which pieces, from the mill's certificate to the box."""
    ink = writer.ink
    alloy, bar = ink.words("plan", "part", "alloy"), writer.words("plan", "blank", "chosen", "bar_id")
    rows: list[list[b.Cell]] = [
        [b.strong("mill certificate"), f"{alloy}, heat number", b.BOX, b.BOX],
        [b.strong("bars"), f"{bar}, supplier's slip, rack place", b.BOX, b.BOX],
        [b.strong("blanks"), "saw ticket, heat painted on every end", b.BOX, b.BOX],
        [b.strong("pieces"), "this plan, inspection sheet, program fingerprints as run", b.BOX, b.BOX],
        *([b.strong(words), SENT_OUT, b.BOX, b.BOX] for words in outside_work(writer)),
        [b.strong("kits"), "supplier's lot where it matters", b.BOX, b.BOX],
        [b.strong("boxes"), "box numbers of this lot", b.BOX, b.BOX],
    ]  # fmt: skip
    alt = f"Square code of the lot: {lot_text(writer)}"
    left: list[b.Block] = [
        b.para(
            "One line a step, filled in when the step is done. With it a shade or a crack that shows a year later can "
            "be followed back to its bar."
        ),
        b.keys(
            [
                ("part", ink.words("plan", "part", "number")), ("revision", ink.words("plan", "part", "revision")),
                ("pieces ordered", ink.number("plan", "part", "quantity", digits=0)),
            ],
            across=3, size=15,
        ),
    ]  # fmt: skip
    blocks = [
        b.beside(left, svg=square_code_svg(lot_text(writer)), alt=alt, width_mm=34.0),
        b.table(
            [("step", "36", "l"), ("what belongs to it", "1fr", "l"), ("number", "44", "c"), ("filed at", "34", "c")],
            rows,
        ),
        b.para("Two heats in one lot may come back in two shades: keep them apart and write both."),
        b.keys([], across=2, boxes=("complete, signed", "kept until")),
    ]
    return b.page(sheet=TRAIL, title=TRAIL, blocks=blocks, one_page=True)


def close_page(writer: Writer) -> dict[str, Any]:
    """Planned against actual, filled in at the end; the plan's side is printed."""
    plan, ink = writer.plan, writer.ink
    rows: list[list[b.Cell]] = []
    for index, clamping in enumerate(plan.clampings):
        if clamping.id in plan.time.cycle_s:
            planned = ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s")
            rows.append([b.strong(f"{writer.op(index)}, min:s a piece"), planned, b.BOX, b.BOX])
        setup = writer.derived.clampings[clamping.id].setup_s
        if setup:
            told = ink.number("derived", "clampings", clamping.id, "setup_s", unit="min:s")
            rows.append([f"{writer.op(index)}, set-up, min:s", told, b.BOX, b.BOX])
    rows += [
        [b.strong("all stations, min:s a piece"), ink.span("plan", "time", "piece_s", unit="min:s"), b.BOX, b.BOX],
        [b.strong("pieces begun"), ink.number("plan", "bars", "pieces_count", digits=0), b.BOX, b.BOX],
        [b.strong("good pieces"), ink.number("plan", "part", "quantity", digits=0), b.BOX, b.BOX],
        [b.strong("bars"), ink.number("plan", "bars", "bars_count", digits=0), b.BOX, b.BOX],
        [b.strong("cost a piece"), writer.money_span("plan", "cost", "each"), b.BOX, b.BOX],
    ]
    for i, line in enumerate(plan.cost.lines):
        if line.text.startswith(OUTSIDE):
            rows.append(
                [
                    writer.words("plan", "cost", "lines", i, "text"),
                    writer.money_span("plan", "cost", "lines", i, "each"),
                    b.BOX,
                    b.BOX,
                ]
            )
    blocks: list[b.Block] = [
        b.table([("", "1fr", "l"), ("planned", "44", "r"), ("actual", "34", "c"), ("why", "56", "c")], rows),
        b.heading("Offsets at the end of the run", more="what the next batch begins from"),
        b.table([("op", "20", "l"), ("zero X", "26", "c"), ("zero Y", "26", "c"), ("zero Z", "26", "c"),
                 ("cutters corrected, by how much", "1fr", "c")],
                [[b.strong(writer.op(index)), *[b.BOX] * 4] for index in range(len(plan.clampings))]),
        b.heading("Scrap and rework"),
        b.table([("op", "20", "l"), ("pieces", "24", "c"), ("reason", "1fr", "c"), ("what caught it", "54", "c")],
                [[b.BOX] * 4 for _ in range(3)]),
        b.heading("Three things to change next time"),
        b.table([("", "8", "l"), ("what", "1fr", "c"), ("who", "36", "c")],
                [[f"{n}", b.BOX, b.BOX] for n in ("a", "b", "c")]),
        b.ticks(["Offsets read off the machines as above and filed with this plan's fingerprint",
                 "Jaws cleaned, marked and put away; their place written down"]),
        b.keys([], across=3, boxes=("closed by", "date", "jaws lie at")),
    ]  # fmt: skip
    return b.page(sheet=CLOSE, title=CLOSE, blocks=blocks, one_page=True)
