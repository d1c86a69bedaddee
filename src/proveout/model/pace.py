"""How a cutter is run in one pass where its row leaves that to the plan, and which limit stopped it there."""

from __future__ import annotations

from proveout.model.shop import Noun

OWN_SPEED, TOP_SPEED = "cutting speed of the cutter", "top speed of the spindle"
RATED, RATED_HOLDER = "rated speed of the cutter", "rated speed of the holder"
OWN_FEED, TOP_FEED, PITCH = "tooth feed of the cutter", "top feed of the machine", "pitch of the thread"
THICK, THIN = "thickest chip of the cutter", "thinnest chip of the cutter"
POWER, TORQUE, BENT = "power of the spindle", "torque of the spindle", "bending of the cutter"
DEEPEST = "deepest cut of the cutter"
AS_PLANNED = "cutter and part"


class Pace(Noun, frozen=True, kw_only=True):
    """What was chosen for one pass before any of its moves was laid; all of it within the limits then in force.

    speed_by, feed_by, depth_by: the limit that stopped each, in words.  axial_ratio: share of the diameter taken by a
    level or a step down a wall, of faces and stairs that of the level by which they are as deep as they are.
    feed_floor_ratio: share of the feed below which the chip would be too thin.
    bent_over_mm: how far the cutter may bend off its walls, where it bends farther even at the thinnest chip in every
    step that was open to it; None where it does not.
    """

    speed_by: str
    feed_by: str
    depth_by: str
    axial_ratio: float
    feed_floor_ratio: float
    bent_over_mm: float | None = None
