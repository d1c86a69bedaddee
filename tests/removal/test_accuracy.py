"""Volumes and walls against closed forms, and gouges planted in a floor: what a pitch may miss, and no more.

Bounds: 0.2 % of what was removed in every field, 0.05 % by the one rule of Fields.volume_best_mm3; walls within
0.001 mm; of a ball's dent at most pitch^2 / (4 R) of its depth.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.fields import FARTHEST_RATIO, Fields
from proveout.removal.sweeping import cut

UP = np.array([0.0, 0.0, 1.0])
HIGH = np.array([100.0, 60.0, 30.0])


def cylinder(radius: float, low: float = 0.0) -> Piece:
    return Piece(kind="frustum", z_low_mm=low, z_high_mm=40.0, r_low_mm=radius, r_high_mm=radius)


def ball(radius: float) -> Piece:
    return Piece(kind="ball", z_low_mm=0.0, z_high_mm=2.0 * radius, r_low_mm=radius, r_high_mm=radius)


def corner(radius: float, rounding: float) -> tuple[Piece, ...]:
    ring = radius - rounding
    tip = Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0 * rounding, r_low_mm=ring, r_high_mm=radius)
    return (tip, cylinder(radius, rounding))


def corner_section_mm2(radius: float, rounding: float, depth: float) -> float:
    """A groove's section, deeper than the rounding: the rectangle less two corners of (1 - pi / 4) r^2."""
    return 2.0 * radius * depth - 2.0 * (1.0 - math.pi / 4.0) * rounding**2


def corner_volume_mm3(radius: float, rounding: float, depth: float) -> float:
    """A plunge deeper than the rounding: cylinder less the corner's ring, by Pappus."""
    area = (1.0 - math.pi / 4.0) * rounding**2
    # from the square's outer side the middle of a square less its quarter circle lies r (10 - 3 pi) / (12 - 3 pi) in
    middle = radius - rounding * (10.0 - 3.0 * math.pi) / (12.0 - 3.0 * math.pi)
    return math.pi * radius**2 * depth - 2.0 * math.pi * middle * area


TILT = np.array([0.0, math.sin(0.4), math.cos(0.4)])
SLOT = ([-9.0, 30.123, 24.057], [109.0, 30.123, 24.057])
CASES = {
    "flat slot": ((cylinder(5.0),), UP, *SLOT, 10.0 * 5.943 * 100.0),
    "ball groove": ((ball(3.0), cylinder(3.0, 3.0)), UP, *SLOT, (math.pi * 4.5 + 6.0 * 2.943) * 100.0),
    "corner groove": (corner(5.0, 1.2), UP, *SLOT, corner_section_mm2(5.0, 1.2, 5.943) * 100.0),
    "corner plunge": (
        corner(6.0, 2.0), UP, [50.3, 30.2, 32.0], [50.3, 30.2, 23.9], corner_volume_mm3(6.0, 2.0, 6.1),
    ),
    "through hole": ((cylinder(6.0),), UP, [50.3, 30.2, 32.0], [50.3, 30.2, -1.0], math.pi * 36.0 * 30.0),
    "slanting hole": (
        (cylinder(6.0),), TILT, *(np.array([50.3, 30.2, 15.0]) + s * TILT for s in (20.0, -25.0)),
        math.pi * 36.0 * 30.0 / math.cos(0.4),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("pitch", [0.1, 0.2])
def test_volumes_are_those_of_the_closed_forms(name: str, pitch: float) -> None:
    pieces, axis, start, end, exact = CASES[name]
    work = Fields.from_box(low_mm=np.zeros(3), high_mm=HIGH, pitch_mm=pitch)
    removed = cut(work, pieces=pieces, axis=axis, starts_mm=np.array([start]), ends_mm=np.array([end]))[0]
    assert removed == pytest.approx(exact, rel=2e-3)
    assert math.prod(HIGH) - work.volume_best_mm3() == pytest.approx(exact, rel=5e-4)
    assert math.prod(HIGH) - work.volume_mm3() == pytest.approx(removed, rel=1e-9)


def test_the_walls_of_a_corner_radius_at_a_slant_lie_within_a_thousandth() -> None:
    """Every new end lies on the torus or the cylinder, moved along its way; the furthest is a rounding away."""
    axis = np.array([0.36, 0.48, 0.8])
    across = np.array([0.8, -0.6, 0.0])
    start = np.array([30.0, 30.0, 22.0])
    work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([70.0, 60.0, 30.0]), pitch_mm=0.37)
    cut(work, pieces=corner(5.0, 1.5), axis=axis, starts_mm=start[None], ends_mm=(start + 20.0 * across)[None])
    points = work.surface_points_mm()
    inner = np.all((points > 1e-9) & (points < work.high_mm - 1e-9), axis=1)
    away = points[inner] - start
    height = away @ axis
    aside = np.abs(away @ np.cross(axis, across))
    beyond = np.maximum(np.maximum(away @ across - 20.0, -(away @ across)), 0.0)
    radius = np.hypot(aside, beyond)
    tip = np.hypot(np.maximum(radius - 3.5, 0.0), np.minimum(height - 1.5, 0.0)) - 1.5
    wall = np.where(height < 1.5, tip, radius - 5.0)
    assert inner.sum() > 3000
    assert np.abs(wall).max() < 1e-8


@pytest.mark.parametrize("radius", [3.0, 5.0])
@pytest.mark.parametrize("depth", [0.01, 0.02, 0.05])
def test_a_ball_that_dips_into_a_floor_is_seen_at_its_depth_but_for_the_stated_loss(
    radius: float, depth: float
) -> None:
    """Forty dents at places by chance: no ray is farther than 0.695 of a cell, and that is the loss.

    (0.695 pitch)^2 / (2 R) < pitch^2 / (4 R), here 0.0008 mm at R = 3 and 0.1 mm: no dent of 0.01 mm is missed.
    """
    pitch, floor = 0.1, 6.0
    draw = np.random.default_rng(4)
    work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([40.0, 25.0, 8.0]), pitch_mm=pitch)
    flat = (cylinder(40.0),)
    middle = np.array([[20.0, 12.0, floor]])
    cut(work, pieces=flat, axis=UP, starts_mm=middle, ends_mm=middle)
    spots = np.stack(np.meshgrid(4.0 + 4.5 * np.arange(8), 3.0 + 4.5 * np.arange(5)), axis=-1).reshape(-1, 2)
    spots = spots + draw.uniform(-1.0, 1.0, spots.shape)
    tips = np.column_stack([spots, np.full(len(spots), floor - depth)])
    cut(work, pieces=(ball(radius),), axis=UP, starts_mm=tips, ends_mm=tips)
    points = work.surface_points_mm()
    for tip in tips:
        near = points[np.hypot(points[:, 0] - tip[0], points[:, 1] - tip[1]) < 1.0]
        seen = floor - near[near[:, 2] > 1.0, 2].min()
        assert depth - FARTHEST_RATIO**2 * pitch**2 / (2.0 * radius) - 1e-9 <= seen <= depth + 1e-9
        assert seen > 0.5 * depth


def test_no_point_of_a_field_lies_farther_from_a_ray_than_stated() -> None:
    """Points at random over fields of 160 by 140 rays, away from the rim; rays in the middles would leave 0.7071."""
    assert FARTHEST_RATIO**2 / 2.0 < 0.25
    work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([16.0, 14.0, 15.0]), pitch_mm=0.1)
    for k in range(3):
        count_u, count_v = work.rays_uv(k)
        shift_u, shift_v = work.ray_shifts_mm(k)
        u = np.arange(count_u)[:, None] + shift_u[None, :] / 0.1
        v = np.arange(count_v)[None, :] + shift_v[:, None] / 0.1
        assert np.abs(shift_u).max() < 0.05
        assert np.abs(shift_v).max() < 0.05
        points = np.random.default_rng(k).uniform((3.0, 3.0), (count_u - 4.0, count_v - 4.0), (200_000, 2))
        nearest = np.full(len(points), np.inf)
        for i, j in np.ndindex(5, 5):
            near = np.rint(points).astype(int) + np.array([i - 2, j - 2])
            away = np.hypot(u[near[:, 0], near[:, 1]] - points[:, 0], v[near[:, 0], near[:, 1]] - points[:, 1])
            nearest = np.minimum(nearest, away)
        assert 0.6 < nearest.max() < FARTHEST_RATIO


def test_the_best_volume_follows_its_rule() -> None:
    """Worked: a full box is exact in all; where two fields are rough and one is not, the one stands for all."""
    work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([8.0, 6.0, 4.0]), pitch_mm=0.5)
    assert work.volume_best_mm3() == pytest.approx(192.0, rel=1e-12)
    floor = np.array([[4.0, 3.0, 2.9]])
    cut(work, pieces=(cylinder(40.0),), axis=UP, starts_mm=floor, ends_mm=floor)
    assert work.roughness_mm2()[2] == 0.0
    assert work.roughness_mm2()[:2].min() > 0.0
    assert abs(work.volume_mm3()[:2] - 8.0 * 6.0 * 2.9).max() > 0.1
    assert work.volume_best_mm3() == pytest.approx(8.0 * 6.0 * 2.9, rel=1e-9)
