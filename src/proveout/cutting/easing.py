"""What to ease next in a pass that asks too much of grip, brake or spindle: its depth, or its feed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from proveout.cutting.engaged_length import HELIX_LOW_RAD, engaged_height_mm
from proveout.model.choice import LIP_RATIO
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Tighten
from proveout.model.work import Pass

RESERVE_LIMIT = 1.0
# tightening goes in fixed steps of a hundredth; the defaults are those of the passes
STEP = 0.01
STEP_LEAST, STEP_MOST = 0.3, 0.97
FURTHER_RATIO = 0.98
"""Goes so far beyond what is missing: a force that falls less than its cause would else never be reached."""
COARSE_STEP, COARSE_MOST = 0.05, 0.8
"""Of steps down a wall: it pushes no less until they are shorter than the edge in it at once, or one more in number."""
STEP_WORTH = 0.0005  # a smaller step would cost a round and bring nothing
AXIAL_DEFAULT, AXIAL_FLOOR = 0.5, 0.02
CORNER_DEFAULT = 1.5
WALL_DEFAULT, WALL_FLOOR = 4.0, 0.1
FEED_DEFAULT, FEED_FLOOR = 1.0, 0.3
LIP_FLOOR = 0.05
DRILLING = ("drill", "peck", "spot")
ROUGHING = ("face", "rough", "rough corners")
STAIRS = "stairs"
"""Feature of the passes whose depth, like that of facing, is a share of the level's: their pace says at which ratio."""


def tighten_cut(
    load: PassLoad, reserve: float, one: Pass, diameter_mm: float, limits: Limits
) -> Tighten | None:  # fmt: skip
    """The next step: shallower levels for roughing and walls, else a slower feed; None when none is left.

    A wall at its shallowest step goes on with a slower feed; a cutter with a head at its slowest takes less of the
    width. A tap's feed is its pitch: there is nothing to slow.

    A pass whose pace was chosen is eased from there, a wall by its feed first, and no feed below the thinnest chip.
    """
    kind, pace = one.kind, one.pace
    if reserve >= RESERVE_LIMIT or (load.plane_n <= 0.0 and kind not in DRILLING):
        return None
    subject = f"{load.clamping_id}/{one.cutter_id}"
    feed_floor = FEED_FLOOR if pace is None else pace.feed_floor_ratio
    if kind in ROUGHING:
        usual = CORNER_DEFAULT if kind == "rough corners" else AXIAL_DEFAULT
        quantity, floor = "axial_ratio", AXIAL_FLOOR
        usual = usual if pace is None else pace.axial_ratio
        now = min(usual, limits.of(quantity, subject, usual))
        is_level = kind != "face" and one.feature != STAIRS  # whose depth is the ratio times the diameter
        if is_level and load.axial_mm > 0.0:
            # a level that is shallower than it may be is no lighter until it gets shallower still
            now = min(now, load.axial_mm / diameter_mm)
    elif kind == "finish wall" and pace is not None and _feed_of_wall(limits, subject) > feed_floor + STEP_WORTH:
        # its edges lean: until it is much shallower a wall pass pushes no less, and a thinner chip costs less time
        quantity, now, floor = "wall_feed_ratio", _feed_of_wall(limits, subject), feed_floor
    elif kind == "finish wall":
        deep = min(load.axial_mm, _in_cut_mm(load, diameter_mm))
        now = min(limits.of("wall_ratio", subject, WALL_DEFAULT), deep / diameter_mm)
        quantity, floor = "wall_ratio", WALL_FLOOR
    elif kind == "undercut" and limits.of("feed_ratio", subject, FEED_DEFAULT) < feed_floor + STEP_WORTH:
        # its head is as high as it is: once its feed is as slow as it goes, it can only take less of the width
        quantity, floor = "radial_ratio", LIP_FLOOR
        now = min(LIP_RATIO, limits.of(quantity, subject, LIP_RATIO))
    else:
        quantity, now, floor = "feed_ratio", limits.of("feed_ratio", subject, FEED_DEFAULT), feed_floor
    if quantity == "wall_ratio" and now < floor + STEP_WORTH:
        quantity, floor = "wall_feed_ratio", feed_floor
        now = _feed_of_wall(limits, subject)
    bound = max(floor, round(now * _share(reserve, is_wall_step=quantity == "wall_ratio"), 4))
    if bound > now - STEP_WORTH:
        return None
    return Tighten(subject=subject, quantity=quantity, bound=bound, unit="of the usual")


def least_steps(steps: Sequence[Tighten | None]) -> list[Tighten | None]:
    """Every step with the least bound that any of them asks of its subject and quantity: all passes share that limit.

    The pass that asks most of grip or brake need not be the one that must go lowest: that hangs on where it starts.
    """
    least: dict[tuple[str, str], Tighten] = {}
    for step in steps:
        if step is not None:
            key = (step.subject, step.quantity)
            least[key] = min(least.get(key, step), step, key=lambda one: one.bound)
    return [None if step is None else least[step.subject, step.quantity] for step in steps]


def beside_the_first(steps: Sequence[Tighten | None]) -> list[tuple[int, Tighten]]:
    """What must be eased beside what the first step eases: the first step on each, with its place among all."""
    asked = {(step.subject, step.quantity) for step in steps[:1] if step is not None}
    found: list[tuple[int, Tighten]] = []
    for place, step in enumerate(steps):
        if step is not None and (step.subject, step.quantity) not in asked:
            asked.add((step.subject, step.quantity))
            found.append((place, step))
    return found


def _feed_of_wall(limits: Limits, subject: str) -> float:
    return limits.of("wall_feed_ratio", subject, FEED_DEFAULT)


def _share(reserve: float, *, is_wall_step: bool) -> float:
    """How much of the present depth or feed is left by the next step."""
    if is_wall_step:
        return max(STEP_LEAST, min(COARSE_MOST, math.floor(reserve / COARSE_STEP) * COARSE_STEP))
    return max(STEP_LEAST, min(STEP_MOST, math.floor(FURTHER_RATIO * reserve / STEP + 1e-9) * STEP))


def _in_cut_mm(load: PassLoad, diameter_mm: float) -> float:
    """The height of edge in the cut at once: a wall pass pushes no less until it is shallower than that."""
    if not 0.0 < load.radial_mm <= diameter_mm:
        return math.inf
    return engaged_height_mm(
        radial_engagement_mm=load.radial_mm, diameter_mm=diameter_mm, helix_rad=HELIX_LOW_RAD
    )  # fmt: skip
