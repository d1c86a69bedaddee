"""Public worked example, as quoted: distance 100, acceleration 2, deceleration 4: peak 16.33, time 12.25."""

from __future__ import annotations

from collections.abc import Callable

from proveout.motion.move_time import peak_speed_mm_per_s, unequal_move_time_s


def test_unequal_acceleration(agrees: Callable[..., None]) -> None:
    agrees(peak_speed_mm_per_s(distance_mm=100.0, accel_mm_per_s2=2.0, decel_mm_per_s2=4.0), "16.33")
    agrees(
        unequal_move_time_s(distance_mm=100.0, speed_mm_per_s=1e6, accel_mm_per_s2=2.0, decel_mm_per_s2=4.0), "12.25"
    )
