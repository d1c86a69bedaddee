"""What the outlook and the passes both rest on is the same in both, as neither may import the other."""

from __future__ import annotations

import math

import pytest

from proveout.intake.starting_shop import starting_shop
from proveout.stages.outlook import bores, mills, rates
from proveout.stages.passes import clearing, facing, floors, holes, roughing, speeds, surfaces, track, walls


def test_shares_and_depths_are_those_of_the_passes() -> None:
    ours = (
        rates.AXIAL_RATIO, rates.RADIAL_RATIO, rates.FLOOR_MM, rates.OVERRUN_MM, rates.STAIR_MM, rates.STAIR_RATIO,
        rates.FLOOR_STEP_RATIO, rates.WALL_RATIO, rates.PLUNGE_RATIO, rates.RAMP_RATIO, rates.AIR_RATIO,
        rates.ABOVE_MM, mills.STAGE_MM, mills.SKIM_MM, mills.FACE_WIDTH_RATIO, mills.RUN_OUT_MM, bores.THROUGH_MM,
        bores.PECK_RATIO, bores.SPOT_RATIO, bores.RAMP_TAN,
    )  # fmt: skip
    theirs = (
        roughing.AXIAL_RATIO, roughing.RADIAL_RATIO, roughing.FLOOR_MM, roughing.OVERRUN_MM, roughing.STAIR_MM,
        roughing.STAIR_RATIO, floors.STEP_RATIO, walls.WALL_RATIO, speeds.PLUNGE_RATIO,
        speeds.RAMP_RATIO, speeds.AIR_RATIO, track.ABOVE_MM, facing.STAGE_MM, facing.SKIM_MM, facing.WIDTH_RATIO,
        facing.RUN_OUT_MM, holes.THROUGH_MM, holes.PECK_RATIO, holes.SPOT_RATIO, clearing.RAMP_TAN,
    )  # fmt: skip
    assert ours == theirs


def test_speeds_and_feeds_are_those_that_the_passes_begin_with() -> None:
    shop = starting_shop()
    for machine in shop.machines:
        for cutter in shop.cutters:
            own = rates.rate_of(cutter, machine)
            other = speeds.speeds_of(cutter=cutter, machine=machine)
            assert math.isclose(own.speed_rad_per_s, other.speed_rad_per_s, rel_tol=1e-12)
            assert math.isclose(own.feed_mm_per_s, other.feed_mm_per_s, rel_tol=1e-12)


def test_stages_of_facing_are_as_many_as_the_passes_lay() -> None:
    """The counts of `facing` here and of stages_mm there, for depths on both sides of every change."""
    for depth in (0.2, 0.6, 0.61, 1.8, 1.81, 3.0, 3.3, 3.31, 8.0):
        laid = len(facing.stages_mm(top=depth, goal=0.0, most=facing.STAGE_MM))
        assert mills.stages_count(depth) == laid, depth


def test_a_step_of_a_sloping_face_is_that_of_the_passes() -> None:
    from proveout.cutting.scallop import step_over_mm

    for radius in (2.0, 5.0):
        own = step_over_mm(radius_mm=radius, scallop_height_mm=0.006)
        assert own == pytest.approx(surfaces.step_mm(radius, 0.006), rel=1e-9)
