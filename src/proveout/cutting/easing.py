"""What to ease next in a pass that asks too much of grip, brake or spindle: its depth, or its feed."""

from __future__ import annotations

import math

from proveout.cutting.engaged_length import HELIX_LOW_RAD, engaged_height_mm
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Tighten

RESERVE_LIMIT = 1.0
# tightening goes in fixed steps of a twentieth; the defaults are those of the passes
STEP = 0.05
STEP_LEAST, STEP_MOST = 0.3, 0.8
STEP_WORTH = 0.002  # a smaller step would cost a round and bring nothing
AXIAL_DEFAULT, AXIAL_FLOOR = 0.5, 0.02
CORNER_DEFAULT = 1.5
WALL_DEFAULT, WALL_FLOOR = 4.0, 0.1
FEED_DEFAULT, FEED_FLOOR = 1.0, 0.3
DRILLING = ("drill", "peck", "spot")
ROUGHING = ("face", "rough", "rough corners")


def tighten_cut(
    load: PassLoad, reserve: float, kind: str, cutter_id: str, diameter_mm: float, limits: Limits
) -> Tighten | None:
    """The next step: shallower levels for roughing and walls, else a slower feed; None when none is left.

    A wall at its shallowest step goes on with a slower feed. A tap's feed is its pitch: there is nothing to slow.
    """
    if reserve >= RESERVE_LIMIT or (load.plane_n <= 0.0 and kind not in DRILLING):
        return None
    subject = f"{load.clamping_id}/{cutter_id}"
    share = max(STEP_LEAST, min(STEP_MOST, math.floor(reserve / STEP) * STEP))
    if kind in ROUGHING:
        usual = CORNER_DEFAULT if kind == "rough corners" else AXIAL_DEFAULT
        quantity, floor = "axial_ratio", AXIAL_FLOOR
        now = min(usual, limits.of(quantity, subject, usual))
    elif kind == "finish wall":
        deep = min(load.axial_mm, _in_cut_mm(load, diameter_mm))
        now = min(limits.of("wall_ratio", subject, WALL_DEFAULT), deep / diameter_mm)
        quantity, floor = "wall_ratio", WALL_FLOOR
    else:
        quantity, now, floor = "feed_ratio", limits.of("feed_ratio", subject, FEED_DEFAULT), FEED_FLOOR
    if quantity == "wall_ratio" and now < floor + STEP_WORTH:
        quantity, floor = "wall_feed_ratio", FEED_FLOOR
        now = limits.of(quantity, subject, FEED_DEFAULT)
    bound = max(floor, round(now * share, 4))
    if bound > now - STEP_WORTH:
        return None
    return Tighten(subject=subject, quantity=quantity, bound=bound, unit="of the usual")


def _in_cut_mm(load: PassLoad, diameter_mm: float) -> float:
    """The height of edge in the cut at once: a wall pass pushes no less until it is shallower than that."""
    if not 0.0 < load.radial_mm <= diameter_mm:
        return math.inf
    return engaged_height_mm(
        radial_engagement_mm=load.radial_mm, diameter_mm=diameter_mm, helix_rad=HELIX_LOW_RAD
    )  # fmt: skip
