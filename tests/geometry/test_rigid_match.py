"""A set of marked surfaces is known again wherever it lies, and never in a mirror."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.geometry.rigid_match import Marks, Motion, matched, on_surface

Array = NDArray[np.float64]


def marks(count: int, seed: int) -> Marks:
    """Planes and cylinders at random; a third of them alike in size and area."""
    draw = np.random.default_rng(seed)
    kinds = np.array(["plane", "cylinder in"])[draw.integers(0, 2, count)]
    axes = draw.normal(size=(count, 3))
    points = draw.uniform(-50.0, 50.0, (count, 3))
    return Marks(
        labels=kinds, sizes=np.where((kinds == "plane")[:, None], 0.0, [3.0, 0.0]),
        areas=np.where(np.arange(count) % 3 == 0, 100.0, draw.uniform(50.0, 500.0, count)), points=points,
        origins=points, axes=axes / np.linalg.norm(axes, axis=1)[:, None], signed=kinds == "plane",
    )  # fmt: skip


def turn_of(seed: int) -> Array:
    found, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    return found if np.linalg.det(found) > 0.0 else -found


def moved(one: Marks, turn: Array, shift: Array, *, order: NDArray[np.int64] | None = None) -> Marks:
    rows = np.arange(len(one.areas)) if order is None else order
    out = one._replace(points=one.points @ turn.T + shift, origins=one.origins @ turn.T + shift, axes=one.axes @ turn.T)
    return Marks(
        labels=out.labels[rows], sizes=out.sizes[rows], areas=out.areas[rows], points=out.points[rows],
        origins=out.origins[rows], axes=out.axes[rows], signed=out.signed[rows],
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_any_turn_and_move_is_found_again_with_every_partner(seed: int) -> None:
    old, turn, shift = marks(24, seed), turn_of(seed + 50), np.array([120.0, -3.5, 7.25])
    order = np.random.default_rng(seed + 90).permutation(24)
    found = matched(old, moved(old, turn, shift, order=order))
    (motion,) = found.motions
    assert np.allclose(motion.turn, turn, atol=1e-9)
    assert np.allclose(motion.shift, shift, atol=1e-6)
    assert found.count == 24
    assert [int(order[j]) for j in found.pairs[0]] == list(range(24))


def test_numbers_rounded_by_a_file_hardly_tilt_the_motion() -> None:
    """Three anchors alone would tilt it by their rounding over their distance; all the faces together do less."""
    old, turn = marks(60, 11), turn_of(61)
    new = moved(old, turn, np.array([5.0, 6.0, 7.0]))
    draw = np.random.default_rng(4)
    found = matched(old, new._replace(points=new.points + draw.uniform(-5e-4, 5e-4, (60, 3))))
    (motion,) = found.motions
    assert found.count == 60
    assert np.abs(motion.turn - turn).max() < 1e-5


@pytest.mark.parametrize("seed", range(4))
def test_a_mirror_image_is_never_taken_for_the_part(seed: int) -> None:
    old = marks(24, seed)
    mirror = np.diag([1.0, 1.0, -1.0])
    found = matched(old, moved(old, mirror, np.zeros(3)))
    assert found.count < 12


def test_faces_in_one_plane_are_not_turned_over_to_fit_their_mirror_image() -> None:
    """Only the way they look tells the two apart: a flip lays every middle on its like and turns every face over."""
    old = marks(16, 5)
    old = old._replace(
        labels=np.array(["plane"] * 16), sizes=np.zeros((16, 2)), axes=np.tile([0.0, 0.0, 1.0], (16, 1)),
        points=old.points * [1.0, 1.0, 0.0], origins=old.points * [1.0, 1.0, 0.0], signed=np.ones(16, np.bool_),
    )  # fmt: skip
    assert matched(old, moved(old, np.eye(3), np.array([4.0, 0.0, 0.0]))).count == 16
    assert matched(old, moved(old, np.diag([-1.0, 1.0, 1.0]), np.zeros(3))).count < 8


def test_surfaces_that_were_moved_alone_are_the_ones_without_partner() -> None:
    old = marks(20, 3)
    new = moved(old, turn_of(8), np.array([1.0, 2.0, 3.0]))
    new.points[4] += [0.0, 5.0, 0.0]
    new.points[11] += [1.0, 0.0, 0.0]
    found = matched(old, new)
    assert len(found.motions) == 1
    assert [i for i in range(20) if found.pairs[0][i] < 0] == [4, 11]


def box_marks(x: float, y: float, z: float) -> Marks:
    size = np.array([x, y, z])
    axes = np.concatenate([np.eye(3), -np.eye(3)])
    areas = np.array([y * z, x * z, x * y] * 2)
    points = 0.5 * axes * size
    return Marks(
        labels=np.array(["plane"] * 6), sizes=np.zeros((6, 2)), areas=areas, points=points, origins=points, axes=axes,
        signed=np.ones(6, np.bool_),
    )  # fmt: skip


@pytest.mark.parametrize(("size", "ways"), [((10.0, 20.0, 30.0), 4), ((10.0, 10.0, 30.0), 8), ((10.0, 10.0, 10.0), 24)])
def test_every_way_in_which_a_block_fits_itself_is_named(size: tuple[float, float, float], ways: int) -> None:
    """Worked: a brick has 4 turns onto itself, a square bar 8, a cube 24."""
    found = matched(box_marks(*size), moved(box_marks(*size), turn_of(2), np.array([5.0, 0.0, 0.0])))
    assert len(found.motions) == ways
    assert all(abs(np.linalg.det(motion.turn) - 1.0) < 1e-9 for motion in found.motions)


def test_a_round_part_is_known_again_though_it_may_turn() -> None:
    """All middles lie on one line: any turn about it is as good as another."""
    points = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 5.0], [0.0, 0.0, 12.0]])
    axes = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, 1.0], [0.0, 0.0, 1.0]])
    old = Marks(
        labels=np.array(["plane", "cylinder out", "plane"]), sizes=np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 0.0]]),
        areas=np.array([50.0, 300.0, 60.0]), points=points, origins=points, axes=axes,
        signed=np.array([True, False, True]),
    )  # fmt: skip
    found = matched(old, moved(old, turn_of(5), np.array([9.0, 9.0, 9.0])))
    assert found.count == 3


def test_a_plane_that_grew_is_found_by_its_place_and_not_by_its_outline() -> None:
    old = box_marks(10.0, 20.0, 30.0)
    new = old._replace(areas=old.areas * 1.5, points=old.points + [[0.0, 1.0, 0.0]] * 6, origins=old.points.copy())
    still = Motion(np.eye(3), np.zeros(3))
    assert on_surface(old, 0, new, still).tolist() == [0]
    tilted = Motion(np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]), np.zeros(3))
    assert on_surface(old, 0, new, tilted).tolist() == []
    assert math.isclose(float(np.trace(tilted.turn)), 1.0)
