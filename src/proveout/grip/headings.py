"""The headings on which a force that may point anywhere across the cutter is tried."""

from __future__ import annotations

import math

# each a little too large, so that the polygon of headings holds the whole circle; the bound of margins.py is convex in
# the force, so its corners decide
HEADINGS = 12


def headings(level_n: float) -> list[tuple[float, float]]:
    """Forces (along, across) to try, N: a quarter of a polygon that holds the whole circle."""
    swell = 1.0 / math.cos(math.pi / (4.0 * HEADINGS))
    turns = [k * math.pi / (2.0 * HEADINGS) for k in range(HEADINGS + 1)]
    return [(swell * level_n * math.cos(t), swell * level_n * math.sin(t)) for t in turns]
