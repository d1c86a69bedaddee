"""Power by the volume cut each second with factors for feed, wear and machine: a second method, not a limit."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, between, zero_or_more


def unit_power_mw(
    *, removal_rate_mm3_per_s: float, unit_power_mpa: float, feed_factor_ratio: float, wear_factor_ratio: float,
    efficiency_ratio: float,
) -> float:  # fmt: skip
    """Power that a volume cut each second takes; at the edge when the efficiency is 1, at the motor otherwise.

    Formula:  P = K_p C Q W / E
    Args:     removal_rate_mm3_per_s: Q, >= 0.   unit_power_mpa: K_p, > 0; a kW for each cm3/s is 1000 MPa.
              feed_factor_ratio: C, 0.5..2.   wear_factor_ratio: W, 1..3.   efficiency_ratio: E, 0.1..1.
    Returns:  mW, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp edges where W is 1; the mean over a turn. For hardened wrought aluminium it gives about half of
              what specific force gives: the truth is not known better than that without a reading of the spindle.
    Source:   unit_power_handbook, from memory.   Departs: MPa and mm3/s.
    Checked:  tests/published/test_unit_power_handbook.py
    """
    zero_or_more(removal_rate_mm3_per_s=removal_rate_mm3_per_s)
    above_zero(unit_power_mpa=unit_power_mpa)
    between(low=0.5, high=2.0, feed_factor_ratio=feed_factor_ratio)
    between(low=1.0, high=3.0, wear_factor_ratio=wear_factor_ratio)
    between(low=0.1, high=1.0, efficiency_ratio=efficiency_ratio)
    return removal_rate_mm3_per_s * unit_power_mpa * feed_factor_ratio * wear_factor_ratio / efficiency_ratio
