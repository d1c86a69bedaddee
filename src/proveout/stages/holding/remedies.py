"""How hard a vise is closed when its jaws alone press the work too hard."""

from __future__ import annotations

import math

from proveout.model.proof import Tighten

# common practice, no source: below a third of its usual torque a screw vise closes too unevenly to be reckoned with
PRELOAD_FLOOR = 0.3
STEP = 0.05
# of the yield: what the jaws alone may take, so that the cut's own push finds room beside it
AT_REST_MOST = 0.7


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
