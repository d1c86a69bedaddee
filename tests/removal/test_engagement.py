"""Engagement of straight moves against forms worked by hand: slot, half immersion, skim, plunge, ramp, facing."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.engagement import Engagements, cut_measured
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut

UP = np.array([0.0, 0.0, 1.0])
FLAT = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=3.0, r_high_mm=3.0),)
FACING = (
    Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=11.0, r_high_mm=12.0),
    Piece(kind="frustum", z_low_mm=1.0, z_high_mm=9.0, r_low_mm=12.0, r_high_mm=12.0),
)
PITCH = 0.2


def block(pitch: float = PITCH) -> Fields:
    return Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([40.0, 20.0, 10.0]), pitch_mm=pitch)


def measured(
    pieces: tuple[Piece, ...], path: list[tuple[float, float, float]], *, axis: np.ndarray = UP, pitch: float = PITCH
) -> Engagements:
    points = np.array(path, float)
    return cut_measured(block(pitch), pieces=pieces, axis=axis, starts_mm=points[:-1], ends_mm=points[1:])


def demand(
    found: Engagements, move: int, *, radial: float, axial: float, angle: float, chip: float, side: float = 0.02
) -> None:
    """side: how near a_e must come; it must never be beyond what is right by more than rounding."""
    assert found.radial_mm[move] == pytest.approx(radial, abs=side)
    assert found.radial_mm[move] < radial + 1e-6
    assert found.axial_mm[move] == pytest.approx(axial, abs=1e-6)
    # a tooth angle changes without bound at the edge of the cutter: what the side may lack, in angle
    lacks = math.acos(1.0 - side / 3.0) if side > 0.0 else 1e-6
    assert found.angle_rad[move] == pytest.approx(angle, abs=lacks)
    assert found.chip_ratio[move] == pytest.approx(chip, abs=0.02)


def test_a_slot_engages_half_a_turn() -> None:
    found = measured(FLAT, [(-5.0, 10.0, 6.0), (10.0, 10.0, 6.0), (12.0, 10.0, 6.0), (12.2, 10.0, 6.0)])
    for move in range(3):
        demand(found, move, radial=6.0, axial=4.0, angle=math.pi, chip=1.0)
    assert found.sampling_mm == pytest.approx(PITCH)


def test_half_immersion_engages_a_quarter_of_a_turn_with_the_full_chip() -> None:
    found = measured(FLAT, [(-5.0, 0.0, 7.0), (10.0, 0.0, 7.0), (14.0, 0.0, 7.0)])
    demand(found, 1, radial=3.0, axial=3.0, angle=math.pi / 2.0, chip=1.0)


@pytest.mark.parametrize("skim", [0.1, 0.3, 1.0])
@pytest.mark.parametrize("direction", [1.0, -1.0])
def test_a_skim_engages_little_and_thins_the_chip(skim: float, direction: float) -> None:
    """Worked: angle = acos(1 - a_e / R), h = f_z sin of it; the same in climb and the other way."""
    path = [(-5.0, -3.0 + skim, 5.0), (20.0, -3.0 + skim, 5.0), (25.0, -3.0 + skim, 5.0), (50.0, -3.0 + skim, 5.0)]
    found = measured(FLAT, path if direction > 0.0 else path[::-1])
    angle = math.acos(1.0 - skim / 3.0)
    assert found.radial_mm[1] == pytest.approx(skim, abs=0.02)
    assert found.axial_mm[1] == pytest.approx(5.0, abs=1e-6)
    assert found.angle_rad[1] == pytest.approx(angle, abs=0.1 * angle)
    assert found.chip_ratio[1] == pytest.approx(math.sin(angle), abs=0.05)


def test_a_plunge_counts_as_engaged_all_round_and_what_lies_in_a_hole_does_not() -> None:
    found = measured(FLAT, [(20.0, 10.0, 12.0), (20.0, 10.0, 6.0), (20.0, 10.0, 5.0)])
    assert found.angle_rad.tolist() == [2.0 * math.pi] * 2
    assert found.radial_mm == pytest.approx(3.0, abs=PITCH)
    assert found.axial_mm == pytest.approx([4.0, 1.0], abs=1e-6)
    assert found.chip_ratio.tolist() == [1.0, 1.0]
    work = block()
    hole = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=2.0, r_high_mm=2.0),)
    spot, deep = np.array([[20.0, 10.0, 12.0]]), np.array([[20.0, 10.0, 4.0]])
    cut(work, pieces=hole, axis=UP, starts_mm=spot, ends_mm=deep)
    ring = cut_measured(work, pieces=FLAT, axis=UP, starts_mm=spot, ends_mm=deep)
    assert ring.radial_mm[0] == pytest.approx(1.0, abs=0.03)


def test_facing_on_the_corner_alone_has_its_lead_in_the_chip() -> None:
    """Worked: 0.5 mm deep on a corner of 1 mm: sin k = sqrt(1 - 0.5^2) = 0.866; it overhangs the block at one side.

    The cutter's radius at that height is 11 + 0.866; its path lies 4 mm inside the block, so it cuts from y = -4 on.
    """
    found = measured(FACING, [(-20.0, 4.0, 9.5), (20.0, 4.0, 9.5), (24.0, 4.0, 9.5)])
    radius = 11.0 + math.sqrt(0.75)
    assert found.axial_mm[1] == pytest.approx(0.5, abs=1e-6)
    assert found.radial_mm[1] == pytest.approx(4.0 + radius, abs=PITCH)
    assert found.chip_ratio[1] == pytest.approx(math.sqrt(0.75), abs=1e-6)
    assert found.angle_rad[1] == pytest.approx(math.pi / 2.0 + math.asin(4.0 / radius), abs=0.2)


def test_a_ramp_adds_its_fall_to_the_chip_and_to_the_depth() -> None:
    """Worked: falling at 30 degrees in full width: h / f_z is at most sqrt(cos^2 30 + sin^2 30) = 1."""
    fall = 2.0 * math.tan(math.radians(30.0))
    found = measured(FLAT, [(20.0, 10.0, 8.0), (22.0, 10.0, 8.0 - fall)])
    assert found.chip_ratio[0] == pytest.approx(1.0, abs=1e-9)
    assert found.axial_mm[0] == pytest.approx(2.0 + fall, abs=1e-2)


def test_a_tilted_slot_is_a_slot() -> None:
    axis = np.array([0.0, 0.6, 0.8])
    side = np.array([1.0, 0.0, 0.0])
    start = np.array([18.0, 10.0, 5.0])
    work = block(0.1)
    found = cut_measured(work, pieces=FLAT, axis=axis, starts_mm=start[None], ends_mm=(start + 4.0 * side)[None])
    assert found.radial_mm[0] == pytest.approx(6.0, abs=0.02)
    assert found.angle_rad[0] == pytest.approx(math.pi, abs=0.3)


def test_air_engages_nothing_and_measuring_changes_no_cut() -> None:
    path = np.array([(-9.0, 10.0, 6.0), (-8.0, 10.0, 6.0), (12.0, 9.0, 5.0), (12.0, 9.0, 11.0), (3.0, 9.0, 12.0)])
    plain, watched = block(), block()
    removed = cut(plain, pieces=FLAT, axis=UP, starts_mm=path[:-1], ends_mm=path[1:])
    found = cut_measured(watched, pieces=FLAT, axis=UP, starts_mm=path[:-1], ends_mm=path[1:])
    assert np.array_equal(found.removed_mm3, removed)
    assert plain.digest() == watched.digest()
    for values in (found.radial_mm, found.axial_mm, found.angle_rad, found.chip_ratio):
        assert values[[0, 2, 3]].tolist() == [0.0, 0.0, 0.0]
        assert values[1] > 0.0


def test_a_layer_of_rounding_beside_an_earlier_wall_is_no_engagement() -> None:
    """A slot made again 1 nm wider on one side, then opened by 0.5 mm on the other: a_e is 0.5, not 6.5."""
    work = block(0.5)
    points = np.array([(-5.0, 10.0, 6.0), (45.0, 10.0, 6.0)])
    cut(work, pieces=FLAT, axis=UP, starts_mm=points[:1], ends_mm=points[1:])
    wide = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=3.25 + 1e-6, r_high_mm=3.25 + 1e-6),)
    moved = points + np.array([0.0, 0.25, 0.0])
    found = cut_measured(work, pieces=wide, axis=UP, starts_mm=moved[:1], ends_mm=moved[1:])
    assert found.radial_mm[0] == pytest.approx(0.5, abs=0.02)


def test_engagement_does_not_depend_on_threads() -> None:
    draw = np.random.default_rng(8)
    starts = draw.uniform((0.0, 0.0, 2.0), (40.0, 20.0, 9.0), (60, 3))
    ends = starts + draw.uniform(-3.0, 3.0, (60, 3))
    results = [
        cut_measured(block(0.4), pieces=FACING, axis=UP, starts_mm=starts, ends_mm=ends, threads_count=threads)
        for threads in (1, 3)
    ]
    for name in ("removed_mm3", "radial_mm", "axial_mm", "angle_rad", "chip_ratio"):
        assert getattr(results[0], name).tobytes() == getattr(results[1], name).tobytes()
