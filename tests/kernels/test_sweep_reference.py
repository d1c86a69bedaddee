"""The ray's interval in a sweep against a plain search that knows no candidate lines.

phi(s, t) = how far the ray's point lies outside the piece at t, negative inside. All kinds of piece are convex, so
phi is convex, its least value over t is found by shrinking a bracket, and the sweep is where that value is <= 0.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest

from proveout.removal.kernels.rays import _quadric, ray_intervals
from proveout.removal.kernels.reach import row_ends, sweep_box, sweep_rectangles
from proveout.removal.kernels.rounds import far_end, round_end, round_forms, slow_end
from proveout.removal.kernels.sweep import LINE_WIDTH, LINES_MAX, move_frame, sweep_lines
from proveout.removal.kernels.upright import GENERAL, PLAN_WIDTH, upright_intervals, upright_plan

CYLINDER = (0.0, 0.0, 9.0, 3.0, 3.0)
POINT = (0.0, 0.0, 1.5, 0.0, 3.0)
WIDENING = (0.0, 1.0, 4.0, 1.0, 3.5)
NARROWING = (0.0, -1.0, 3.0, 4.0, 0.5)
TOP = (0.0, 2.0, 3.0, 2.0, 0.0)
BALL = (1.0, 0.0, 5.0, 2.5, 2.5)
HIGH_BALL = (1.0, 3.0, 7.0, 2.0, 2.0)
CORNER = (2.0, 0.0, 2.0, 3.0, 4.0)
HIGH_CORNER = (2.0, 1.0, 4.0, 0.5, 2.0)
ALL_CORNER = (2.0, 0.0, 5.0, 0.0, 2.5)  # a ring of radius 0: a ball
PIECES = (CYLINDER, POINT, WIDENING, NARROWING, TOP, BALL, HIGH_BALL, CORNER, HIGH_CORNER, ALL_CORNER)
STRAIGHT = np.zeros(5)


def outside_by(piece: tuple[float, ...], axis: np.ndarray, points: np.ndarray) -> np.ndarray:
    """phi of points (n, 3) given from the tip."""
    kind, z_low, z_high, r_low, r_high = piece
    heights = points @ axis
    if kind == 1.0:
        return np.linalg.norm(points - 0.5 * (z_low + z_high) * axis, axis=1) - r_low
    across = np.linalg.norm(points - heights[:, None] * axis, axis=1)
    if kind == 2.0:
        return np.hypot(np.maximum(across - r_low, 0.0), heights - 0.5 * (z_low + z_high)) - 0.5 * (z_high - z_low)
    radii = r_low + (r_high - r_low) * (heights - z_low) / (z_high - z_low)
    return np.maximum.reduce([across - radii, z_low - heights, heights - z_high])


def least_outside_by(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, points: np.ndarray
) -> np.ndarray:
    """phi at its least over t, for points (n, 3); golden section, all points at once."""
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    low = np.zeros(len(points))
    high = np.ones(len(points))

    def at(t: np.ndarray) -> np.ndarray:
        return outside_by(piece, axis, points - start - t[:, None] * (end - start))

    for _ in range(62):
        one = high - golden * (high - low)
        two = low + golden * (high - low)
        left = at(one) < at(two)
        high = np.where(left, two, high)
        low = np.where(left, low, one)
    return np.minimum.reduce([at(low), at(high), at(np.zeros_like(low)), at(np.ones_like(low))])


def by_lines(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, u: float, v: float
) -> tuple[float, float]:
    lines = np.zeros((LINES_MAX, LINE_WIDTH))
    strip = np.empty(2)
    count = sweep_lines(np.array(piece), axis, start, end, ray_axis, np.empty((3, 3)), np.empty((4, 4)), lines, strip)
    low, high, one, two = np.empty((4, 1))
    ray_intervals(lines, count, strip, np.array([u]), np.array([v]), low, high, one, two)
    return float(low[0]), float(high[0])


def by_round(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, u: float, v: float
) -> tuple[float, float]:
    """A round corner's interval from its cylinder's, as the tiles do it."""
    _, z_low, z_high, ring, radius = piece
    outer_low, outer_high = by_lines((0.0, z_low, z_high, radius, radius), axis, start, end, ray_axis, u, v)
    if outer_low >= outer_high:
        return math.inf, -math.inf
    frame, forms = np.empty((3, 3)), np.empty((3, 4))
    across, along = move_frame(axis, start, end, frame)
    round_forms(np.array(piece), frame, ray_axis, forms)
    low, high = (
        round_end(
            forms, across, along, ring, 0.5 * (z_high - z_low), u, v, outer_low, outer_high, toward, np.empty((3, 3))
        )
        for toward in (-1.0, 1.0)
    )
    assert math.isnan(low) == math.isnan(high)
    return (math.inf, -math.inf) if math.isnan(low) else (low, high)


def by_plan(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, u: float, v: float
) -> tuple[float, float] | None:
    """The closed form of an upright cutter; None where it does not serve."""
    plan = np.zeros(PLAN_WIDTH)
    mode = upright_plan(np.array(piece), axis, start, end, STRAIGHT, ray_axis, plan)
    if mode == GENERAL:
        return None
    low, high, more_low, more_high, radius = np.empty((5, 1))
    assert upright_intervals(mode, plan, np.array([u]), np.array([v]), low, high, more_low, more_high, radius) == 1
    return float(low[0]), float(high[0])


def kernel_interval(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, point: np.ndarray
) -> tuple[float, float]:
    u_axis, v_axis = (ray_axis + 1) % 3, (ray_axis + 2) % 3
    u, v = float(point[u_axis] - start[u_axis]), float(point[v_axis] - start[v_axis])
    low, high = (by_round if piece[0] == 2.0 else by_lines)(piece, axis, start, end, ray_axis, u, v)
    upright = by_plan(piece, axis, start, end, ray_axis, u, v)
    if upright is not None:
        assert (upright[0] > upright[1]) == (low > high) or abs(high - low) < 1e-6
        if low <= high:
            assert upright == pytest.approx((low, high), abs=1e-7)
            low, high = upright
    return low + start[ray_axis], high + start[ray_axis]


def demand_exact(
    piece: tuple[float, ...], axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, point: np.ndarray
) -> bool:
    """Ends lie inside, a hair beyond the ends lies outside; a ray said to miss is nowhere inside. Returns hit."""
    low, high = kernel_interval(piece, axis, start, end, ray_axis, point)
    direction = np.eye(3)[ray_axis]
    foot = point - point[ray_axis] * direction
    if low > high:
        samples = foot + np.linspace(-15.0, 15.0, 301)[:, None] * direction
        assert least_outside_by(piece, axis, start, end, samples).min() > -1e-9
        return False
    inside = np.array([low, 0.5 * (low + high), high])
    assert least_outside_by(piece, axis, start, end, foot + inside[:, None] * direction).max() < 1e-9
    hair = 1e-6
    beyond = np.array([low - hair, high + hair, low - 0.01, high + 0.01])
    assert least_outside_by(piece, axis, start, end, foot + beyond[:, None] * direction).min() > -1e-11
    box = np.empty((2, 3))
    sweep_box(np.array(piece), axis, start, end, STRAIGHT, box)
    ends = np.array([foot + low * direction, foot + high * direction])
    assert np.all(ends >= box[0] - 1e-9)
    assert np.all(ends <= box[1] + 1e-9)
    return True


def unit(vector: np.ndarray) -> np.ndarray:
    return vector / np.linalg.norm(vector)


@pytest.mark.parametrize("piece", PIECES)
def test_any_axis_and_any_move_agree_with_the_search(piece: tuple[float, ...]) -> None:
    draw = np.random.default_rng(7)
    hits = 0
    for _ in range(60):
        axis = unit(draw.normal(size=3))
        start = draw.uniform(-2.0, 2.0, 3)
        end = start + draw.uniform(-6.0, 6.0, 3)
        near = start + draw.uniform() * (end - start) + 0.5 * (piece[1] + piece[2]) * axis
        hits += demand_exact(piece, axis, start, end, int(draw.integers(3)), near + draw.uniform(-3.0, 3.0, 3))
    assert hits > 20


AXES = (np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, -1.0]), np.array([1.0, 0.0, 0.0]), np.array([0.6, 0.0, 0.8]))
MOVES = (
    np.zeros(3),
    np.array([0.0, 0.0, 4.0]),
    np.array([0.0, 0.0, -4.0]),
    np.array([5.0, 0.0, 0.0]),
    np.array([3.0, -4.0, 0.0]),
    np.array([0.6, 0.0, 0.8]) * 5.0,
    np.array([1e-9, 0.0, 3.0]),
    np.array([1e-13, 1e-13, -1e-13]),
    np.array([3.0, 0.0, 1e-10]),
    np.array([2.0, 0.0, 2.0]),  # along a generator of the 45 degree pieces
)


@pytest.mark.parametrize(("piece", "axis"), tuple(product((*PIECES, (0.0, 0.0, 3.0, 0.0, 3.0)), AXES)))
def test_moves_along_the_axis_of_no_length_and_rays_along_the_axis(piece: tuple[float, ...], axis: np.ndarray) -> None:
    """The cases in which a formula of its own divides by nothing; they are the commonest moves of all."""
    start = np.array([0.31, -0.17, 0.23])
    hits = 0
    middle = start + 0.5 * (piece[1] + piece[2]) * axis
    for number, (move, ray_axis) in enumerate(product(MOVES, range(3))):
        beside = np.array([0.2, -0.3, 0.1]) if number % 2 else np.array([-0.9, 1.1, 1.3])
        hits += demand_exact(piece, axis, start, start + move, ray_axis, middle + beside)
    assert hits > 10


def test_a_ray_along_a_generator_of_a_cone_ends_where_the_cone_does() -> None:
    """The square term is 0 there, or a rounding of it."""
    low, high = kernel_interval(
        (0.0, 0.0, 3.0, 0.0, 3.0),
        unit(np.array([1.0, 0.0, 1.0])),
        np.zeros(3),
        np.zeros(3),
        2,
        np.array([0.5, 0.0, 0.0]),
    )
    # worked: at y = 0 the 45 degree cone about (1, 0, 1) is the quarter x, z >= 0, cut off by x + z = 3 sqrt 2
    assert low == pytest.approx(0.0, abs=1e-9)
    assert high == pytest.approx(3.0 * math.sqrt(2.0) - 0.5, abs=1e-9)


@pytest.mark.parametrize("square", [0.0, 1e-18, -1e-18, 1e-9, -1e-9])
def test_a_square_term_of_nothing_or_next_to_nothing_leaves_the_near_root(square: float) -> None:
    """Worked: 2 m - 4 <= 0 is m <= 2; on the other nappe -2 m - 4 <= 0 is m >= -2."""
    inverse = 1.0 / square if square else 0.0
    low, high = _quadric(square, inverse, 1.0, -4.0, -1.0)
    assert low < -1e8
    assert high == pytest.approx(2.0, abs=1e-8)
    low, high = _quadric(square, inverse, -1.0, -4.0, 1.0)
    assert low == pytest.approx(-2.0, abs=1e-8)
    assert high > 1e8


@pytest.mark.parametrize("trace", [0.0, 1e-11, 1e-7])
def test_a_move_along_a_slanting_axis_with_a_trace_across(trace: float) -> None:
    """A plunge at a tilt, rounded as a program rounds it: what is across the axis is mostly rounding."""
    axis = unit(np.array([1.0, 2.0, 3.0]))
    start = np.array([0.3, -0.4, 0.2])
    end = start - 7.0 * axis + trace * unit(np.array([3.0, 0.0, -1.0]))
    for piece, ray_axis in product((CYLINDER, WIDENING, BALL), range(3)):
        middle = start - 3.0 * axis + 0.5 * (piece[1] + piece[2]) * axis
        assert demand_exact(piece, axis, start, end, ray_axis, middle + np.array([0.3, 0.2, -0.4]))


def random_forms(seed: int, count: int) -> list[tuple[np.ndarray, float, float]]:
    """x, y, z of rays near a moving round corner as (constant, per s, per t), with ring and rounding."""
    draw = np.random.default_rng(seed)
    found = []
    for number in range(count):
        ring, rounding = draw.uniform(0.0, 6.0), draw.uniform(0.2, 2.5)
        axis = np.array([0.0, 0.0, 1.0]) if number % 3 == 0 else unit(draw.normal(size=3))
        forward = unit(np.cross(axis, draw.normal(size=3)))
        ray = np.eye(3)[int(draw.integers(3))]
        length = float(draw.choice([0.0, 0.02, 2.0, 60.0]))
        along = float(draw.choice([0.0, -0.05, 1.0])) * length
        near = draw.uniform(-1.0, 1.0, 3) * 1.1 * (ring + rounding) + forward * length * draw.uniform()
        frame = np.array([forward, np.cross(axis, forward), axis])
        form = np.column_stack([frame @ near, frame @ ray, [-length, 0.0, -along]])
        found.append((form, ring, rounding))
    return found


def test_the_quick_end_of_a_round_corner_is_that_of_the_slow_search() -> None:
    """The stated bound is 1e-9 mm; no ray of these needs the slow search."""
    hits = 0
    for form, ring, rounding in random_forms(3, 400):
        quick, certain = far_end(form, ring, rounding, -100.0, 100.0)
        slow = slow_end(form, ring, rounding, -100.0, 100.0)
        assert certain
        assert (quick == -math.inf) == (slow == -math.inf)
        if slow != -math.inf:
            hits += 1
            assert quick == pytest.approx(slow, abs=2e-9)
    assert 100 < hits < 350


def test_a_ray_that_grazes_a_round_corner_is_found_or_missed_within_the_bound() -> None:
    """Worked: at height 0 the corner's radius is ring + rounding = 4; a ray beside it by e has a chord of sqrt(8 e)."""
    for aside in (0.0, 1e-12, 1e-9, 1e-6, 1e-3):
        form = np.array([[4.0 - aside, 0.0, 0.0], [0.0, 1.0, -2.0], [0.0, 0.0, 0.0]])
        for toward in (1.0, -1.0):
            form[1, 1] = toward
            found = far_end(form, 3.0, 1.0, -50.0, 50.0)[0]
            if math.isnan(found):
                found = slow_end(form, 3.0, 1.0, -50.0, 50.0)
            chord = math.sqrt(8.0 * aside - aside * aside)
            end = chord + 2.0 if toward > 0.0 else chord
            assert found == pytest.approx(end, abs=3e-5 if aside < 1e-9 else 1e-6)
    form = np.array([[4.0 + 1e-9, 0.0, 0.0], [0.0, 1.0, -2.0], [0.0, 0.0, 0.0]])
    found = far_end(form, 3.0, 1.0, -50.0, 50.0)[0]
    assert (slow_end(form, 3.0, 1.0, -50.0, 50.0) if math.isnan(found) else found) == -math.inf


@pytest.mark.parametrize("piece", PIECES)
def test_no_ray_that_meets_a_sweep_is_left_out_by_box_and_strip(piece: tuple[float, ...]) -> None:
    """Points of the moving piece's surface lie on rays that the rectangle and the strip both keep."""
    draw = np.random.default_rng(17)
    rays, grid = 400, np.array([-19.95, 0.1, -19.95, 0.1])
    for _ in range(20):
        axis = unit(draw.normal(size=3))
        start, way = draw.uniform(-3.0, 3.0, 3), draw.uniform(-6.0, 6.0, 3)
        ray_axis = int(draw.integers(3))
        rectangles = np.empty((1, 1, 4), dtype=np.int64)
        reaches, strips = np.empty((1, 1, 2)), np.empty((1, 1, 4))
        sweep_rectangles(
            np.array([piece]), axis, start[None], (start + way)[None], np.zeros((1, 5)), ray_axis, grid, rays, rays,
            rectangles, reaches, strips,
        )  # fmt: skip
        points = draw.uniform(-8.0, 8.0, (20000, 3))
        inside = points[outside_by(piece, axis, points) <= 0.0]
        assert len(inside) > 10
        moved = inside[:300] + start + draw.uniform(size=(len(inside[:300]), 1)) * way
        for point in moved:
            i = round((point[(ray_axis + 1) % 3] - grid[0]) / grid[1])
            j = round((point[(ray_axis + 2) % 3] - grid[2]) / grid[3])
            assert rectangles[0, 0, 0] <= i < rectangles[0, 0, 1]
            begin, stop = row_ends(strips[0, 0], grid, i, rectangles[0, 0, 2], rectangles[0, 0, 3])
            assert begin <= j < stop
            assert reaches[0, 0, 0] <= point[ray_axis] <= reaches[0, 0, 1]
