"""Spindle speed and feeds of one cutter on one machine."""

from __future__ import annotations

import math
from typing import Literal

from proveout.model.pace import Pace
from proveout.model.shop import Cutter, Machine, Noun

RAMP_RATIO = 0.5
PLUNGE_RATIO = 0.3
SLOT_RATIO = 0.6
AIR_RATIO = 3.0
THINNED_MOST = 1.5
"""Most that a feed kept as written is raised by for a thin chip."""
FeedLimit = Literal["feed_ratio", "wall_feed_ratio"]
"""Limits by which a feed is eased; a cut eased by its depth has none."""


class Speeds(Noun, frozen=True, kw_only=True):
    """Speeds in force: n in rad/s, feeds in mm/s; `air` for feed moves that meet no metal.

    slot: where the cutter is engaged over its whole width.  swift: where a wall is met no wider than it was planned,
    None where that is not faster.  pace: how they were chosen, None where nothing was to choose.
    """

    speed_rad_per_s: float
    tooth_feed_mm: float
    feed_mm_per_s: float
    ramp_mm_per_s: float
    plunge_mm_per_s: float
    air_mm_per_s: float
    slot_mm_per_s: float
    swift_mm_per_s: float | None = None
    pace: Pace | None = None


def speeds_of(*, cutter: Cutter, machine: Machine, feed_ratio: float = 1.0) -> Speeds:
    """The speeds of a cutter as its maker allows, within machine, cutter and the limits in force.

    Formula:  n = min(v_c / (D/2), n_machine, n_cutter); v_f = f_z z n / (2 pi), at most the machine's.
    Args:     cutter, machine.   feed_ratio: share of the tooth feed, 1 counts as all of it.
    Returns:  Speeds; ramping at half, plunging at 0.3 of the feed.
    Raises:   nothing.
    Valid:    cutters with a diameter above 0.
    Source:   workshop-practice.   Departs: nothing.
    Checked:  tests/stages/passes/test_speeds.py
    """
    top = machine.speed_max_rad_per_s
    if cutter.rated_rad_per_s is not None:
        top = min(top, cutter.rated_rad_per_s)
    speed = min(cutter.cutting_speed_mm_per_s / (cutter.diameter_mm / 2.0), top)
    tooth = cutter.tooth_feed_mm * min(1.0, feed_ratio)
    feed = min(tooth * max(cutter.flutes_count, 1) * speed / (2.0 * math.pi), machine.feed_max_mm_per_s)
    return Speeds(
        speed_rad_per_s=speed,
        tooth_feed_mm=tooth,
        feed_mm_per_s=feed,
        ramp_mm_per_s=RAMP_RATIO * feed,
        plunge_mm_per_s=PLUNGE_RATIO * feed,
        air_mm_per_s=min(AIR_RATIO * feed, machine.feed_max_mm_per_s),
        slot_mm_per_s=SLOT_RATIO * feed,
    )
