"""What the rounds of a plan tightened, which proof asked for it, and what it cost in minutes at feed."""

from __future__ import annotations

from proveout.model.proof import Tighten
from proveout.sheets import html_parts as h
from proveout.sheets.ink import NOT_SHOWN
from proveout.sheets.names import capital
from proveout.sheets.writer import Writer

NOTHING = "Nothing was tightened: as the passes were laid first, no proof asked for lighter work that would help."
HOW = (
    "The passes were laid, replayed and judged again after each round, and limits were only ever tightened. Minutes at "
    "feed are of all passes of a piece, without rapids, changes and loading."
)
OPEN = "Proofs that must hold are still open after the last of it; nothing that may be tightened would settle them."
WORDS = {
    "axial_ratio": "levels no deeper than {} of the cutter's diameter, stages of facing in proportion",
    "radial_ratio": "no wider in the cut than {} of the cutter's diameter",
    "wall_ratio": "steps down a wall no taller than {} of the cutter's diameter",
    "wall_feed_ratio": "on walls at most {} of the feed of a tooth",
    "feed_ratio": "at most {} of the feed of a tooth",
    "preload_ratio": "the vise closed with {} of its usual torque",
}
"""By quantity of a limit; the number is the bound."""


def rounds_html(writer: Writer) -> str:
    """A row for each thing tightened, then what all of it cost."""
    plan, ink = writer.plan, writer.ink
    rows = []
    for k, one in enumerate(plan.rounds):
        told = _minutes(writer, k)
        for i, step in enumerate(one.tightened):
            asked = one.asked_by[i] if i < len(one.asked_by) else ""
            number = ink.number("plan", "rounds", k, "number", digits=0)
            rows.append(
                [number, _what(writer, k, i, step), _claim(writer, asked, k, i), *(told if i == 0 else [""] * 3)]
            )
    open_words = h.text("p", OPEN) if plan.rounds and plan.rounds[-1].failing else ""
    if not rows:
        return (h.text("p", NOTHING) + open_words) if plan.rounds else ""
    heads = ["round", "what was tightened", "as asked for by", "before, min:s", "after, min:s", "more, min:s"]
    first, last = (ink.number("plan", "rounds", k, "piece_s", unit="min:s") for k in (0, len(plan.rounds) - 1))
    more = ink.number("derived", "rounds_all", "piece_s", unit="min:s")
    cost = f"In all {more} min at feed a piece more: {first} before, {last} after."
    if more == NOT_SHOWN:
        cost = "What it cost in minutes is not shown."
    table = h.table("Round by round", heads, rows, numeric={3, 4, 5})
    return table + h.text("p", cost) + h.text("p", HOW) + open_words


def _what(writer: Writer, k: int, i: int, step: Tighten) -> str:
    """Operation, cutter and the limit in words."""
    ink = writer.ink
    clamping_id, _, cutter_id = step.subject.partition("/")
    index = next((n for n, one in enumerate(writer.plan.clampings) if one.id == clamping_id), None)
    where = writer.words("plan", "rounds", k, "tightened", i, "subject") if index is None else writer.op(index)
    if index is not None and cutter_id:
        where += f", {writer.shop_name('cutters', cutter_id)}"
    bound = ink.number("plan", "rounds", k, "tightened", i, "bound", digits=3)
    return f"{where}: {WORDS[step.quantity].format(bound)}"


def _claim(writer: Writer, asked_by: str, k: int, i: int) -> str:
    """The proof that asked for it, by its claim where the plan still has it; a second cutter's is there no more."""
    if not asked_by:
        return "-"
    for place, proof in enumerate(writer.plan.proofs):
        if proof.id == asked_by or asked_by.startswith(f"{proof.id} "):
            claim = writer.plan.proofs[place].claim.partition(";")[0].partition(", which is move ")[0]
            return capital(writer.ink.words("plan", "proofs", place, "claim", as_text=writer.names.short(claim)))
    return writer.ink.words("plan", "rounds", k, "asked_by", i, as_text=writer.names.short(asked_by))


def _minutes(writer: Writer, k: int) -> list[str]:
    """At feed before and after, and the difference; the last round tightened nothing, so that one always follows."""
    ink, rounds = writer.ink, writer.plan.rounds
    if k + 1 >= len(rounds):
        return [ink.number("plan", "rounds", k, "piece_s", unit="min:s"), "-", "-"]
    ends = [ink.number("plan", "rounds", n, "piece_s", unit="min:s") for n in (k, k + 1)]
    return [*ends, ink.number("derived", "rounds", k, "piece_s", unit="min:s")]
