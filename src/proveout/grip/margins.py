"""How far work between two jaws is from moving: a bound in closed form that never flatters.

The frame: x along the jaws, y across them, z up; origin in the middle between the two patches where the jaws touch.
Each patch is a rectangle L x H = 2 a x 2 b whose upper edge is the top of the jaw; the jaws are g apart. The cut acts
at height c above the jaws, so h = c + b above the origin, at most o_x along and o_y across from it. Only the sizes of
the forces F_x, F_y, F_z are known, not their signs, hence for the moments about the origin

    M_x <= h F_y + o_y F_z      M_y <= h F_x + o_x F_z      M_z <= o_x F_y + o_y F_x

The weight of the work and the seat under it are left out: the seat could only help.

How the patches answer (rigid work on two like elastic layers, stiffness k_n across and k_t = kappa k_n along a face):
1. Preload. F_y loads one jaw and unloads the other by any split; each jaw keeps at least N = P - F_y, carries at most
   P_high + F_y.
2. M_x and M_z are shared between uneven pressure and a friction couple over g. Pressure's share is
   s_x = (b^2/3) / (b^2/3 + kappa g^2/4), s_z the same with a. We let pressure carry all of that share *and* friction
   carry the whole moment, so any smaller share is covered as well. The pressure at the weakest corner, times 2 L H, is
   2 N - E with E = 3 s_x M_x / b + 3 s_z M_z / a.
3. M_y can only be carried by friction that turns about y. At a corner, times 2 L H, that is 3 M_y b / (a^2 + b^2)
   along x and 3 M_y a / (a^2 + b^2) along z.
4. The shear at the worst corner, times 2 L H, is then at most
       D_x = F_x + 2 M_z / g + 3 M_y b / (a^2 + b^2)      D_z = F_z + 2 M_x / g + 3 M_y a / (a^2 + b^2)
Nothing slips anywhere when sqrt(D_x^2 + D_z^2) <= mu (2 N - E). The field of forces so built is in balance with the
load and inside the friction cone at every point, so a linear program over corner forces finds a solution too; and
since it is the elastic answer, not the friendliest one, it does not lean on forces choosing to help.

Every term is taken at its own worst over the intervals given, also where the worst lies between their ends.
"""

from __future__ import annotations

import math

import msgspec

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange
from proveout.quantities.interval import Interval, ends

Number = float | Interval
MODES = ("slide", "lift", "slip", "tip", "swing", "turn", "gape", "bearing")
WORST_MARGIN = -9.99
MOST_RESERVE = 999.0
# least stiffness of a jaw face along itself for each unit across it. Two smooth elastic bodies have about 0.8; rough
# faces less. Lower is worse for the work. Assumed, no measurement.
LEAST_STIFFNESS_RATIO = 0.2


class GripMode(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One way to lose the work: what is asked, what is there, and (capacity - demand) / capacity."""

    demand: float
    capacity: float
    unit: str
    margin: float


class GripMargins(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Margins against every way the work can move or be hurt; slip, gape and bearing together contain the others.

    slide: along the jaws. lift: out of them. slip: both at once. tip: about the line along the jaws. swing: about the
    line across them. turn: about the vertical. gape: an edge of a patch loses its pressure. bearing: the work yields.
    reserve_ratio: how many times the cutting forces could grow before slip.
    """

    slide: GripMode
    lift: GripMode
    slip: GripMode
    tip: GripMode
    swing: GripMode
    turn: GripMode
    gape: GripMode
    bearing: GripMode
    reserve_ratio: float

    @property
    def worst(self) -> str:
        """Name of the mode with the least margin; ties go to the earlier one."""
        return min(MODES, key=lambda name: (getattr(self, name).margin, MODES.index(name)))

    @property
    def margin(self) -> float:
        """Least margin of all."""
        return getattr(self, self.worst).margin

    @property
    def holds(self) -> bool:
        """True when no mode is over its limit."""
        return self.margin >= 0.0


class _Load(msgspec.Struct, frozen=True, kw_only=True):
    """Terms of the derivation at their worst: D_x, D_z, E, F_y, the moments and the patch."""

    along_n: float
    up_n: float
    edge_n: float
    across_n: float
    tip_n_mm: float
    swing_n_mm: float
    turn_n_mm: float
    half_length_mm: float
    half_height_mm: float
    gap_mm: float


def grip_margins(
    *,
    preload_n: Number,
    friction_ratio: Number,
    patch_length_mm: Number,
    patch_height_mm: Number,
    jaw_gap_mm: Number,
    force_along_n: Number,
    force_across_n: Number,
    force_up_n: Number,
    cut_height_mm: Number,
    offset_along_mm: Number,
    yield_mpa: Number,
    offset_across_mm: Number | None = None,
    stiffness_ratio: float = LEAST_STIFFNESS_RATIO,
) -> GripMargins:
    """Margins of a two-jaw grip at the worst end of every interval.

    Formula:  sqrt(D_x^2 + D_z^2) <= mu (2 (P - F_y) - E), E <= 2 (P - F_y), (P + F_y + E / 2) / (L H) <= yield;
              derivation at the top of this file
    Args:     preload_n: P, each jaw, >= 0.   friction_ratio: mu, the worse of the two jaws, 0..1.
              patch_length_mm: L where jaw and work really touch, > 0.   patch_height_mm: H, the same, > 0.
              jaw_gap_mm: g, > 0.   force_along_n: size of F_x, >= 0.   force_across_n: size of F_y, >= 0.
              force_up_n: size of F_z, up or down, >= 0.   cut_height_mm: c of the cut above the jaws, >= 0.
              offset_along_mm: o_x, farthest from the middle of the patch, >= 0.   yield_mpa: of the work, > 0.
              offset_across_mm: o_y, >= 0; half the gap when not given.   stiffness_ratio: kappa, above 0, at most 1.
    Returns:  GripMargins; margins at most 1, not below -9.99.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    flat parallel jaws of like stiffness, stiff work, static loads. Thin walls, springy jaws, chatter and jaws
              that rise are not covered. Pressure is the mean over the patch plus tilt; single teeth press harder.
    Source:   elastic_grip_bound, our own derivation.   Departs: nothing.
    Checked:  tests/grip/test_grip_margins.py, tests/grip/test_grip_by_other_means.py
    """
    load = _load(
        patch_length_mm=patch_length_mm,
        patch_height_mm=patch_height_mm,
        jaw_gap_mm=jaw_gap_mm,
        force_along_n=force_along_n,
        force_across_n=force_across_n,
        force_up_n=force_up_n,
        cut_height_mm=cut_height_mm,
        offset_along_mm=offset_along_mm,
        offset_across_mm=offset_across_mm,
        stiffness_ratio=stiffness_ratio,
    )
    preload_low, preload_high = ends(preload_n)
    friction, _ = ends(friction_ratio)
    strength_mpa, _ = ends(yield_mpa)
    zero_or_more(preload_n=preload_low)
    zero_or_more(preload_n=preload_high)
    between(low=0.0, high=1.0, friction_ratio=friction)
    above_zero(yield_mpa=strength_mpa)

    pressed_n = preload_low - load.across_n
    grasp_n = friction * (2.0 * pressed_n - load.edge_n)
    demand_n = math.hypot(load.along_n, load.up_n)
    couple_n_mm = friction * pressed_n * load.gap_mm
    patch_radius_mm = math.hypot(load.half_length_mm, load.half_height_mm)
    area_mm2 = 4.0 * load.half_length_mm * load.half_height_mm
    spent_n = demand_n + friction * (2.0 * load.across_n + load.edge_n)
    return GripMargins(
        slide=_mode(load.along_n, grasp_n, "N"),
        lift=_mode(load.up_n, grasp_n, "N"),
        slip=_mode(demand_n, grasp_n, "N"),
        tip=_mode(load.tip_n_mm, couple_n_mm, "N mm"),
        swing=_mode(load.swing_n_mm, 2.0 * friction * pressed_n * patch_radius_mm / 3.0, "N mm"),
        turn=_mode(load.turn_n_mm, couple_n_mm, "N mm"),
        gape=_mode(load.edge_n, 2.0 * pressed_n, "N"),
        bearing=_mode((preload_high + load.across_n + 0.5 * load.edge_n) / area_mm2, strength_mpa, "MPa"),
        reserve_ratio=min(MOST_RESERVE, 2.0 * friction * preload_low / spent_n) if spent_n > 0.0 else MOST_RESERVE,
    )


def preload_needed_n(
    *,
    friction_ratio: Number,
    patch_length_mm: Number,
    patch_height_mm: Number,
    jaw_gap_mm: Number,
    force_along_n: Number,
    force_across_n: Number,
    force_up_n: Number,
    cut_height_mm: Number,
    offset_along_mm: Number,
    offset_across_mm: Number | None = None,
    stiffness_ratio: float = LEAST_STIFFNESS_RATIO,
) -> float:
    """Least preload at which nothing slips and no edge opens; whether the work bears it is another matter.

    Formula:  P = F_y + E / 2 + sqrt(D_x^2 + D_z^2) / (2 mu)
    Args:     friction_ratio: mu, above 0, at most 1.   patch_length_mm: L, > 0.   patch_height_mm: H, > 0.
              jaw_gap_mm: g, > 0.   force_along_n: >= 0.   force_across_n: >= 0.   force_up_n: >= 0.
              cut_height_mm: c, >= 0.   offset_along_mm: o_x, >= 0.   offset_across_mm: o_y, >= 0; half the gap when
              not given.   stiffness_ratio: kappa, above 0, at most 1.
    Returns:  N, >= 0, each jaw.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as grip_margins.
    Source:   elastic_grip_bound, our own derivation.   Departs: nothing.
    Checked:  tests/grip/test_grip_margins.py
    """
    load = _load(
        patch_length_mm=patch_length_mm,
        patch_height_mm=patch_height_mm,
        jaw_gap_mm=jaw_gap_mm,
        force_along_n=force_along_n,
        force_across_n=force_across_n,
        force_up_n=force_up_n,
        cut_height_mm=cut_height_mm,
        offset_along_mm=offset_along_mm,
        offset_across_mm=offset_across_mm,
        stiffness_ratio=stiffness_ratio,
    )
    friction, _ = ends(friction_ratio)
    above_zero(friction_ratio=friction)
    between(low=0.0, high=1.0, friction_ratio=friction)
    return load.across_n + 0.5 * load.edge_n + math.hypot(load.along_n, load.up_n) / (2.0 * friction)


def _mode(demand: float, capacity: float, unit: str) -> GripMode:
    margin = (capacity - demand) / capacity if capacity > 0.0 else WORST_MARGIN
    return GripMode(demand=demand, capacity=capacity, unit=unit, margin=max(WORST_MARGIN, margin))


def _load(
    *,
    patch_length_mm: Number,
    patch_height_mm: Number,
    jaw_gap_mm: Number,
    force_along_n: Number,
    force_across_n: Number,
    force_up_n: Number,
    cut_height_mm: Number,
    offset_along_mm: Number,
    offset_across_mm: Number | None,
    stiffness_ratio: float,
) -> _Load:
    """The terms of the derivation, each at its own worst over the intervals."""
    half_length = tuple(0.5 * end for end in ends(patch_length_mm))
    half_height = tuple(0.5 * end for end in ends(patch_height_mm))
    gap, widest_gap = ends(jaw_gap_mm)
    above_zero(patch_length_mm=half_length[0], patch_height_mm=half_height[0], jaw_gap_mm=gap)
    above_zero(stiffness_ratio=stiffness_ratio)
    between(low=0.0, high=1.0, stiffness_ratio=stiffness_ratio)
    along, across, up = (
        _largest(force_along_n, "force_along_n"),
        _largest(force_across_n, "force_across_n"),
        _largest(force_up_n, "force_up_n"),
    )
    height = _largest(cut_height_mm, "cut_height_mm") + half_height[1]
    off_along = _largest(offset_along_mm, "offset_along_mm")
    off_across = 0.5 * widest_gap if offset_across_mm is None else _largest(offset_across_mm, "offset_across_mm")

    tip = height * across + off_across * up
    swing = height * along + off_along * up
    turn = off_along * across + off_across * along
    soft = 0.25 * stiffness_ratio * gap * gap
    edge = tip * _worst_tilt(half_height, soft) + turn * _worst_tilt(half_length, soft)
    return _Load(
        along_n=along + 2.0 * turn / gap + 3.0 * swing * _worst_twist(half_height, half_length[0]),
        up_n=up + 2.0 * tip / gap + 3.0 * swing * _worst_twist(half_length, half_height[0]),
        edge_n=edge,
        across_n=across,
        tip_n_mm=tip,
        swing_n_mm=swing,
        turn_n_mm=turn,
        half_length_mm=half_length[0],
        half_height_mm=half_height[0],
        gap_mm=gap,
    )


def _largest(value: Number, name: str) -> float:
    low, high = ends(value)
    if low < 0.0 or not math.isfinite(high):
        raise OutOfRange("A size is below 0 or not finite", where=name, value=f"{low}..{high}", limit="0 or more")
    return high


def _worst_tilt(half: tuple[float, ...], soft: float) -> float:
    """Greatest 3 s / half, s = (half^2 / 3) / (half^2 / 3 + soft), over an interval of half lengths."""
    peak = min(max(math.sqrt(3.0 * soft), half[0]), half[1])
    return max(value / (value * value / 3.0 + soft) for value in (half[0], peak, half[1]))


def _worst_twist(half: tuple[float, ...], other: float) -> float:
    """Greatest half / (half^2 + other^2) over an interval of half lengths."""
    peak = min(max(other, half[0]), half[1])
    return max(value / (value * value + other * other) for value in (half[0], peak, half[1]))
