"""What goes over from one operation to the next, on the page of a plan."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.turned_words import between, what
from proveout.sheets.writer import Writer

UNKNOWN = "not shown"
INTRO = (
    "How far cuts of one operation may lie off those of another: every share at once, in the worst direction. A figure "
    "that nobody measured leaves its line open. Measure these places on the first piece before the second is cut."
)


def turned_html(writer: Writer) -> str:
    """Where operations meet, what makes up the worst of it, the stages of facing, and the bow after it."""
    parts = [_meetings(writer), _shares(writer), _facings(writer), _bows(writer)]
    inner = "".join(part for part in parts if part)
    return f"{h.text('p', INTRO)}{inner}" if inner else ""


def _meetings(writer: Writer) -> str:
    ink, rows = writer.ink, []
    for index, one in enumerate(writer.plan.turned.meetings):
        at = ("plan", "turned", "meetings", index)
        off = UNKNOWN if one.off_mm is None else ink.number(*at, "off_mm", "high", digits=3)
        limit = "none written" if one.limit_mm is None else ink.number(*at, "limit_mm", digits=3)
        size = "-" if one.kind == "step" else ink.number(*at, "size_mm", digits=3)
        rows.append([what(writer, index), between(writer, index), size, off, limit])
    if not rows:
        return ""
    heads = ["where", "operations", "as made", "off by at most", "may be off by"]
    return h.table("Steps, and sizes over two operations, mm", heads, rows, numeric={2, 3, 4})


def _shares(writer: Writer) -> str:
    """What the worst step and the worst size are made of."""
    ink, parts = writer.ink, []
    meetings = writer.plan.turned.meetings
    for kind in ("step", "size"):
        own = [
            (one.off_mm.high, -place)
            for place, one in enumerate(meetings)
            if one.kind == kind and one.off_mm is not None
        ]
        if not own:
            continue
        index = -max(own)[1]
        rows = []
        for number in range(len(meetings[index].lines)):
            at = ("plan", "turned", "meetings", index, "lines", number)
            rows.append(
                [ink.words(*at, "text"), ink.span(*at, "each_mm", digits=3), ink.number(*at, "count", digits=0)]
            )
        title = f"What makes up the largest {kind if kind == 'step' else 'error of a size'}: {what(writer, index)}, mm"
        parts.append(h.table(title, ["share", "each", "times"], rows, numeric={1, 2}))
    return "".join(parts)


def _facings(writer: Writer) -> str:
    ink, rows = writer.ink, []
    ids = [c.id for c in writer.plan.clampings]
    for index, facing in enumerate(writer.plan.turned.facings):
        for number, stage in enumerate(facing.stages):
            at = ("plan", "turned", "facings", index, "stages", number)
            reserve = UNKNOWN if stage.reserve_low is None else ink.number(*at, "reserve_low", digits=1)
            rows.append(
                [
                    writer.op(ids.index(facing.clamping_id)),
                    ink.number(*at, "count", digits=0),
                    *(ink.number(*at, name, digits=2) for name in ("depth_mm", "height_mm", "above_jaws_mm")),
                    reserve,
                ]
            )
    if not rows:
        return ""
    heads = [
        "facing",
        "stages",
        "each takes off, mm",
        "left above the seat, mm",
        "over the jaws, mm",
        "bows away at, jaw forces",
    ]
    return h.table("Stages of facing, the last a skim", heads, rows, numeric={1, 2, 3, 4, 5})


def _bows(writer: Writer) -> str:
    ink, rows = writer.ink, []
    ids = [c.id for c in writer.plan.clampings]
    for index, one in enumerate(writer.plan.turned.bows):
        at = ("plan", "turned", "bows", index)
        bow = UNKNOWN if one.bow_mm is None else ink.span(*at, "bow_mm", digits=3)
        sizes = [ink.number(*at, name, digits=1) for name in ("length_mm", "thickness_mm")]
        rows.append([writer.op(ids.index(one.clamping_id)), *sizes, bow])
    if not rows:
        return ""
    heads = ["faced in", "length", "thickness in the end", "bows by"]
    return h.table("Bow once the jaws are open, mm", heads, rows, numeric={1, 2, 3})
