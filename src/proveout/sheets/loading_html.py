"""What tells wrong loads of a clamping, on the page of a plan."""

from __future__ import annotations

from html import escape

from proveout.sheets import html_parts as h
from proveout.sheets.loading_picture import drawn_looks
from proveout.sheets.pages_loading import (
    OTHER_HEADS,
    OTHERS,
    caption_words,
    hardest_words,
    loading_pictures,
    loading_place,
    other_rows,
    touch_rows,
    tried_words,
    verdict_words,
)
from proveout.sheets.svg import picture_svg
from proveout.sheets.writer import Writer


def loading_html(writer: Writer, index: int) -> str:
    """Pictures of the wrong loads and the touches that tell them, headed; empty where nothing was found out."""
    inner = wrong_html(writer, index)
    return f"<h4>Loaded rightly and wrongly</h4>{inner}" if inner else ""


def wrong_html(writer: Writer, index: int) -> str:
    """The same without its heading."""
    place = loading_place(writer, index)
    if place is None:
        return ""
    _, wrong = loading_pictures(writer, index, place)
    drawn = drawn_looks(writer.plan.loading[place])
    inner = h.text("p", verdict_words(writer, place))
    for first in range(0, len(wrong), 2):
        figures = "".join(
            f"<figure>{picture_svg(one, width_mm=84.0, height_mm=56.0, ids=f'w{index}-{k}')}"
            f"<figcaption>WRONG: {escape(caption_words(writer, place, drawn[k]))}</figcaption></figure>"
            for k, one in enumerate(wrong[first : first + 2], start=first)
        )
        inner += f'<div class="pair">{figures}</div>'
    others, left_count = other_rows(writer, place)
    if others:
        inner += h.table(f"{OTHERS}. {hardest_words(left_count)}", list(OTHER_HEADS), others, numeric={3})
    inner += h.text("p", tried_words(writer, place))
    rows = touch_rows(writer, place)
    if rows:
        inner += h.table(
            "Touches at each load, from the work zero",
            ["ball starts at", "goes", "rightly reads, mm", "alarm"],
            rows,
            numeric=set(),
        )
    return inner
