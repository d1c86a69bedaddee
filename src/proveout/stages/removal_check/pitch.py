"""How fine a grid the replay can afford: a matter of the plan alone, never of the machine it runs on."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.moves import BOX_CHORD_MM
from proveout.model.shop import Cutter
from proveout.model.work import Blank, PassPlan

PITCH_LOW_MM, PITCH_HIGH_MM, SIDE_CELLS = 0.1, 0.8, 900
COARSE_HIGH_MM = 0.5
# rays asked over the whole replay, each about 25 ns on one core of 2026: ten seconds
RAYS_ASKED_MAX = 4.0e8


def pitch_for(
    *,
    blank: Blank,
    plan: PassPlan,
    frames: Mapping[tuple[str, str], Frame],
    cutters: Mapping[str, Cutter],
    coarse_ratio: float = 1.0,
) -> float:
    """Grid pitch, mm: the finest of at least PITCH_LOW_MM that asks no more than RAYS_ASKED_MAX rays.

    Args:     frames: by (clamping id, tilt id), in the part frame.   cutters: by id.   coarse_ratio: above 1 for a
              quicker look while limits are sought; never coarser than COARSE_HIGH_MM for its sake.
    """
    longest = max(h - low for low, h in zip(blank.low_mm, blank.high_mm, strict=True))
    asked = math.sqrt(_swept_mm2(blank, plan, frames, cutters) / RAYS_ASKED_MAX)
    fine = max(PITCH_LOW_MM, min(PITCH_HIGH_MM, max(longest / SIDE_CELLS, asked)))
    return round(max(fine, min(fine * coarse_ratio, COARSE_HIGH_MM)), 3)


def _swept_mm2(
    blank: Blank, plan: PassPlan, frames: Mapping[tuple[str, str], Frame], cutters: Mapping[str, Cutter]
) -> float:
    """Sum over feed moves of the three sides of the box about the cutter's sweep, within the blank."""
    low, high = np.array(blank.low_mm), np.array(blank.high_mm)
    total = 0.0
    for one in plan.passes:
        frame, moves = frames[(one.clamping_id, one.tilt_id)], plan.moves[one.moves_digest]
        straight = moves.straight(within_mm=BOX_CHORD_MM)
        points = frame.out_of(straight.points)
        feeding = straight.feed_mm_per_s[1:] > 0.0
        first, last = points[:-1][feeding], points[1:][feeding]
        for piece in cutting_pieces(cutters[one.cutter_id]):
            radius = max(piece.r_low_mm, piece.r_high_mm)
            total += _sides_mm2(first, last, np.array(frame.z), (piece.z_low_mm, piece.z_high_mm), radius, low, high)
    return total


def _sides_mm2(
    first: NDArray[np.float64],
    last: NDArray[np.float64],
    axis: NDArray[np.float64],
    along_mm: tuple[float, float],
    radius_mm: float,
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> float:
    wide = radius_mm * np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    ends = np.outer(np.array(along_mm), axis)
    box_low = np.maximum(np.minimum(first, last) + ends.min(axis=0) - wide, low)
    box_high = np.minimum(np.maximum(first, last) + ends.max(axis=0) + wide, high)
    size = np.maximum(box_high - box_low, 0.0)
    return float((size * np.roll(size, 1, axis=1)).sum())
