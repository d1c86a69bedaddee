"""How quickly a cutter gets on: its feed within machine and power, moves between cuts, and the shares it takes.

The shares and depths of this file are those of stages/passes; tests/stages/outlook/test_same_numbers.py holds them
equal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.cutting.power import milling_power_mw
from proveout.cutting.specific_force import specific_force_mpa
from proveout.cutting.speeds import feed_mm_per_s, spindle_speed_rad_per_s
from proveout.model.shop import Cutter, Machine
from proveout.motion.move_time import move_time_s, speed_change_time_s

AXIAL_RATIO, RADIAL_RATIO = 0.5, 0.4
FLUTE_RATIO = 0.9
"""Share of the flute length that a level may take."""
FLOOR_STEP_RATIO = 0.6
FLOOR_MM = 0.2
WALL_RATIO = 4.0
WALL_FLUTE_RATIO = 0.95
OVERRUN_MM = 1.0
STAIR_MM, STAIR_RATIO = 0.8, 0.12
PLUNGE_RATIO, RAMP_RATIO, AIR_RATIO = 0.3, 0.5, 3.0
ABOVE_MM = 2.0
CLEAR_MM = 5.0


@dataclass(frozen=True)
class Metal:
    """What the power of a cut follows from: unit cutting pressure at its high end, MPa, and its exponent."""

    pressure_mpa: float
    exponent_ratio: float


@dataclass(frozen=True)
class Rate:
    """Spindle speed in rad/s, feed in mm/s and feed per tooth in mm of a cutter on a machine."""

    speed_rad_per_s: float
    feed_mm_per_s: float
    tooth_feed_mm: float


def rate_of(cutter: Cutter, machine: Machine) -> Rate:
    """The cutter's own speeds within cutter and machine, as the passes begin with before anything is tightened."""
    most = min(machine.speed_max_rad_per_s, cutter.rated_rad_per_s or math.inf)
    own = spindle_speed_rad_per_s(
        cutting_speed_mm_per_s=cutter.cutting_speed_mm_per_s, diameter_mm=cutter.diameter_mm
    )  # fmt: skip
    speed = min(own, most)
    feed = feed_mm_per_s(
        feed_per_tooth_mm=cutter.tooth_feed_mm, teeth_count=max(cutter.flutes_count, 1), spindle_rad_per_s=speed
    )
    return Rate(
        speed_rad_per_s=speed, feed_mm_per_s=min(feed, machine.feed_max_mm_per_s), tooth_feed_mm=cutter.tooth_feed_mm
    )


def powered_mm_per_s(
    rate: Rate, cutter: Cutter, machine: Machine, metal: Metal, *, axial_mm: float, radial_mm: float
) -> float:
    """The feed, made slower where the cut would take more than the spindle's power."""
    wide = min(radial_mm, cutter.diameter_mm)
    if min(axial_mm, wide, rate.tooth_feed_mm, machine.power_mw) <= 0.0:
        return rate.feed_mm_per_s
    chip = mean_chip_thickness_mm(
        feed_per_tooth_mm=rate.tooth_feed_mm, radial_engagement_mm=wide, diameter_mm=cutter.diameter_mm
    )
    wanted = milling_power_mw(
        axial_depth_mm=axial_mm, radial_engagement_mm=wide, table_feed_mm_per_s=rate.feed_mm_per_s,
        specific_force_mpa=specific_force_mpa(
            unit_force_mpa=metal.pressure_mpa, exponent_ratio=metal.exponent_ratio, chip_thickness_mm=chip
        ),
        efficiency_ratio=1.0,
    )  # fmt: skip
    return rate.feed_mm_per_s * min(1.0, machine.power_mw / wanted)


def rapid_s(machine: Machine, distance_mm: float) -> float:
    """Seconds of a rapid move."""
    return move_time_s(
        distance_mm=distance_mm, speed_mm_per_s=machine.rapid_mm_per_s, **_smooth(machine)
    )  # fmt: skip


def over_s(machine: Machine, *, rise_mm: float, across_mm: float) -> float:
    """Seconds by rapid from the end of one cut to above the start of the next: up, across and down."""
    return 2.0 * rapid_s(machine, rise_mm) + rapid_s(machine, across_mm)


def run_s(machine: Machine, feed_mm_per_s: float, *, length_mm: float, stops_count: float = 1.0) -> float:
    """Seconds of a length at feed with so many starts from rest."""
    if length_mm <= 0.0:
        return 0.0
    ramps = speed_change_time_s(change_mm_per_s=feed_mm_per_s, **_smooth(machine))
    return length_mm / feed_mm_per_s + stops_count * ramps


def _smooth(machine: Machine) -> dict[str, float]:
    """Acceleration and jerk of a machine, the jerk unlimited where nobody wrote it."""
    jerk = math.inf if machine.jerk_mm_per_s3 is None else machine.jerk_mm_per_s3
    return {"accel_mm_per_s2": machine.accel_mm_per_s2, "jerk_mm_per_s3": jerk}
