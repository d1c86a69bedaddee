"""A clamping as it is loaded and run, for a tablet at the machine: RIGHT and WRONG, program, zero, torque, cutters."""

from __future__ import annotations

from html import escape
from typing import Any

from proveout.sheets import html_parts as h
from proveout.sheets.blocks_html import blocks_html
from proveout.sheets.loading_html import wrong_html
from proveout.sheets.names import digest_words
from proveout.sheets.pages_loading import behind_words, from_before_words, loading_pictures, loading_place
from proveout.sheets.pages_setup import caution_lines, setup_page, torque_words
from proveout.sheets.svg import picture_svg
from proveout.sheets.writer import Writer

RIGHT_MM = (180.0, 110.0)
SEATED = "RIGHT: so, and no other way."
NOT_LOOKED = "What may be loaded wrongly was not looked for: hold every piece against this picture."


def load_html(writer: Writer, index: int) -> str:
    """How the work lies as the operator sees it, how it is turned to come there, then every wrong load."""
    place = loading_place(writer, index)
    operator, _ = writer.pictures(index)
    right = operator if place is None else loading_pictures(writer, index, place)[0]
    svg = picture_svg(right, width_mm=RIGHT_MM[0], height_mm=RIGHT_MM[1], ids=f"right{index}")
    figure = h.tag("figure", svg + h.text("figcaption", SEATED), class_="right")
    said = [] if index == 0 else [from_before_words(writer, index)]
    said += [*behind_words(writer, index), writer.sentence("plan", "clampings", index, "seat_text")]
    words = "".join(h.text("p", line) for line in said)
    if place is None:
        return figure + words + h.text("p", NOT_LOOKED)
    return figure + words + h.tag("div", wrong_html(writer, index), class_="wrong-loads")


def run_facts(writer: Writer, index: int) -> list[tuple[str, str]]:
    """What is set before the start, in print, as HTML: program with its fingerprint, torque, grip, zero."""
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    load = plan.load_of(clamping.id)
    own = {clamping.id} if load is None else set(plan.table_loads[load].clamping_ids)
    facts: dict[str, tuple[str, str]] = {}
    for at, sheet in enumerate(plan.programs):
        if sheet.clamping_id in own:
            path = ("plan", "programs", at)
            mark = ink.words(*path, "fingerprint", as_text=digest_words(sheet.fingerprint))
            facts.setdefault(sheet.file, (f"program {escape(ink.words(*path, 'file'))}", h.tag("code", escape(mark))))
    return [
        *(facts.values() or [("program", "none of this plan")]),
        ("clamp torque", escape(torque_words(writer, index))),
        ("grip height", escape(ink.number("plan", "clampings", index, "jaw_top_mm", unit="mm", digits=1))),
        ("zero", escape(writer.sentence("plan", "clampings", index, "zero_text"))),
    ]


def cutters_html(writer: Writer, index: int) -> str:
    """The cutters with pocket and stick-out, and the cautions, as the setup sheet has them."""
    blocks: list[dict[str, Any]] = setup_page(writer, index)["blocks"]
    cutters = [block for block in blocks if block["kind"] == "cutters"]
    return blocks_html(cutters) + "".join(h.text("p", line) for line in caution_lines(writer, index))
