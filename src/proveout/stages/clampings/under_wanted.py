"""Which T-slot cutter would come under a ceiling that none of the shop does."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from proveout.model.reach import Wanted
from proveout.model.shop import Cutter
from proveout.reach.under import floor_under, is_under, ways_in

Floats = NDArray[np.float64]
HEADS_MM = tuple(float(v) for v in np.geomspace(80.0, 2.0, 14))
"""Diameters tried, the widest first."""
THIN_RATIO, NECK_MOST_RATIO = 0.25, 0.9
HALVINGS = 7
STEP_MM = 0.1
AIR_MM = 1e-3
HEAD_MM = 1.0
"""Height of a head over nothing."""


def wanted_under(part: Floats, points: Floats, *, whole_ratio: float) -> Wanted | None:
    """The widest T-slot cutter that reaches so much of a ceiling, and the widest neck that it may have.

    part (t, 3, 3), points (n, 3) of the ceiling: in the look frame. None where no head of HEADS_MM does.
    """
    top, floor = float(points[0, 2]), floor_under(part, points)
    high = None if math.isinf(floor) else math.floor((top - floor) / STEP_MM + 1e-6) * STEP_MM
    if high is not None and high <= 0.0:
        return None

    def reaches(head_mm: float, neck_mm: float) -> bool:
        tool = _made(head_mm, neck_mm, (high or HEAD_MM) - AIR_MM)
        ways = ways_in(part, top, tool)
        return not ways.is_empty and float(is_under(ways, points, tool).mean()) >= whole_ratio

    wider = HEADS_MM[0]
    for head in HEADS_MM:
        if reaches(head, THIN_RATIO * head):
            break
        wider = head
    else:
        return None
    head = _most(lambda d: reaches(d, THIN_RATIO * head), head, wider)
    neck = _most(lambda d: reaches(head, d), THIN_RATIO * head, NECK_MOST_RATIO * head)
    out = float(part[:, :, 2].max()) - (top - (high or HEAD_MM))
    return Wanted(
        kind="T-slot", diameter_max_mm=head, flute_least_mm=None,
        stick_out_least_mm=math.ceil(out * 10.0 - 1e-6) / 10.0,
        neck_max_mm=neck, flute_max_mm=None if high is None else round(high, 3),
    )  # fmt: skip


def _most(said: Callable[[float], bool], low: float, high: float) -> float:
    """Of sizes from one that does to one that does not the largest that does, in steps of STEP_MM."""
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if said(middle) else (low, middle)
    return math.floor(low / STEP_MM + 1e-6) * STEP_MM


def _made(head_mm: float, neck_mm: float, high_mm: float) -> Cutter:
    """A T-slot cutter with sizes alone, longer than any part is high."""
    return Cutter(
        id="wanted", name="wanted", kind="T-slot", diameter_mm=head_mm, corner_radius_mm=0.0, flutes_count=1,
        flute_length_mm=high_mm, stick_out_mm=1e4, shank_diameter_mm=neck_mm, holder_diameter_mm=neck_mm,
        holder_length_mm=1.0, tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None,
        cutting_speed_mm_per_s=0.0, tooth_feed_mm=0.0, life_s=None, price=0.0,
    )  # fmt: skip
