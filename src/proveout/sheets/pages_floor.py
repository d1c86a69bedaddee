"""Pages used at the machine beside the setup sheets: inspection sheet and prove-out sheet."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.writer import Writer

READINGS = ("first", "second", "third", "fourth", "last")


def _general(writer: Writer) -> list[b.Block]:
    """The limits of all sizes without their own, when the job names a class; they hold for the finished part."""
    ink, derived = writer.ink, writer.derived
    if not derived.general:
        return []
    rows: list[list[b.Cell]] = []
    for i in range(len(derived.general)):
        at = ("derived", "general", i)
        over = ink.number(*at, "over_mm", digits=0 if derived.general[i].over_mm >= 1.0 else 1)
        top = ink.number(*at, "up_to_mm", digits=0)
        rows.append([over, top, b.strong(f"± {ink.number(*at, 'deviation_mm', digits=2)}"), b.BOX, b.BOX, b.BOX])
    words = "Of the finished part, first and last piece; write down what was measured and where."
    if derived.coat_high_mm > 0.0:
        deep = [ink.number("derived", f"coat_{end}_mm", unit="mm", digits=3) for end in ("low", "high")]
        deep = deep[:1] if deep[0] == deep[1] else deep
        words += f" At the machine every coated face still lies {' to '.join(deep)} inside its finished place."
    return [
        b.heading(f"All other sizes: general tolerance {ink.words('plan', 'part', 'general_tolerance')} of ISO 2768-1"),
        b.table(
            [
                ("over, mm", "22", "r"),
                ("up to, mm", "22", "r"),
                ("may differ by, mm", "32", "r"),
                ("size, place", "1fr", "c"),
                ("first", "28", "c"),
                ("last", "28", "c"),
            ],
            rows,
        ),
        b.para(words),
    ]


def inspection_page(writer: Writer) -> dict[str, Any]:
    """Limits to machine to in a large box, finished limits small and out of the way, boxes for readings."""
    ink = writer.ink
    rows = []
    for index, line in enumerate(writer.plan.inspection):
        at = ("plan", "inspection", index)
        low, high = ink.number(*at, "before_low_mm", digits=3), ink.number(*at, "before_high_mm", digits=3)
        done = f"{ink.number(*at, 'finished_low_mm', digits=3)} to {ink.number(*at, 'finished_high_mm', digits=3)}"
        rows.append(
            {
                "balloon": ink.number(*at, "balloon", digits=0),
                "text": writer.title(*at, "text"),
                "before": f"{low} – {high}",
                "finished": done,
                "gauge": writer.words(*at, "gauge") or "none in the shop fits: ask",
                "often": writer.words(*at, "how_often"),
                "reaction": writer.sentence(*at, "reaction"),
                "critical": "every piece" if line.is_critical else "",
            }
        )
    blocks: list[b.Block] = [
        b.para("All sizes in mm at the machine, before the coat. Clean, dry, at room temperature."),
        {"kind": "limits", "rows": rows, "readings": list(READINGS)},
    ]
    if not rows:
        blocks = [
            b.framed("No size is written for this part: measure against the drawing and write the readings here.")
        ]
    blocks += _general(writer)
    blocks += [
        b.heading("By eye, every piece"),
        b.ticks(
            ["All holes through, no burr", "Show faces clean, no mark of jaw or clamp", "No edge sharp to the finger"]
        ),
        b.keys([], across=3, boxes=("first piece signed", "last piece signed", "set aside, how many")),
    ]
    return b.page(sheet="Inspection sheet", title="Inspection sheet - before coat", blocks=blocks)


def prove_out_page(writer: Writer) -> dict[str, Any]:
    """Piece one through all operations: dry run lifted, stop points with the reading to expect."""
    plan, ink = writer.plan, writer.ink
    blocks: list[b.Block] = [
        b.framed("Take piece one through ALL operations and gauge it before piece two is clamped."),
        b.ticks(
            [
                "Papers, program and plan carry the same fingerprint",
                "Every stick-out and every zero measured and written on the setup sheets",
                "Jaws clean, work seated without a gap, clamped to the torque",
                "Dry run with the work zero lifted as below: no cutter may come near work or jaws",
                "Then cut with rapids slowed, one hand on the stop, holding at each stop point",
            ]
        ),
    ]
    for index, clamping in enumerate(plan.clampings):
        lift = ink.number("derived", "clampings", clamping.id, "lift_mm", unit="mm", digits=0)
        blocks.append(b.heading(f"{writer.op(index)} - dry run lifted by {lift}"))
        seen: set[str] = set()
        rows: list[list[b.Cell]] = []
        for place in writer.passes_of(clamping.id):
            one = plan.passes[place]
            low = writer.derived.passes[one.id].low_mm
            first = one.cutter_id not in seen
            seen.add(one.cutter_id)
            if low is None or not (first or one.kind in ("face", "finish floor", "bore", "ream")):
                continue
            reading = b.strong(f"Z {ink.number('derived', 'passes', one.id, 'low_mm', digits=2)}")
            what = "measured after it" if one.kind in ("face", "finish floor") else "tip at its deepest"
            feature = writer.feature(place)
            pocket = ink.number("derived", "pockets", clamping.machine_id, one.cutter_id, digits=0)
            rows.append([f"{one.kind}, {feature}", pocket, what, reading, b.BOX])
        blocks.append(
            b.table(
                [
                    ("stop at pass", "1fr", "l"),
                    ("pocket", "16", "r"),
                    ("look at", "40", "l"),
                    ("expect, mm", "24", "r"),
                    ("reading", "28", "c"),
                ],
                rows,
                tight=True,
            )
        )
    last = [
        b.heading("Piece one is out"),
        b.ticks(["Gauged on every line of the inspection sheet", "Corrections entered and written down"]),
        b.keys([], across=2, boxes=("released for piece two by", "date")),
    ]
    blocks.append(b.together(last))
    return b.page(sheet="Prove-out sheet", title="Prove-out - piece one", blocks=blocks)
