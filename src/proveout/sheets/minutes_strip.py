"""The strip of minutes: one block a pass to scale, and over it how near each comes to its nearest limit."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.sheets.html_parts import tag, text
from proveout.sheets.ink import printed

WIDE, TALL = 1600.0, 210.0
BLOCK_TOP, BLOCK_TALL = 138.0, 40.0
CURVE_TOP, LIMIT_AT = 22.0, 108.0
"""Where a margin of 1 and one of 0 stand."""
BELOW = 20.0
"""How far below the limit a margin is drawn at the most."""


@dataclass(frozen=True)
class Weak:
    """The nearest limit of a pass: its margin, what it is of, and the move where one is named, counted from 1.

    not_shown_count: proofs that name the pass and are not shown.   margin: None where none that names it has one.
    """

    margin: float | None
    what: str
    move: int | None
    not_shown_count: int


@dataclass(frozen=True)
class Block:
    """A pass on the strip.   index: its place in plan.passes.   start_s: from the begin of the first clamping."""

    index: int
    clamping: int
    start_s: float
    seconds: float
    cutter: str
    words: str
    weak: Weak


@dataclass(frozen=True)
class Stretch:
    """Minutes of a clamping that belong to no pass: changes of cutters, turns, loading; told behind its passes."""

    clamping: int
    start_s: float
    seconds: float
    words: str


@dataclass(frozen=True)
class Strip:
    """All passes of a plan in working order.   total_s: of passes and stretches."""

    blocks: tuple[Block, ...]
    stretches: tuple[Stretch, ...]
    total_s: float


def margin_words(weak: Weak) -> str:
    """The nearest limit in words."""
    said = "no margin known" if weak.margin is None else f"nearest limit {weak.what}, margin {_margin(weak.margin)}"
    if weak.margin is not None and weak.margin < 0.0:
        said += ", at the worst end beyond it"
    return f"{said}; {weak.not_shown_count} not shown" if weak.not_shown_count else said


def _margin(margin: float) -> str:
    return printed(margin, unit="", digits=3)


def block_words(block: Block) -> str:
    """One block for people who do not see it."""
    begin, end = (printed(s, unit="min:s", digits=0) for s in (block.start_s, block.start_s + block.seconds))
    return f"{block.words}, {block.cutter}, minute {begin} to {end}; {margin_words(block.weak)}"


def strip_svg(strip: Strip, *, address: str, chosen: int | None) -> str:
    """The strip as SVG without styles of its own: classes alone.

    address: of the page, that each block leads to with ?pass= its number.   chosen: place of the pass that is shown.
    """
    scale = WIDE / strip.total_s if strip.total_s > 0.0 else 0.0
    parts = [tag("line", "", x1="0", x2=f"{WIDE:g}", y1=f"{LIMIT_AT:g}", y2=f"{LIMIT_AT:g}", class_="limit")]
    parts += [_block(block, scale, address, is_chosen=block.index == chosen) for block in strip.blocks]
    for one in strip.stretches:
        inner = text("title", one.words) + _rect(one.start_s, one.seconds, scale, "idle")
        parts.append(tag("g", inner))
    parts += _curve(strip.blocks, scale)
    parts += _clampings(strip, scale)
    inner = text("title", "Minutes of all passes, with the margin of each to its nearest limit") + "".join(parts)
    return tag(
        "svg", inner, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDE:g} {TALL:g}", class_="strip",
        preserveAspectRatio="none", aria_hidden="true",
    )  # fmt: skip


def _rect(start_s: float, seconds: float, scale: float, kind: str) -> str:
    return tag(
        "rect", "", x=f"{start_s * scale:.2f}", y=f"{BLOCK_TOP:g}", width=f"{max(seconds * scale, 0.5):.2f}",
        height=f"{BLOCK_TALL:g}", class_=kind,
    )  # fmt: skip


def _block(block: Block, scale: float, address: str, *, is_chosen: bool) -> str:
    kind = "block chosen" if is_chosen else ("block" if block.index % 2 else "block other")
    inner = text("title", block_words(block)) + _rect(block.start_s, block.seconds, scale, kind)
    return tag("a", inner, href=f"{address}?pass={block.index + 1}", tabindex="-1", data_pass=str(block.index + 1))


def height_of(margin: float) -> float:
    """Where a margin stands on the strip: 1 and more at the top, 0 at the limit, below it beyond."""
    return min(LIMIT_AT + BELOW, LIMIT_AT - (LIMIT_AT - CURVE_TOP) * min(margin, 1.0))


def _curve(blocks: Sequence[Block], scale: float) -> list[str]:
    found: list[str] = []
    for block in blocks:
        left, right = block.start_s * scale, (block.start_s + block.seconds) * scale
        if block.weak.margin is None:
            kind, y = "unknown", LIMIT_AT
        else:
            kind, y = "beyond" if block.weak.margin < 0.0 else "margin", height_of(block.weak.margin)
        found.append(
            tag("line", "", x1=f"{left:.2f}", x2=f"{max(right, left + 1.0):.2f}", y1=f"{y:.1f}", y2=f"{y:.1f}",
                class_=kind)
        )  # fmt: skip
    for one, other in itertools.pairwise(blocks):
        if one.weak.margin is not None and other.weak.margin is not None and one.clamping == other.clamping:
            x = f"{other.start_s * scale:.2f}"
            found.append(
                tag("line", "", x1=x, x2=x, y1=f"{height_of(one.weak.margin):.1f}",
                    y2=f"{height_of(other.weak.margin):.1f}", class_="rise")
            )  # fmt: skip
    return found


def _clampings(strip: Strip, scale: float) -> list[str]:
    starts: dict[int, float] = {}
    for one in (*strip.blocks, *strip.stretches):
        starts.setdefault(one.clamping, one.start_s)
    return [
        tag("line", "", x1=f"{at * scale:.2f}", x2=f"{at * scale:.2f}", y1="0", y2=f"{TALL:g}", class_="clamping")
        for at in starts.values()
    ]
