"""How far a cutter bends."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between, zero_or_more

# stiffness of a fluted end mill is that of a plain bar of 0.80 times its diameter (source key end_mill_compliance)
FLUTED_DIAMETER_RATIO = 0.80


def tool_deflection_mm(
    *, force_n: float, stick_out_mm: float, diameter_mm: float, elasticity_mpa: float, diameter_ratio: float
) -> float:
    """Deflection of the tip of a cutter held at one end and pushed at the other.

    Formula:  delta = F L^3 / (3 E I), I = pi (c D)^4 / 64
    Args:     force_n: F across the axis, >= 0.   stick_out_mm: L, > 0.   diameter_mm: D, > 0.   elasticity_mpa: E, > 0.
              diameter_ratio: c, above 0, at most 1; 1 for a plain bar, 0.80 for a fluted end mill.
    Returns:  mm, >= 0; the real one is commonly 1.5 to 3 times that, since holder and spindle give way too.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    small deflections, one diameter over the whole stick-out.
    Source:   beam_identities; end_mill_compliance for 0.80, abstract seen directly.   Departs: nothing.
    Checked:  tests/published/test_beam_identities.py, tests/published/test_end_mill_compliance.py
    """
    zero_or_more(force_n=force_n)
    above_zero(stick_out_mm=stick_out_mm, diameter_mm=diameter_mm, elasticity_mpa=elasticity_mpa)
    above_zero(diameter_ratio=diameter_ratio)
    between(low=0.0, high=1.0, diameter_ratio=diameter_ratio)
    second_moment_mm4 = math.pi * (diameter_ratio * diameter_mm) ** 4 / 64.0
    return force_n * stick_out_mm**3 / (3.0 * elasticity_mpa * second_moment_mm4)
