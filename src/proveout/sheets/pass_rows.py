"""Passes as a setup sheet lists them: like ones on one row, and each tilt by where the cutter comes from."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.plan import Plan
from proveout.model.shop import Noun
from proveout.model.work import Clamping, Pass, Tilt

SHOWN_DIGITS = 2  # of a lowest Z on paper: passes that print the same go on one row
ALONE = ("face", "rough", "rough corners")  # passes over a whole area keep a row of their own
LEVEL_RATIO = 1e-6


class PassRow(Noun, frozen=True, kw_only=True):
    """Neighbouring passes of one kind, cutter, tilt, speed, feed and lowest Z.

    places: in plan.passes.  low_mm: None when nothing replayed them.  seconds: of all, None when none were reckoned.
    """

    places: tuple[int, ...]
    low_mm: float | None
    seconds: float | None


class TiltSheet(Noun, frozen=True, kw_only=True):
    """Where the cutter comes from at one tilt, as the operator sees it.

    rise_rad: of the cutter axis against level, >= 0; is_below: it comes from below level.
    side: the side it comes from, "above" or "below" when upright.
    swing_rad: how far from that side it is turned, towards `swing_to`; 0 with an empty `swing_to` for none.
    places: of its passes in plan.passes.
    """

    rise_rad: float
    is_below: bool
    side: str
    swing_rad: float
    swing_to: str
    places: tuple[int, ...]


def pass_rows(*, plan: Plan, clamping: Clamping) -> tuple[PassRow, ...]:
    """The passes of a clamping in working order, like neighbours joined."""
    lows = {cut.pass_id: cut.low_mm for cut in plan.removal.passes}
    seconds = {line.pass_id: line.seconds.nominal for line in plan.time.lines if line.pass_id}

    def likeness(one: Pass) -> tuple[object, ...]:
        low = lows.get(one.id)
        shown = None if low is None else round(low, SHOWN_DIGITS)
        return (one.kind, one.cutter_id, one.tilt_id, one.speed_rad_per_s, one.tooth_feed_mm, shown)

    groups: list[list[int]] = []
    for place, one in enumerate(plan.passes):
        if one.clamping_id != clamping.id:
            continue
        before = plan.passes[groups[-1][-1]] if groups else None
        if before is not None and one.kind not in ALONE and likeness(before) == likeness(one):
            groups[-1].append(place)
        else:
            groups.append([place])
    rows: list[PassRow] = []
    for group in groups:
        own = [plan.passes[place].id for place in group]
        rows.append(
            PassRow(
                places=tuple(group),
                low_mm=min((lows[id] for id in own if id in lows), default=None),
                seconds=sum(seconds[id] for id in own if id in seconds) if any(id in seconds for id in own) else None,
            )
        )
    return tuple(rows)


def tilt_sheet(*, plan: Plan, clamping: Clamping, tilt: Tilt) -> TiltSheet:
    """Where the cutter comes from at a tilt: height above level, and the side of the vise."""
    toward = clamping.frame.turn @ tilt.frame.turn.T @ np.array([0.0, 0.0, 1.0])
    x, y, z = (float(v) for v in toward)
    places = tuple(i for i, one in enumerate(plan.passes) if one.clamping_id == clamping.id and one.tilt_id == tilt.id)
    rise = math.atan2(z, math.hypot(x, y))
    if math.hypot(x, y) < LEVEL_RATIO:
        side = "above" if z > 0.0 else "below"
        return TiltSheet(
            rise_rad=abs(rise), is_below=z < 0.0, side=side, swing_rad=0.0, swing_to="", places=places
        )  # fmt: skip
    along, across = ("right" if x > 0.0 else "left"), ("back" if y > 0.0 else "front")
    side, swing_to = (along, across) if abs(x) >= abs(y) else (across, along)
    swing = math.atan2(min(abs(x), abs(y)), max(abs(x), abs(y)))
    is_square = swing < LEVEL_RATIO
    return TiltSheet(
        rise_rad=0.0 if abs(rise) < LEVEL_RATIO else abs(rise),
        is_below=rise < -LEVEL_RATIO,
        side=side,
        swing_rad=0.0 if is_square else swing,
        swing_to="" if is_square else swing_to,
        places=places,
    )
