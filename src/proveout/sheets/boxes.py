"""Boxes that drawings and heights are taken from: the part, the blank, and the strip that op 1 holds the work by."""

from __future__ import annotations

import numpy as np

from proveout.geometry.boxes import box_corners
from proveout.model.plan import Plan
from proveout.model.work import Clamping

Corner = tuple[float, ...]
AROUND = ("rough", "finish wall")  # passes that go round the outside
UPRIGHT = 1.0 - 1e-9


def part_box(plan: Plan) -> tuple[Corner, Corner]:
    """The finished part's exact box in the part frame: lowest and highest corner."""
    low = plan.part.low_mm
    return low, tuple(start + size for start, size in zip(low, plan.part.size_mm, strict=True))


def strip_box(plan: Plan, clamping: Clamping) -> tuple[Corner, Corner] | None:
    """The strip that op 1 held, while it is on the work, in the part frame: as wide as the blank, as op 1 left it."""
    cut = [c.number for c in plan.clampings if c.removes_grip]
    gone = bool(cut) and clamping.number > min(cut)
    grip_side = plan.blank.chosen.grip_side
    if gone or clamping.surface == "raw" or grip_side is None:
        return None
    side = np.array(grip_side)
    axis = int(np.argmax(np.abs(side)))
    low, high = np.array(plan.blank.chosen.low_mm), np.array(plan.blank.chosen.high_mm)
    thick = strip_mm(plan)
    if side[axis] > 0:
        low[axis] = high[axis] - thick
    else:
        high[axis] = low[axis] + thick
    return tuple(float(v) for v in low), tuple(float(v) for v in high)


def top_mm(plan: Plan, clamping: Clamping) -> float:
    """How high the work stands above the seat of a clamping: the blank, later the part with what is left of the strip.

    What op 1 goes round is taken to be down to the finished size, as it is drawn.
    """
    boxes = [(plan.blank.chosen.low_mm, plan.blank.chosen.high_mm)]
    if clamping.surface != "raw":
        strip = strip_box(plan, clamping)
        boxes = [part_box(plan), *([] if strip is None else [strip])]
    return max(float(clamping.frame.into(box_corners(*box))[:, 2].max()) for box in boxes)


def strip_mm(plan: Plan) -> float:
    """How much of the blank stays whole at the side held first: up to the deepest tip of the upright levels there.

    Where nothing was replayed, up to the finished part.
    """
    chosen = plan.blank.chosen
    if chosen.grip_side is None:
        return 0.0
    side = np.array(chosen.grip_side)
    axis = int(np.argmax(np.abs(side)))
    low, high = part_box(plan)
    over = chosen.high_mm[axis] - high[axis] if side[axis] > 0 else low[axis] - chosen.low_mm[axis]
    first = plan.clampings[0] if plan.clampings else None
    if first is None:
        return over
    upright = {tilt.id for tilt in first.tilts if float(np.dot(tilt.frame.z, first.frame.z)) > UPRIGHT}
    own = {p.id for p in plan.passes if p.clamping_id == first.id and p.tilt_id in upright and p.kind in AROUND}
    lows = [cut.low_mm for cut in plan.removal.passes if cut.pass_id in own]
    return min(lows) if lows else over
