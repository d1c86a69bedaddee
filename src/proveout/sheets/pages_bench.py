"""The bench card: which edges are broken by hand, by how much, and in which order the bench works."""

from __future__ import annotations

import math
from typing import Any

from proveout.model.bench import EdgeRun
from proveout.sheets import blocks as b
from proveout.sheets.cautions import AIR, DUST
from proveout.sheets.edge_map import KEY, edge_map_svg
from proveout.sheets.ink import digits_whole
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

TITLE = "Bench card"
WIDTH_MM = 180.0
MANY = 3
SAME_MM = 0.1  # an edge this near to round a step of a hole runs round it
NO_DRAWING = "No edge map could be drawn: find the edges by their faces."
# common practice, no source
BEFORE_BLAST = "Break edges BEFORE blast: beads hide a burr and round it over without taking it off"
WASH = "Wash off coolant, rinse, blow dry: oil on a piece fouls the beads and leaves blotches under a coat"
BLOW_OUT = "Blast, then blow out every hole: look through it, or at its bottom, against a light"
GLOVES = "From the wash on only clean gloves; pieces apart from each other in the tray"


def _where(writer: Writer, index: int) -> str:
    """Of what the edges are: mouths of holes, or the faces beside them."""
    run, ink = writer.plan.bench.edges[index], writer.ink
    at = ("plan", "bench", "edges", index)
    count = ink.number(*at, "runs_count", digits=0) if run.runs_count > 1 else ""
    if run.hole_ids:
        named = writer.names.faces(run.hole_ids)
        what = f"{'mouths' if run.runs_count > 1 else 'mouth'} of {named}"
        return f"{capital(ink.words(*at, 'hole_ids', as_text=what))}{_wide(writer, run)}"
    of = writer.part_of(run.face_ids)
    named = writer.names.faces(run.face_ids[:MANY])
    more = " and others" if len(run.face_ids) > MANY else ""
    words = ink.words(*at, "face_ids", as_text=f"{named}{more}")
    drawn = "drawn" if run.manner == "machine" or run.pass_ids else "edge of"
    text = f"{drawn} {words}{f', {of}' if of and run.manner != 'machine' else ''}"
    return capital(f"{count} times: {text}" if count else text)


def _wide(writer: Writer, run: EdgeRun) -> str:
    """The diameter of round mouths, which tells those of a counterbore from those below it; empty for other ones."""
    round_mm = run.length_mm / run.runs_count / math.pi
    for i, hole in enumerate(writer.plan.survey.holes):
        for k, step in enumerate(hole.steps if hole.id in run.hole_ids else ()):
            if abs(step.diameter_mm - round_mm) < SAME_MM:
                at = ("plan", "survey", "holes", i, "steps", k, "diameter_mm")
                return f", Ø{writer.ink.number(*at, digits=digits_whole(step.diameter_mm))}"
    return ""


def _rows(writer: Writer) -> list[list[b.Cell]]:
    ink, rows = writer.ink, []
    for index, run in enumerate(writer.plan.bench.edges):
        at = ("plan", "bench", "edges", index)
        after = ink.number(*at, "clamping", digits=0) if run.clamping else ""
        seconds = "" if run.seconds is None else ink.span(*at, "seconds", unit="s", digits=0)
        rows.append(
            [
                b.strong(ink.words(*at, "letter")),
                b.strong(run.manner) if run.manner == "hand" else run.manner,
                _where(writer, index),
                f"op {after}" if after else "-",
                ink.number(*at, "length_mm", digits=0),
                seconds if run.manner == "hand" else "",
                b.BOX if run.manner == "hand" else "",
            ]
        )
    return rows


def bench_page(writer: Writer) -> dict[str, Any]:
    """One page: edge map, edges by letter, the order of the bench's work."""
    plan, ink = writer.plan, writer.ink
    bench = plan.bench
    is_coated = plan.finishing.coated_area_mm2 > 0.0
    is_blasted = any(line.station == "bench" and line.text == "blast" for line in plan.time.lines)
    amount = "not said: ask" if bench.break_mm is None else ink.number("plan", "bench", "break_mm", unit="mm", digits=2)
    seconds = "not shown" if bench.hand_s is None else ink.span("plan", "bench", "hand_s", unit="min:s")
    blocks: list[b.Block] = [
        b.keys(
            [
                ("break every edge by", amount),
                ("by hand, a piece", ink.number("plan", "bench", "hand_mm", unit="mm", digits=0)),
                ("by machine", ink.number("plan", "bench", "machine_mm", unit="mm", digits=0)),
                ("edges by hand, min:s", seconds),
            ],
            size=15,
        )
    ]
    missing: tuple[str, ...] = ()
    if writer.views is None:
        blocks.append(b.para(NO_DRAWING))
    else:
        svg, _, missing = edge_map_svg(bench, writer.views)
        alt = f"Edge map of the part: {KEY}; letters as in the table below."
        blocks.append(b.pictures(b.picture(svg=svg, alt=alt, width_mm=WIDTH_MM, caption=f"Edge map - {KEY}.")))
    columns = [
        ("", "9", "l"), ("by", "18", "l"), ("where", "1fr", "l"), ("there after", "20", "l"), ("mm", "14", "r"),
        ("s", "18", "r"), ("tool, who", "28", "c"),
    ]  # fmt: skip
    blocks.append(b.table(columns, _rows(writer), tight=True))
    if missing:
        blocks.append(b.para(f"Shows in none of these views: {', '.join(missing)}."))
    if bench.show_faces:
        named = ink.words("plan", "bench", "show_faces", as_text=writer.names.faces(bench.show_faces))
        blocks.append(b.framed(f"Faces that the customer sees - no scratch, no file, no clamp: {named}."))
    steps = ["Every piece: cotton drawn along each edge catches nowhere; no burr hangs into a hole or thread"]
    steps += [BEFORE_BLAST, WASH, BLOW_OUT] if is_blasted else [WASH]
    steps += [GLOVES] if is_coated else []
    blocks += [b.heading("In this order"), b.ticks(steps), b.framed_lines([AIR, *([DUST] if is_blasted else [])])]
    blocks.append(b.keys([], across=3, boxes=("pieces done", "set aside, why", "signed")))
    return b.page(sheet=TITLE, title=TITLE, blocks=blocks, one_page=True)
