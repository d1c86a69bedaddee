"""Uniformly accelerated motion. Worked: 0.3 / 0.5 + 0.5 / 5 = 0.700 s; 2 sqrt(0.02 / 5) = 0.12649 s."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.motion.move_time import move_time_s


@pytest.mark.parametrize(("distance", "worked"), [("300", "0.700"), ("20", "0.12649")])
def test_move_from_rest_to_rest(agrees: Callable[..., None], distance: str, worked: str) -> None:
    agrees(move_time_s(distance_mm=float(distance), speed_mm_per_s=500.0, accel_mm_per_s2=5000.0), worked)
