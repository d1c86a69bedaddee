"""What reaches every face and how dear that is, on the page of a plan."""

from __future__ import annotations

from proveout.model.reach import FaceReach
from proveout.sheets import html_parts as h
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

TITLE = "What reaches each face, dearest first; feed alone at the least, no air, roughing or change"
NOBODY = "not shown"


def reach_html(writer: Writer) -> str:
    """A row a face: what it is, the cutter that is quickest of those that reach it whole, from where, its minutes.

    A face that nothing reaches whole names the cutter that comes nearest and its share; "not shown" stands where no
    cutter's row tells its feed.
    """
    plan = writer.plan
    places = sorted(range(len(plan.survey.reach)), key=lambda i: (-_seconds(plan.survey.reach[i]), i))
    rows = [_row(writer, i) for i in places]
    heads = ["face", "cutter", "from", "reached, %", "at least, min"]
    return h.table(TITLE, heads, rows, numeric={3, 4}) if rows else ""


def _seconds(one: FaceReach) -> float:
    return one.least_s if one.least_s is not None else 0.0


def _row(writer: Writer, place: int) -> list[str]:
    one, ink = writer.plan.survey.reach[place], writer.ink
    at = ("plan", "survey", "reach", place)
    named = capital(writer.names.short(one.face_id))
    of = writer.part_of((one.face_id,))
    face = ink.words(*at, "face_id", as_text=named) + (f" of {of}" if of else "")
    if not one.by:
        return [face, "none", "-", "-", NOBODY]
    best = next((k for k, by in enumerate(one.by) if one.least_s is not None and by.cut_s == one.least_s), 0)
    by = one.by[best]
    share = ink.number(*at, "by", best, "reached_ratio", unit="%", digits=0, bare=True)
    seconds = NOBODY if one.least_s is None else ink.number(*at, "least_s", unit="min", digits=2, bare=True)
    where = f"Op {ink.number(*at, 'by', best, 'clamping_number', digits=0)}, {_way(writer, by.direction, at, best)}"
    return [face, writer.shop_name("cutters", by.cutter_id), where, share, seconds]


def _way(writer: Writer, direction: tuple[float, float, float], at: tuple[str | int, ...], best: int) -> str:
    """The side that the cutter comes from in the part's own axes: +x, or the shares along x, y and z."""
    for axis, letter in enumerate("xyz"):
        if abs(abs(direction[axis]) - 1.0) < 1e-6:
            return ("+" if direction[axis] > 0.0 else "-") + letter
    shares = [writer.ink.number(*at, "by", best, "direction", k, digits=2) for k in range(3)]
    return f"({', '.join(shares)})"
