"""Readings in their order, as a picture in black and white: limits thick, the chart's own limits dashed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.sheets.ink import printed
from proveout.sheets.svg import Paper

WIDTH_MM, HEIGHT_MM = 180.0, 60.0
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 32.0, 30.0, 4.0, 8.0
DOT_MM, OUT_MM = 0.9, 1.9
APART_MM = 3.6
LAST = 60
"""Readings that are drawn, the last ones."""


def run_chart_svg(
    readings: Sequence[float], *, limits: Sequence[tuple[str, float]], own: Sequence[tuple[str, float]],
    out: frozenset[int], ids: str,
) -> str:  # fmt: skip
    """Points joined by a line. limits: what passes, by name;  own: of the chart;  out: places out of order, from 0."""
    first = max(0, len(readings) - LAST)
    shown = list(readings[first:])
    levels = [value for _, value in (*limits, *own)]
    low, high = min(*shown, *levels), max(*shown, *levels)
    spread = (high - low) or 1e-3
    low, high = low - 0.06 * spread, high + 0.06 * spread

    def x(at: int) -> float:
        return LEFT_MM + (WIDTH_MM - LEFT_MM - RIGHT_MM) * ((at + 0.5) / len(shown))

    def y(value: float) -> float:
        return TOP_MM + (HEIGHT_MM - TOP_MM - BOTTOM_MM) * (1.0 - (value - low) / (high - low))

    paper = Paper(width_mm=WIDTH_MM, height_mm=HEIGHT_MM)
    ends = (LEFT_MM, WIDTH_MM - RIGHT_MM)
    for lines, width, dash, place, anchor in ((limits, 0.5, "", LEFT_MM - 1.5, "end"),
                                              (own, 0.25, "1.4 1.0", ends[1] + 1.5, "start")):  # fmt: skip
        taken: list[float] = []
        for name, value in lines:
            paper.path(np.array([[ends[0], y(value)], [ends[1], y(value)]]), fill="none", width_mm=width, dash=dash)
            if all(abs(y(value) - other) >= APART_MM for other in taken):
                taken.append(y(value))
                label = f"{name} {printed(value, unit='mm', digits=3)}".strip()
                paper.words(label, place, y(value) + 1.0, anchor=anchor)
    points = np.array([[x(at), y(value)] for at, value in enumerate(shown)])
    if len(points) > 1:
        paper.path(points, fill="none", width_mm=0.2)
    for at, point in enumerate(points):
        is_out = first + at in out
        size = OUT_MM if is_out else DOT_MM
        box = np.array([[-size, 0.0], [0.0, -size], [size, 0.0], [0.0, size]]) + point
        paper.path(box, fill="#fff" if is_out else "#000", width_mm=0.5 if is_out else 0.1, closed=True)
    for at in {0, len(shown) - 1}:
        paper.words(str(first + at + 1), x(at), HEIGHT_MM - 2.0)
    return paper.text(alt=_alt(shown, first, out), ids=ids)


def _alt(shown: list[float], first: int, out: frozenset[int]) -> str:
    said = f"Readings {first + 1} to {first + len(shown)}, from {min(shown):.3f} to {max(shown):.3f}"
    named = sorted(at + 1 for at in out if at >= first)
    return f"{said}; out of order: {', '.join(map(str, named))}" if named else f"{said}; none out of order"
