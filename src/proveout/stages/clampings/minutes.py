"""How long a cutter feeds at the least to make a face, before any pass is laid."""

from __future__ import annotations

import math

from proveout.cutting.scallop import step_over_mm
from proveout.cutting.speeds import feed_mm_per_s, spindle_speed_rad_per_s
from proveout.model.reach import Manner
from proveout.model.shop import Cutter, Machine

FLOOR_STEP_RATIO = 0.5
"""Of the diameter: from one run over a floor to the next. Common practice, no source."""


def cut_s(
    cutter: Cutter, machine: Machine, *, manner: Manner, area_mm2: float, tall_mm: float, deep_mm: float, cusp_mm: float
) -> float | None:  # fmt: skip
    """Seconds of finishing feed over a face, whole runs counted; None where cutter or manner does not tell.

    Args:     area_mm2: of the face.   tall_mm: its height along the cutter.   deep_mm: of a hole, 0 for other faces.
              cusp_mm: height of the ridges between two runs of a ball, > 0, at most a ball's radius.
    Roughing, moves in the air and changes come on top: it is no bound from above.
    """
    if cutter.tooth_feed_mm <= 0.0 or cutter.cutting_speed_mm_per_s <= 0.0 or cutter.flutes_count < 1:
        return None
    most = min(machine.speed_max_rad_per_s, cutter.rated_rad_per_s or math.inf)
    own = spindle_speed_rad_per_s(
        cutting_speed_mm_per_s=cutter.cutting_speed_mm_per_s, diameter_mm=cutter.diameter_mm
    )  # fmt: skip
    feed = min(
        machine.feed_max_mm_per_s,
        feed_mm_per_s(
            feed_per_tooth_mm=cutter.tooth_feed_mm, teeth_count=cutter.flutes_count, spindle_rad_per_s=min(own, most)
        ),
    )
    if manner == "hole":
        return deep_mm / feed if cutter.kind == "drill" and deep_mm > 0.0 else None
    if manner in ("wall", "under", "edge") and tall_mm > 0.0:
        levels = max(1, math.ceil(tall_mm / max(cutter.flute_length_mm, 1e-6) - 1e-9))
        return levels * area_mm2 / tall_mm / feed
    if manner == "floor" or (manner == "under" and cutter.kind == "T-slot"):
        return area_mm2 / (FLOOR_STEP_RATIO * cutter.diameter_mm) / feed
    if manner == "inclined" and cutter.kind == "ball":
        step = step_over_mm(radius_mm=cutter.diameter_mm / 2.0, scallop_height_mm=cusp_mm)
        return area_mm2 / step / feed
    return None
