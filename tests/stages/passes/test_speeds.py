"""Spindle speed and feeds, worked by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from proveout.model.limits import Limits
from proveout.stages.passes.speeds import speeds_of


def test_the_speed_is_cutting_speed_over_radius(kit: Any) -> None:
    """Worked: 6000 mm/s on Ø20: 6000 / 10 = 600 rad/s; feed 0.05 x 3 x 600 / 2 pi = 14.324 mm/s."""
    tool = kit.cutter("EM20", "end mill", 20.0)
    found = speeds_of(cutter=tool, machine=kit.MACHINE)
    assert found.speed_rad_per_s == pytest.approx(600.0)
    assert found.feed_mm_per_s == pytest.approx(14.324, abs=5e-4)
    assert found.plunge_mm_per_s < found.ramp_mm_per_s < found.feed_mm_per_s


def test_machine_and_cutter_hold_the_speed_down(kit: Any) -> None:
    tool = kit.cutter("EM5", "end mill", 5.0)
    slow = kit.cutter("EM5s", "end mill", 5.0, speed_max_rad_per_s=900.0)
    assert speeds_of(cutter=tool, machine=kit.MACHINE).speed_rad_per_s == 1047.0
    assert speeds_of(cutter=slow, machine=kit.MACHINE).speed_rad_per_s == 900.0


def test_a_share_of_the_feed_lowers_it_and_leaves_the_speed(kit: Any) -> None:
    tool = kit.cutter("EM20", "end mill", 20.0)
    half = speeds_of(cutter=tool, machine=kit.MACHINE, feed_ratio=0.5)
    full = speeds_of(cutter=tool, machine=kit.MACHINE, feed_ratio=1.5)
    assert full == speeds_of(cutter=tool, machine=kit.MACHINE)
    assert half.feed_mm_per_s == pytest.approx(full.feed_mm_per_s / 2.0)
    assert half.speed_rad_per_s == full.speed_rad_per_s
    assert math.isclose(half.tooth_feed_mm, 0.025)


def test_a_limit_of_one_cutter_binds_no_other_and_never_loosens_its_clamping() -> None:
    limits = Limits(axial_ratio={"op1": 0.3, "op1/EM5": 0.4, "op1/EM16": 0.1, "op2/EM5": 0.2})
    assert limits.of("axial_ratio", "op1/EM16", 0.5) == 0.1
    assert limits.of("axial_ratio", "op1/EM5", 0.5) == 0.3
    assert limits.of("axial_ratio", "op1/EM8", 0.5) == 0.3
    assert limits.of("axial_ratio", "op2/EM16", 0.5) == 0.5
    assert limits.of("axial_ratio", "op2", 0.5) == 0.5
