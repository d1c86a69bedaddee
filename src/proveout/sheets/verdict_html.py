"""Ready or not, and how many proofs are open: what stands at the top of every page of a plan."""

from __future__ import annotations

from html import escape

from proveout.sheets import html_parts as h
from proveout.sheets.ink import NOT_SHOWN
from proveout.sheets.writer import Writer


def verdict_html(writer: Writer) -> str:
    """The verdict in words, framed."""
    ink = writer.ink
    holds, fails, missing = (
        ink.number("derived", f"{word}_count", digits=0) for word in ("holds", "fails", "not_shown")
    )
    counts = (
        f"Proofs: {holds} {_of(holds, 'holds', 'hold')}, {fails} {_of(fails, 'fails', 'fail')}, "
        f"{missing} {_of(missing, 'is', 'are')} not shown."
    )
    if writer.plan.ready:
        words = "Ready: every proof that must hold before release does hold."
        return h.tag("p", f"{h.text('strong', words)} {escape(counts)}", class_="verdict")
    open_ones = ink.number("derived", "open_count", digits=0)
    words = "Not ready - do not cut."
    return h.tag(
        "p",
        f"{h.text('strong', words)} {escape(counts)} Of those that must hold before release, "
        f"{open_ones} {_of(open_ones, 'does', 'do')} not yet.",
        class_="verdict",
    )


def _of(count: str, one: str, more: str) -> str:
    return one if count == "1" else more


def minutes_words(writer: Writer) -> str:
    """Minutes of one piece at all stations, low to high."""
    text = writer.ink.span("plan", "time", "piece_s", unit="min:s")
    return text if text == NOT_SHOWN else f"{text} min"
