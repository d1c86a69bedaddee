"""The saw ticket: which bars, how they lie, what length, what to measure at which cut, what it takes."""

from __future__ import annotations

from typing import Any

from proveout.sheets import blocks as b
from proveout.sheets.svg import BUNDLE_MM, bundle_svg
from proveout.sheets.writer import Writer

SHOWN = 2
RACK_OF_ORDER = (
    "Remnants of the rack could give this lot, and perhaps another of this order instead. Which lot takes them stands "
    "on the order's page and in saw.csv: saw the order from there, and take no remnant that is not written there."
)
RACK_AS_GIVEN = "Remnants only as the order's page gives them to this part"
SAW_TICKS = (
    "Bars butted to the stop, no chip on stop or fence, outer end supported",
    "Nothing shorter than the least tail is sawn, and no hand reaches past the guard",
)
MEASURE_TICK = "Trim cut first; then measure length, top and bottom, and with a square how true the end is"
STOP_TICK = "Length or end outside its limit: stop, look at blade and fence"
PAINT_TICK = "Paint the far end of every bar; blanks with their heat number on the tray to the first operation"
LAST_LOST = ", the last only if the saw cuts none long"


def saw_page(writer: Writer) -> dict[str, Any]:
    """The saw ticket on one page."""
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
            across=3, size=22,
        ),
        b.keys(
            [
                ("alloy", ink.words("plan", "part", "alloy")),
                ("bars to pull", ink.number("plan", "bars", "bars_count", digits=0)),
                ("trim each bar", ink.number("plan", "bars", "trim_mm", unit="mm", digits=1)),
                ("kerf", ink.number("plan", "bars", "kerf_mm", unit="mm", digits=1)),
                ("spares in the count", ink.number("plan", "bars", "spare_count", digits=0)),
                *trial_blanks(writer),
                ("strokes of the saw", ink.number("plan", "bars", "strokes_count", digits=0)),
                ("least tail held", ink.number("plan", "bars", "tail_mm", unit="mm", digits=0)),
                *_minutes(writer),
            ]
        ),
    ]  # fmt: skip
    if plan.blank.chosen.is_ideal:
        blocks.append(
            b.framed("No bar of the shop fits this part. The blank below is the one that would: order it first.")
        )
    if bars.is_rack_shared:
        blocks.append(b.framed(RACK_OF_ORDER))
    if bars.rack:
        blocks.append(_from_the_rack(writer))
    blocks += [b.heading("Bundles"), bundles_table(writer)]
    shown = _pictures(writer)
    if shown:
        blocks.append(b.pictures(*shown))
    note = f" {writer.sentence('plan', 'bars', 'note')}" if bars.note else ""
    bound = ink.number("plan", "bars", "lower_bound", digits=0)
    if any(pattern.is_last_in_doubt for pattern in bars.patterns):
        blocks.append(
            b.framed(
                f"* The last piece of such a bar comes out only if pieces are not cut long within their ± {plus}: "
                "measure the first ten, which on the average may not be long; else count on one piece less a bar."
            )
        )
    blocks += [
        b.para(f"No plan can use fewer bars than {bound}.{note} Tag each remnant with alloy, heat and length."),
        *_steps(writer),
        b.heading("Before and while sawing"),
        b.ticks(
            [
                RACK_AS_GIVEN
                if bars.is_rack_shared
                else "Remnants in the rack looked through before a new bar is pulled",
                *_lifting(writer),
                *(["Trial blanks marked and laid apart: they are not counted"] if bars.trial_count else []),
                *SAW_TICKS,
                f"{MEASURE_TICK}{_true(writer)}",
                STOP_TICK,
                PAINT_TICK,
            ]
        ),
        b.keys([], across=5, boxes=("heat no.", "blade changed?", "counted", "first / last length", "signed")),
    ]
    return b.page(sheet="Saw ticket", title="Saw ticket", blocks=blocks, one_page=True)


def trial_blanks(writer: Writer) -> list[tuple[str, str]]:
    """Blanks for the first pieces, which prove the programs; nothing where none is asked for."""
    if not writer.plan.bars.trial_count:
        return []
    return [("trial blanks beside them", writer.ink.number("plan", "bars", "trial_count", digits=0))]


def _minutes(writer: Writer) -> list[tuple[str, str]]:
    """Minutes of the blade and of the hand, where the plan has them."""
    if not writer.plan.bars.blade_s:
        return []
    ink = writer.ink
    blade = ink.number("plan", "bars", "blade_s", unit="min:s")
    return [("blade, and hand, min:s", f"{blade}, {ink.number('plan', 'bars', 'handling_s', unit='min:s')}")]


def _true(writer: Writer) -> str:
    """How far an end may be out of square over the longer side of the section; empty where the plan says nothing."""
    at = writer.place("bars", writer.plan.blank.chosen.bar_id)
    if writer.derived.square_mm is None or at is None:
        return ""
    bar, ink = writer.shop.bars[at], writer.ink
    side = "width_mm" if bar.width_mm >= bar.height_mm else "height_mm"
    most = ink.number("derived", "square_mm", unit="mm", digits=2)
    return f": out by at most {most} over {ink.number('shop', 'bars', at, side, unit='mm', digits=1)}"


def _from_the_rack(writer: Writer) -> b.Block:
    """The whole lot out of remnants of one heat, in place of the bars of the table."""
    ink = writer.ink
    parts: list[str] = []
    for i, row in enumerate(writer.plan.bars.rack):
        at = ("plan", "bars", "rack", i)
        each = ink.number(*at, "pieces", 0, 1, digits=0)
        length = ink.number(*at, "bar_length_mm", unit="mm", digits=0)
        many = row.bundle_count * row.times > 1
        parts.append(
            f"{ink.words(*at, 'tag')} ({length}{' each' if many else ''}): {each}{' from each' if many else ''}"
            f"{LAST_LOST if row.is_last_in_doubt else ''}"
        )
    heat = ink.words("plan", "bars", "rack", 0, "heat")
    return b.framed(
        f"Take the rack first: remnants of heat {heat} give the whole lot, and no new bar is needed. "
        f"{'; '.join(parts)}. The bundles below are for new bars."
    )


def bundles_table(writer: Writer) -> b.Block:
    """A row for each way of sawing."""
    ink = writer.ink
    rows: list[list[b.Cell]] = []
    is_weighed = any(pattern.bar_mass_kg for pattern in writer.plan.bars.patterns)
    for index, pattern in enumerate(writer.plan.bars.patterns):
        path, counted = ("plan", "bars", "patterns", index), ("derived", "patterns", index)
        left = ink.number(*path, "remnant_mm", unit="mm", digits=0)
        weighs = ink.number(*path, "bar_mass_kg", unit="kg", digits=1) if pattern.bar_mass_kg else "-"
        row: list[b.Cell] = [
            b.big(ink.number(*path, "times", digits=0)),
            b.big(ink.number(*path, "bundle_count", digits=0)),
            ink.number(*path, "bar_length_mm", unit="mm", digits=0),
            b.big(f"{ink.number(*path, 'pieces_each', digits=0)}{'*' if pattern.is_last_in_doubt else ''}"),
            b.big(ink.number(*counted, "pieces_count", digits=0)),
            f"{left}, to the rack" if pattern.is_kept else left,
            b.BOX,
        ]
        if is_weighed:
            heavy = pattern.needs_two and not writer.plan.metal_unknown
            row.insert(3, b.strong(f"{weighs}: two") if heavy else weighs)
        rows.append(row)
    columns = [
        ("times", "15", "r"), ("bars in the bundle", "26", "r"), ("bar length", "26", "r"), ("pieces a bar", "24", "r"),
        ("pieces", "18", "r"), ("remnant, each bar", "1fr", "r"), ("sawn", "22", "c"),
    ]  # fmt: skip
    if is_weighed:
        columns.insert(3, ("a bar weighs", "28", "r"))
    return b.table(columns, rows)


def _pictures(writer: Writer) -> list[dict[str, Any]]:
    """The first bundles as they lie in the saw, with what is measured when."""
    ink = writer.ink
    shown: list[dict[str, Any]] = []
    for index, (pattern, sheet) in enumerate(zip(writer.plan.bars.patterns, writer.derived.patterns, strict=True)):
        bar = writer.place("bars", pattern.bar_id)
        if bar is None or len(shown) >= SHOWN:
            continue
        path = ("plan", "bars", "patterns", index)
        size = (writer.shop.bars[bar].width_mm, writer.shop.bars[bar].height_mm)
        if not pattern.lies_flat:
            size = (size[1], size[0])
        cut = ink.number("derived", "patterns", index, "middle_cut", digits=0)
        last = ink.number(*path, "pieces_each", digits=0)
        count = ink.number(*path, "bundle_count", digits=0)
        shown.append(
            b.picture(
                svg=bundle_svg(bar_mm=size, sheet=sheet, pattern=pattern, ids=f"b{index}"),
                alt="End view of the bundle against the fence of the saw; the lettered outer bars are measured.",
                width_mm=BUNDLE_MM,
                caption=f"Bundle of {count}: measure the lettered bars at the first cut, cut {cut} and cut {last}.",
            )
        )
    return shown


def _steps(writer: Writer) -> list[b.Block]:
    """How much shorter a blank would give one more from a bar, and what that saves."""
    plan, ink = writer.plan, writer.ink
    if not plan.bars.steps or writer.is_of_floor:
        return []
    rows: list[list[b.Cell]] = []
    for i, step in enumerate(plan.bars.steps):
        at = ("plan", "bars", "steps", i)
        saves: b.Cell = "nothing for this batch"
        if step.saved_price > 0.0:
            saves = b.strong(f"{ink.number(*at, 'saved_price', digits=2)} {writer.shop.currency}")
        could = [writer.words(*at, "allowances", k) for k in range(len(step.allowances))]
        rows.append(
            [
                ink.number(*at, "bar_length_mm", unit="mm", digits=0), ink.number(*at, "pieces_count", digits=0),
                ink.number(*at, "cut_length_mm", digits=2), ink.number(*at, "sure_length_mm", digits=2),
                ink.number(*at, "less_mm", digits=2), saves,
                "; ".join(could) or "no one allowance is as large",
            ]
        )  # fmt: skip
    return [
        b.heading("One piece more a bar", more="not to be done at the saw: ask who plans"),
        b.table(
            [
                ("bar", "22", "r"), ("gives", "13", "r"), ("at, mm", "18", "r"), ("surely at", "18", "r"),
                ("less, mm", "17", "r"),
                ("saves", "34", "r"), ("could come from", "1fr", "l"),
            ],
            rows, tight=True,
        ),
    ]  # fmt: skip


def _lifting(writer: Writer) -> list[str]:
    """What is too heavy for one person, and who says so."""
    plan = writer.plan
    if plan.metal_unknown or not any(pattern.needs_two for pattern in plan.bars.patterns):
        return []
    limit = writer.ink.number("plan", "bars", "lift_limit_kg", unit="kg", digits=0)
    said = "as the shop says" if writer.shop.saw.lift_limit_kg is not None else "from memory"
    return [f"Bars marked two: above {limit} ({said}), carried by two persons or a hoist"]
