"""The blank as it adds up with the bars that lost, and the bars of the order, on pages of a plan."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.bars_picture import bars_svg
from proveout.sheets.writer import Writer

CAPTION = "One line for each way of sawing; the hatched end is the remnant."


def blank_html(writer: Writer) -> str:
    """Key numbers, the stack, why this bar, and the next-best bars."""
    plan, ink = writer.plan, writer.ink
    chosen = ("plan", "blank", "chosen")
    facts = h.keys(
        [
            ("bar", writer.words(*chosen, "bar_id")),
            ("sawn length", ink.number(*chosen, "cut_length_mm", unit="mm", digits=2)),
            ("pieces from a bar", ink.number(*chosen, "pieces_per_bar", digits=0)),
            ("mass of a blank", ink.number(*chosen, "mass_kg", unit="kg", digits=3)),
            ("bar, each piece", writer.money(*chosen, "material_price_each")),
        ]
    )
    stack = [
        [line.side, ink.words(*chosen, "stack", i, "text"), ink.number(*chosen, "stack", i, "size_mm", digits=2)]
        for i, line in enumerate(plan.blank.chosen.stack)
    ]
    inner = facts
    if plan.blank.chosen.is_ideal:
        inner += "<p><b>No bar of the shop fits.</b> This is the blank that would.</p>"
    inner += h.table("How the blank adds up, mm", ["along", "what", "mm"], stack, numeric={2})
    return inner + lost_bars_html(writer)


def lost_bars_html(writer: Writer) -> str:
    """Why this bar, and what the next-best would cost more."""
    plan, inner = writer.plan, ""
    why = plan.blank.why
    first = max(0, len(why) - len(plan.blank.others))  # reasons of the chosen one come first
    inner += h.points([writer.sentence("plan", "blank", "why", i) for i in range(first)]) if first else ""
    others = [
        [
            writer.words("plan", "blank", "others", i, "bar_id"),
            writer.money("plan", "blank", "others", i, "material_price_each"),
            writer.sentence("plan", "blank", "why", first + i) if first + i < len(why) else "",
        ]
        for i in range(len(plan.blank.others))
    ]
    if others:
        inner += h.table("The next-best bars", ["bar", "each", "why not"], others, numeric={1})
    return inner


def bars_html(writer: Writer) -> str:
    """How many bars, with a line for each way of sawing."""
    ink = writer.ink
    at = ("plan", "bars")
    facts = h.keys(
        [
            ("bars", ink.number(*at, "bars_count", digits=0)),
            ("no plan uses fewer than", ink.number(*at, "lower_bound", digits=0)),
            ("pieces, spares in", ink.number(*at, "pieces_count", digits=0)),
            *(
                [("trial blanks beside them", ink.number(*at, "trial_count", digits=0))]
                if writer.plan.bars.trial_count
                else []
            ),
            ("strokes", ink.number(*at, "strokes_count", digits=0)),
            ("price of all bars", writer.money(*at, "price")),
        ]
    )
    return facts + bars_figure(writer)


def bars_figure(writer: Writer) -> str:
    """The bars as a picture, to be pushed sideways where it does not fit."""
    wide = h.tag("div", bars_svg(writer), class_="scroll drawn", tabindex="0", role="region", aria_label=CAPTION)
    return h.tag("figure", wide + h.text("figcaption", CAPTION))
