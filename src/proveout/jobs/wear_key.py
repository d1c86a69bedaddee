"""The drift of a size as the key of the cutter that makes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.gauging.drift import Line
from proveout.quantities.units import MM_PER_INCH

Of = Literal["", "diameter", "length"]
WEAR_MOST_UM = 50.0
"""Micrometres a minute that no cutter wears."""
PER_READING = 1000.0
"""Micrometres in a millimetre, thousandths in an inch."""


@dataclass(frozen=True, kw_only=True)
class WearKey:
    """One key of a cutter with the interval of its wear a minute. is_beyond_any: more than any cutter wears."""

    key: str
    low: float
    nominal: float
    high: float
    is_beyond_any: bool


def wear_key(line: Line, *, of: Of, is_inch: bool) -> WearKey | None:
    """How fast a surface wears off, from the drift of readings over minutes.

    Args:     line: of readings in mm, or in inches.   of: what was read; a diameter moves twice as far as the surface.
    Returns:  None where it is not said what was read; from 0 on where no drift is shown.
    """
    if not of:
        return None
    halves = 0.5 if of == "diameter" else 1.0
    near, far = sorted((abs(line.slope_low), abs(line.slope_high)))
    low, nominal, high = (
        halves * PER_READING * one for one in (near if line.is_shown else 0.0, abs(line.slope), far)
    )  # fmt: skip
    return WearKey(
        key="wear_thou_per_min" if is_inch else "wear_um_per_min", low=low, nominal=nominal, high=high,
        is_beyond_any=high > (WEAR_MOST_UM / MM_PER_INCH if is_inch else WEAR_MOST_UM),
    )  # fmt: skip
