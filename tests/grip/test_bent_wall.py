"""Bounds of walls that a jaw presses: closed forms worked by hand, and elastic sections that bend no farther."""

from __future__ import annotations

import numpy as np
import pytest
from elastic import plate_bend_mm, section_bend, section_pulls, section_shifts

from proveout.grip.bent_wall import (
    bent_span_stress_mpa,
    spanning_wall_bend_mm,
    spanning_wall_stress_mpa,
    standing_wall_bend_mm,
)
from proveout.quantities.errors import OutOfRange

ROCK = {"foot_mm": 1e6, "across_mm": 1.0}
"""A foot so deep that it does not turn."""


def standing(heights: int, thick: float = 1.0, *, cell: float = 0.01, patch: float = 1e9) -> tuple[float, float]:
    return standing_wall_bend_mm(
        np.full(heights, thick), np.ones(heights, dtype=bool), cell_mm=cell, patch_mm=patch, **ROCK
    )  # fmt: skip


def test_a_long_standing_wall_is_a_cantilever() -> None:
    """Worked. 100 thicknesses high and one deeper: p 101^4 / 8 12 less what presses on the last: within 2 % of
    p L^4 / (8 E I) at 101, and 3 p L^2 / t^2 at 100."""
    bend, pull = standing(10_000)
    assert bend == pytest.approx(12.0 * 101.0**4 / 8.0, rel=0.02)
    assert bend > 12.0 * 100.0**4 / 8.0
    assert pull == pytest.approx(3.0 * 100.0**2, rel=1e-3)


def test_a_foot_that_is_pressed_off_its_middle_turns_the_wall() -> None:
    """Worked. Wall and foot 10 high, jaws 40 apart: M_f = 10 5 + 10 10 / 2 = 100; turned by 100 20 12 / 1000 = 24, at
    15 above its middle 360; pulled by 6 100 / 100 + 10 / 10 = 7, a wall of 100 by less."""
    given = {"cell_mm": 0.01, "patch_mm": 1e9, "foot_mm": 10.0, "across_mm": 40.0}
    thick, pressed = np.full(1000, 100.0), np.ones(1000, dtype=bool)
    bend, pull = standing_wall_bend_mm(thick, pressed, **given)
    still, _ = standing_wall_bend_mm(thick, pressed, **{**given, **ROCK})
    assert bend - still == pytest.approx(360.0, rel=1e-3)
    assert pull == pytest.approx(7.0, rel=1e-3)


def test_pressed_on_its_upper_half_alone_it_bends_by_that() -> None:
    """Worked. b 100, a 50: (4 - 1) 100^4 - 50^3 (400 - 50) over 24 I; the pull 3 (b^2 - a^2)."""
    bend, pull = standing(10_000, patch=50.0)
    assert bend == pytest.approx((3.0 * 100.0**4 - 50.0**3 * 350.0) * 12.0 / 24.0, rel=0.05)
    assert pull == pytest.approx(3.0 * (100.0**2 - 50.0**2), rel=1e-2)


def test_a_wedge_that_ends_in_an_edge_bends_no_more_than_it_does() -> None:
    """Worked. t = (L - s) / 5, L 10: M / I (L - s) = 6 125 p all along, so delta = 7500 p / E and its pull is 75 p
    everywhere; built in deeper and by shear somewhat more."""
    count, cell = 1000, 0.01
    thick = 0.2 * cell * (count - np.arange(count, dtype=np.float64) - 0.5)
    bend, pull = standing_wall_bend_mm(thick, np.ones(count, dtype=bool), cell_mm=cell, patch_mm=1e9, **ROCK)
    assert 7500.0 < bend < 2.0 * 7500.0
    assert pull == pytest.approx(75.0, rel=0.02)


def test_a_span_is_the_lesser_of_pressed_all_over_and_in_its_middle() -> None:
    """Worked. s 99.5, t 1: L 100. 5 100^4 / 384 12 and by shear 1.2 2.7 100^2 / 8; pressed on 10: 10 100^3 / 48 12 and
    1.2 2.7 10 100 / 4. Pull 6 99.5 101.5 / 8 and 6 10 100.5 / 4, each and 0.25 / 99.5."""
    long = {"pressure_mpa": 1.0, "span_mm": 99.5, "thickness_mm": 1.0}
    whole = spanning_wall_bend_mm(**long, pressed_mm=99.5, elastic_mpa=1.0)
    assert whole == pytest.approx(5.0 * 1e8 / 384.0 * 12.0 + 3.24 * 1250.0)
    part = spanning_wall_bend_mm(**long, pressed_mm=10.0, elastic_mpa=2.0)
    assert part == pytest.approx((10.0 * 1e6 / 48.0 * 12.0 + 3.24 * 250.0) / 2.0)
    assert spanning_wall_stress_mpa(**long, pressed_mm=99.5) == pytest.approx(7574.4375 + 0.25 / 99.5)
    assert spanning_wall_stress_mpa(**long, pressed_mm=10.0) == pytest.approx(1507.5 + 0.25 / 99.5)


def test_bent_by_so_much_it_is_pulled_as_when_pressed_evenly() -> None:
    """Worked. Built in, p s^4 / (384 E I) and 6 p s^2 / 12 / t^2: with p 1, s 20, t 2 and E 1 that is 625 and 50."""
    bend = 20.0**4 / (384.0 * 8.0 / 12.0)
    assert bend == pytest.approx(625.0)
    given = {"bend_mm": bend, "span_mm": 20.0, "thickness_mm": 2.0, "elastic_mpa": 1.0}
    assert bent_span_stress_mpa(**given) == pytest.approx(50.0)


@pytest.mark.parametrize("height", [2, 4, 8, 16, 32])
@pytest.mark.parametrize("share", [1, 2])
def test_elastic_metal_with_its_foot_bends_no_farther_than_the_strip(height: int, share: int) -> None:
    """A wall of 4 squares on a block of 40 x 24 of them, in plane strain, pressed all over or on its upper half."""
    thick, wide, deep = 4, 40, 24
    metal = np.zeros((wide, deep + height), dtype=bool)
    metal[:, :deep] = metal[:thick] = True
    held = np.zeros((2 * wide + 1, 2 * (deep + height) + 1), dtype=bool)
    held[:, 0] = held[-1] = True
    pressed = np.arange(height) >= height - height // share
    true = section_bend(metal, pressed=[(0, deep + j) for j in np.flatnonzero(pressed).tolist()], held=held)
    bend, _ = standing_wall_bend_mm(np.full(height, float(thick)), pressed, cell_mm=1.0, patch_mm=1e9, **ROCK)
    assert 1.15 < bend / float(true[: 2 * thick + 1, 2 * deep :].max()) < 3.2


@pytest.mark.parametrize("height", [2, 8, 20])
@pytest.mark.parametrize("foot", [2, 4, 12])
@pytest.mark.parametrize("half_gap", [12, 30])
def test_an_elastic_trough_bends_no_farther_than_strip_and_foot(height: int, foot: int, half_gap: int) -> None:
    """Half of a trough with walls of 4 squares on a floor that is thinner, as thick or thicker, pressed from both
    sides: measured from the end of its floor, and from its middle less what the floor is shortened."""
    thick = 4
    metal = np.zeros((half_gap, foot + height), dtype=bool)
    metal[:, :foot] = metal[:thick] = True
    mirrored = np.zeros((2 * half_gap + 1, 2 * (foot + height) + 1), dtype=bool)
    held = np.zeros_like(mirrored)
    mirrored[-1] = True
    held[-1, 0] = True
    true = section_bend(metal, pressed=[(0, foot + j) for j in range(height)], held=held, mirrored=mirrored)
    shortened = height / foot * half_gap
    goes = float(true[: 2 * thick + 1, 2 * foot :].max()) - shortened
    bend, _ = standing_wall_bend_mm(
        np.full(height, float(thick)), np.ones(height, dtype=bool), cell_mm=1.0, patch_mm=1e9, foot_mm=float(foot),
        across_mm=2.0 * half_gap,
    )  # fmt: skip
    assert 1.0 < bend / goes < 4.0


@pytest.mark.parametrize("span", [2, 4, 8, 16, 32])
@pytest.mark.parametrize(("beside", "deep"), [(4, 12), (16, 12), (4, 48)])
def test_elastic_metal_over_a_hollow_bends_no_farther_than_the_span(span: int, beside: int, deep: int) -> None:
    """A wall of 4 squares over a hollow, held by metal once or four times as wide, before which it bends in."""
    thick, tall = 4, span + 2 * beside
    metal = np.ones((deep + 2 * thick, tall), dtype=bool)
    metal[thick : thick + deep, beside : beside + span] = False
    held = np.zeros((2 * len(metal) + 1, 2 * tall + 1), dtype=bool)
    held[-1] = True
    true = section_bend(metal, pressed=[(0, beside + j) for j in range(span)], held=held)
    goes = float(true[: 2 * thick + 1].max() - true[0, 2 * beside])
    bend = spanning_wall_bend_mm(
        pressure_mpa=1.0, span_mm=span, pressed_mm=span, thickness_mm=thick, elastic_mpa=1.0
    )  # fmt: skip
    assert 1.2 < bend / goes < 5.0


@pytest.mark.parametrize("height", [1, 2, 4, 8, 16, 32])
@pytest.mark.parametrize("share", [1, 2])
def test_elastic_metal_with_its_foot_is_pulled_no_harder_than_the_strip(height: int, share: int) -> None:
    """As the same wall bends: the hardest pull anywhere but in the squares about its corner, where metal flows."""
    thick, wide, deep = 4, 40, 24
    metal = np.zeros((wide, deep + height), dtype=bool)
    metal[:, :deep] = metal[:thick] = True
    held = np.zeros((2 * wide + 1, 2 * (deep + height) + 1), dtype=bool)
    held[:, 0] = held[-1] = True
    pressed = np.arange(height) >= height - max(1, height // share)
    shifts = section_shifts(metal, pressed=[(0, deep + j) for j in np.flatnonzero(pressed).tolist()], held=held)
    true = section_pulls(metal, shifts, left_out=[(thick, deep)])
    _, pull = standing_wall_bend_mm(np.full(height, float(thick)), pressed, cell_mm=1.0, patch_mm=1e9, **ROCK)
    assert 1.0 < pull / true < 1.75


@pytest.mark.parametrize("height", [2, 8, 20])
@pytest.mark.parametrize("foot", [2, 4, 12])
def test_an_elastic_trough_is_pulled_no_harder_than_strip_and_foot(height: int, foot: int) -> None:
    thick, half_gap = 4, 12
    metal = np.zeros((half_gap, foot + height), dtype=bool)
    metal[:, :foot] = metal[:thick] = True
    mirrored = np.zeros((2 * half_gap + 1, 2 * (foot + height) + 1), dtype=bool)
    held = np.zeros_like(mirrored)
    mirrored[-1] = True
    held[-1, 0] = True
    shifts = section_shifts(metal, pressed=[(0, foot + j) for j in range(height)], held=held, mirrored=mirrored)
    true = section_pulls(metal, shifts, left_out=[(thick, foot)])
    _, pull = standing_wall_bend_mm(
        np.full(height, float(thick)), np.ones(height, dtype=bool), cell_mm=1.0, patch_mm=1e9, foot_mm=float(foot),
        across_mm=2.0 * half_gap,
    )  # fmt: skip
    assert 1.0 < pull / true < 1.6


@pytest.mark.parametrize(("span", "beside", "deep"), [
    (2, 4, 12), (4, 4, 12), (8, 4, 12), (16, 4, 12), (32, 4, 12), (4, 16, 12), (8, 16, 12), (16, 16, 12), (32, 16, 12),
    (4, 4, 48), (8, 4, 48), (16, 4, 48), (4, 4, 96), (8, 4, 96), (12, 4, 96), (16, 4, 96), (32, 4, 96), (4, 8, 96),
    (8, 8, 96), (4, 2, 48), (8, 2, 48),
])  # fmt: skip
def test_elastic_metal_over_a_hollow_is_pulled_no_harder_than_the_span(span: int, beside: int, deep: int) -> None:
    """A wall of 4 squares over hollows of several depths, held by ends half, once and several times as wide."""
    thick, tall = 4, span + 2 * beside
    metal = np.ones((deep + 2 * thick, tall), dtype=bool)
    metal[thick : thick + deep, beside : beside + span] = False
    held = np.zeros((2 * len(metal) + 1, 2 * tall + 1), dtype=bool)
    held[-1] = True
    shifts = section_shifts(metal, pressed=[(0, beside + j) for j in range(span)], held=held)
    ends = [(i, j) for i in (thick, thick + deep) for j in (beside, beside + span)]
    true = section_pulls(metal, shifts, left_out=ends)
    pull = spanning_wall_stress_mpa(pressure_mpa=1.0, span_mm=span, pressed_mm=span, thickness_mm=thick)
    # where it is thicker than its span hardly anything pulls
    assert 1.0 < pull / true < (3.2 if span >= thick else 8.0)


def test_a_thin_square_built_in_all_round_is_pulled_less_than_three_times_less() -> None:
    """As quoted, 0.3078 p s^2 / t^2 at the middle of its sides: 25 thicknesses wide, 192.4 of 507 p."""
    pull = spanning_wall_stress_mpa(pressure_mpa=1.0, span_mm=25.0, pressed_mm=25.0, thickness_mm=1.0)
    assert pull == pytest.approx(6.0 * 25.0 * 27.0 / 8.0 + 0.01)
    assert pull / (0.3078 * 25.0**2) == pytest.approx(2.63, abs=0.01)


def test_a_wall_without_thickness_or_cells_is_refused() -> None:
    for thick in (np.zeros(3), np.ones(2)):
        with pytest.raises(OutOfRange, match="thickness above 0"):
            standing_wall_bend_mm(thick, np.ones(3, dtype=bool), cell_mm=1.0, patch_mm=1.0, **ROCK)
    nothing = standing_wall_bend_mm(np.ones(3), np.zeros(3, dtype=bool), cell_mm=1.0, patch_mm=1.0, **ROCK)
    assert nothing == (0.0, 0.0)


def test_the_judge_of_plates_knows_a_cantilever_and_a_clamped_square() -> None:
    """Published as quoted: p L^4 / (8 D) and 0.00126 p L^4 / D. Coarse differences bend more than that, never less."""
    cells, stiff = 40, 8.0 / 12.0 / (1.0 - 0.33**2)
    for open_sides, factor in ((True, 1.0 / 8.0), (False, 0.00126)):
        foot = np.ones((cells + 4, cells + 4), dtype=bool)
        wall = np.zeros_like(foot)
        wall[2:-2, 2:-2] = True
        foot &= ~wall
        if open_sides:
            foot[:2] = foot[-2:] = foot[:, -2:] = False
        bend = plate_bend_mm(
            wall, foot, thick_mm=np.full(wall.shape, 2.0), pressure_mpa=np.ones(wall.shape), cell_mm=0.5,
            elastic_mpa=1.0,
        )  # fmt: skip
        assert 1.0 < float(bend.max()) / (factor * 20.0**4 / stiff) < 1.25
