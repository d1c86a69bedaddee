"""How far work between two jaws is from moving, move by move: the bound of margins.py with signed forces.

Frame, patches and the way they answer are those of margins.py. There only the sizes of the forces were known, and each
moment was bound by sizes of forces times the farthest places. Here each move's force lies in a box, its place in
another, so that the moments about the middle between the patches are those of the cut itself:

    M_x = r_y F_z - r_z F_y + T a_x     M_y = r_z F_x - r_x F_z + T a_y     M_z = r_x F_y - r_y F_x + T a_z

with r from that middle, and T a couple about the cutter's axis a, either way round (a drill, a tap).

Corners suffice. D_x, D_z and E are sums of sizes of linear forms of (F, M), so they are convex in it; what the grip
spends, sqrt(D_x^2 + D_z^2) + mu (2 |F_y| + E), is then convex, and each capacity is linear falling, hence concave: the
share of a capacity that is asked for has convex sets of "at most so much". (F, M) is linear in F for a fixed place and
linear in the place for a fixed force. So for any place the worst force is a corner of its box, and for that corner the
worst place is a corner of its own; the same for T, whose box are its two ends.

A force that may point any way across the cutter's axis fills no box but a disc, and with what acts along the axis a
cylinder; a prism of 48 sides about it has corners in its stead. Where such bounds are known besides the box, both
bodies hold the force, so that of the margins by either the greater is true.

The patch may be any rectangle with sides within its intervals, anywhere within where jaw and work meet: its middle
lies in a box, by which the box of places grows. Terms that hold the patch's own sides are at their worst over these.

The preload is fixed and the jaws share the force across as badly as they can: one keeps P - |F_y|, the other carries
P_high + |F_y|. How a moment is shared between uneven pressure and friction hangs on the stiffness ratio kappa, which
is only known to be at least so much: pressure carries the share of the least kappa, friction the whole moment as if
kappa had no end. That covers every kappa between, and every split by it. The field so built is in balance and inside
the friction cone at every point.
"""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import HIGH_AT
from proveout.grip.jaw_patches import Patches
from proveout.grip.margins import LEAST_STIFFNESS_RATIO, MODES
from proveout.model.move_loads import MoveLoads
from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange
from proveout.quantities.interval import Interval, ends

Floats = NDArray[np.float64]
Number = float | Interval
SIDES = 48
"""Of the prism about a force that may point any way across the cutter: it is 0.2 % too large at its corners."""


class MoveMargins(msgspec.Struct, frozen=True, kw_only=True):
    """Margins of k moves against every way the work can move or be hurt, each at its own worst corner.

    margins: (k, 8) in the order of MODES of margins.py.  reserve_ratio: (k,) how many times force and couple could grow
    before slip.  pressure_mpa: (k,) at the worst corner of the least patch.  wrench: (k, 2, 6) F in N and M in N mm
    about the middle between the patches, of the corner with the least reserve, and of that with the greatest pressure.
    """

    margins: Floats
    reserve_ratio: Floats
    pressure_mpa: Floats
    wrench: Floats

    @property
    def worst(self) -> int:
        """The move with the least margin of any kind; ties go to the earlier one, -1 without moves."""
        return int(np.argmin(self.margins.min(axis=1))) if len(self.margins) else -1

    @property
    def holds(self) -> bool:
        """True when no mode of any move is over its limit."""
        return bool((self.margins >= 0.0).all())

    def mode_of(self, row: int) -> str:
        """The mode with the least margin of one move; ties go to the earlier one."""
        return MODES[int(np.argmin(self.margins[row]))]


def move_margins(
    loads: MoveLoads,
    patches: Patches,
    *,
    preload_n: Number,
    friction_ratio: Number,
    jaw_gap_mm: float,
    yield_mpa: Number,
    across_n: float | None = None,
    along_n: float | None = None,
    scale_ratio: float | Floats = 1.0,
    stiffness_ratio: float = LEAST_STIFFNESS_RATIO,
) -> MoveMargins:
    """Margins of every move at the worst end of every interval and the worst corner of both its boxes.

    Formula:  sqrt(D_x^2 + D_z^2) <= mu (2 (P - |F_y|) - E), E <= 2 (P - |F_y|), (P + |F_y| + E / 2) / (L H) <= yield,
              with D_x = |F_x| + 2 |M_z| / g + 3 |M_y| b / (a^2 + b^2), D_z = |F_z| + 2 |M_x| / g + 3 |M_y| a / (a^2 +
              b^2), E = 3 s_x |M_x| / b + 3 s_z |M_z| / a; derivation at the top of this file and of margins.py
    Args:     loads: of the moves of one pass, in the clamping's frame: the fixed jaw's face at y = 0, the work beyond
              it to y = -g.   patches: one row a move.   preload_n: P, each jaw, >= 0.   friction_ratio: mu, the worse
              of the two jaws, 0..1.   jaw_gap_mm: g, > 0.   yield_mpa: of the work, > 0.   across_n: the force across
              the cutter's axis at any move is no larger, >= 0.   along_n: likewise along the axis, either way, >= 0;
              None: the boxes alone bound it.   scale_ratio: share of force and couple that is taken, 0..1, of all or
              (k,) of each, below 1 only for a best end.   stiffness_ratio: kappa at least, above 0, at most 1.
    Returns:  MoveMargins; margins at most 1, not below -9.99.
    Raises:   OutOfRange when an argument leaves the bounds above, a box has its ends swapped or a number is not finite.
    Valid:    as grip_margins. The weight of the work and the seat under it are left out.
    Source:   elastic_grip_bound, our own derivation.   Departs: nothing.
    Checked:  tests/grip/test_move_margins.py, tests/grip/test_moves_by_other_means.py
    """
    from proveout.grip.kernels.corners import corner_margins

    (preload_low, preload_high), (friction, _), (strength, _) = ends(preload_n), ends(friction_ratio), ends(yield_mpa)
    zero_or_more(preload_n=preload_low)
    zero_or_more(preload_n=preload_high)
    scale = np.broadcast_to(np.asarray(scale_ratio, dtype=np.float64), (len(loads.rows),))
    between(low=0.0, high=1.0, friction_ratio=friction, stiffness_ratio=stiffness_ratio)
    for share in (scale.min(initial=1.0), scale.max(initial=0.0)):
        between(low=0.0, high=1.0, scale_ratio=float(share))
    above_zero(jaw_gap_mm=jaw_gap_mm, yield_mpa=strength, stiffness_ratio=stiffness_ratio)
    if len(patches.length_mm) != len(loads.rows):
        raise OutOfRange("There must be one patch for each move", value=f"{len(patches.length_mm)}")
    ends_n = np.stack([loads.force_low_n, loads.force_high_n], axis=1) * scale[:, None, None]
    middle = np.zeros((len(loads.rows), 2, 3))  # the higher end of the patch's middle goes with the lower place
    middle[:, :, 0], middle[:, :, 2] = patches.along_mm[:, ::-1], patches.up_mm[:, ::-1]
    middle[:, :, 1] = -0.5 * jaw_gap_mm
    place = np.stack([loads.at_low_mm, loads.at_high_mm], axis=1) - middle
    couple = np.asarray(loads.couple_n_mm, dtype=np.float64) * scale
    _refuse_nonsense(ends_n, place, couple, patches)
    terms = _terms(patches, jaw_gap_mm=jaw_gap_mm, stiffness_ratio=stiffness_ratio)
    axis, count = np.array(loads.axis, dtype=np.float64), len(loads.rows)

    def at_corners(force: Floats) -> MoveMargins:
        margins, reserve, pressure, wrench = (
            np.ones((count, len(MODES))), np.empty(count), np.empty(count), np.zeros((count, 2, 6)),
        )  # fmt: skip
        corner_margins(
            force, place, couple, axis, terms, jaw_gap_mm, friction, preload_low, preload_high, strength, margins,
            reserve, pressure, wrench,
        )  # fmt: skip
        return MoveMargins(margins=margins, reserve_ratio=reserve, pressure_mpa=pressure, wrench=wrench)

    found = at_corners(np.stack([ends_n[:, HIGH_AT[:, k], k] for k in range(3)], axis=2))
    if across_n is None or along_n is None:
        return found
    zero_or_more(across_n=across_n, along_n=along_n)
    prism = _prism_n(axis, across_n=across_n, along_n=along_n)
    return _better(found, at_corners(np.ascontiguousarray(prism[None, :, :] * scale[:, None, None])))


def _prism_n(axis: Floats, *, across_n: float, along_n: float) -> Floats:
    """(2 SIDES, 3) corners about every force of at most so much across an axis, and along it either way."""
    aside = np.zeros(3)
    aside[int(np.argmin(np.abs(axis)))] = 1.0
    one = np.cross(axis, aside)
    one /= np.linalg.norm(one)
    turn = 2.0 * np.pi * np.arange(SIDES) / SIDES
    level = (
        across_n / np.cos(np.pi / SIDES) * (np.outer(np.cos(turn), one) + np.outer(np.sin(turn), np.cross(axis, one)))
    )
    return np.concatenate([level - along_n * axis, level + along_n * axis])


def _better(one: MoveMargins, other: MoveMargins) -> MoveMargins:
    """Of two true bounds the better, number by number."""
    holds, presses = one.reserve_ratio >= other.reserve_ratio, one.pressure_mpa <= other.pressure_mpa
    chosen = np.stack([holds, presses], axis=1)[:, :, None]
    return MoveMargins(
        margins=np.maximum(one.margins, other.margins),
        reserve_ratio=np.maximum(one.reserve_ratio, other.reserve_ratio),
        pressure_mpa=np.minimum(one.pressure_mpa, other.pressure_mpa),
        wrench=np.where(chosen, one.wrench, other.wrench),
    )


def _refuse_nonsense(force: Floats, place: Floats, couple: Floats, patches: Patches) -> None:
    for name, box in (("force", force), ("place", place)):
        if not np.isfinite(box).all() or (box[:, 0] > box[:, 1]).any():
            raise OutOfRange("A box has its ends swapped or is not finite", where=name, limit="low <= high")
    if not (np.isfinite(couple).all() and (couple >= 0.0).all()):
        raise OutOfRange("A couple is below 0 or not finite", where="couple_n_mm", limit="0 or more")
    for name, side in (("length_mm", patches.length_mm), ("height_mm", patches.height_mm)):
        if not (np.isfinite(side).all() and (side[:, 0] > 0.0).all() and (side[:, 0] <= side[:, 1]).all()):
            raise OutOfRange("A patch has no size or its ends swapped", where=name, limit="0 < low <= high")


def _terms(patches: Patches, *, jaw_gap_mm: float, stiffness_ratio: float) -> Floats:
    """(k, 6) of the patches, as the kernel takes them."""
    half_length, half_height = patches.length_mm / 2.0, patches.height_mm / 2.0
    soft = 0.25 * stiffness_ratio * jaw_gap_mm * jaw_gap_mm
    return np.column_stack([
        half_length[:, 0], half_height[:, 0], _worst_tilt(half_height, soft), _worst_tilt(half_length, soft),
        3.0 * _worst_twist(half_height, half_length[:, 0]), 3.0 * _worst_twist(half_length, half_height[:, 0]),
    ])  # fmt: skip


def _worst_tilt(half: Floats, soft: float) -> Floats:
    """(k,) greatest 3 s / half, s = (half^2 / 3) / (half^2 / 3 + soft), over each row's interval of half lengths."""
    peak = np.clip(np.sqrt(3.0 * soft), half[:, 0], half[:, 1])
    tried = np.column_stack([half, peak])
    return (tried / (tried * tried / 3.0 + soft)).max(axis=1)


def _worst_twist(half: Floats, other: Floats) -> Floats:
    """(k,) greatest half / (half^2 + other^2) over each row's interval of half lengths."""
    peak = np.clip(other, half[:, 0], half[:, 1])
    tried = np.column_stack([half, peak])
    return (tried / (tried * tried + (other * other)[:, None])).max(axis=1)
