"""A head on a neck against the curvature of a stepped beam, summed up twice by plain trapezoids."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapes import cutter

from proveout.cutting.deflection import stepped_deflections_mm
from proveout.cutting.stepped_beam import (
    Part,
    beam_give,
    beam_stresses_mpa,
    has_head,
    head_give_mm,
    most_give_mm,
    parts_of,
)
from proveout.model.shop import Cutter
from proveout.quantities.errors import OutOfRange

STEEL = 210_000.0
SLOTTER = cutter("TS16", "T-slot", 16.0, 3.5, 30.0, shank_diameter_mm=12.0, neck_diameter_mm=7.0, neck_length_mm=12.0)
DOVETAIL = cutter("UC32", "undercut", 32.0, 26.0, 38.0, shank_diameter_mm=12.0, tip_angle_rad=math.radians(20.0))
STEPS = 40_001


def diameters(tool: Cutter, z: NDArray[np.float64]) -> NDArray[np.float64]:
    """As stiff as of a plain bar: of the head 0.8 of its own, which of a dovetail gets less with the height."""
    lean = math.tan(tool.tip_angle_rad) if tool.kind == "undercut" else 0.0
    head = 0.8 * (tool.diameter_mm - 2.0 * z * lean)
    neck = tool.shank_diameter_mm if tool.neck_diameter_mm is None else tool.neck_diameter_mm
    up_to = tool.flute_length_mm + (tool.neck_length_mm or 0.0)
    return np.where(z < tool.flute_length_mm, head, np.where(z < up_to, neck, tool.shank_diameter_mm))


def summed(tool: Cutter, force: float, couple: float) -> tuple[float, float]:
    """Aside and tilt of the tip: from the holder down, curvature to slope and slope to place."""
    ends = sorted({0.0, tool.flute_length_mm, tool.flute_length_mm + (tool.neck_length_mm or 0.0), tool.stick_out_mm})
    grids = [np.linspace(low + 1e-12, high - 1e-12, STEPS) for low, high in pairwise(ends)]
    z = np.concatenate(grids)
    curved = (force * z + couple) / (STEEL * math.pi * diameters(tool, z) ** 4 / 64.0)
    down, bent = z[::-1], curved[::-1]
    steps = -np.diff(down)
    slope = np.concatenate([[0.0], np.cumsum(0.5 * (bent[1:] + bent[:-1]) * steps)])
    aside = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * steps)])
    return float(aside[-1]), float(slope[-1])


@pytest.mark.parametrize("tool", [SLOTTER, DOVETAIL], ids=["T-slot", "undercut"])
def test_it_gives_way_as_its_curvature_summed_up(tool: Cutter) -> None:
    give = beam_give(parts=parts_of(tool), elasticity_mpa=STEEL)
    aside, tilt = summed(tool, 300.0, 0.0)
    assert (300.0 * give.across_mm_per_n, 300.0 * give.tilt_rad_per_n) == pytest.approx((aside, tilt), rel=1e-6)
    aside, tilt = summed(tool, 0.0, 2000.0)
    assert 2000.0 * give.across_mm_per_n_mm == pytest.approx(aside, rel=1e-6)
    assert 2000.0 * give.tilt_rad_per_n_mm == pytest.approx(tilt, rel=1e-6)


def test_flank_and_rim_of_a_plain_neck_worked_by_hand() -> None:
    """Worked: a bar of 8 all along 40, I = 201.06, E I = 4.2223e7. F 100: aside 100 64000 / (3 E I) = 0.050525, tilt
    100 1600 / (2 E I) = 1.8947e-3. F_a 50 at the rim of R 10: M 500: aside 500 1600 / (2 E I) = 0.0094736, tilt
    500 40 / E I = 4.7368e-4. The rim 10 (1.8947e-3 + 4.7368e-4) = 0.023684, and stretched by 50 40 / (E 50.265) =
    0.000189."""
    give = beam_give(
        parts=(Part(z_low_mm=0.0, z_high_mm=40.0, d_low_mm=8.0, d_high_mm=8.0),), elasticity_mpa=STEEL
    )  # fmt: skip
    found = head_give_mm(give=give, across_n=np.array([100.0]), axial_n=np.array([50.0]), radius_mm=10.0)
    assert found.across_mm[0] == pytest.approx(0.050525 + 0.0094736, rel=1e-4)
    assert found.along_mm[0] == pytest.approx(0.023684 + 0.000189, rel=1e-4)


def test_a_step_gives_way_as_the_closed_form_that_end_mills_are_judged_by() -> None:
    tool = cutter("E", "end mill", 12.0, 26.0, 38.0)
    give = beam_give(parts=parts_of(tool), elasticity_mpa=STEEL)
    closed = stepped_deflections_mm(
        force_n=np.array([250.0]), stick_out_mm=38.0, flute_length_mm=26.0, diameter_mm=12.0, shank_diameter_mm=12.0,
        elasticity_mpa=STEEL, diameter_ratio=0.8,
    )  # fmt: skip
    assert 250.0 * give.across_mm_per_n == pytest.approx(float(closed[0]), rel=1e-12)


def test_the_hardest_stress_of_a_neck_worked_by_hand() -> None:
    """Worked: the neck of 7 ends 15.5 over the tip. F 200, F_a 100 at R 8, T 1600: M = 3100 + 800 = 3900,
    s = 32 3900 / (pi 343) + 400 / (pi 49) = 115.82 + 2.60 = 118.41; t = 16 1600 / (pi 343) = 23.757;
    sqrt(118.41^2 + 4 23.757^2) = 127.59. The shank of 12 has 200 30 + 800 = 6800: 40.1, and less."""
    stress, height = beam_stresses_mpa(
        parts=parts_of(SLOTTER), across_n=np.array([200.0]), axial_n=np.array([100.0]),
        torque_n_mm=np.array([1600.0]), radius_mm=8.0,
    )  # fmt: skip
    assert stress[0] == pytest.approx(127.59, rel=1e-4)
    assert height[0] == 15.5


@settings(max_examples=60)
@given(
    force=st.floats(1.0, 1000.0), along=st.floats(0.0, 1000.0), at=st.floats(0.0, 3.5), met=st.floats(0.0, 3.5),
    neck=st.floats(4.0, 12.0), turn=st.floats(0.0, 6.3),
)  # fmt: skip
def test_no_force_anywhere_on_the_head_bends_it_farther(
    force: float, along: float, at: float, met: float, neck: float, turn: float
) -> None:
    """The force across at any height, the pull along at the rim anywhere round, the head looked at at any height."""
    tool = cutter("T", "T-slot", 16.0, 3.5, 30.0, shank_diameter_mm=neck)
    most = most_give_mm(tool, across_n=np.array([force]), axial_n=np.array([along]))
    z = np.linspace(met, 30.0, 4001)
    stiff = STEEL * math.pi * diameters(tool, z) ** 4 / 64.0
    bent = (force * np.maximum(z - at, 0.0) + along * 8.0 * math.cos(turn)) / stiff
    aside = along * 8.0 * math.sin(turn) / stiff
    off = [float(np.trapezoid(curved * (z - met), z)) for curved in (bent, aside)]
    tilt = [float(np.trapezoid(curved, z)) for curved in (bent, aside)]
    assert 3.0 * math.hypot(*off) <= most.across_mm[0] * (1.0 + 1e-4)
    assert 3.0 * 8.0 * math.hypot(*tilt) <= most.along_mm[0] * (1.0 + 1e-4)


def test_a_longer_or_thinner_neck_gives_way_more_and_bears_more_stress() -> None:
    def told(**changed: float) -> tuple[float, float]:
        given = {"shank_diameter_mm": 12.0, "neck_diameter_mm": 7.0, "neck_length_mm": 12.0, **changed}
        tool = cutter("T", "T-slot", 16.0, 3.5, 30.0, **given)
        one = np.array([100.0])
        stress, _ = beam_stresses_mpa(
            parts=parts_of(tool), across_n=one, axial_n=one, torque_n_mm=one, radius_mm=8.0
        )  # fmt: skip
        return float(most_give_mm(tool, across_n=one, axial_n=one).across_mm[0]), float(stress[0])

    usual = told()
    for changed in ({"neck_diameter_mm": 6.0}, {"neck_length_mm": 20.0}):
        worse = told(**changed)
        assert worse[0] > usual[0], changed
        assert worse[1] > usual[1], changed


def test_only_cutters_with_a_head_are_such_beams_and_no_bar_is_refused() -> None:
    assert has_head(SLOTTER)
    assert has_head(DOVETAIL)
    assert not has_head(cutter("E", "end mill", 12.0, 26.0, 38.0))
    with pytest.raises(OutOfRange):
        beam_give(parts=parts_of(SLOTTER), elasticity_mpa=0.0)
    with pytest.raises(OutOfRange):
        beam_give(parts=(Part(z_low_mm=0.0, z_high_mm=4.0, d_low_mm=1.0, d_high_mm=0.0),), elasticity_mpa=STEEL)
