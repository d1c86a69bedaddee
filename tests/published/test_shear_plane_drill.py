"""A. Ghosh, A. K. Mallik, Manufacturing Science, 2nd ed. 2010, sample problem 14, p. 230: D 20, shear strength 400,
feed 0.25, friction 0.6, point 118 degrees, helix 30 from its table; as a public companion reckons it."""

from __future__ import annotations

import math

import pytest

from proveout.cutting.shear_plane_drill import shear_plane_drill_thrust_n, shear_plane_drill_torque_n_mm
from proveout.quantities.errors import OutOfRange

PROBLEM = {"shear_mpa": 400.0, "diameter_mm": 20.0, "feed_per_turn_mm": 0.25, "friction_ratio": 0.6}


def test_problem_14_as_the_companion_reckons_it() -> None:
    """Worked. alpha 18.61, lambda 30.96, phi 32.65 degrees; 583.3 N of shear: F_c 1493.6, F_t 327.1 N."""
    assert shear_plane_drill_torque_n_mm(**PROBLEM) / 1000.0 == pytest.approx(17.9, abs=0.05)
    assert shear_plane_drill_thrust_n(**PROBLEM) == pytest.approx(1402.0, abs=1.0)


def test_problem_14_as_the_book_prints_it() -> None:
    """Printed 18.2 N m and 1500 N: rounded by hand on the way, so 3 % and 8 %."""
    assert shear_plane_drill_torque_n_mm(**PROBLEM) / 1000.0 == pytest.approx(18.2, rel=0.03)
    assert shear_plane_drill_thrust_n(**PROBLEM) == pytest.approx(1500.0, rel=0.08)


def test_forces_grow_with_strength_and_section() -> None:
    one = shear_plane_drill_torque_n_mm(**PROBLEM)
    assert shear_plane_drill_torque_n_mm(**{**PROBLEM, "shear_mpa": 800.0}) == pytest.approx(2.0 * one)
    assert shear_plane_drill_torque_n_mm(**{**PROBLEM, "feed_per_turn_mm": 0.125}) == pytest.approx(0.5 * one)
    # width and arm both grow with the diameter
    assert shear_plane_drill_torque_n_mm(**{**PROBLEM, "diameter_mm": 10.0}) == pytest.approx(0.25 * one)
    assert shear_plane_drill_thrust_n(**{**PROBLEM, "diameter_mm": 10.0}) == pytest.approx(
        0.5 * shear_plane_drill_thrust_n(**PROBLEM)
    )


def test_a_blunt_straight_drill_that_could_not_shear_is_refused() -> None:
    """Worked. Without a helix the rake is 0; friction 1 gives 45 - 45 = 0 degrees of shear plane."""
    with pytest.raises(OutOfRange, match="shear_plane_rad"):
        shear_plane_drill_torque_n_mm(**{**PROBLEM, "friction_ratio": 1.0}, helix_rad=0.0)
    assert shear_plane_drill_torque_n_mm(**PROBLEM, helix_rad=math.radians(20.0)) > shear_plane_drill_torque_n_mm(
        **PROBLEM
    )
