"""The bars of an order as a picture: every pattern a line cut into its pieces."""

from __future__ import annotations

import numpy as np

from proveout.sheets.svg import Paper
from proveout.sheets.writer import Writer

WIDTH_MM = 180.0
LINE_MM = 17.0


def bars_svg(writer: Writer, *, ids: str = "bars") -> str:
    """One line for each pattern, to one scale: trim, pieces, remnant hatched, with count and lengths in words."""
    bars, ink = writer.plan.bars, writer.ink
    longest = max((pattern.bar_length_mm for pattern in bars.patterns), default=1.0)
    unit = (WIDTH_MM - 2.0) / longest
    paper = Paper(width_mm=WIDTH_MM, height_mm=LINE_MM * max(1, len(bars.patterns)) + 1.0)
    for index, pattern in enumerate(bars.patterns):
        y = LINE_MM * index + 6.0
        at = ("plan", "bars", "patterns", index)
        words = (
            f"{ink.number(*at, 'times', digits=0)} × bundle of {ink.number(*at, 'bundle_count', digits=0)}, "
            f"{ink.number(*at, 'bar_length_mm', unit='mm', digits=0)}: "
            f"{ink.number(*at, 'pieces_each', digits=0)} from each bar, "
            f"remnant {ink.number(*at, 'remnant_mm', unit='mm', digits=0)}"
        )
        paper.words(words, 1.0, y - 1.6, anchor="start")
        end = 1.0 + pattern.bar_length_mm * unit
        x = 1.0 + bars.trim_mm * unit
        step, piece = (bars.cut_length_mm + bars.kerf_mm) * unit, bars.cut_length_mm * unit
        paper.path(_box(1.0, y, end - 1.0, 7.0), fill="hatch", width_mm=0.3, closed=True)
        for _ in range(pattern.pieces_each):
            x += bars.kerf_mm * unit
            paper.path(_box(x, y, piece, 7.0), fill="#fff", width_mm=0.25, closed=True)
            x += step - bars.kerf_mm * unit
    return paper.text(
        alt="The bars to saw, each way of sawing as one line cut into its pieces, remnant hatched.", ids=ids
    )


def _box(x: float, y: float, width: float, height: float) -> np.ndarray:
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
