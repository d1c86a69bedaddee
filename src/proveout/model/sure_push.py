"""What the moves of a pass are sure to push with, at some moment: the low end of their loads."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class SureThrust(msgspec.Struct, frozen=True, kw_only=True):
    """A drill in solid metal: into the work along its axis, and turning it as the spindle turns.

    is_whole: (k,) bool, moves that at some moment cut the whole section of the drill.  The rest: ends of thrust and
    torque there, the same for every move.
    """

    is_whole: NDArray[np.bool_]
    thrust_low_n: float
    thrust_high_n: float
    torque_low_n_mm: float
    torque_high_n_mm: float


class SureEdges(msgspec.Struct, frozen=True, kw_only=True):
    """Upright edges of a mill on a straight way: what a turn pushes on the average lies between these ends.

    section_low_mm2, section_high_mm2: (k,) of the cut, across the way: at some moment at least so much, never more; 0
    where nothing is sure.  deep_mm: (k,) edges are in the cut no higher above the tip.  turn_feed_mm: (k,) way a turn.
    way: (k, 3) where the cutter goes, in the clamping's frame.  radius_mm: of the edges.
    axis_low_mm, axis_high_mm: (k, 3) box of the stretch of the cutter's axis beside which edges cut.
    chips_mm: (h,) thickness of all chips of a turn together, rising; the four beside it are N a mm of depth that all
    teeth together make of it over a turn, at least and at most: round, off the wall, and along the axis either way.
    """

    section_low_mm2: Floats
    section_high_mm2: Floats
    deep_mm: Floats
    turn_feed_mm: Floats
    way: Floats
    radius_mm: float
    axis_low_mm: Floats
    axis_high_mm: Floats
    chips_mm: Floats
    tangential_low_n_per_mm: Floats
    tangential_high_n_per_mm: Floats
    radial_high_n_per_mm: Floats
    axial_high_n_per_mm: Floats
