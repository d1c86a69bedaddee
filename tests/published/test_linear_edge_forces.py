"""Mean forces of a slot against published coefficients, and the turning model against them for any helix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.cutting.mechanistic import EdgeCoefficients, mean_slot_forces_n, turning_forces_n
from proveout.quantities.errors import OutOfRange

# 7050-T7451, carbide, helical: from memory of a widely quoted set; 7075: review table of Chin. J. Mech. Eng. 34 (2021)
AL_7050 = EdgeCoefficients(
    tangential_mpa=796.1, radial_mpa=168.8, axial_mpa=222.0, edge_tangential_n_per_mm=27.7, edge_radial_n_per_mm=30.8,
    edge_axial_n_per_mm=1.4,
)  # fmt: skip
AL_7075 = EdgeCoefficients(
    tangential_mpa=600.46, radial_mpa=180.96, axial_mpa=0.0, edge_tangential_n_per_mm=17.9, edge_radial_n_per_mm=20.42,
    edge_axial_n_per_mm=0.0,
)  # fmt: skip


def test_four_teeth_in_a_slot() -> None:
    """N 4, a 2, c 0.05: -95.31, +150.15, +33.87 N."""
    found = mean_slot_forces_n(axial_depth_mm=2.0, feed_per_tooth_mm=0.05, teeth_count=4, coefficients=AL_7050)
    assert found == pytest.approx((-95.31, 150.15, 33.87), rel=1e-3)


def test_two_teeth_in_a_slot() -> None:
    """N 2, a 1.5, c 0.1: -33.07, +62.13 N."""
    found = mean_slot_forces_n(axial_depth_mm=1.5, feed_per_tooth_mm=0.1, teeth_count=2, coefficients=AL_7075)
    assert found[:2] == pytest.approx((-33.07, 62.13), rel=1e-3)


@settings(max_examples=40, deadline=None)
@given(
    helix_deg=st.floats(0.0, 50.0), depth=st.floats(0.2, 8.0), feed=st.floats(0.01, 0.2), teeth=st.integers(1, 6),
    diameter=st.floats(3.0, 25.0),
)  # fmt: skip
def test_the_mean_over_a_turn_is_that_of_the_slot_whatever_the_helix(
    helix_deg: float, depth: float, feed: float, teeth: int, diameter: float
) -> None:
    turning = turning_forces_n(
        axial_depth_mm=depth, diameter_mm=diameter, feed_per_tooth_mm=feed, teeth_count=teeth, start_rad=0.0,
        exit_rad=math.pi, helix_rad=math.radians(helix_deg), runout_mm=0.0, coefficients=AL_7050, angles_count=1440,
        heights_count=30,
    )  # fmt: skip
    mean = mean_slot_forces_n(axial_depth_mm=depth, feed_per_tooth_mm=feed, teeth_count=teeth, coefficients=AL_7050)
    assert turning[:, :3].mean(axis=0) == pytest.approx(mean, rel=2e-3)


@pytest.mark.parametrize("helix_deg", [0.0, 20.0, 30.0, 45.0])
def test_four_teeth_turning_in_the_slot_have_its_mean(helix_deg: float) -> None:
    """The first slot above within a thousandth, a depth far below the diameter."""
    turning = turning_forces_n(
        axial_depth_mm=2.0, diameter_mm=10.0, feed_per_tooth_mm=0.05, teeth_count=4, start_rad=0.0, exit_rad=math.pi,
        helix_rad=math.radians(helix_deg), runout_mm=0.0, coefficients=AL_7050, angles_count=1440, heights_count=60,
    )  # fmt: skip
    assert turning[:, :3].mean(axis=0) == pytest.approx((-95.31, 150.15, 33.87), rel=1e-3)


def test_the_mean_force_grows_in_proportion_with_depth_and_teeth() -> None:
    one = np.array(mean_slot_forces_n(axial_depth_mm=1.0, feed_per_tooth_mm=0.05, teeth_count=1, coefficients=AL_7050))
    six = np.array(mean_slot_forces_n(axial_depth_mm=3.0, feed_per_tooth_mm=0.05, teeth_count=2, coefficients=AL_7050))
    assert six == pytest.approx(6.0 * one)


def test_run_out_raises_the_peak_and_leaves_the_mean() -> None:
    def forces(runout: float) -> np.ndarray:
        return turning_forces_n(
            axial_depth_mm=2.0, diameter_mm=10.0, feed_per_tooth_mm=0.05, teeth_count=2, start_rad=0.0,
            exit_rad=math.pi, helix_rad=0.0, runout_mm=runout, coefficients=AL_7050, angles_count=1440,
        )  # fmt: skip

    # worked: at the middle of its arc the first tooth takes 0.05 + 0.01 of chip over 2 mm
    assert forces(0.01)[:, 3].max() == pytest.approx(2.0 * (796.1 * 0.06 + 27.7), rel=1e-4)
    assert forces(0.0)[:, 3].max() == pytest.approx(2.0 * (796.1 * 0.05 + 27.7), rel=1e-4)
    assert forces(0.01)[:, 1].mean() == pytest.approx(forces(0.0)[:, 1].mean(), rel=0.05)


def test_a_helix_lifts_less_at_once_and_no_tooth_cuts_outside_its_arc() -> None:
    narrow = turning_forces_n(
        axial_depth_mm=0.01, diameter_mm=10.0, feed_per_tooth_mm=0.05, teeth_count=1, start_rad=0.5, exit_rad=1.0,
        helix_rad=0.0, runout_mm=0.0, coefficients=AL_7050, angles_count=3600, heights_count=1,
    )  # fmt: skip
    assert (narrow[:, 3] > 0.0).mean() == pytest.approx(0.5 / (2.0 * math.pi), abs=1e-3)
    with pytest.raises(OutOfRange):
        turning_forces_n(
            axial_depth_mm=1.0, diameter_mm=10.0, feed_per_tooth_mm=0.05, teeth_count=2, start_rad=1.0, exit_rad=0.5,
            helix_rad=0.5, runout_mm=0.0, coefficients=AL_7050,
        )  # fmt: skip
