"""What every move of a pass asks of cutter, spindle and grip."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class MoveLoads(msgspec.Struct, frozen=True, kw_only=True):
    """Bounds for the k moves of one pass that meet metal, as arrays.

    rows: (k,) int64 into Moves.points: the point at which the move ends; it begins at the point before.
    force_low_n, force_high_n: (k, 3) interval of the force of the cutter on the work, in the clamping's frame, over a
    whole turn, every direction that the move may take and every coefficient; low end sharp, high end dull.
    couple_n_mm: (k,) >= 0, size of the couple about the cutter's axis beside that force: a drill's or a tap's torque;
    0 in milling, where the force acts at the edge.  axis: (3,) the cutter's axis in the clamping's frame.
    at_low_mm, at_high_mm: (k, 3) box in the clamping's frame in which the force acts.
    torque_n_mm, power_mw: (k,) upper bounds at the spindle.
    scale_share: least over greatest force, 0..1, by the coefficients' interval: a reserve has its low end at the
    greatest force and its high end at that share of it.
    deflection_mm: (k,) upper bound of the cutter's bending at the tip, across; NaN where unknown.
    tooth_feed_mm, radial_mm, axial_mm: (k,) the engagement that each was taken at.
    """

    pass_id: str
    clamping_id: str
    rows: NDArray[np.int64]
    force_low_n: Floats
    force_high_n: Floats
    couple_n_mm: Floats
    axis: Floats
    at_low_mm: Floats
    at_high_mm: Floats
    torque_n_mm: Floats
    power_mw: Floats
    scale_share: float
    deflection_mm: Floats
    tooth_feed_mm: Floats
    radial_mm: Floats
    axial_mm: Floats
