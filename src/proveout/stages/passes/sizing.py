"""A drilled hole milled to its size, down its middle and once round; and the room of a spot over a mouth."""

from __future__ import annotations

import math

from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track

CHORD_MM = 1e-3
CHORDS_LEAST = 24
BEYOND_RAD = math.radians(10.0)
"""How far the way round goes on over its start."""
LOOKS_COUNT = 16


def once_round(track: Track, speeds: Speeds, *, seat_mm: tuple[float, float], to_mm: float, swing_mm: float) -> None:
    """Down the middle of a hole, over which the tip stands, outward, and a full turn at one height.

    seat_mm: the hole's middle.   swing_mm: from there to the cutter's axis, > 0; the chords lie within a micrometre.
    """
    x, y = seat_mm
    count = max(CHORDS_LEAST, math.ceil(math.pi / math.acos(max(0.0, 1.0 - CHORD_MM / swing_mm))))
    track.feed(x, y, to_mm, speeds.feed_mm_per_s)
    for k in range(count + 1 + math.ceil(count * BEYOND_RAD / (2.0 * math.pi))):
        turn = 2.0 * math.pi * k / count
        feed = speeds.feed_mm_per_s if k else speeds.ramp_mm_per_s
        track.feed(x + swing_mm * math.cos(turn), y + swing_mm * math.sin(turn), to_mm, feed)
    track.feed(x, y, to_mm, speeds.feed_mm_per_s)


def spot_looks(*, z_mm: float, low_mm: float, high_mm: float, half_rad: float) -> list[tuple[float, float]]:
    """(height, radius) at which the target is looked at over a mouth, where a spot's cone runs on to its full size.

    z_mm: the mouth's height, where the cone's radius is low_mm; high_mm: its largest.  Each look is as wide as the cone
    at the next, so that nothing between two is missed.
    """
    radii = [low_mm + (high_mm - low_mm) * k / LOOKS_COUNT for k in range(LOOKS_COUNT + 1)]
    heights = [z_mm + (r - low_mm) / math.tan(half_rad) for r in radii]
    return [*zip(heights[:-1], radii[1:], strict=True), (heights[-1], radii[-1])]
