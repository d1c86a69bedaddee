"""Clamp force from a wrench, for a simple slide, and the pressure it makes."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between, zero_or_more


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
