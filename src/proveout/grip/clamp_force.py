"""Clamp force from a wrench, for a simple slide, and the pressure it makes."""

from __future__ import annotations

import math
from itertools import pairwise

from proveout.quantities.bounds import above_zero, between, zero_or_more
from proveout.quantities.errors import OutOfRange


def clamp_force_from_torque_n(*, torque_n_mm: float, lead_mm: float, efficiency_ratio: float) -> float:
    """Jaw force of a vise screw.

    Formula:  F = 2 pi eta T / lead
    Args:     torque_n_mm: T at the screw, >= 0.   lead_mm: advance in one turn, > 0.   efficiency_ratio: eta, above 0,
              at most 1; 0.25 to 0.45 for a greased screw by common practice.
    Returns:  N, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    screw vises; the vise maker's own chart is better.
    Source:   power_screw_identity.   Departs: nothing.
    Checked:  tests/published/test_power_screw_identity.py
    """
    zero_or_more(torque_n_mm=torque_n_mm)
    above_zero(lead_mm=lead_mm, efficiency_ratio=efficiency_ratio)
    between(low=0.0, high=1.0, efficiency_ratio=efficiency_ratio)
    return 2.0 * math.pi * efficiency_ratio * torque_n_mm / lead_mm


def clamp_force_from_chart_n(
    *, torque_n_mm: float, chart_torques_n_mm: tuple[float, ...], chart_forces_n: tuple[float, ...]
) -> float:
    """Jaw force of a vise by its maker's chart.

    Formula:  F = F_i + (F_j - F_i) (T - T_i) / (T_j - T_i) between the points i and j beside T
    Args:     torque_n_mm: T, within the chart.   chart_torques_n_mm: T_i, >= 0, each above the one before.
              chart_forces_n: F_i, >= 0, as many.
    Returns:  N, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above, beyond the ends of the chart too.
    Valid:    the maker's vise as new, greased, closed with a torque wrench; how far one may be off, the chart seldom
              says.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/grip/test_clamp_force.py
    """
    torques, forces = chart_torques_n_mm, chart_forces_n
    if len(torques) != len(forces) or len(torques) < 2 or any(b <= a for a, b in pairwise(torques)):
        raise OutOfRange("A chart needs as many forces as torques, these rising", value=f"{torques}, {forces}")
    for force in forces:
        zero_or_more(chart_forces_n=force)
    between(low=torques[0], high=torques[-1], torque_n_mm=torque_n_mm)
    at = next(k for k in range(1, len(torques)) if torque_n_mm <= torques[k])
    share = (torque_n_mm - torques[at - 1]) / (torques[at] - torques[at - 1])
    return forces[at - 1] + share * (forces[at] - forces[at - 1])


def clamp_force_for_slide_n(*, force_along_n: float, friction_ratio: float, safety_ratio: float) -> float:
    """Jaw force that keeps work between two jaws from sliding along them, when nothing else acts.

    Formula:  F_c = S F / (2 mu): both faces rub
    Args:     force_along_n: F, >= 0.   friction_ratio: mu, above 0, at most 1.   safety_ratio: S, >= 1.
    Returns:  N, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a force through the middle of both patches; a force above them needs grip_margins.
    Source:   two_jaw_friction.   Departs: nothing.
    Checked:  tests/published/test_two_jaw_friction.py
    """
    zero_or_more(force_along_n=force_along_n)
    above_zero(friction_ratio=friction_ratio)
    between(low=0.0, high=1.0, friction_ratio=friction_ratio)
    between(low=1.0, high=100.0, safety_ratio=safety_ratio)
    return safety_ratio * force_along_n / (2.0 * friction_ratio)


def jaw_pressure_mpa(*, preload_n: float, patch_length_mm: float, patch_height_mm: float) -> float:
    """Mean pressure under a jaw.

    Formula:  p = N / (L H)
    Args:     preload_n: N, >= 0.   patch_length_mm: L, > 0.   patch_height_mm: H, > 0.
    Returns:  MPa, >= 0; teeth press far harder where they bite.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the mean; what tilts the work adds to it at an edge, see grip_margins.
    Source:   two_jaw_friction.   Departs: nothing.
    Checked:  tests/grip/test_grip_margins.py
    """
    zero_or_more(preload_n=preload_n)
    above_zero(patch_length_mm=patch_length_mm, patch_height_mm=patch_height_mm)
    return preload_n / (patch_length_mm * patch_height_mm)
