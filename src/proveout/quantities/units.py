"""Trade units are converted here, once, at the edge; inside are mm, s, N, rad, °C, hence MPa, mW, tonne."""

from __future__ import annotations

import math

MM_PER_INCH = 25.4
S_PER_MIN = 60.0
S_PER_H = 3600.0
RAD_PER_DEG = math.pi / 180.0
MM_PER_S_PER_M_PER_MIN = 1000.0 / 60.0
RAD_PER_S_PER_RPM = 2.0 * math.pi / 60.0
MW_PER_KW = 1.0e6
N_MM_PER_N_M = 1000.0
KG_PER_TONNE = 1000.0
# density of 6061: 2.70 g/cm3 = 2.70e-6 kg/mm3 (source key aluminium_typicals)
MM3_PER_CM3 = 1000.0


def rad_from_deg(angle_deg: float) -> float:
    """Angle in radians."""
    return angle_deg * RAD_PER_DEG


def deg_from_rad(angle_rad: float) -> float:
    """Angle in degrees."""
    return angle_rad / RAD_PER_DEG


def rad_per_s_from_rpm(speed_rpm: float) -> float:
    """Spindle speed in rad/s from revolutions a minute."""
    return speed_rpm * RAD_PER_S_PER_RPM


def rpm_from_rad_per_s(speed_rad_per_s: float) -> float:
    """Spindle speed in revolutions a minute."""
    return speed_rad_per_s / RAD_PER_S_PER_RPM


def mm_per_s_from_mm_per_min(feed_mm_per_min: float) -> float:
    """Feed in mm/s."""
    return feed_mm_per_min / S_PER_MIN


def mm_per_s_from_m_per_min(speed_m_per_min: float) -> float:
    """Cutting speed in mm/s from m/min."""
    return speed_m_per_min * MM_PER_S_PER_M_PER_MIN


def mw_from_kw(power_kw: float) -> float:
    """Power in mW (N mm/s)."""
    return power_kw * MW_PER_KW
