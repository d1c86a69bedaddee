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
CORE_LEAD_MM = 0.2
"""How far the cutter comes off the wall where metal stands in the middle."""
FLUTE_RATIO = 0.95
LOOKS_COUNT = 16


def inner_ratio(cutter: Cutter, swing_mm: float) -> float:
    """What the feed of the axis is to that of the edge on the wall of a round that is milled inside."""
    return swing_mm / (swing_mm + cutter.diameter_mm / 2.0)


def once_round(
    track: Track, speeds: Speeds, *, seat_mm: tuple[float, float], to_mm: float, swing_mm: float, ratio: float = 1.0,
    from_mm: float = 0.0,
) -> None:  # fmt: skip
    """At one height from near the middle of a hole outward on half a turn, a full turn at the size, and back.

    seat_mm: the hole's middle.   swing_mm: from there to the cutter's axis, > 0.   from_mm: the same where the way
    begins and ends, 0 in the middle.   ratio: of the feed, see inner_ratio.
    """
    x, y = seat_mm
    feed = ratio * speeds.feed_mm_per_s
    track.feed(x + from_mm, y, to_mm, speeds.feed_mm_per_s)
    half = x + (from_mm + swing_mm) / 2.0, y
    track.arc(end=(x + swing_mm, y, to_mm), centre=half, turns_left=True, feed_mm_per_s=0.5 * feed)
    track.arc(end=(x + swing_mm, y, to_mm), centre=(x, y), turns_left=True, feed_mm_per_s=feed)
    on = x + swing_mm * math.cos(BEYOND_RAD), y + swing_mm * math.sin(BEYOND_RAD), to_mm
    track.arc(end=on, centre=(x, y), turns_left=True, feed_mm_per_s=feed)
    back = x + from_mm * math.cos(BEYOND_RAD), y + from_mm * math.sin(BEYOND_RAD)
    track.feed(back[0], back[1], to_mm, feed)


def finish_round(
    track: Track, speeds: Speeds, *, seat_mm: tuple[float, float], high_mm: float, low_mm: float, swing_mm: float,
    cutter: Cutter,
) -> None:  # fmt: skip
    """Takes what a helix left of a round's wall, from the top down by what the flutes reach.

    The tip stands at the bottom. Where the swing is wider than the cutter's radius metal may stand in the middle: the
    way keeps near the wall.
    """
    middle = 0.0 if swing_mm - LEFT_MM <= cutter.diameter_mm / 2.0 else swing_mm - LEFT_MM - CORE_LEAD_MM
    count = max(1, math.ceil((high_mm - low_mm) / (FLUTE_RATIO * cutter.flute_length_mm) - 1e-9))
    ratio = inner_ratio(cutter, swing_mm)
    for k in range(1, count + 1):
        z = high_mm + (low_mm - high_mm) * k / count
        if track.here is not None:
            track.feed(track.here[0], track.here[1], z, speeds.air_mm_per_s)
        once_round(track, speeds, seat_mm=seat_mm, to_mm=z, swing_mm=swing_mm, ratio=ratio, from_mm=middle)


def spot_looks(*, z_mm: float, low_mm: float, high_mm: float, half_rad: float) -> list[tuple[float, float]]:
    """(height, radius) at which the target is looked at over a mouth, where a spot's cone runs on to its full size.

    z_mm: the mouth's height, where the cone's radius is low_mm; high_mm: its largest.  Each look is as wide as the cone
    at the next, so that nothing between two is missed.
    """
    radii = [low_mm + (high_mm - low_mm) * k / LOOKS_COUNT for k in range(LOOKS_COUNT + 1)]
    heights = [z_mm + (r - low_mm) / math.tan(half_rad) for r in radii]
    return [*zip(heights[:-1], radii[1:], strict=True), (heights[-1], radii[-1])]
