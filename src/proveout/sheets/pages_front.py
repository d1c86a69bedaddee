"""Pages about the whole order: route card, saw ticket, proofs, cautions."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.names import DIGEST
from proveout.sheets.svg import bundle_svg, part_svg
from proveout.sheets.writer import BANNER, CAUTIONS, Writer

OUTSIDE = "outside: "  # begins the cost lines of outside work


def route_page(writer: Writer) -> dict[str, Any]:
    """The card that rides with the tray: what, how many, every station with room to write."""
    plan, ink = writer.plan, writer.ink
    columns = [
        ("op", "16", "l"),
        ("where", "1fr", "l"),
        ("set-up", "17", "r"),
        ("each", "15", "r"),
        ("in", "15", "c"),
        ("good", "15", "c"),
        ("scrap, why", "26", "c"),
        ("who, date", "25", "c"),
    ]
    write = [b.BOX] * 4

    def time_of(station: str, field: str) -> str:
        known = writer.derived.stations.get(station)
        if known is None or not getattr(known, field):
            return ""
        return ink.number("derived", "stations", station, field, unit="min:s")

    def setup_of(clamping_id: str) -> str:
        if not writer.derived.clampings[clamping_id].setup_s:
            return ""
        return ink.number("derived", "clampings", clamping_id, "setup_s", unit="min:s")

    rows: list[list[b.Cell]] = [
        [b.strong("Saw"), "Saw to the saw ticket", time_of("saw", "batch_s"), time_of("saw", "piece_s"), *write]
    ]
    for index, clamping in enumerate(plan.clampings):
        jaws = writer.shop_name("jaws", clamping.jaws_id, "kind")
        where = f"{writer.shop_name('machines', clamping.machine_id)}, {jaws} jaws"
        cycle = (
            ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s")
            if clamping.id in plan.time.cycle_s
            else "-"
        )
        rows.append([b.strong(writer.op(index)), where, setup_of(clamping.id), cycle, *write])
    rows.append(
        [
            b.strong("Bench"),
            "Break edges, wash, dry, bag",
            time_of("bench", "batch_s"),
            time_of("bench", "piece_s"),
            *write,
        ]
    )
    outside = _outside(writer)
    rows += [[b.strong("Out"), f"Outside: {words}; count out and back", "", "", *write] for words in outside]
    rows.append([b.strong("Check"), "Inspection sheet signed", "", "", *write])
    verdict = [
        ("proofs that hold", ink.number("derived", "holds_count", digits=0)),
        ("not shown", ink.number("derived", "not_shown_count", digits=0)),
        ("fail", ink.number("derived", "fails_count", digits=0)),
        ("must hold before release", ink.number("derived", "blocking_count", digits=0)),
    ]
    first = writer.part_drawing()
    top: list[b.Block] = [
        b.keys(
            [
                ("ordered", ink.number("plan", "part", "quantity", digits=0)),
                ("blanks to saw, spares in", ink.number("plan", "bars", "pieces_count", digits=0)),
                ("alloy", ink.words("plan", "part", "alloy")),
                ("bar", writer.words("plan", "blank", "chosen", "bar_id")),
            ],
            across=2,
        ),
    ]
    if first is not None:
        alt = "Line drawing of the finished part, seen as it lies in the first operation."
        top = [
            b.beside(top, svg=part_svg(first, alt=alt, width_mm=78.0, height_mm=46.0, ids="p"), alt=alt, width_mm=78.0)
        ]
    blocks = [
        *top,
        b.keys(
            [
                (
                    "finished size",
                    " × ".join(ink.number("plan", "part", "size_mm", i, digits=2) for i in range(3)) + "\u202fmm",
                ),
                ("one piece, all stations", ink.span("plan", "time", "piece_s", unit="min:s") + " min"),
                (
                    "all set-ups and batch work",
                    ink.span("plan", "time", "batch_s", unit="h") if plan.time.batch_s.high else "-",
                ),
            ],
            across=3,
            size=14,
        ),
        b.table(columns, rows),
        b.para("Minutes are minutes : seconds. The set-up is once a batch, the other once a piece."),
        b.keys(verdict, size=16),
    ]
    if outside:
        blocks += [
            b.heading("Outside work"),
            b.table(
                [
                    ("what", "1fr", "l"),
                    ("order no.", "27", "c"),
                    ("sent on", "24", "c"),
                    ("pieces out", "22", "c"),
                    ("due back", "24", "c"),
                    ("back on", "24", "c"),
                    ("pieces back", "24", "c"),
                ],
                [[words, *[b.BOX] * 6] for words in outside],
            ),
        ]
    blocks += [
        b.keys([], across=3, boxes=("bar lot or heat", "customer's order no.", "final count, signed")),
        b.keys([], across=4, boxes=("HOLD - stopped at", "why", "by whom, when", "let go by, when")),
    ]
    return b.page(sheet="Route card", title="Route card", blocks=blocks)


def _outside(writer: Writer) -> list[str]:
    """The kinds of outside work that the plan pays for, in its order; the coat when nothing names it."""
    ink, plan = writer.ink, writer.plan
    named = [
        ink.words("plan", "cost", "lines", i, "text", as_text=line.text.removeprefix(OUTSIDE))
        for i, line in enumerate(plan.cost.lines)
        if line.text.startswith(OUTSIDE)
    ]
    is_coated = plan.finishing.coated_area_mm2 > 0.0
    return named or (["coat"] if is_coated else [])


def saw_page(writer: Writer) -> dict[str, Any]:
    """The saw ticket: which bars, how bundled, what length, what to measure at which cut."""
    plan, ink, bars = writer.plan, writer.ink, writer.plan.bars
    at = writer.place("bars", plan.blank.chosen.bar_id)
    section = "-"
    if at is not None:
        height = ink.number("shop", "bars", at, "height_mm", unit="mm", digits=1)
        section = f"{ink.number('shop', 'bars', at, 'width_mm', digits=1)} × {height}"
    length = ink.number("plan", "bars", "cut_length_mm", digits=2)
    plus = ink.number("plan", "bars", "cut_tolerance_mm", digits=2)
    blocks: list[b.Block] = [
        b.keys(
            [
                ("cut length, mm", f"{length} ± {plus}"),
                ("blanks", ink.number("plan", "bars", "pieces_count", digits=0)),
                ("section", section),
            ],
            across=3,
            size=22,
        ),
        b.keys(
            [
                ("alloy", ink.words("plan", "part", "alloy")),
                ("bars to pull", ink.number("plan", "bars", "bars_count", digits=0)),
                ("trim each bar", ink.number("plan", "bars", "trim_mm", unit="mm", digits=1)),
                ("kerf", ink.number("plan", "bars", "kerf_mm", unit="mm", digits=1)),
                ("spares in the count", ink.number("plan", "bars", "spare_count", digits=0)),
                ("strokes of the saw", ink.number("plan", "bars", "strokes_count", digits=0)),
                ("least tail held", ink.number("plan", "bars", "tail_mm", unit="mm", digits=0)),
            ]
        ),
    ]
    if plan.blank.chosen.is_ideal:
        blocks.append(
            b.framed("No bar of the shop fits this part. The blank below is the one that would: order it first.")
        )
    rows: list[list[b.Cell]] = []
    shown = []
    for index, (pattern, sheet) in enumerate(zip(bars.patterns, writer.derived.patterns, strict=True)):
        path, counted = ("plan", "bars", "patterns", index), ("derived", "patterns", index)
        bar = writer.place("bars", pattern.bar_id)
        rows.append(
            [
                b.big(ink.number(*path, "times", digits=0)),
                b.big(ink.number(*path, "bundle_count", digits=0)),
                ink.number(*path, "bar_length_mm", unit="mm", digits=0),
                b.big(ink.number(*path, "pieces_each", digits=0)),
                b.big(ink.number(*counted, "pieces_count", digits=0)),
                ink.number(*path, "remnant_mm", unit="mm", digits=0),
                b.BOX,
            ]
        )
        if bar is not None and len(shown) < 2:
            size = (writer.shop.bars[bar].width_mm, writer.shop.bars[bar].height_mm)
            svg = bundle_svg(bar_mm=size, sheet=sheet, pattern=pattern, ids=f"b{index}")
            cut = ink.number(*counted, "middle_cut", digits=0)
            last = ink.number(*path, "pieces_each", digits=0)
            count = ink.number(*path, "bundle_count", digits=0)
            caption = f"Bundle of {count}: measure the lettered bars at the first cut, cut {cut} and cut {last}."
            shown.append(
                b.picture(
                    svg=svg,
                    alt="End view of the bundle against the fence of the saw; the lettered outer bars are measured.",
                    width_mm=62.0,
                    caption=caption,
                )
            )
    blocks += [
        b.heading("Bundles"),
        b.table(
            [
                ("times", "15", "r"),
                ("bars in the bundle", "26", "r"),
                ("bar length", "26", "r"),
                ("pieces a bar", "24", "r"),
                ("pieces", "18", "r"),
                ("remnant, each bar", "1fr", "r"),
                ("sawn", "28", "c"),
            ],
            rows,
        ),
    ]
    if shown:
        blocks.append(b.pictures(*shown))
    note = f" {writer.sentence('plan', 'bars', 'note')}" if bars.note else ""
    bound = ink.number("plan", "bars", "lower_bound", digits=0)
    blocks += [
        b.para(f"No plan can use fewer bars than {bound}.{note} Tag each remnant with alloy, heat and length."),
        b.heading("Before and while sawing"),
        b.ticks(
            [
                "Remnants in the rack looked through before a new bar is pulled",
                "Bars butted to the stop, no chip on stop or fence, outer end supported",
                "Trim cut first; then measure: length top and bottom, and across the corners for squareness",
                "Length outside the limits, or top and bottom differ by more than that: stop, look at blade and fence",
                "Paint the far end of every bar; blanks with their heat number on the tray to the first operation",
            ]
        ),
        b.keys([], across=5, boxes=("heat no.", "blade changed?", "counted", "first / last length", "signed")),
    ]
    return b.page(sheet="Saw ticket", title="Saw ticket", blocks=blocks)


def proofs_page(writer: Writer) -> dict[str, Any]:
    """Every proof, weakest first, each with its limit mark: open ones in full, those that hold on one line each."""
    rows, held = [], []
    for index, proof in writer.weakest():
        mark = writer.mark(proof)
        at = ("plan", "proofs", index)
        row = {
            "claim": writer.title(*at, "claim"),
            "subject": writer.words(*at, "subject"),
            "verdict": proof.verdict,
            "best": mark.best_ratio or 0.0,
            "worst": 1.0 if mark.worst_ratio is None else mark.worst_ratio,
        }
        if proof.verdict == "holds":
            found, wanted = writer.found_parts(index)
            held.append({**row, "found": found, "wanted": wanted})
            continue
        todo = ""
        if proof.verdict == "not shown":
            todo = f"To decide it: {writer.words(*at, 'decides').rstrip('.')}."
        elif proof.remedy:
            todo = f"What would help: {writer.words(*at, 'remedy').rstrip('.')}."
        rows.append(
            {
                **row,
                "found": writer.found(index),
                "dashed": proof.verdict == "not shown",
                "blocks": "blocks release" if proof.blocks_release else "",
                "todo": todo,
            }
        )
    blocks: list[b.Block] = [
        b.para(
            "Each bar runs towards its limit, the upright stroke. It holds when the bar stops short of it and fails "
            "when it crosses. The open end of a bar is the spread of what was found. A dashed empty bar is not shown: "
            "something must be measured first."
        ),
    ]
    if rows:
        blocks += [b.heading("To be settled"), {"kind": "proofs", "rows": rows}]
    if held:
        blocks += [b.heading("Holds"), {"kind": "held", "rows": held}]
    return b.page(sheet="Proofs, weakest first", title="Proofs, weakest first", blocks=blocks)


def cautions_page(writer: Writer) -> dict[str, Any]:
    """Cautions, open questions, warnings, what is not cut, and everything that was assumed."""
    plan = writer.plan
    blocks: list[b.Block] = [b.framed(BANNER), b.heading("Cautions"), b.points(list(CAUTIONS))]
    if plan.questions:
        blocks.append(b.heading("Questions that only the owner can answer"))
        blocks.append(
            b.points(
                [
                    " ".join(writer.sentence("plan", "questions", i, field) for field in ("text", "would_change"))
                    for i in range(len(plan.questions))
                ]
            )
        )
    if plan.not_cut:
        blocks.append(b.heading("Not cut by any pass of this plan"))
        blocks.append(
            b.points(
                [
                    f"{writer.title('plan', 'not_cut', i, 'subject')}: {writer.words('plan', 'not_cut', i, 'reason')}"
                    for i in range(len(plan.not_cut))
                ]
            )
        )
    lines = [writer.sentence("plan", "warnings", i) for i in range(len(plan.warnings))]
    if lines:
        blocks += [b.heading("Noticed on reading"), b.points(lines)]
    assumed = [writer.sentence("plan", "assumed", i) for i in range(len(plan.assumed))]
    assumed += [writer.sentence("shop", "assumed", i) for i in range(len(writer.shop.assumed))]
    if assumed:
        blocks += [b.heading("Assumed, because nobody has said otherwise"), b.points(assumed)]
    rows: list[list[b.Cell]] = []
    for i, note in enumerate(plan.survey.faces):
        if note.face_id in writer.names.used:
            at = ("plan", "survey", "faces", i)
            shape = DIGEST.sub("", note.face_id)
            rows.append(
                [
                    b.strong(f"face {writer.ink.number(*at, 'balloon', digits=0)}"),
                    writer.ink.words(*at, "face_id", as_text=shape),
                    writer.ink.number(*at, "area_mm2", digits=0),
                ]
            )
    for i, hole in enumerate(plan.survey.holes):
        if hole.id in writer.names.used:
            at = ("plan", "survey", "holes", i)
            shape = DIGEST.sub("", hole.id)
            rows.append(
                [
                    b.strong(f"hole {writer.ink.number(*at, 'balloon', digits=0)}"),
                    writer.ink.words(*at, "id", as_text=shape),
                    "",
                ]
            )
    if rows:
        blocks += [
            b.heading("Faces and holes by number, as the solid has them"),
            b.table(
                [("number", "28", "l"), ("kind, size and place, mm", "1fr", "l"), ("area, mm²", "28", "r")],
                rows,
                tight=True,
            ),
        ]
    return b.page(sheet="Cautions and open points", title="Cautions and open points", blocks=blocks)
