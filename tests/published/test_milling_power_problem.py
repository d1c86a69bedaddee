"""Mitsubishi Materials, technical data: printed problems on cutting power. Seen directly."""

from __future__ import annotations

from collections.abc import Callable

from proveout.cutting.power import milling_power_mw, turning_power_mw
from proveout.cutting.speeds import cutting_speed_mm_per_s, feed_mm_per_s, feed_per_tooth_mm, spindle_speed_rad_per_s
from proveout.quantities.units import (
    mm_per_s_from_m_per_min,
    mm_per_s_from_mm_per_min,
    rad_per_s_from_rpm,
    rpm_from_rad_per_s,
)


def test_face_milling_problem(agrees: Callable[..., None]) -> None:
    """Printed: D 250, z 12, v_c 80 m/min, a_p 2, a_e 80, v_f 280, k_c 1800, eta 0.8: n 101.9, P 1.68 kW."""
    spindle = spindle_speed_rad_per_s(cutting_speed_mm_per_s=mm_per_s_from_m_per_min(80.0), diameter_mm=250.0)
    agrees(rpm_from_rad_per_s(spindle), "101.9")
    power = milling_power_mw(
        axial_depth_mm=2.0,
        radial_engagement_mm=80.0,
        table_feed_mm_per_s=mm_per_s_from_mm_per_min(280.0),
        specific_force_mpa=1800.0,
        efficiency_ratio=0.8,
    )
    agrees(power / 1e6, "1.68")


def test_face_milling_problem_feed_per_tooth(agrees: Callable[..., None]) -> None:
    """Printed 0.228, the book cuts off digits; 280 / (12 * 101.86) = 0.22907, so one more last place is allowed."""
    spindle = rad_per_s_from_rpm(101.9)
    feed = feed_per_tooth_mm(
        table_feed_mm_per_s=mm_per_s_from_mm_per_min(280.0), teeth_count=12, spindle_rad_per_s=spindle
    )
    agrees(feed, "0.228", more=0.0005)
    back = feed_mm_per_s(feed_per_tooth_mm=feed, teeth_count=12, spindle_rad_per_s=spindle)
    agrees(back * 60.0, "280")
    agrees(cutting_speed_mm_per_s(spindle_rad_per_s=spindle, diameter_mm=250.0) * 0.06, "80")


def test_turning_problem(agrees: Callable[..., None]) -> None:
    """Printed: a_p 3, f 0.2, v_c 120 m/min, k_c 3100, eta 0.8: 4.65 kW."""
    power = turning_power_mw(
        depth_mm=3.0,
        feed_per_turn_mm=0.2,
        cutting_speed_mm_per_s=mm_per_s_from_m_per_min(120.0),
        specific_force_mpa=3100.0,
        efficiency_ratio=0.8,
    )
    agrees(power / 1e6, "4.65")
