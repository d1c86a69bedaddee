"""The two-minute cut in scrap that tells whether a cutter chatters at a pass's speed, feed and width."""

from __future__ import annotations

import math

import numpy as np

from proveout.cutting.speeds import feed_mm_per_s
from proveout.model.loads import PassLoad
from proveout.model.shop import Cutter
from proveout.model.trial_cut import TrialCut
from proveout.model.work import Blank, Clamping, Pass

SHARES = (0.25, 0.5, 0.75, 1.0)
"""Where the depth is told, in shares of the deepest, which is never deeper than the grip was judged for."""
SLOPE_NARROW, SLOPE_WIDE = math.tan(math.radians(5.0)), math.tan(math.radians(2.0))
"""Common practice, no source: steeper ways down load the end edges; the second where the middle of the end cuts."""
RUN_LEAST_MM, RUN_MOST_MM = 40.0, 300.0
LEVEL_S, LEVEL_LEAST_MM = 0.8, 15.0
"""At the end as long as can be heard."""
CLEAR_MM = 3.0
"""Between the deepest place and the jaws, and from the cutter's edge to the scrap before the cut."""
NARROW_MM = 1.0
"""A cut narrower than that finds air or a raw skin on one side of the bar: the side is cut clean first."""
LEAST_MM = 0.02


def trial_cut(
    one: Pass, load: PassLoad, *, proof_id: str, cutter: Cutter, clampings: tuple[Clamping, ...], blank: Blank
) -> TrialCut | None:
    """The cut for one pass; None where no clamping of its machine holds a bar without jaws cut to the work.

    The scrap lies as the blank does, in plain jaws, at least as deep and as long in them as that clamping was judged
    for, and is cut no higher and no deeper than the work.
    """
    own = next(c for c in clampings if c.id == one.clamping_id)
    plain = [c for c in clampings if c.machine_id == own.machine_id and not c.needs_form]
    if not plain:
        return None
    clamping = min(plain, key=lambda c: (c.surface != "raw", c.id != own.id, c.number))
    corners = np.array([[(blank.low_mm, blank.high_mm)[(i >> k) & 1][k] for k in range(3)] for i in range(8)])
    top_mm = float(clamping.frame.into(corners)[:, 2].max()) - clamping.jaw_top_mm
    pass_mm, radial = load.axial_mm, min(load.radial_mm, cutter.diameter_mm)
    slope = SLOPE_NARROW if radial <= cutter.diameter_mm / 2.0 else SLOPE_WIDE
    deepest = min(pass_mm, top_mm - CLEAR_MM, cutter.flute_length_mm, RUN_MOST_MM * slope)
    deepest = math.floor(100.0 * deepest + 1e-6) / 100.0
    if deepest < LEAST_MM:
        return None
    feed = feed_mm_per_s(
        feed_per_tooth_mm=one.tooth_feed_mm, teeth_count=cutter.flutes_count, spindle_rad_per_s=one.speed_rad_per_s
    )
    run = float(max(RUN_LEAST_MM, math.ceil(deepest / slope - 1e-9)))
    level = float(max(LEVEL_LEAST_MM, math.ceil(feed * LEVEL_S - 1e-9)))
    scrap = float(math.ceil(max(run + level + cutter.diameter_mm, clamping.patch_length_mm.high) - 1e-9))
    # towards -X with the work on the cutter's right: the chip begins thick, as in the passes
    start, is_slot = scrap + cutter.diameter_mm / 2.0 + CLEAR_MM, radial >= cutter.diameter_mm - 1e-6
    depths = tuple(round(share * deepest, 3) for share in SHARES)
    return TrialCut(
        proof_id=proof_id, machine_id=own.machine_id, cutter_id=cutter.id, pass_id=one.id, clamping_id=clamping.id,
        bar_id=blank.bar_id, scrap_mm=scrap, grip_mm=round(clamping.jaw_top_mm, 2), top_mm=round(top_mm, 2),
        speed_rad_per_s=one.speed_rad_per_s, feed_mm_per_s=feed, radial_mm=round(radial, 3), start_mm=round(start, 2),
        ramp_mm=scrap, x_mm=tuple(round(scrap - share * run, 2) for share in SHARES), depths_mm=depths,
        end_mm=round(scrap - run - level, 2), y_mm=0.0 if is_slot else round(radial - cutter.diameter_mm / 2.0, 3),
        pass_mm=round(pass_mm, 3), tooth_hz=round(cutter.flutes_count * one.speed_rad_per_s / (2.0 * math.pi), 2),
        cut_s=round((start - scrap + math.hypot(run, deepest) + level) / feed, 2), is_slot=is_slot,
        is_narrow=radial < NARROW_MM, is_whole=deepest >= pass_mm - 0.01,
    )  # fmt: skip
