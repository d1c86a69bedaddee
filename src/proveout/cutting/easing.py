"""What to ease next in a pass that asks too much of grip, brake or spindle: its depth, or its feed."""

from __future__ import annotations

import math

from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Tighten

RESERVE_LIMIT = 1.0
# tightening goes in fixed steps of a twentieth; the defaults are those of the passes
STEP = 0.05
STEP_LEAST, STEP_MOST = 0.3, 0.8
AXIAL_DEFAULT, AXIAL_FLOOR = 0.5, 0.02
WALL_DEFAULT, WALL_FLOOR = 4.0, 0.1
FEED_DEFAULT, FEED_FLOOR = 1.0, 0.3
DRILLING = ("drill", "peck", "spot")
ROUGHING = ("face", "rough", "rough corners")


def tighten_cut(
    load: PassLoad, reserve: float, kind: str, cutter_id: str, diameter_mm: float, limits: Limits
) -> Tighten | None:
    """The next step: shallower levels for roughing, a slower feed for finishing and drilling; None when none is left.

    A tap's feed is its pitch: there is nothing to slow.
    """
    if reserve >= RESERVE_LIMIT or (load.plane_n <= 0.0 and kind not in DRILLING):
        return None
    subject = f"{load.clamping_id}/{cutter_id}"
    share = max(STEP_LEAST, min(STEP_MOST, math.floor(reserve / STEP) * STEP))
    if kind in ROUGHING:
        quantity, now, floor = "axial_ratio", limits.of("axial_ratio", subject, AXIAL_DEFAULT), AXIAL_FLOOR
    elif kind == "finish wall":
        now = min(limits.of("wall_ratio", subject, WALL_DEFAULT), load.axial_mm / diameter_mm)
        quantity, floor = "wall_ratio", WALL_FLOOR
    else:
        quantity, now, floor = "feed_ratio", limits.of("feed_ratio", subject, FEED_DEFAULT), FEED_FLOOR
    bound = round(now * share, 4)
    if bound < floor:
        return None
    return Tighten(subject=subject, quantity=quantity, bound=bound, unit="of the usual")
