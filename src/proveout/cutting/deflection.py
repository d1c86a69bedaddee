"""How far a cutter bends."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero, between, zero_or_more

# stiffness of a fluted end mill is that of a plain bar of 0.80 times its diameter (source key end_mill_compliance)
FLUTED_DIAMETER_RATIO = 0.80
# carbide of much and of little cobalt, high-speed steel, and both where nobody wrote which of them a cutter is (source
# key carbide_elasticity, from memory)
ELASTIC_ENDS_MPA: dict[str | None, tuple[float, float]] = {
    "carbide": (500_000.0, 650_000.0), "high-speed steel": (210_000.0, 210_000.0), None: (210_000.0, 650_000.0)
}  # fmt: skip
# common practice, no source: holder and spindle give way as well
GIVING_WAY_RATIO = 3.0


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


def stepped_deflections_mm(
    *, force_n: NDArray[np.float64], stick_out_mm: float, flute_length_mm: float, diameter_mm: float,
    shank_diameter_mm: float, elasticity_mpa: float, diameter_ratio: float,
) -> NDArray[np.float64]:  # fmt: skip
    """Deflection of the tip of a cutter with flutes below its shank, held at one end and pushed at the other.

    Formula:  delta = F (a^3 / I_f + (L^3 - a^3) / I_s) / (3 E), I_f = pi (c D)^4 / 64, I_s = pi d^4 / 64, a the length
              of the flutes, at most L
    Args:     force_n: (k,) F across the axis at the tip, >= 0.   stick_out_mm: L, > 0.   flute_length_mm: a, >= 0.
              diameter_mm: D, > 0.   shank_diameter_mm: d, > 0.   elasticity_mpa: E, > 0.   diameter_ratio: c, above 0,
              at most 1.
    Returns:  mm, (k,) >= 0; the real one is commonly 1.5 to 3 times that, since holder and spindle give way too.
    Raises:   OutOfRange when a length, a diameter, E or c leaves the bounds above.
    Valid:    small deflections; a force higher up than the tip bends less.
    Source:   beam_identities; end_mill_compliance for 0.80, abstract seen directly.   Departs: nothing.
    Checked:  tests/laws/test_turning.py
    """
    above_zero(stick_out_mm=stick_out_mm, diameter_mm=diameter_mm, shank_diameter_mm=shank_diameter_mm)
    above_zero(elasticity_mpa=elasticity_mpa, diameter_ratio=diameter_ratio)
    zero_or_more(flute_length_mm=flute_length_mm)
    between(low=0.0, high=1.0, diameter_ratio=diameter_ratio)
    fluted = min(flute_length_mm, stick_out_mm)
    of_flutes, of_shank = (math.pi * d**4 / 64.0 for d in (diameter_ratio * diameter_mm, shank_diameter_mm))
    bent = fluted**3 / of_flutes + (stick_out_mm**3 - fluted**3) / of_shank
    return force_n * (bent / (3.0 * elasticity_mpa))
