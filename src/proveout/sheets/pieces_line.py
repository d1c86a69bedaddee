"""Where the pieces of a batch stand, as one ruled line to scale: its whole length is all pieces that were begun."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Literal

WIDE, HIGH = 600.0, 26.0
TOP, BOTTOM = 5.0, 21.0
INK, RULE, ACCENT = "#1b1916", "#b9b2a7", "#9e2b1a"
HATCH = 6.0
SIGN = 5.5
"""Wide as a sign of a name."""
Way = Literal["waits", "away", "good", "bad"]


@dataclass(frozen=True)
class Run:
    """Pieces that stand alike, one after the other. way: how they stand.   words: where.   name: the same in short."""

    words: str
    way: Way
    count: int
    name: str = ""


def pieces_line(runs: tuple[Run, ...], *, is_named: bool = False) -> str:
    """The line: waiting pieces are open boxes, those away hatched, good ones solid, bad ones crossed out.

    is_named: short names below, as far as there is room.

    The words stand beside it, so the picture itself is silent. Empty where nothing was begun.
    """
    total = sum(run.count for run in runs)
    if not total:
        return ""
    parts = [f'<path d="M0 {BOTTOM}H{WIDE:.0f}" stroke="{RULE}"/>']
    at = 0.0
    for run in runs:
        wide = WIDE * run.count / total
        if run.count:
            parts.append(_box(at, at + wide, run.way))
            if is_named and wide >= SIGN * len(run.name):
                parts.append(f'<text x="{at + wide / 2.0:.1f}" y="{HIGH + 6.0}">{escape(run.name)}</text>')
        at += wide
    box = f"-1 0 {WIDE + 2:.0f} {HIGH + (10.0 if is_named else 0.0):.0f}"
    return f'<svg class="pieces" viewBox="{box}" aria-hidden="true">{"".join(parts)}</svg>'


def _box(left: float, right: float, way: Way) -> str:
    fill = INK if way == "good" else "none"
    stroke = ACCENT if way == "bad" else INK
    box = (
        f'<rect x="{left:.1f}" y="{TOP}" width="{right - left:.1f}" height="{BOTTOM - TOP}" fill="{fill}" '
        f'stroke="{stroke}"/>'
    )
    strokes = ""
    if way in ("away", "bad"):
        strokes = _slants(left, right, rising=True)
    if way == "bad":
        strokes += _slants(left, right, rising=False)
    return box + (f'<path d="{strokes}" fill="none" stroke="{stroke}" stroke-width="0.8"/>' if strokes else "")


def _slants(left: float, right: float, *, rising: bool) -> str:
    """Slanted strokes through a box, cut off at its ends."""
    tall = BOTTOM - TOP
    found = ""
    start = left - tall
    while start < right:
        a, b = max(start, left), min(start + tall, right)
        if b > a:
            low, high = a - start, b - start
            ys = (BOTTOM - low, BOTTOM - high) if rising else (TOP + low, TOP + high)
            found += f"M{a:.1f} {ys[0]:.1f}L{b:.1f} {ys[1]:.1f}"
        start += HATCH
    return found
