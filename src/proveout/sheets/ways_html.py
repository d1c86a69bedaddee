"""The ways of holding a part that were foreseen best, on pages of a plan."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.writer import Writer


def ways_html(writer: Writer) -> str:
    """The sequences of clampings foreseen best, and what those planned in full came to."""
    plan, ink = writer.plan, writer.ink
    rows = []
    if plan.metal_unknown:
        return ""
    for index, way in enumerate(plan.ways):
        at = ("plan", "ways", index)
        foreseen = [writer.money(*at, name) for name in ("bound_each", "tilts_each", "leaning_each")]
        more = "-"
        if writer.derived.ways_more[index] is not None:
            more = writer.money("derived", "ways_more", index)
        came = ["not planned in full", "-"]
        if way.is_chosen:
            came = ["this plan", "-"]
        if way.open_count is not None:
            came[0] = f"{ink.number(*at, 'open_count', digits=0)} open" + (", this plan" if way.is_chosen else "")
            if way.opens:
                came[0] += ", more of " + ", ".join(ink.words(*at, "opens", n) for n in range(len(way.opens)))
            came[1] = "-" if way.cost_each is None else writer.money_span(*at, "cost_each")
        rows.append([ink.words(*at, "why"), *foreseen, more, *came])
    if len(rows) < 2:
        return ""
    heads = ["clampings", "set-ups, jaws, blank", "tilts", "stiffness", "more than this", "planned in full", "came to"]
    title = "Ways of holding, best foreseen first, money a piece; stiffness in name only"
    return h.table(title, heads, rows, numeric={1, 2, 3, 4, 6})
