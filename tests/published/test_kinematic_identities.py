"""Uniformly accelerated motion, and the same with a limited jerk.

Worked: 0.3 / 0.5 + 0.5 / 5 = 0.700 s; 2 sqrt(0.02 / 5) = 0.12649 s; with a jerk of 50 m/s3 0.700 + 5 / 50 = 0.800 s.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from proveout.motion.chain_time import chain_times_s
from proveout.motion.move_time import move_time_s, speed_change_time_s


@pytest.mark.parametrize(
    ("distance", "jerk", "worked"),
    [("300", math.inf, "0.700"), ("20", math.inf, "0.12649"), ("300", 50_000.0, "0.800")],
)
def test_move_from_rest_to_rest(agrees: Callable[..., None], distance: str, jerk: float, worked: str) -> None:
    law: dict[str, Any] = {"accel_mm_per_s2": 5000.0, "jerk_mm_per_s3": jerk}
    agrees(move_time_s(distance_mm=float(distance), speed_mm_per_s=500.0, **law), worked)
    chain = chain_times_s(
        [[0.0, 0.0, 0.0], [0.0, float(distance), 0.0]], [1.0, math.inf], rapid_mm_per_s=500.0, stop_angle_rad=1.0,
        jump_mm_per_s=0.0, **law,
    )  # fmt: skip
    agrees(float(chain[0]), worked)


def test_change_of_speed(agrees: Callable[..., None]) -> None:
    """Worked: 500 / 5000 + 5000 / 50000 = 0.2 s; below 5000^2 / 50000 = 500 mm/s 2 sqrt(125 / 50000) = 0.1 s."""
    law = {"accel_mm_per_s2": 5000.0, "jerk_mm_per_s3": 50_000.0}
    agrees(speed_change_time_s(change_mm_per_s=500.0, **law), "0.200")
    agrees(speed_change_time_s(change_mm_per_s=125.0, **law), "0.100")
