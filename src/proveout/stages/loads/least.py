"""The low end of what each move of a pass asks for: by the metal that the replay saw go, and sharp edges."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_models import NO_MM, RUNOUT_MM, EdgeEnds, is_square
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.shop import Cutter
from proveout.model.work import Pass
from proveout.stages.loads.milling import MilledMoves
from proveout.stages.loads.sure import SURE_RATIO

Floats = NDArray[np.float64]
CHIPS_ASKED = 24


def least_torques_n_mm(
    one: Pass, moves: Moves, cuts: MoveCuts, cutter: Cutter, ends: EdgeEnds, *, raw_varies_mm: float
) -> Floats:
    """(k,) torque that each milling move is sure to ask for at some moment.

    Formula:  T = u A f / (2 pi), u = q_t(h) / h the work that a sharp edge spends on the metal, at the thickest chip
              there can be, where it is least; A = 0.9 V / L, V taken on the way L; f the way of a turn
    Args:     cuts: what the replay saw of the pass's moves.   ends: by either law of a sharp edge, the lesser.
              raw_varies_mm: by so much less metal than in the nominal blank may stand at each side of the cut.
    Returns:  N mm, (k,) >= 0; 0 where the replay could not tell.
    Raises:   nothing.
    Valid:    what edges spend on a volume falls with the thickness of chip by both laws; so the mean over the move is
              no less, and its greatest no less than its mean.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/loads/test_least.py
    """
    way = np.maximum(cuts.length_mm, NO_MM)
    known = ~np.isnan(cuts.section_mm2) & ~np.isnan(cuts.plunge_mm2)
    seen = np.maximum(np.nan_to_num(cuts.section_mm2), np.nan_to_num(cuts.plunge_mm2))
    doubt = raw_varies_mm * (np.maximum(cuts.deep_mm, NO_MM) + cutter.diameter_mm)
    area = np.where(known, np.maximum(0.0, SURE_RATIO * np.minimum(cuts.removed_mm3 / way, seen) - doubt), 0.0)
    turn_feed = moves.feed_mm_per_s[cuts.rows] * 2.0 * math.pi / one.speed_rad_per_s
    chip = np.maximum(NO_MM, np.minimum(turn_feed / max(cutter.flutes_count, 1) + RUNOUT_MM, turn_feed))
    spent = np.min([model.tangential.at_n_per_mm(chip) / chip for model in ends.sharp], axis=0)
    return np.asarray(spent * area * turn_feed / (2.0 * math.pi))


def least_across_n(torques_n_mm: Floats, milled: MilledMoves, cutter: Cutter, ends: EdgeEnds) -> Floats:
    """(k,) force across the axis that each move is sure to push with at some moment.

    Formula:  F = T / R max(0, cos(a / 2) - rho sin(a / 2)): tangential forces within the arc a, cos a = 1 - 2 w / D,
              along its middle, less what those off the wall, at most rho of them, take away
    Args:     torques_n_mm: T (k,).   milled: w, the widest that each cut can be.
    Returns:  N, (k,) >= 0, no more than at most; 0 of a cutter whose edges do not stand upright.
    Raises:   nothing.
    Valid:    upright edges of any helix: at all heights they cut within the same arc.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/loads/test_least.py
    """
    if not is_square(cutter) or not len(torques_n_mm):
        return np.zeros(len(torques_n_mm))
    diameter = cutter.diameter_mm
    half = np.arccos(np.clip(1.0 - 2.0 * milled.wide_mm / diameter, -1.0, 1.0)) / 2.0
    chips = np.geomspace(
        NO_MM, float(milled.tooth_feed_mm.max()) * max(cutter.flutes_count, 1) + RUNOUT_MM, CHIPS_ASKED
    )
    aside = max(
        float((model.radial.at_n_per_mm(chips) / model.tangential.at_n_per_mm(chips)).max())
        for model in (*ends.sharp, *ends.dull)
    )
    share = np.maximum(0.0, np.cos(half) - aside * np.sin(half))
    return np.minimum(torques_n_mm / (diameter / 2.0) * share, milled.across_n)


def shares(least: Floats, most: Floats) -> Floats:
    """(k,) of the greatest that the least is, 0..1; 0 where nothing is asked for."""
    return np.clip(np.divide(least, most, out=np.zeros_like(most), where=most > 0.0), 0.0, 1.0)
