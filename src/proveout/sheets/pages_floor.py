"""Pages used at the machine: setup sheet of each operation, inspection sheet, prove-out sheet."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.svg import end_svg, picture_svg
from proveout.sheets.writer import Writer

OPERATOR_MM = (112.0, 66.0)
END_MM = (64.0, 58.0)
READINGS = ("first", "second", "third", "fourth", "last")


def _torque(writer: Writer, vise_id: str) -> tuple[str, str]:
    """Clamp torque and preload in print, "not known" where the shop has none."""
    at = writer.place("vises", vise_id)
    if at is None:
        return "not known", "not known"
    vise, ink = writer.shop.vises[at], writer.ink
    torque = (
        "not known"
        if vise.torque_n_mm is None
        else ink.number("shop", "vises", at, "torque_n_mm", unit="N m", digits=0)
    )
    preload = "not known" if vise.preload_n is None else ink.span("shop", "vises", at, "preload_n", unit="kN", digits=1)
    return torque, preload


def _cutter_rows(writer: Writer, index: int) -> list[list[b.Cell]]:
    clamping, ink = writer.plan.clampings[index], writer.ink
    pockets = writer.derived.pockets.get(clamping.machine_id, {})
    used: list[str] = []
    for place in writer.passes_of(clamping.id):
        if writer.plan.passes[place].cutter_id not in used:
            used.append(writer.plan.passes[place].cutter_id)
    rows: list[list[b.Cell]] = []
    for cutter_id in sorted(used, key=lambda id: pockets[id]):
        at = writer.place("cutters", cutter_id)
        pocket = b.big(ink.number("derived", "pockets", clamping.machine_id, cutter_id, digits=0))
        if at is None:
            rows.append([pocket, cutter_id, "", "", "", b.BOX])
            continue
        path = ("shop", "cutters", at)
        life = (
            "-"
            if writer.shop.cutters[at].life_s is None
            else ink.number(*path, "life_s", unit="min", digits=0, bare=True)
        )
        stick_out = b.strong(ink.number(*path, "stick_out_mm", digits=1))
        diameter = f"Ø{ink.number(*path, 'diameter_mm', digits=1)}"
        rows.append([pocket, ink.words(*path, "name"), diameter, life, stick_out, b.BOX])
    return rows


def _pass_rows(writer: Writer, index: int) -> list[list[b.Cell]]:
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    pockets = writer.derived.pockets.get(clamping.machine_id, {})
    rows: list[list[b.Cell]] = []
    for place in writer.passes_of(clamping.id):
        one = plan.passes[place]
        feature = writer.feature(place)
        pocket = (
            ink.number("derived", "pockets", clamping.machine_id, one.cutter_id, digits=0)
            if one.cutter_id in pockets
            else "-"
        )
        low = writer.derived.passes[one.id].low_mm
        rows.append(
            [
                b.strong(one.kind),
                feature,
                pocket,
                ink.number("plan", "passes", place, "speed_rad_per_s", unit="1/min", digits=0, bare=True),
                ink.number("derived", "passes", one.id, "feed_mm_per_s", unit="mm/min", digits=0, bare=True),
                "-" if low is None else ink.number("derived", "passes", one.id, "low_mm", digits=2),
                writer.minutes(place),
            ]
        )
    return rows


def setup_page(writer: Writer, index: int) -> dict[str, Any]:
    """One operation: how the work lies, what holds it, zero in words, cutters, passes."""
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    operator, end = writer.pictures(index)
    torque, preload = _torque(writer, clamping.vise_id)
    machine = writer.shop_name("machines", clamping.machine_id)
    kind = writer.shop_name("jaws", clamping.jaws_id, "kind")
    cycle = (
        ink.number("plan", "time", "cycle_s", clamping.id, unit="min:s") if clamping.id in plan.time.cycle_s else "-"
    )
    patch = ("plan", "clampings", index)
    shown = b.pictures(
        b.picture(
            svg=picture_svg(operator, width_mm=OPERATOR_MM[0], height_mm=OPERATOR_MM[1], ids=f"o{index}"),
            alt=operator.alt,
            width_mm=OPERATOR_MM[0],
            caption="From where you stand. Dashed: inside or behind.",
        ),
        b.picture(
            svg=end_svg(end, ink=ink, index=index, width_mm=END_MM[0], height_mm=END_MM[1], ids=f"e{index}"),
            alt=end.alt,
            width_mm=END_MM[0],
            caption="Cut across the jaws, seen from your right. Sizes in mm.",
        ),
    )
    blocks: list[b.Block] = [
        shown,
        b.lead(writer.sentence("plan", "clampings", index, "seat_text")),
        b.keys(
            [
                ("clamp torque", torque),
                ("preload", preload),
                ("grip height", ink.number("plan", "clampings", index, "jaw_top_mm", unit="mm", digits=1)),
                ("jaws", f"{kind}{', formed' if clamping.needs_form else ''}"),
            ],
            size=16,
        ),
        b.para(
            "Where jaw and work really meet: "
            f"{ink.span(*patch, 'patch_length_mm', unit='mm', digits=1)} long, "
            f"{ink.span(*patch, 'patch_height_mm', unit='mm', digits=1)} high."
        ),
        b.heading("Work zero"),
        b.para(writer.sentence("plan", "clampings", index, "zero_text")),
        b.keys([], across=4, boxes=("X measured", "Y measured", "Z measured", "who, when")),
    ]
    tilted = [i for i, tilt in enumerate(clamping.tilts) if abs(tilt.a_rad) > 1e-9 or abs(tilt.c_rad) > 1e-9]
    if tilted:
        rows: list[list[b.Cell]] = [
            [
                ink.number(*patch, "tilts", i, "a_rad", unit="°", digits=3),
                ink.number(*patch, "tilts", i, "c_rad", unit="°", digits=3),
                b.BOX,
            ]
            for i in tilted
        ]
        blocks += [
            b.heading("Tilts"),
            b.table([("A", "40", "r"), ("C", "40", "r"), ("pivot measured", "1fr", "c")], rows),
        ]
    blocks += [
        b.heading("Cutters"),
        b.table(
            [
                ("pocket", "16", "r"),
                ("cutter", "1fr", "l"),
                ("mm", "18", "r"),
                ("life, min", "20", "r"),
                ("stick-out assumed", "34", "r"),
                ("measured", "30", "c"),
            ],
            _cutter_rows(writer, index),
        ),
        b.heading("Passes, in working order"),
        b.table(
            [
                ("pass", "30", "l"),
                ("where", "1fr", "l"),
                ("pocket", "16", "r"),
                ("1/min", "17", "r"),
                ("mm/min", "18", "r"),
                ("lowest Z", "20", "r"),
                ("min:s", "16", "r"),
            ],
            _pass_rows(writer, index),
            tight=True,
        ),
        b.para(
            f"Cutting {ink.number('derived', 'clampings', clamping.id, 'cutting_s', unit='min:s')}, "
            f"whole cycle {cycle}. "
            "Lowest Z is where the tip stands at its deepest, from the work zero."
        ),
    ]
    if clamping.removes_grip:
        blocks.append(
            b.framed(
                "The strip held before is cut away here. Pieces can come loose: look under the work before each start."
            )
        )
    return b.page(sheet=f"Setup sheet - {writer.op(index)}", title=f"{writer.op(index)} - {machine}", blocks=blocks)


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
