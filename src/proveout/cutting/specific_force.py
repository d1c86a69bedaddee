"""Force on each mm2 of chip section, which grows as the chip gets thinner."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, between


def specific_force_mpa(*, unit_force_mpa: float, exponent_ratio: float, chip_thickness_mm: float) -> float:
    """Specific cutting force at a chip thickness.

    Formula:  k_c = k_c1.1 h^(-m_c)            (h in mm)
    Args:     unit_force_mpa: k_c1.1, > 0.   exponent_ratio: m_c, 0..0.5.   chip_thickness_mm: h, 0.001 to 3.
    Returns:  MPa, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    neutral rake, sharp edge; makers differ by 30 % for aged wrought aluminium, so pass intervals.
    Source:   material_group_table p. 558, seen directly.   Departs: nothing.
    Checked:  tests/published/test_material_group_table.py
    """
    above_zero(unit_force_mpa=unit_force_mpa)
    between(low=0.0, high=0.5, exponent_ratio=exponent_ratio)
    between(low=0.001, high=3.0, chip_thickness_mm=chip_thickness_mm)
    return unit_force_mpa * chip_thickness_mm ** (-exponent_ratio)
