"""Cutting speed, spindle speed and feed, one from another."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, zero_or_more


def spindle_speed_rad_per_s(*, cutting_speed_mm_per_s: float, diameter_mm: float) -> float:
    """Spindle speed that gives a cutting speed at a diameter.

    Formula:  omega = 2 v_c / D
    Args:     cutting_speed_mm_per_s: v_c, > 0.   diameter_mm: D, > 0.
    Returns:  rad/s, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere; the machine's and the cutter's limits are the caller's.
    Source:   milling_power_problem, seen directly.   Departs: rad/s in place of revolutions a minute.
    Checked:  tests/published/test_milling_power_problem.py
    """
    above_zero(cutting_speed_mm_per_s=cutting_speed_mm_per_s, diameter_mm=diameter_mm)
    return 2.0 * cutting_speed_mm_per_s / diameter_mm


def cutting_speed_mm_per_s(*, spindle_rad_per_s: float, diameter_mm: float) -> float:
    """Speed of the edge at a diameter.

    Formula:  v_c = omega D / 2
    Args:     spindle_rad_per_s: omega, >= 0.   diameter_mm: D, > 0.
    Returns:  mm/s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   milling_power_problem, seen directly.   Departs: rad/s in place of revolutions a minute.
    Checked:  tests/published/test_milling_power_problem.py
    """
    zero_or_more(spindle_rad_per_s=spindle_rad_per_s)
    above_zero(diameter_mm=diameter_mm)
    return 0.5 * spindle_rad_per_s * diameter_mm


def feed_mm_per_s(*, feed_per_tooth_mm: float, teeth_count: int, spindle_rad_per_s: float) -> float:
    """Table feed from feed per tooth.

    Formula:  v_f = f_z z omega / (2 pi)
    Args:     feed_per_tooth_mm: f_z, >= 0.   teeth_count: z, >= 1.   spindle_rad_per_s: omega, >= 0.
    Returns:  mm/s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   milling_power_problem, seen directly.   Departs: rad/s in place of revolutions a minute.
    Checked:  tests/published/test_milling_power_problem.py
    """
    zero_or_more(feed_per_tooth_mm=feed_per_tooth_mm, spindle_rad_per_s=spindle_rad_per_s)
    above_zero(teeth_count=teeth_count)
    return feed_per_tooth_mm * teeth_count * spindle_rad_per_s / (2.0 * math.pi)


def feed_per_tooth_mm(*, table_feed_mm_per_s: float, teeth_count: int, spindle_rad_per_s: float) -> float:
    """Feed per tooth from table feed.

    Formula:  f_z = 2 pi v_f / (z omega)
    Args:     table_feed_mm_per_s: v_f, >= 0.   teeth_count: z, >= 1.   spindle_rad_per_s: omega, > 0.
    Returns:  mm, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   milling_power_problem, seen directly.   Departs: rad/s in place of revolutions a minute.
    Checked:  tests/published/test_milling_power_problem.py
    """
    zero_or_more(table_feed_mm_per_s=table_feed_mm_per_s)
    above_zero(teeth_count=teeth_count, spindle_rad_per_s=spindle_rad_per_s)
    return 2.0 * math.pi * table_feed_mm_per_s / (teeth_count * spindle_rad_per_s)
