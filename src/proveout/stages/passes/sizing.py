"""Rounds milled to their size, in from the middle on half a turn and once round; and the room of a spot."""

from __future__ import annotations

import math

from proveout.model.shop import Cutter
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track

BEYOND_RAD = math.radians(10.0)
"""How far the way round goes on over its start."""
LEFT_MM = 0.15
"""Metal that a helix leaves for the turn at the size."""
SPLIT_MM = 0.4
"""Where the cutter's axis swings less, the helix itself makes the size: there is no room for a second turn."""
CORE_RATIO = 0.9
"""A first helix swings by so much of the cutter's radius, so that no core stands, and each further one by as much."""
FLUTE_RATIO = 0.95
LOOKS_COUNT = 16


def inner_ratio(cutter: Cutter, swing_mm: float) -> float:
    """What the feed of the axis is to that of the edge on the wall of a round that is milled inside."""
    return swing_mm / (swing_mm + cutter.diameter_mm / 2.0)


def swings_mm(swing_mm: float, *, radius_mm: float) -> list[float]:
    """Swings of the helices, from the inmost, that clear a round of which the last goes to the wall."""
    count = max(1, math.ceil(swing_mm / (CORE_RATIO * radius_mm) - 1e-9))
    return [swing_mm * (k + 1) / count for k in range(count)]


def once_round(
    track: Track, speeds: Speeds, *, seat_mm: tuple[float, float], to_mm: float, swing_mm: float, ratio: float = 1.0
) -> None:
    """At one height from the middle of a hole outward on half a turn, a full turn at the size, and back.

    seat_mm: the hole's middle.   swing_mm: from there to the cutter's axis, > 0.   ratio: of the feed, see inner_ratio.
    """
    x, y = seat_mm
    feed = ratio * speeds.feed_mm_per_s
    track.feed(x, y, to_mm, speeds.feed_mm_per_s)
    half = x + swing_mm / 2.0, y
    track.arc(end=(x + swing_mm, y, to_mm), centre=half, turns_left=True, feed_mm_per_s=0.5 * feed)
    track.arc(end=(x + swing_mm, y, to_mm), centre=(x, y), turns_left=True, feed_mm_per_s=feed)
    on = x + swing_mm * math.cos(BEYOND_RAD), y + swing_mm * math.sin(BEYOND_RAD), to_mm
    track.arc(end=on, centre=(x, y), turns_left=True, feed_mm_per_s=feed)
    track.feed(x, y, to_mm, feed)


def finish_round(
    track: Track, speeds: Speeds, *, seat_mm: tuple[float, float], high_mm: float, low_mm: float, swing_mm: float,
    cutter: Cutter,
) -> None:  # fmt: skip
    """Takes what the helices left of a wall, from the top down by what the flutes reach; the tip stands below."""
    count = max(1, math.ceil((high_mm - low_mm) / (FLUTE_RATIO * cutter.flute_length_mm) - 1e-9))
    ratio = inner_ratio(cutter, swing_mm)
    for k in range(1, count + 1):
        z = high_mm + (low_mm - high_mm) * k / count
        if track.here is not None:
            track.feed(track.here[0], track.here[1], z, speeds.air_mm_per_s)
        once_round(track, speeds, seat_mm=seat_mm, to_mm=z, swing_mm=swing_mm, ratio=ratio)


def spot_looks(*, z_mm: float, low_mm: float, high_mm: float, half_rad: float) -> list[tuple[float, float]]:
    """(height, radius) at which the target is looked at over a mouth, where a spot's cone runs on to its full size.

    z_mm: the mouth's height, where the cone's radius is low_mm; high_mm: its largest.  Each look is as wide as the cone
    at the next, so that nothing between two is missed.
    """
    radii = [low_mm + (high_mm - low_mm) * k / LOOKS_COUNT for k in range(LOOKS_COUNT + 1)]
    heights = [z_mm + (r - low_mm) / math.tan(half_rad) for r in radii]
    return [*zip(heights[:-1], radii[1:], strict=True), (heights[-1], radii[-1])]
