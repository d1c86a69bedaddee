"""Thrust, torque and power of a twist drill."""

from __future__ import annotations

import math

from proveout.quantities.bounds import between, zero_or_more

# bounds of the maker's table as we dare to use it; outside we refuse, and a larger drill or feed is not shown
DRILL_LEAST_MM, DRILL_MOST_MM, DRILL_FEED_MOST_MM = 1.0, 40.0, 1.0
DRILL_WORN_RATIO = 1.3
# aluminium of HB 100 in the drill maker's formula (source key twist_drill_formula), raised for a worn drill
DRILL_MATERIAL_RATIO = 1.01 * DRILL_WORN_RATIO


def _check(material_ratio: float, diameter_mm: float, feed_per_turn_mm: float) -> None:
    between(low=0.1, high=10.0, material_ratio=material_ratio)
    between(low=DRILL_LEAST_MM, high=DRILL_MOST_MM, diameter_mm=diameter_mm)
    between(low=0.0, high=DRILL_FEED_MOST_MM, feed_per_turn_mm=feed_per_turn_mm)


def drill_thrust_n(*, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float) -> float:
    """Force along the axis of a twist drill, into the work.

    Formula:  T = 570 K D f^0.85
    Args:     material_ratio: K, 0.1..10 (1.01 for aluminium of HB 100).   diameter_mm: D, 1..40.
              feed_per_turn_mm: f, 0..1.
    Returns:  N, >= 0; on breaking through the work is pulled up by a share of it, which is not in here.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp standard points in solid metal.
    Source:   twist_drill_formula p. 1656, seen directly.   Departs: nothing.
    Checked:  tests/published/test_twist_drill_formula.py
    """
    _check(material_ratio, diameter_mm, feed_per_turn_mm)
    return 570.0 * material_ratio * diameter_mm * feed_per_turn_mm**0.85


def drill_torque_n_mm(*, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float) -> float:
    """Torque of a twist drill.

    Formula:  M[N m] = K D^2 (0.630 + 16.84 f) / 100
    Args:     material_ratio: K, 0.1..10 (1.01 for aluminium of HB 100).   diameter_mm: D, 1..40.
              feed_per_turn_mm: f, 0..1.
    Returns:  N mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp standard points in solid metal; packed chips multiply it.
    Source:   twist_drill_formula p. 1656, seen directly.   Departs: N mm in place of N m.
    Checked:  tests/published/test_twist_drill_formula.py
    """
    _check(material_ratio, diameter_mm, feed_per_turn_mm)
    return material_ratio * diameter_mm**2 * (0.630 + 16.84 * feed_per_turn_mm) / 100.0 * 1000.0


def drill_power_mw(
    *, material_ratio: float, diameter_mm: float, feed_per_turn_mm: float, spindle_rad_per_s: float
) -> float:
    """Power of a twist drill by the maker's own power formula.

    Formula:  P[kW] = K D^2 n (0.647 + 17.29 f) 1e-6, n in revolutions a minute
    Args:     material_ratio: K, 0.1..10.   diameter_mm: D, 1..40.   feed_per_turn_mm: f, 0..1.
              spindle_rad_per_s: omega, >= 0.
    Returns:  mW, >= 0; about 2 % below torque times speed, as printed.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp standard points in solid metal.
    Source:   twist_drill_formula p. 1656, seen directly.   Departs: mW and rad/s.
    Checked:  tests/published/test_twist_drill_formula.py
    """
    _check(material_ratio, diameter_mm, feed_per_turn_mm)
    zero_or_more(spindle_rad_per_s=spindle_rad_per_s)
    turns_per_min = spindle_rad_per_s * 60.0 / (2.0 * math.pi)
    return material_ratio * diameter_mm**2 * turns_per_min * (0.647 + 17.29 * feed_per_turn_mm)
