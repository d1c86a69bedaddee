"""Axes and signs of ISO 841: X, Y, Z right-handed with Z away from the work, A, B, C by the right-hand rule about them.

Worked from the convention: Rz(90) (10, 0, 0) = (0, 10, 0); Rx(90) (0, 0, 10) = (0, -10, 0). For the direction
(1, 1, 1) / sqrt 3, A = arccos(1 / sqrt 3) = 54.7356 and C = atan2(1, 1) = 45; the other way A -54.7356, C 225.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from tilting import laid, tilting

from proveout.geometry.turning import turn_of
from proveout.model.work import Tilt, Vector
from proveout.quantities.units import deg_from_rad
from proveout.stages.clampings.rotary import positions_of

CORNER: Vector = (1.0 / math.sqrt(3.0), 1.0 / math.sqrt(3.0), 1.0 / math.sqrt(3.0))


@pytest.mark.parametrize(
    ("a_deg", "c_deg", "point", "worked"),
    [(0.0, 90.0, (10.0, 0.0, 0.0), (0.0, 10.0, 0.0)), (90.0, 0.0, (0.0, 0.0, 10.0), (0.0, -10.0, 0.0))],
)
def test_a_turn_goes_by_the_right_hand(a_deg: float, c_deg: float, point: Vector, worked: Vector) -> None:
    turn = turn_of(a_rad=math.radians(a_deg), c_rad=math.radians(c_deg))
    assert turn @ np.array(point) == pytest.approx(worked, abs=1e-9)


def test_a_turn_about_y_is_one_about_x_turned_by_a_right_angle() -> None:
    """Worked: Ry(90) (0, 0, 10) = (10, 0, 0); Ry(90) is Rz(90) Rx(90) Rz(-90)."""
    right = math.pi / 2.0
    about_y = turn_of(a_rad=0.0, c_rad=right) @ turn_of(a_rad=right, c_rad=-right)
    assert about_y @ np.array((0.0, 0.0, 10.0)) == pytest.approx((10.0, 0.0, 0.0), abs=1e-9)
    assert about_y @ np.array((0.0, 1.0, 0.0)) == pytest.approx((0.0, 1.0, 0.0), abs=1e-9)


def test_a_turn_about_a_pivot() -> None:
    """Worked: p (0, 0, -50), x (0, 0, 0), A 90: x - p = (0, 0, 50) goes to (0, -50, 0), and p back on (0, -50, -50)."""
    pivot = np.array([0.0, 0.0, -50.0])
    turned = turn_of(a_rad=math.pi / 2.0, c_rad=0.0) @ (np.zeros(3) - pivot) + pivot
    assert turned == pytest.approx((0.0, -50.0, -50.0), abs=1e-9)


def tilt_of(a_deg: tuple[float, float], direction: Vector = CORNER) -> Tilt:
    (_, tilt) = laid(tilting(a_deg=a_deg), direction).value.clampings[0].tilts
    return tilt


@pytest.mark.parametrize(
    ("a_ends", "a_worked", "c_worked"), [((-30.0, 110.0), "54.7356", "45"), ((-110.0, 30.0), "-54.7356", "225")]
)
def test_the_corner_of_a_cube_is_turned_up_either_way(
    agrees: Callable[..., None], a_ends: tuple[float, float], a_worked: str, c_worked: str
) -> None:
    """What the clamping is laid with, on a mill that tilts to the one side or to the other."""
    tilt = tilt_of(a_ends)
    agrees(deg_from_rad(tilt.a_rad), a_worked)
    agrees(deg_from_rad(tilt.c_rad) % 360.0, c_worked)
    assert turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad) @ np.array(CORNER) == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)


@pytest.mark.parametrize("a_ends", [(-30.0, 110.0), (-110.0, 30.0)])
def test_the_frame_of_a_tilt_is_the_machine_s(a_ends: tuple[float, float]) -> None:
    """Its rows are the machine's axes as the turned work sees them: coordinates are those of the tool (ISO 841)."""
    tilt = tilt_of(a_ends)
    assert tilt.frame.turn == pytest.approx(turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad), abs=1e-9)


def test_straight_up_c_is_free_and_stays_at_zero() -> None:
    assert positions_of((0.0, 0.0, 1.0)) == ((0.0, 0.0), (0.0, 0.0))
    assert laid(tilting()).value.clampings[0].tilts[0].id == "a0-c0"


@pytest.mark.parametrize("seed", range(20))
def test_both_ways_turn_any_direction_up(seed: int) -> None:
    direction = np.random.default_rng(seed).normal(size=3)
    direction /= np.linalg.norm(direction)
    for a, c in positions_of((direction[0], direction[1], direction[2])):
        assert turn_of(a_rad=a, c_rad=c) @ direction == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
