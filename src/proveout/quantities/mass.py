"""What metal weighs."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, zero_or_more


def bar_mass_kg(*, width_mm: float, height_mm: float, length_mm: float, density_kg_per_mm3: float) -> float:
    """Mass of a length of rectangular bar, as it is bought.

    Formula:  m = w h l d
    Args:     width_mm: w, >= 0.   height_mm: h, >= 0.   length_mm: l, >= 0.   density_kg_per_mm3: d, > 0.
    Returns:  kg, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the nominal section with square corners: rounded ones of radius r lack (4 - pi) r^2 of it, so that the
              mass and its price are a little too high, by 0.14 % for r 1 on 25 x 25.
    Source:   bar_mass; aluminium_typicals for the density of 6061, as quoted.   Departs: nothing.
    Checked:  tests/published/test_aluminium_typicals.py, tests/stages/blank/test_blank.py
    """
    zero_or_more(width_mm=width_mm, height_mm=height_mm, length_mm=length_mm)
    above_zero(density_kg_per_mm3=density_kg_per_mm3)
    return width_mm * height_mm * length_mm * density_kg_per_mm3
