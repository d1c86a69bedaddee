"""Metal taken by a move, against forms that can be computed by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.fields import Fields
from proveout.removal.kernels.reach import met_tiles
from proveout.removal.kernels.tiles import TILE_SIDE
from proveout.removal.sweeping import cut, overlap_mm

UP = np.array([0.0, 0.0, 1.0])


def frustum(z_low: float, z_high: float, r_low: float, r_high: float) -> Piece:
    return Piece(kind="frustum", z_low_mm=z_low, z_high_mm=z_high, r_low_mm=r_low, r_high_mm=r_high)


def ball(radius: float) -> Piece:
    return Piece(kind="ball", z_low_mm=0.0, z_high_mm=2.0 * radius, r_low_mm=radius, r_high_mm=radius)


FLAT = (frustum(0.0, 30.0, 3.0, 3.0),)
DRILL = (frustum(0.0, 1.5, 0.0, 2.5), frustum(1.5, 40.0, 2.5, 2.5))
BALL_NOSE = (ball(3.0), frustum(3.0, 30.0, 3.0, 3.0))


def block(pitch: float = 0.25, high: tuple[float, float, float] = (40.0, 20.0, 10.0)) -> Fields:
    return Fields.from_box(low_mm=np.zeros(3), high_mm=np.array(high), pitch_mm=pitch)


def one_move(
    fields: Fields, pieces: tuple[Piece, ...], start: object, end: object, axis: np.ndarray = UP
) -> np.ndarray:
    return cut(fields, pieces=pieces, axis=axis, starts_mm=np.array([start], float), ends_mm=np.array([end], float))[0]


def new_ends(fields: Fields, k: int) -> np.ndarray:
    """Points (n, 3) of field k at which intervals end inside the box: the cut surface."""
    points = fields.surface_points_mm()
    first = 2 * int(sum(int(fields.counts[j].sum()) for j in range(k)))
    points = points[first : first + 2 * int(fields.counts[k].sum())]
    inner = (points[:, k] > fields.low_mm[k]) & (points[:, k] < fields.high_mm[k])
    return points[inner]


def demand_balance(fields: Fields, removed: np.ndarray) -> None:
    blank = float(np.prod(fields.high_mm - fields.low_mm))
    np.testing.assert_allclose(fields.volume_mm3() + removed, blank, rtol=1e-11)


def test_a_flat_cutter_leaves_a_slot_of_width_times_depth_times_length() -> None:
    """Worked: 6 wide, 4 deep, 40 long = 960 mm3, exact in all three fields as 0.25 divides width and depth."""
    fields = block()
    removed = one_move(fields, FLAT, (-4.0, 10.0, 6.0), (44.0, 10.0, 6.0))
    np.testing.assert_allclose(removed, 960.0, rtol=1e-12)
    demand_balance(fields, removed)


@pytest.mark.parametrize("pitch", [0.13, 0.31, 0.77, 1.9])
def test_walls_are_exact_at_any_pitch(pitch: float) -> None:
    """The pitch decides what can be missed, never where a wall lies."""
    fields = block(pitch)
    one_move(fields, FLAT, (-4.0, 10.0, 6.0), (44.0, 10.0, 6.0))
    walls = new_ends(fields, 1)[:, 1]
    assert walls.size > 0
    assert np.abs(np.abs(walls - 10.0) - 3.0).max() < 1e-9
    floor = new_ends(fields, 2)[:, 2]
    assert floor.size > 0
    assert np.abs(floor - 6.0).max() < 1e-9


def test_a_drill_leaves_its_cone_and_its_cylinder() -> None:
    """Worked: pi 2.5^2 (6 - 1.5) + pi 2.5^2 1.5 / 3 = 98.17 mm3; every point of the wall lies on cone or cylinder."""
    fields = block(0.1)
    removed = one_move(fields, DRILL, (20.0, 10.0, 15.0), (20.0, 10.0, 4.0))
    exact = math.pi * 2.5**2 * 4.5 + math.pi * 2.5**2 * 1.5 / 3.0
    np.testing.assert_allclose(removed[:2], exact, rtol=2e-3)
    np.testing.assert_allclose(removed[2], exact, rtol=5e-3)  # counts whole cells of a circle 25 cells in radius
    demand_balance(fields, removed)
    for k in range(3):
        points = new_ends(fields, k)
        radii = np.hypot(points[:, 0] - 20.0, points[:, 1] - 10.0)
        heights = points[:, 2] - 4.0
        assert len(points) > 1000
        assert np.abs(radii - np.where(heights < 1.5, 2.5 * heights / 1.5, 2.5)).max() < 1e-9


def test_a_ball_nose_leaves_a_round_groove() -> None:
    """Worked: half a circle of radius 3 and a strip of 6 x 1, times 40: (pi 9 / 2 + 6) 40 = 805.5 mm3."""
    fields = block(0.1)
    removed = one_move(fields, BALL_NOSE, (-9.0, 10.0, 6.0), (49.0, 10.0, 6.0))
    np.testing.assert_allclose(removed, (math.pi * 9.0 / 2.0 + 6.0) * 40.0, rtol=2e-3)
    demand_balance(fields, removed)
    for k in (1, 2):
        points = new_ends(fields, k)
        below = points[points[:, 2] < 9.0]
        assert len(below) > 1000
        assert np.abs(np.hypot(below[:, 1] - 10.0, below[:, 2] - 9.0) - 3.0).max() < 1e-9


def test_an_undercut_leaves_its_own_profile_under_the_overhang() -> None:
    """A dovetail cutter 4 mm high, radius 4 below and 2 above, driven below the top face of the block."""
    fields = block(0.2)
    dovetail = (frustum(0.0, 4.0, 4.0, 2.0), frustum(4.0, 20.0, 1.0, 1.0))
    removed = one_move(fields, dovetail, (-9.0, 10.0, 3.0), (49.0, 10.0, 3.0))
    section = (8.0 + 4.0) / 2.0 * 4.0 + 2.0 * 3.0
    np.testing.assert_allclose(removed, section * 40.0, rtol=5e-3)
    demand_balance(fields, removed)
    points = new_ends(fields, 1)
    heights = points[:, 2] - 3.0
    half_widths = np.where(heights < 4.0, 4.0 - 0.5 * heights, 1.0)
    assert np.abs(np.abs(points[:, 1] - 10.0) - half_widths).max() < 1e-9
    covered = fields.counts[2] == 2
    assert np.any(covered), "metal stands over the undercut"


def test_a_tilted_drill_goes_through_at_its_angle() -> None:
    """Worked: a cylinder of radius 3 through 10 mm of plate at 30 degrees has pi 9 10 / cos 30 = 326.5 mm3."""
    fields = block(0.1)
    angle = math.radians(30.0)
    axis = np.array([math.sin(angle), 0.0, math.cos(angle)])
    middle = np.array([20.0, 10.0, 5.0])
    removed = one_move(fields, FLAT, middle + 20.0 * axis, middle - 12.0 * axis, axis)
    np.testing.assert_allclose(removed, math.pi * 9.0 * 10.0 / math.cos(angle), rtol=2e-3)
    for k in range(3):
        offset = new_ends(fields, k) - middle
        across = np.linalg.norm(offset - (offset @ axis)[:, None] * axis, axis=1)
        assert len(across) > 1000
        assert np.abs(across - 3.0).max() < 1e-9


def test_a_cutter_tilted_sideways_planes_an_inclined_floor() -> None:
    """Every point of the floor lies on the plane through the tip across the axis."""
    fields = block(0.3)
    axis = np.array([0.0, 0.6, 0.8])
    one_move(fields, FLAT, (-5.0, 10.0, 6.0), (45.0, 10.0, 6.0), axis)
    points = new_ends(fields, 2)
    heights = (points - np.array([0.0, 10.0, 6.0])) @ axis
    aside = (points - np.array([0.0, 10.0, 6.0])) @ np.array([0.0, 0.8, -0.6])
    assert np.minimum(np.abs(heights), np.abs(np.abs(aside) - 3.0)).max() < 1e-9


def test_no_cut_is_lost_when_a_ray_needs_more_intervals_than_it_has_room_for() -> None:
    """A disc of 0.2 mm cuts 48 slots: rays across them end with 49 intervals."""
    fields = block(1.0)
    disc = (frustum(0.0, 0.2, 12.0, 12.0),)
    levels = 0.1 + 0.2 * np.arange(48)
    levels = np.random.default_rng(5).permutation(levels)[:, None]
    starts = np.hstack([np.full((48, 1), -15.0), np.full((48, 1), 10.0), np.zeros((48, 1))])
    starts[:, 2:] = levels
    ends = starts + np.array([70.0, 0.0, 0.0])
    every_other = np.sort(np.argsort(levels[:, 0])[::2])
    removed = cut(fields, pieces=disc, axis=UP, starts_mm=starts[every_other], ends_mm=ends[every_other])
    assert fields.counts[2].min() == 25
    assert fields.spans[2].shape[1] >= 25
    np.testing.assert_allclose(removed[:, 2], 0.2 * 40.0 * 20.0, rtol=1e-9)
    demand_balance(fields, removed.sum(axis=0))


def random_moves(seed: int, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    draw = np.random.default_rng(seed)
    starts = draw.uniform((-2.0, -2.0, 2.0), (42.0, 22.0, 12.0), (count, 3))
    axis = draw.normal(size=3) * 0.3 + UP
    return axis / np.linalg.norm(axis), starts, starts + draw.uniform(-4.0, 4.0, (count, 3))


def test_removed_plus_left_is_the_blank_in_every_field() -> None:
    fields = block(0.5)
    removed = np.zeros(3)
    for seed, pieces in enumerate((FLAT, DRILL, BALL_NOSE, (frustum(0.0, 2.0, 1.0, 4.0),))):
        axis, starts, ends = random_moves(seed, 40)
        removed += cut(fields, pieces=pieces, axis=axis, starts_mm=starts, ends_mm=ends).sum(axis=0)
        demand_balance(fields, removed)
    assert removed.min() > 100.0


def test_a_move_made_again_removes_nothing() -> None:
    fields = block(0.5)
    axis, starts, ends = random_moves(11, 30)
    first = cut(fields, pieces=BALL_NOSE, axis=axis, starts_mm=starts, ends_mm=ends)
    digest = fields.digest()
    again = cut(fields, pieces=BALL_NOSE, axis=axis, starts_mm=starts, ends_mm=ends)
    assert first.sum() > 0.0
    assert again.max() == 0.0
    assert fields.digest() == digest


def test_the_order_of_two_moves_does_not_change_what_is_left() -> None:
    one, other = block(0.5), block(0.5)
    apart = (np.array([[5.0, 5.0, 6.0], [30.0, 14.0, 4.0]]), np.array([[9.0, 6.0, 6.0], [25.0, 15.0, 4.0]]))
    first = cut(one, pieces=BALL_NOSE, axis=UP, starts_mm=apart[0], ends_mm=apart[1])
    second = cut(other, pieces=BALL_NOSE, axis=UP, starts_mm=apart[0][::-1], ends_mm=apart[1][::-1])
    assert one.digest() == other.digest()
    assert np.array_equal(first, second[::-1])
    assert first.min() > 0.0


@pytest.mark.parametrize("threads", [2, 5])
def test_the_number_of_threads_changes_no_bit(threads: int) -> None:
    results = []
    for count in (1, threads):
        fields = block(0.4)
        axis, starts, ends = random_moves(2, 60)
        removed = cut(fields, pieces=BALL_NOSE, axis=axis, starts_mm=starts, ends_mm=ends, threads_count=count)
        results.append((fields.digest(), removed.tobytes()))
    assert results[0] == results[1]


def test_a_program_in_parts_gives_the_bits_of_the_whole() -> None:
    whole, parts = block(0.4), block(0.4)
    axis, starts, ends = random_moves(6, 50)
    at_once = cut(whole, pieces=FLAT, axis=axis, starts_mm=starts, ends_mm=ends)
    in_turn = [
        cut(parts, pieces=FLAT, axis=axis, starts_mm=starts[part], ends_mm=ends[part])
        for part in (slice(0, 7), slice(7, 8), slice(8, 50))
    ]
    assert np.array_equal(at_once, np.concatenate(in_turn))
    assert whole.digest() == parts.digest()


def test_overlap_is_the_longest_metal_on_a_ray_and_leaves_the_work_alone() -> None:
    """Worked: a shank of radius 3 that passes 4 mm below the top meets 4 mm upright and 40 mm lengthwise."""
    fields = block()
    digest = fields.digest()
    starts = np.array([[-9.0, 10.0, 6.0], [-9.0, 10.0, 10.5], [20.0, 10.0, 6.0]])
    ends = np.array([[49.0, 10.0, 6.0], [49.0, 10.0, 10.5], [20.0, 10.0, 6.0]])
    found = overlap_mm(fields, pieces=FLAT, axis=UP, starts_mm=starts, ends_mm=ends)
    assert found[0] == pytest.approx(40.0, abs=1e-9)
    assert found[1] == 0.0
    assert 5.9 < found[2] <= 6.0
    assert fields.digest() == digest
    cut(fields, pieces=FLAT, axis=UP, starts_mm=starts, ends_mm=ends)
    assert overlap_mm(fields, pieces=FLAT, axis=UP, starts_mm=starts, ends_mm=ends).max() == 0.0


def test_wrong_input_is_refused_in_words() -> None:
    fields = block(1.0)
    point = np.zeros((1, 3))
    with pytest.raises(OutOfRange, match="unit length"):
        cut(fields, pieces=FLAT, axis=2.0 * UP, starts_mm=point, ends_mm=point)
    with pytest.raises(BadInput, match="shape"):
        cut(fields, pieces=FLAT, axis=UP, starts_mm=point, ends_mm=np.zeros((2, 3)))
    with pytest.raises(BadInput, match="not a finite number"):
        cut(fields, pieces=FLAT, axis=UP, starts_mm=point * np.nan, ends_mm=point)
    with pytest.raises(BadInput, match="without pieces"):
        cut(fields, pieces=(), axis=UP, starts_mm=point, ends_mm=point)
    with pytest.raises(OutOfRange, match="pitch"):
        block(0.0)
    with pytest.raises(OutOfRange, match="low corner"):
        block(1.0, (4.0, -1.0, 4.0))
    assert cut(fields, pieces=FLAT, axis=UP, starts_mm=np.zeros((0, 3)), ends_mm=np.zeros((0, 3))).shape == (0, 3)


def test_the_tiles_run_are_those_that_a_rectangle_meets() -> None:
    """Worked: 3 by 4 tiles of 32 rays: (30..33, 0..1) lies in two, an empty one in none, (64..96, 96..97) in one."""
    rectangles = np.array([[[30, 33, 0, 1]], [[5, 5, 0, 90]], [[64, 96, 96, 97]]])
    assert TILE_SIDE == 32
    assert met_tiles(rectangles, 3, 4, TILE_SIDE).tolist() == [0, 4, 11]


@pytest.mark.parametrize("along", [(2,), (0, 1), (1,)])
def test_fields_along_some_axes_are_cut_as_all_are_and_the_others_left(along: tuple[int, ...]) -> None:
    """No field asks another: what is cut alone is bit for bit what is cut beside the others."""
    moves = {"pieces": BALL_NOSE, "axis": UP, "starts_mm": np.array([[-4.0, 9.0, 6.0], [20.0, -4.0, 3.0]]),
             "ends_mm": np.array([[44.0, 11.0, 5.0], [21.0, 24.0, 3.0]])}  # fmt: skip
    every, some, untouched = block(), block(), block()
    removed, less = cut(every, **moves), cut(some, **moves, along=along)
    for k in range(3):
        wanted = every if k in along else untouched
        assert (some.counts[k] == wanted.counts[k]).all()
        assert some.spans[k].shape == wanted.spans[k].shape
        assert (some.spans[k] == wanted.spans[k]).all()
        assert (less[:, k] == (removed[:, k] if k in along else 0.0)).all()
        assert (removed[:, k] > 0.0).all()
