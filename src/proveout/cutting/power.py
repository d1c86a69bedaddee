"""Metal removed each second, and the power and torque it takes."""

from __future__ import annotations

from proveout.quantities.bounds import above_zero, between, zero_or_more


def removal_rate_mm3_per_s(*, axial_depth_mm: float, radial_engagement_mm: float, table_feed_mm_per_s: float) -> float:
    """Volume cut each second.

    Formula:  Q = a_p a_e v_f
    Args:     axial_depth_mm: a_p, >= 0.   radial_engagement_mm: a_e, >= 0.   table_feed_mm_per_s: v_f, >= 0.
    Returns:  mm3/s, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   milling_power_problem, seen directly.   Departs: mm and s in place of cm and minutes.
    Checked:  tests/published/test_constructed_aluminium_case.py
    """
    zero_or_more(
        axial_depth_mm=axial_depth_mm,
        radial_engagement_mm=radial_engagement_mm,
        table_feed_mm_per_s=table_feed_mm_per_s,
    )
    return axial_depth_mm * radial_engagement_mm * table_feed_mm_per_s


def milling_power_mw(
    *,
    axial_depth_mm: float,
    radial_engagement_mm: float,
    table_feed_mm_per_s: float,
    specific_force_mpa: float,
    efficiency_ratio: float,
) -> float:
    """Mean power in milling; at the edge when the efficiency is 1, at the motor otherwise.

    Formula:  P = a_p a_e v_f k_c / eta
    Args:     axial_depth_mm: a_p, >= 0.   radial_engagement_mm: a_e, >= 0.   table_feed_mm_per_s: v_f, >= 0.
              specific_force_mpa: k_c at the mean chip thickness, > 0.   efficiency_ratio: eta, 0.1..1.
    Returns:  mW, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the mean over a turn; the peak with few teeth is higher.
    Source:   milling_power_problem, seen directly.   Departs: mW in place of kW.
    Checked:  tests/published/test_milling_power_problem.py
    """
    above_zero(specific_force_mpa=specific_force_mpa)
    between(low=0.1, high=1.0, efficiency_ratio=efficiency_ratio)
    rate_mm3_per_s = removal_rate_mm3_per_s(
        axial_depth_mm=axial_depth_mm,
        radial_engagement_mm=radial_engagement_mm,
        table_feed_mm_per_s=table_feed_mm_per_s,
    )
    return rate_mm3_per_s * specific_force_mpa / efficiency_ratio


def turning_power_mw(
    *,
    depth_mm: float,
    feed_per_turn_mm: float,
    cutting_speed_mm_per_s: float,
    specific_force_mpa: float,
    efficiency_ratio: float,
) -> float:
    """Power with one edge always in the cut, as in turning.

    Formula:  P = a_p f v_c k_c / eta
    Args:     depth_mm: a_p, >= 0.   feed_per_turn_mm: f, >= 0.   cutting_speed_mm_per_s: v_c, >= 0.
              specific_force_mpa: k_c, > 0.   efficiency_ratio: eta, 0.1..1.
    Returns:  mW, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere.
    Source:   milling_power_problem, turning problem, seen directly.   Departs: mW in place of kW.
    Checked:  tests/published/test_milling_power_problem.py
    """
    zero_or_more(depth_mm=depth_mm, feed_per_turn_mm=feed_per_turn_mm, cutting_speed_mm_per_s=cutting_speed_mm_per_s)
    above_zero(specific_force_mpa=specific_force_mpa)
    between(low=0.1, high=1.0, efficiency_ratio=efficiency_ratio)
    return depth_mm * feed_per_turn_mm * cutting_speed_mm_per_s * specific_force_mpa / efficiency_ratio


def spindle_torque_n_mm(*, power_mw: float, spindle_rad_per_s: float) -> float:
    """Torque that carries a power at a spindle speed.

    Formula:  M = P / omega
    Args:     power_mw: P, >= 0.   spindle_rad_per_s: omega, > 0.
    Returns:  N mm, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    the mean over a turn.
    Source:   milling_power_problem, seen directly.   Departs: N mm and rad/s.
    Checked:  tests/published/test_constructed_aluminium_case.py
    """
    zero_or_more(power_mw=power_mw)
    above_zero(spindle_rad_per_s=spindle_rad_per_s)
    return power_mw / spindle_rad_per_s


def rule_of_thumb_power_mw(
    *, axial_depth_mm: float, radial_engagement_mm: float, table_feed_mm_per_s: float, divisor: float
) -> float:
    """Motor power by a printed rule of thumb, kept to show how far it lies from the other method.

    Formula:  P[kW] = a_p a_e v_f[mm/min] / x, x = 120 000 for aluminium
    Args:     axial_depth_mm: a_p, >= 0.   radial_engagement_mm: a_e, >= 0.   table_feed_mm_per_s: v_f, >= 0.
              divisor: x, > 0.
    Returns:  mW, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    information only: for aluminium it gives a quarter of the other method. Never a limit.
    Source:   power_rule_of_thumb p. 784, seen directly.   Departs: mm/s and mW.
    Checked:  tests/published/test_power_rule_of_thumb.py
    """
    above_zero(divisor=divisor)
    rate_mm3_per_s = removal_rate_mm3_per_s(
        axial_depth_mm=axial_depth_mm,
        radial_engagement_mm=radial_engagement_mm,
        table_feed_mm_per_s=table_feed_mm_per_s,
    )
    return rate_mm3_per_s * 60.0 / divisor * 1.0e6
