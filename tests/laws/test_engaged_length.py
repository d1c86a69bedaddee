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
    low=st.floats(0.0, 0.9), wider=st.floats(0.0, 0.3), place=st.floats(0.0, 1.0),
)  # fmt: skip
def test_no_turn_of_the_cutter_has_more_edge_in_the_cut(
    axial: float, ratio: float, dia: float, teeth: int, low: float, wider: float, place: float
) -> None:
    """The true helix lies anywhere in the range that the bound was told."""
    helix = low + wider * place
    bound = engaged_edge_length_mm(
        axial_depth_mm=axial, radial_engagement_mm=ratio * dia, diameter_mm=dia, teeth_count=teeth, helix_low_rad=low,
        helix_high_rad=low + wider,
    )  # fmt: skip
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
        axial_depth_mm=20.0, radial_engagement_mm=0.2, diameter_mm=16.0, teeth_count=3,
        helix_low_rad=math.radians(30.0), helix_high_rad=math.radians(30.0),
    )  # fmt: skip
    assert got == pytest.approx(3.1048, abs=2e-4)


def test_a_straight_edge_is_in_over_its_whole_depth() -> None:
    got = engaged_edge_length_mm(
        axial_depth_mm=5.0, radial_engagement_mm=10.0, diameter_mm=10.0, teeth_count=4, helix_low_rad=0.0,
        helix_high_rad=0.0,
    )  # fmt: skip
    # worked: a slot of half a turn with four teeth has floor(2) + 1 = 3 at its worst moment
    assert got == pytest.approx(15.0)


@given(
    axial=st.floats(0.1, 40.0), ratio=st.floats(0.01, 1.0), teeth=st.integers(1, 6), low=st.floats(0.05, 0.9),
    wider=st.floats(0.0, 0.3),
)  # fmt: skip
def test_the_most_of_a_range_is_that_of_a_helix_in_it(
    axial: float, ratio: float, teeth: int, low: float, wider: float
) -> None:
    """Never less than at any of many helices between, and met by one of them as closely as they lie."""

    def most(least: float, greatest: float) -> float:
        return engaged_edge_length_mm(
            axial_depth_mm=axial, radial_engagement_mm=10.0 * ratio, diameter_mm=10.0, teeth_count=teeth,
            helix_low_rad=least, helix_high_rad=greatest,
        )  # fmt: skip

    single = max(most(i, i) for i in np.linspace(low, low + wider, 400))
    assert single <= most(low, low + wider) * (1.0 + 1e-9)
    # between neighbours the lag differs by so much of itself, and the share by no more
    apart = wider / 399.0
    step = math.tan(low + apart) / math.tan(low) if apart * 2.0 < low else math.inf
    worst = max(step, math.tan(low + wider) / math.tan(low + wider - apart))
    assert most(low, low + wider) <= single * worst * (1.0 + 1e-9)


def test_a_steeper_helix_can_have_more_edge_in_the_cut() -> None:
    # worked: D 10, z 3, a_e 0.05: theta = acos(0.99) = 0.14154, pitch 2.09440. At 30 deg and 16 mm the lag is
    # 16 x 0.57735 / 5 = 1.84752, one tooth alone: 5 x 0.14154 / 0.57735 = 1.2258 mm. The second tooth is whole in the
    # cut at a lag of 2.09440 + 0.14154 = 2.23594, which is 34.94 deg: 16 x 2 x 0.14154 / 2.23594 = 2.0257 mm
    def most(low_deg: float, high_deg: float) -> float:
        return engaged_edge_length_mm(
            axial_depth_mm=16.0, radial_engagement_mm=0.05, diameter_mm=10.0, teeth_count=3,
            helix_low_rad=math.radians(low_deg), helix_high_rad=math.radians(high_deg),
        )  # fmt: skip

    assert most(30.0, 30.0) == pytest.approx(1.2258, abs=2e-4)
    assert most(30.0, 45.0) == pytest.approx(2.0257, abs=2e-4)
    assert most(30.0, 45.0) == pytest.approx(most(34.944, 34.944), rel=1e-3)
    # short of the peak the greatest lag counts: 34 deg is a lag of 2.15843, a second tooth in over 0.06403 of it
    assert most(30.0, 34.0) == pytest.approx(16.0 * (0.14154 + 0.06403) / 2.15843, abs=2e-3)


def test_the_height_of_edge_in_a_thin_cut_worked_by_hand() -> None:
    # worked: D 16, a_e 0.2: theta = 0.22407, R theta / tan 30 = 3.1048 mm; twice the tangent, half the height
    for tangent, height in ((math.tan(math.radians(30.0)), 3.1048), (2.0 * math.tan(math.radians(30.0)), 1.5524)):
        got = engaged_height_mm(radial_engagement_mm=0.2, diameter_mm=16.0, helix_rad=math.atan(tangent))
        assert got == pytest.approx(height, abs=2e-4)


@pytest.mark.parametrize(
    ("engagement_mm", "teeth", "worked"),
    [(10.0, 2, 2), (10.0, 3, 2), (10.0, 4, 3), (5.0, 3, 1), (5.0, 4, 2), (0.5, 4, 1), (10.0, 1, 1)],
)
def test_straight_teeth_in_the_cut(engagement_mm: float, teeth: int, worked: int) -> None:
    """Worked: a slot is 180 deg; two teeth stand at both its ends, four teeth 90 deg apart make three."""
    found = engaged_edge_length_mm(
        axial_depth_mm=1.0, radial_engagement_mm=engagement_mm, diameter_mm=10.0, teeth_count=teeth,
        helix_low_rad=0.0, helix_high_rad=0.0,
    )  # fmt: skip
    assert found == worked
