"""Moves in time: against a stepwise simulation, and in their limits."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.motion.chain_time import chain_times_s
from proveout.motion.move_time import move_time_s, unequal_move_time_s
from proveout.quantities.errors import OutOfRange

CONTROL: dict[str, Any] = {
    "rapid_mm_per_s": 300.0,
    "accel_mm_per_s2": 3000.0,
    "stop_angle_rad": math.radians(100.0),
    "jump_mm_per_s": 5.0,
}
STEP_S = 5.0e-5


def chain_time_s(points: Any, feeds: Any, **control: Any) -> float:
    return float(chain_times_s(points, feeds, **control).sum())


def simulated_time_s(points: np.ndarray, feeds: np.ndarray) -> float:
    """Time of a polyline by small steps of time: at each one, brake as soon as a coming joint demands it."""
    rapid, accel, stop, jump = CONTROL.values()
    lengths = [math.dist(a, b) for a, b in itertools.pairwise(points)]
    caps = [min(feed, rapid) for feed in feeds[1:]]
    ends_at = np.cumsum(lengths)
    joint_speeds = []
    for i in range(len(lengths) - 1):
        first = (points[i + 1] - points[i]) / lengths[i]
        second = (points[i + 2] - points[i + 1]) / lengths[i + 1]
        turn = math.acos(min(1.0, max(-1.0, float(first @ second))))
        change = float(np.linalg.norm(second - first))
        speed = 0.0 if turn >= stop else min(caps[i], caps[i + 1], jump / change if change > 1e-9 else math.inf)
        joint_speeds.append(speed)
    joint_speeds.append(0.0)
    place = speed = time = 0.0
    move = 0
    while move < len(lengths):
        left = ends_at[move:] - place
        reachable = np.sqrt(np.array(joint_speeds[move:]) ** 2 + 2.0 * accel * left)
        speed = min(speed + accel * STEP_S, caps[move], float(reachable.min()))
        speed = max(speed, 0.5 * accel * STEP_S)
        place += speed * STEP_S
        time += STEP_S
        while move < len(lengths) and place >= ends_at[move]:
            move += 1
            # a joint passed a little early or late is passed at its own speed
            speed = min(speed, max(joint_speeds[move - 1], accel * STEP_S))
    return time


@pytest.mark.parametrize("seed", range(6))
def test_program_time_matches_a_simulation_in_small_steps(seed: int) -> None:
    random = np.random.default_rng(seed)
    count = 24
    if seed % 3 == 0:
        steps = random.normal(0.0, 10.0, (count, 3))  # sharp turns, some of them full stops
    else:
        # a winding path; every second one in moves shorter than the way to stop, with a sharp turn here and there
        sharp = random.choice([0.0, 2.0], count, p=[0.8, 0.2]) if seed % 3 == 2 else 0.0
        turns = np.cumsum(random.normal(0.0, 0.03 if seed % 3 == 2 else 0.5, count) + sharp)
        sizes = random.uniform(0.3, 1.0 if seed % 3 == 2 else 6.0, count)
        steps = sizes[:, None] * np.column_stack([np.cos(turns), np.sin(turns), 0.0 * turns])
    points = np.vstack([np.zeros(3), np.cumsum(steps, axis=0)])
    feeds = random.choice([15.0, 60.0, 120.0, np.inf], count + 1)
    assert chain_time_s(points, feeds, **CONTROL) == pytest.approx(simulated_time_s(points, feeds), rel=0.01)


def test_one_move_is_the_plain_trapezoid() -> None:
    found = chain_time_s([[0, 0, 0], [30, 40, 0]], [1.0, 100.0], **CONTROL)
    assert found == pytest.approx(move_time_s(distance_mm=50.0, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0))


def test_points_along_one_line_cost_nothing() -> None:
    line = np.column_stack([np.linspace(0.0, 50.0, 101), np.zeros(101), np.zeros(101)])
    found = chain_time_s(line, np.full(101, 100.0), **CONTROL)
    assert found == pytest.approx(move_time_s(distance_mm=50.0, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0), rel=1e-6)


def test_a_turn_beyond_the_stop_angle_stops() -> None:
    there_and_back = chain_times_s([[0, 0, 0], [50, 0, 0], [0, 0, 0]], [1.0, 100.0, 100.0], **CONTROL)
    alone = move_time_s(distance_mm=50.0, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0)
    assert there_and_back == pytest.approx([alone, alone])


def test_a_gentler_corner_is_no_slower() -> None:
    times = []
    for turn in np.radians([0.0, 5.0, 20.0, 45.0, 90.0, 99.0, 101.0, 150.0]):
        corner = [[0, 0, 0], [20, 0, 0], [20 + 20 * math.cos(turn), 20 * math.sin(turn), 0]]
        times.append(chain_time_s(corner, [1.0, 80.0, 80.0], **CONTROL))
    assert times == sorted(times)
    assert times[-1] > times[0] * 1.05


def test_a_move_of_no_length_takes_no_time_and_hides_no_corner() -> None:
    plain = chain_time_s([[0, 0, 0], [20, 0, 0], [20, 20, 0]], [1.0, 80.0, 80.0], **CONTROL)
    doubled = chain_times_s([[0, 0, 0], [20, 0, 0], [20, 0, 0], [20, 20, 0]], [1.0, 80.0, 80.0, 80.0], **CONTROL)
    assert doubled[1] == 0.0
    assert doubled.sum() == pytest.approx(plain)


def test_fewer_than_two_points_take_no_time() -> None:
    assert chain_time_s(np.zeros((1, 3)), [1.0], **CONTROL) == 0.0
    assert chain_times_s(np.zeros((0, 3)), [], **CONTROL).shape == (0,)


def test_each_axis_limits_the_moves_that_use_it() -> None:
    """Worked: along z 100 mm at 50 mm/s with 1000 mm/s2: 2 + 0.05 s; along x at 300 with 3000: 0.33333 + 0.1 s."""
    axes: dict[str, Any] = {
        **CONTROL,
        "rapid_mm_per_s": [300.0, 300.0, 50.0],
        "accel_mm_per_s2": [3000.0, 3000.0, 1000.0],
    }
    times = chain_times_s([[0, 0, 0], [0, 0, 100], [100, 0, 100]], [1.0, math.inf, math.inf], **axes)
    assert times.sum() < 2.05 + 0.1 + 100.0 / 300.0  # the corner is rounded off at jump speed
    stop: dict[str, Any] = {**axes, "stop_angle_rad": math.radians(60.0)}
    times = chain_times_s([[0, 0, 0], [0, 0, 100], [100, 0, 100]], [1.0, math.inf, math.inf], **stop)
    assert times == pytest.approx([2.05, 0.1 + 100.0 / 300.0])


def test_a_slanted_move_is_as_slow_as_its_slowest_axis() -> None:
    """Worked: 3-4-5 move of 500 mm; z share 0.8, so v = 50 / 0.8 = 62.5 and a = 1000 / 0.8 = 1250: 8.05 s."""
    found = chain_time_s(
        [[0, 0, 0], [300, 0, 400]],
        [1.0, math.inf],
        rapid_mm_per_s=[300.0, 300.0, 50.0],
        accel_mm_per_s2=[3000.0, 3000.0, 1000.0],
        stop_angle_rad=1.0,
        jump_mm_per_s=0.0,
    )
    assert found == pytest.approx(8.05)


@given(st.floats(0.001, 1000.0), st.floats(1.0, 500.0), st.floats(100.0, 1e4), st.floats(0.01, 100.0))
def test_move_time_in_other_units(distance: float, speed: float, accel: float, scale: float) -> None:
    plain = move_time_s(distance_mm=distance, speed_mm_per_s=speed, accel_mm_per_s2=accel)
    longer = move_time_s(distance_mm=distance * scale, speed_mm_per_s=speed * scale, accel_mm_per_s2=accel * scale)
    slower = move_time_s(distance_mm=distance, speed_mm_per_s=speed / scale, accel_mm_per_s2=accel / scale**2)
    assert longer == pytest.approx(plain, rel=1e-9)
    assert slower == pytest.approx(plain * scale, rel=1e-9)
    assert plain >= distance / speed
    same = unequal_move_time_s(distance_mm=distance, speed_mm_per_s=speed, accel_mm_per_s2=accel, decel_mm_per_s2=accel)
    assert same == pytest.approx(plain, rel=1e-9)


def test_program_time_is_the_same_backwards_and_for_a_million_moves_of_one_line() -> None:
    random = np.random.default_rng(3)
    points = np.cumsum(random.normal(0.0, 3.0, (200, 3)), axis=0)
    feeds = random.uniform(10.0, 200.0, 200)
    back = np.concatenate([[1.0], feeds[1:][::-1]])
    assert chain_time_s(points, feeds, **CONTROL) == pytest.approx(
        chain_time_s(points[::-1], back, **CONTROL), rel=1e-9
    )
    many = 1_000_001
    line = np.column_stack([np.linspace(0.0, 1e6, many), np.zeros((many, 2))])
    assert chain_time_s(line, np.full(many, 100.0), **CONTROL) == pytest.approx(
        move_time_s(distance_mm=1e6, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0), rel=1e-6
    )


@pytest.mark.parametrize(
    ("points", "feeds", "says"),
    [
        ([[0, 0], [1, 1]], [1, 1], "positions"),
        ([[0, 0, 0], [1, 1, 1]], [1], "feeds"),
        ([[0, 0, 0], [1, 0, 0]], [1, 0], "feeds"),
    ],
)
def test_broken_polylines_are_refused(points: list[list[float]], feeds: list[float], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        chain_time_s(points, feeds, **CONTROL)
