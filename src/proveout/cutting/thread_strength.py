"""How much thread carries: stress area of a screw, and lengths of engagement.

Static estimates; not for lifting, pressure or where a life hangs on it.
"""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero
from proveout.quantities.errors import OutOfRange

# from the major to the stress diameter of a unified thread, for each unit of pitch
UNIFIED_STRESS_RATIO = 0.9743


def tensile_stress_area_mm2(*, major_mm: float, pitch_mm: float) -> float:
    """Area that a unified screw is reckoned with in tension.

    Formula:  A = pi / 4 (D - 0.9743 p)^2
    Args:     major_mm: D, > 0.   pitch_mm: p, > 0; 0.9743 p below D.
    Returns:  mm2, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    unified screws of usual strength.
    Source:   thread_engagement_handbook, as quoted.   Departs: mm in place of inches.
    Checked:  tests/published/test_thread_engagement.py
    """
    above_zero(major_mm=major_mm, pitch_mm=pitch_mm)
    across = major_mm - UNIFIED_STRESS_RATIO * pitch_mm
    if across <= 0.0:
        raise OutOfRange("This pitch leaves no core", value=f"{pitch_mm} mm on {major_mm} mm")
    return math.pi / 4.0 * across * across


def engagement_by_stress_area_mm(
    *, stress_area_mm2: float, minor_high_mm: float, pitch_low_mm: float, pitch_mm: float
) -> float:
    """Length at which a screw breaks before its thread strips, nut as strong as screw.

    Formula:  L = 2 A / (pi K (1/2 + (E - K) / (p sqrt 3)))   (A stress area, K most minor diameter of the nut, E least
              pitch diameter of the screw, p pitch)
    Args:     stress_area_mm2: A, > 0.   minor_high_mm: K, > 0.   pitch_low_mm: E, at least K.   pitch_mm: p, > 0.
    Returns:  mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    60 deg threads; static loads; a nut softer than its screw needs more.
    Source:   thread_engagement_handbook, as quoted.   Departs: mm in place of inches.
    Checked:  tests/published/test_thread_engagement.py
    """
    above_zero(stress_area_mm2=stress_area_mm2, minor_high_mm=minor_high_mm, pitch_mm=pitch_mm)
    if pitch_low_mm < minor_high_mm:
        raise OutOfRange("These diameters leave no thread", value=f"E {pitch_low_mm}, K {minor_high_mm} mm")
    height = 0.5 + (pitch_low_mm - minor_high_mm) / (math.sqrt(3.0) * pitch_mm)
    return 2.0 * stress_area_mm2 / (math.pi * minor_high_mm * height)


def engagement_in_soft_metal_mm(
    *, force_n: float, shear_mpa: float, major_low_mm: float, pitch_high_mm: float, pitch_mm: float
) -> float:
    """Length of thread in the softer part that carries a force in shear.

    Formula:  L = F / (s a), a = pi D / p (p / 2 + (D - E) tan 30 deg)   (F force, s shear strength of the part, D least
              major diameter of the screw, E most pitch diameter of the part, p pitch)
    Args:     force_n: F, > 0.   shear_mpa: s, > 0.   major_low_mm: D, > 0.   pitch_high_mm: E, at most D.   pitch_mm:
              p, > 0.
    Returns:  mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    60 deg threads; static loads, no bending.
    Source:   thread_engagement_chapter, seen directly.   Departs: nothing.
    Checked:  tests/published/test_thread_engagement.py
    """
    above_zero(force_n=force_n, shear_mpa=shear_mpa, major_low_mm=major_low_mm, pitch_mm=pitch_mm)
    if pitch_high_mm > major_low_mm:
        raise OutOfRange("These diameters leave no thread", value=f"D {major_low_mm}, E {pitch_high_mm} mm")
    deep = pitch_mm / 2.0 + (major_low_mm - pitch_high_mm) * math.tan(math.radians(30.0))
    return force_n / (shear_mpa * math.pi * major_low_mm / pitch_mm * deep)
