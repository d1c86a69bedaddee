"""The edge in the cut never exceeds the bound, whatever the turn, and the bound is no looser than without helix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.cutting.chip_thickness import engagement_angle_rad
from proveout.cutting.engaged_length import engaged_edge_length_mm, engaged_height_mm


@given(
    axial=st.floats(0.1, 40.0), ratio=st.floats(0.01, 1.0), dia=st.floats(2.0, 50.0), teeth=st.integers(1, 6),
    helix=st.floats(0.0, 1.0),
)  # fmt: skip
def test_no_turn_of_the_cutter_has_more_edge_in_the_cut(
    axial: float, ratio: float, dia: float, teeth: int, helix: float
) -> None:
    bound = engaged_edge_length_mm(
        axial_depth_mm=axial, radial_engagement_mm=ratio * dia, diameter_mm=dia, teeth_count=teeth, helix_rad=helix
    )
    theta = engagement_angle_rad(radial_engagement_mm=ratio * dia, diameter_mm=dia)
    heights = (np.arange(400) + 0.5) / 400.0 * axial
    turn = np.linspace(0.0, 2.0 * math.pi, 181)
    most = 0.0
    for start in turn:
        angles = (
            start + 2.0 * math.pi * np.arange(teeth)[:, None] / teeth - heights[None, :] * math.tan(helix) / (dia / 2.0)
        )
        inside = np.mod(angles, 2.0 * math.pi) <= theta
        most = max(most, float(inside.sum()) * axial / 400.0)
    # the sum over 400 slices is off by at most a slice for every border of the arc
    assert most <= bound + 2.0 * teeth * axial / 400.0 * (2.0 + axial * math.tan(helix) / (dia / 2.0)) + 1e-9


def test_a_thin_cut_with_a_tall_helical_cutter_has_a_short_edge_in_the_cut() -> None:
    # worked: D 16, a_e 0.2: theta = acos(1 - 0.025) = 0.22407; R theta / tan 30 = 8 x 0.22407 / 0.57735 = 3.1048 mm
    # a_p 20: the lag is 20 x 0.57735 / 8 = 1.4434, (0.2241 + 1.4434) x 3 / 2 pi = 0.796: one tooth at most
    got = engaged_edge_length_mm(
        axial_depth_mm=20.0, radial_engagement_mm=0.2, diameter_mm=16.0, teeth_count=3, helix_rad=math.radians(30.0)
    )
    assert got == pytest.approx(3.1048, abs=2e-4)


def test_a_straight_edge_is_in_over_its_whole_depth() -> None:
    got = engaged_edge_length_mm(
        axial_depth_mm=5.0, radial_engagement_mm=10.0, diameter_mm=10.0, teeth_count=4, helix_rad=0.0
    )
    # worked: a slot of half a turn with four teeth has floor(2) + 1 = 3 at its worst moment
    assert got == pytest.approx(15.0)


def test_the_height_of_edge_in_a_thin_cut_worked_by_hand() -> None:
    # worked: D 16, a_e 0.2: theta = 0.22407, R theta / tan 30 = 3.1048 mm; twice the tangent, half the height
    for tangent, height in ((math.tan(math.radians(30.0)), 3.1048), (2.0 * math.tan(math.radians(30.0)), 1.5524)):
        got = engaged_height_mm(radial_engagement_mm=0.2, diameter_mm=16.0, helix_rad=math.atan(tangent))
        assert got == pytest.approx(height, abs=2e-4)
