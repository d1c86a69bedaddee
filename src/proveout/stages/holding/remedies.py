"""What to tighten next when a grip, a patch or a brake gives way: depth, feed, or how hard the vise is closed."""

from __future__ import annotations

import math

from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Tighten

RESERVE_LIMIT = 1.0
# tightening goes in fixed steps of a twentieth; the defaults are those of the passes
STEP = 0.05
STEP_LEAST, STEP_MOST = 0.3, 0.9
AXIAL_DEFAULT, AXIAL_FLOOR = 0.5, 0.02
WALL_DEFAULT, WALL_FLOOR = 4.0, 0.1
FEED_DEFAULT, FEED_FLOOR = 1.0, 0.3
DRILLING = ("drill", "peck", "spot")
ROUGHING = ("face", "rough", "rough corners")
# common practice, no source: below a third of its usual torque a screw vise closes too unevenly to be reckoned with
PRELOAD_FLOOR = 0.3
# of the yield: what the jaws alone may take, so that the cut's own push finds room beside it
AT_REST_MOST = 0.7


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


def clamp_softer(clamping_id: str, *, ratio: float, at_rest_mpa: float, yield_mpa: float) -> Tighten | None:
    """The share of the usual jaw force at which the jaws alone press with at most 0.7 of the yield.

    ratio: the share in force, which gives at_rest_mpa.  None while the jaws alone leave that room, or at the floor.
    """
    if at_rest_mpa <= AT_REST_MOST * yield_mpa:
        return None
    steps = math.floor(ratio * AT_REST_MOST * yield_mpa / at_rest_mpa / STEP + 1e-9)
    bound = max(PRELOAD_FLOOR, round(steps * STEP, 4))
    if bound >= ratio:
        return None
    return Tighten(subject=clamping_id, quantity="preload_ratio", bound=bound, unit="of the usual")
