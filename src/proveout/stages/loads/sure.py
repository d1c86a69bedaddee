"""What a pass's moves are sure to push with: sharp edges, the metal that the replay saw go, the way they go."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_models import NO_MM, EdgeEnds, is_square
from proveout.cutting.turning import EdgeLaw
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.shop import Cutter
from proveout.model.sure_push import SureEdges, SureThrust
from proveout.model.work import Pass
from proveout.stages.loads.moves import Site, boxes_mm

Floats = NDArray[np.float64]
SURE_RATIO = 0.9
"""Assumed: so much of a section that the replay measured is sure to be there."""
WHOLE_RATIO = 0.95
"""Of a drill's own section: a pilot hole a fifth as wide as the drill takes more away."""
HALF_WAY_RATIO = 0.5
"""Of the drill's section over a whole move, so that it is this move that cuts, and not the one beside it."""
LEVEL_RATIO = 0.02
POINTS = 48


def sure_thrust(
    one: Pass, cuts: MoveCuts, cutter: Cutter, *, thrust_n: float, torque_n_mm: float, share: float
) -> SureThrust | None:
    """A drill in solid metal; None of what follows another hole, and of taps, whose holder decides how they push."""
    if one.kind not in ("drill", "peck"):
        return None
    disc = math.pi * cutter.diameter_mm**2 / 4.0
    way = np.maximum(cuts.length_mm, NO_MM)
    with np.errstate(invalid="ignore"):
        is_whole = (cuts.plunge_mm2 >= WHOLE_RATIO * disc) & (cuts.removed_mm3 / way >= HALF_WAY_RATIO * disc)
    return SureThrust(
        is_whole=is_whole, thrust_low_n=share * thrust_n, thrust_high_n=thrust_n,
        torque_low_n_mm=share * torque_n_mm, torque_high_n_mm=torque_n_mm,
    )  # fmt: skip


def sure_edges(
    one: Pass, moves: Moves, cuts: MoveCuts, cutter: Cutter, site: Site, ends: EdgeEnds, *, raw_varies_mm: float
) -> SureEdges | None:
    """The edges of a square mill on straight, level ways; None of other forms, whose radius changes with height.

    raw_varies_mm: by so much less metal than in the nominal blank may stand at each side of the cut.
    """
    if not is_square(cutter) or not len(cuts.rows):
        return None
    teeth, diameter = max(cutter.flutes_count, 1), cutter.diameter_mm
    deep = np.maximum(cuts.deep_mm, NO_MM)
    doubt = raw_varies_mm * (deep + diameter)
    measured = np.nan_to_num(cuts.section_mm2)
    mean = np.minimum(cuts.removed_mm3 / np.maximum(cuts.length_mm, NO_MM), measured)
    steps = moves.points[cuts.rows] - moves.points[cuts.rows - 1]
    length = np.linalg.norm(steps, axis=1)
    ahead = steps / np.maximum(length, NO_MM)[:, None]
    is_straight = (moves.senses[cuts.rows] == 0) & (np.abs(ahead[:, 2]) <= LEVEL_RATIO) & (length > NO_MM)
    ahead[:, 2] = 0.0
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), NO_MM)[:, None]
    turn_feed = moves.feed_mm_per_s[cuts.rows] * 2.0 * math.pi / one.speed_rad_per_s
    low, high = boxes_mm(moves, cuts.rows, Site(clamping=site.clamping, frame=site.frame, blank=None), reach_mm=0.0,
                         tall_mm=deep)  # fmt: skip
    chips = np.geomspace(1e-6, max(float(turn_feed.max()), 1e-5), POINTS)
    return SureEdges(
        section_low_mm2=np.where(is_straight, np.maximum(0.0, SURE_RATIO * mean - doubt), 0.0),
        section_high_mm2=measured / SURE_RATIO + doubt, deep_mm=deep, turn_feed_mm=turn_feed,
        way=ahead @ site.frame.turn @ site.clamping.frame.turn.T, radius_mm=diameter / 2.0, axis_low_mm=low,
        axis_high_mm=high, chips_mm=chips,
        tangential_low_n_per_mm=np.min([_least(m.tangential, chips) for m in ends.sharp], axis=0),
        tangential_high_n_per_mm=np.max([_most(m.tangential, chips, teeth) for m in ends.dull], axis=0),
        radial_high_n_per_mm=np.max([_most(m.radial, chips, teeth) for m in ends.dull], axis=0),
        axial_high_n_per_mm=np.max([_most(m.axial, chips, teeth) for m in ends.dull], axis=0),
    )  # fmt: skip


def _least(law: EdgeLaw, chips_mm: Floats) -> Floats:
    """All teeth together when one that stands out takes all their chips: a law that bends down gives least so."""
    return law.at_n_per_mm(chips_mm)


def _most(law: EdgeLaw, chips_mm: Floats, teeth: int) -> Floats:
    """When they share evenly."""
    return teeth * law.at_n_per_mm(chips_mm / teeth)
