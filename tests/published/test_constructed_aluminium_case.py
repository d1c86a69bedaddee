"""Constructed case, worked through from the printed constants of group N22: D 10, z 3, f_z 0.08, a_e 4, a_p 8,
v_c 300 m/min.

Worked: n = 300 000 / (10 pi) = 9549; v_f = 0.08 * 3 * 9549.3 = 2291.8 mm/min; theta = arccos 0.2 = 1.36944;
h_m = 0.08 * 2 * 0.4 / 1.36944 = 0.04673; k_c = 800 * 0.04673^-0.25 = 1720.6; Q = 8 * 4 * 2291.8 / 1000 = 73.34 cm3/min;
P = 73.34 * 1720.6 / 60 000 = 2.103 kW; M = 2.103e6 / 1000.0 rad/s = 2.103 N m.
"""

from __future__ import annotations

from collections.abc import Callable

from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.cutting.power import milling_power_mw, removal_rate_mm3_per_s, spindle_torque_n_mm
from proveout.cutting.specific_force import specific_force_mpa
from proveout.cutting.speeds import feed_mm_per_s, spindle_speed_rad_per_s
from proveout.quantities.units import mm_per_s_from_m_per_min, rpm_from_rad_per_s


def test_the_whole_chain_from_speed_to_torque(agrees: Callable[..., None]) -> None:
    spindle = spindle_speed_rad_per_s(cutting_speed_mm_per_s=mm_per_s_from_m_per_min(300.0), diameter_mm=10.0)
    feed = feed_mm_per_s(feed_per_tooth_mm=0.08, teeth_count=3, spindle_rad_per_s=spindle)
    thickness = mean_chip_thickness_mm(feed_per_tooth_mm=0.08, radial_engagement_mm=4.0, diameter_mm=10.0)
    pressure = specific_force_mpa(unit_force_mpa=800.0, exponent_ratio=0.25, chip_thickness_mm=thickness)
    rate = removal_rate_mm3_per_s(axial_depth_mm=8.0, radial_engagement_mm=4.0, table_feed_mm_per_s=feed)
    power = milling_power_mw(
        axial_depth_mm=8.0,
        radial_engagement_mm=4.0,
        table_feed_mm_per_s=feed,
        specific_force_mpa=pressure,
        efficiency_ratio=1.0,
    )
    agrees(rpm_from_rad_per_s(spindle), "9549")
    agrees(feed * 60.0, "2291.8")
    agrees(thickness, "0.04673")
    agrees(pressure, "1720.6")
    agrees(rate * 60.0 / 1000.0, "73.34")
    agrees(power / 1e6, "2.103")
    agrees(spindle_torque_n_mm(power_mw=power, spindle_rad_per_s=spindle) / 1000.0, "2.103")
