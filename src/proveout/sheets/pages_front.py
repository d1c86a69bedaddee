"""The route card, which rides with the tray."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.derived import PACKED, PACKING
from proveout.sheets.names import capital
from proveout.sheets.pages_places import share_words
from proveout.sheets.pages_saw import trial_blanks
from proveout.sheets.planned_days import stays
from proveout.sheets.svg import part_svg
from proveout.sheets.writer import Writer

OUTSIDE = "outside: "  # begins the cost lines of outside work


def route_page(writer: Writer) -> dict[str, Any]:
    """The card that rides with the tray: what, how many, every station with room to write."""
    plan, ink = writer.plan, writer.ink
    wide = "20"  # mm, in which "not shown" stands on one line
    columns = [
        ("op", "16", "l"),
        ("where", "1fr", "l"),
        ("set-up", wide if plan.metal_unknown else "17", "r"),
        ("each", wide if plan.metal_unknown else "15", "r"),
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
        where = f"{writer.shop_name('machines', clamping.machine_id)}, {jaws} jaws{share_words(writer, index)}"
        cycle = (
            ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s")
            if clamping.id in plan.time.cycle_s
            else "-"
        )
        rows.append([b.strong(writer.op(index)), where, setup_of(clamping.id), cycle, *write])
    outside = outside_work(writer)
    hand = _hand_work(writer)
    rows.append(
        [b.strong("Bench"), hand or "By hand", time_of("bench", "batch_s"), time_of("bench", "piece_s"), *write]
    )
    before = ", before it goes out" if outside else ""
    rows.append([b.strong("Check"), f"Inspection sheet signed{before}", "", "", *write])
    rows += [[b.strong("Out"), f"Outside: {words}; count out and back", "", "", *write] for words in outside]
    if PACKED in writer.derived.stations:
        rows.append([b.strong("Pack"), "Kit and box", "", time_of(PACKED, "piece_s"), *write])
    verdict = [
        ("proofs that hold", ink.number("derived", "holds_count", digits=0)),
        ("not shown", ink.number("derived", "not_shown_count", digits=0)),
        ("fail", ink.number("derived", "fails_count", digits=0)),
        ("of all these must hold", ink.number("derived", "blocking_count", digits=0)),
    ]
    first = writer.part_drawing()
    top: list[b.Block] = [
        b.keys(
            [
                ("ordered", ink.number("plan", "part", "quantity", digits=0)),
                ("blanks to saw, with spares", ink.number("plan", "bars", "pieces_count", digits=0)),
                *trial_blanks(writer),
                *([("wanted by", ink.words("plan", "due"))] if plan.due else []),
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
    lengths = "All lengths on these papers are in mm"
    if writer.shop.units == "inch":
        lengths += f", not in inches: one inch is {ink.number('derived', 'mm_per_inch', unit='mm', digits=1)}"
    blocks = [
        *top,
        b.keys(
            [
                (
                    "finished size",
                    " × ".join(ink.number("plan", "part", "size_mm", i, digits=2) for i in range(3)) + "\u202fmm",
                ),
                ("one piece, all stations, min:s", ink.span("plan", "time", "piece_s", unit="min:s")),
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
        b.para(f"{lengths}.", strong=writer.shop.units == "inch"),
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
                [[_with_days(writer, *line), *[b.BOX] * 6] for line in _outside_lines(writer)],
            ),
        ]
    blocks += [
        b.keys([], across=3, boxes=("bar lot or heat", "customer's order no.", "final count, signed")),
        b.keys([], across=4, boxes=("HOLD - stopped at", "why", "by whom, when", "let go by, when")),
    ]
    return b.page(sheet="Route card", title="Route card", blocks=blocks, one_page=True)


def _hand_work(writer: Writer) -> str:
    """What the bench does to a piece before it goes out, in the words of the time plan."""
    said = [
        writer.words("plan", "time", "lines", i, "text")
        for i, line in enumerate(writer.plan.time.lines)
        if line.station == "bench" and line.per == "piece" and not line.text.startswith(PACKING)
    ]
    return capital("; ".join(said))


def outside_work(writer: Writer) -> list[str]:
    """The kinds of outside work that the plan pays for, in its order; the coat when nothing names it."""
    return [words for words, _ in _outside_lines(writer)]


def _outside_lines(writer: Writer) -> list[tuple[str, str]]:
    """The same, each with the finisher's id, empty where the shop knows none."""
    ink, plan = writer.ink, writer.plan
    finishers = {finisher.process: finisher.id for finisher in writer.shop.finishers}
    named: list[tuple[str, str]] = []
    for i, line in enumerate(plan.cost.lines):
        if line.text.startswith(OUTSIDE):
            process = line.text.removeprefix(OUTSIDE)
            words = ink.words("plan", "cost", "lines", i, "text", as_text=process)
            named.append((words, finishers.get(process, "")))
    is_coated = plan.finishing.coated_area_mm2 > 0.0
    return named or ([("coat", "")] if is_coated else [])


def _with_days(writer: Writer, words: str, finisher_id: str) -> str:
    """Outside work with the days that the order's schedule has for it."""
    days = stays(writer, finisher_id)
    return f"{words}; as planned {'; '.join(days)}" if days else words
