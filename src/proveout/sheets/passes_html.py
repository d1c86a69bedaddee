"""The passes of a clamping in working order with what binds each, on pages of a plan."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.limit_cells import limit_cells
from proveout.sheets.pushes_html import pushes_html
from proveout.sheets.writer import UPRIGHT, Writer


def passes_html(writer: Writer, index: int) -> str:
    """One row for like passes: where, cutter, what binds speed, feed and depth, minutes; then what they push with.

    index: of the clamping.
    """
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    cycle = "-"
    if clamping.id in plan.time.cycle_s:
        cycle = ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s")
    rows = []
    for number, like in enumerate(writer.derived.clampings[clamping.id].rows):
        one = plan.passes[like.places[0]]
        where, comes = writer.feature(*like.places), writer.comes_from(clamping.id, one.tilt_id)
        where += "" if comes == UPRIGHT else f" - cutter {comes}"
        cutter = writer.shop_name("cutters", one.cutter_id)
        binds = limit_cells(writer, like.places)
        rows.append([one.kind, where, cutter, *binds, writer.row_minutes(clamping.id, number)])
    heads = ["pass", "where", "cutter", "speed bound by", "feed bound by", "depth bound by", "min:s"]
    table = h.table(f"Passes in working order, whole cycle {cycle}", heads, rows, numeric={6})
    return table + pushes_html(writer, index)
