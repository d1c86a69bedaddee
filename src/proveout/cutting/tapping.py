"""Torque of a cutting tap, by two makers' formulas."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between
from proveout.quantities.errors import OutOfRange

THREAD_HALF_ANGLE_RAD = math.pi / 6.0
TAP_DULL_RATIO = 2.0
# long-chipping aluminium in the tap maker's formula (source key tap_torque_catalogue), doubled for a dull tap
TAP_PRESSURE_MPA = TAP_DULL_RATIO * 800.0


def tap_torque_n_mm(
    *,
    specific_force_mpa: float,
    form_ratio: float,
    major_mm: float,
    hole_mm: float,
    half_angle_rad: float = THREAD_HALF_ANGLE_RAD,
) -> float:
    """Torque of a cutting tap from the metal between hole and major diameter.

    Formula:  M[N m] = tan(theta) k_c K (D - D_0)^2 (D + 2 D_0) / 24 000
    Args:     specific_force_mpa: k_c, > 0.   form_ratio: K, of the tap's form and the material, 0.5..2.
              major_mm: D, > 0.   hole_mm: D_0, above 0, below D.   half_angle_rad: theta, above 0, below 1.2.
    Returns:  N mm, > 0; a forming tap takes two to three times as much.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp cutting taps with free chips.
    Source:   tap_torque_catalogue p. 639, seen directly.   Departs: N mm in place of N m.
    Checked:  tests/published/test_tap_torque_catalogue.py
    """
    above_zero(specific_force_mpa=specific_force_mpa, major_mm=major_mm, hole_mm=hole_mm, half_angle_rad=half_angle_rad)
    between(low=0.5, high=2.0, form_ratio=form_ratio)
    between(low=0.0, high=1.2, half_angle_rad=half_angle_rad)
    if hole_mm >= major_mm:
        raise OutOfRange(
            "A tapped hole must be below the major diameter", value=f"{hole_mm} mm", limit=f"{major_mm} mm"
        )
    metal_mm3 = (major_mm - hole_mm) ** 2 * (major_mm + 2.0 * hole_mm)
    return math.tan(half_angle_rad) * specific_force_mpa * form_ratio * metal_mm3 / 24000.0 * 1000.0


def tap_torque_by_pitch_n_mm(*, specific_force_mpa: float, pitch_mm: float, major_mm: float) -> float:
    """Torque of a cutting tap from pitch and diameter alone.

    Formula:  M[N m] = k_c p^2 d / 8000
    Args:     specific_force_mpa: k_c, > 0 (800 for long-chipping aluminium).   pitch_mm: p, > 0.   major_mm: d, > 0.
    Returns:  N mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp cutting taps in a hole of the usual size.
    Source:   tap_torque_by_pitch, seen directly.   Departs: N mm in place of N m.
    Checked:  tests/published/test_tap_torque_by_pitch.py
    """
    above_zero(specific_force_mpa=specific_force_mpa, pitch_mm=pitch_mm, major_mm=major_mm)
    return specific_force_mpa * pitch_mm**2 * major_mm / 8000.0 * 1000.0
