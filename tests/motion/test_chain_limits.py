"""Chains in their limits: no axis is asked for more than it gives, more of anything is no slower, and what is alike."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sections import STRICT, Section, random_section
from stepping import Control, joint_speed

from proveout.motion.chain_time import chain_times_s
from proveout.motion.kernels.ramps import ramp_seconds, ramp_state
from proveout.motion.move_time import move_time_s
from proveout.motion.path import Arcs, path_limits, path_of
from proveout.motion.strokes import run_through
from proveout.quantities.errors import OutOfRange

PLAIN: dict[str, Any] = {
    "rapid_mm_per_s": 300.0, "accel_mm_per_s2": 3000.0, "jerk_mm_per_s3": 5.0e4, "stop_angle_rad": math.radians(100.0),
    "jump_mm_per_s": 10.0,
}  # fmt: skip
SAMPLES = 400
SECTIONS = st.builds(
    lambda seed, moves, size: random_section(np.random.default_rng(seed), moves=moves, size_mm=10.0**size),
    st.integers(0, 10**6), st.integers(1, 12), st.floats(-1.0, 1.3),
)  # fmt: skip


def law(control: Control) -> dict[str, Any]:
    return {
        "rapid_mm_per_s": control.speeds, "accel_mm_per_s2": control.accels, "jerk_mm_per_s3": control.jerks,
        "stop_angle_rad": control.stop_angle_rad, "jump_mm_per_s": control.jump,
    }  # fmt: skip


def seconds(one: Section, control: Control = STRICT) -> float:
    return float(chain_times_s(one.positions, one.feeds, arcs=one.arcs, **law(control)).sum())


def stroke_ways(stroke: np.ndarray) -> tuple[np.ndarray, float]:
    """Way along a stroke at even instants, and their distance in time."""
    _, _, start, top, end, length, accel, jerk = stroke
    up, down = ramp_seconds(top - start, accel, jerk), ramp_seconds(top - end, accel, jerk)
    rise, fall = ramp_state(start, top, up, accel, jerk)[0], ramp_state(end, top, down, accel, jerk)[0]
    even = (length - rise - fall) / top  # below 0 by no more than the rounding of the top speed
    assert even > -1e-7
    instants = np.linspace(0.0, up + even + down, SAMPLES)
    ways = [
        ramp_state(start, top, t, accel, jerk)[0] if t < up
        else rise + top * (t - up) if t < up + even
        else length - ramp_state(end, top, max(0.0, up + even + down - t), accel, jerk)[0]
        for t in instants
    ]  # fmt: skip
    return np.array(ways), float(instants[1])


def place(one: Section, move: int, share: np.ndarray) -> np.ndarray:
    """Positions at shares of a move's length."""
    start, end, turn = one.positions[move], one.positions[move + 1], one.turns[move + 1]
    even = start + share[:, None] * (end - start)
    if turn == 0.0:
        return even
    out, angle = start - one.centres[move + 1], share * turn
    even[:, 0] = one.centres[move + 1, 0] + out[0] * np.cos(angle) - out[1] * np.sin(angle)
    even[:, 1] = one.centres[move + 1, 1] + out[0] * np.sin(angle) + out[1] * np.cos(angle)
    return even


@given(SECTIONS)
def test_no_axis_is_asked_for_more_than_it_gives(one: Section) -> None:
    """Positions are sampled in time and differenced once, twice and three times: each is a mean of what it stands for.

    Inside moves only; at joints the velocity jumps by no more than allowed.
    """
    path = path_of(one.positions, one.arcs)
    cap, accel, jerk = path_limits(
        path, one.feeds[1:], rapid_mm_per_s=STRICT.speeds, accel_mm_per_s2=STRICT.accels, jerk_mm_per_s3=STRICT.jerks
    )
    joints = np.array([0.0, *(joint_speed(a, b, STRICT) for a, b in itertools.pairwise(one.pieces)), 0.0])
    _, strokes = run_through(length=path.length, cap=cap, accel=accel, jerk=jerk, joint=joints)
    ends = np.concatenate([[0.0], np.cumsum(path.length)])
    for stroke in strokes:
        first, last = int(stroke[0]), int(stroke[1])
        ways, step_s = stroke_ways(stroke)
        ways = ways + ends[first]
        for move in range(first, last):
            inside = ways[(ways >= ends[move]) & (ways <= ends[move + 1])]
            points = place(one, move, (inside - ends[move]) / path.length[move])
            for order, limits in enumerate((STRICT.speeds, STRICT.accels, STRICT.jerks), start=1):
                found = np.abs(np.diff(points, n=order, axis=0)) / step_s**order
                noise = 1e-11 * max(1.0, float(np.abs(points).max(initial=0.0))) / step_s**order
                assert np.all(found <= np.array(limits) * 1.001 + noise), order
    entry = {int(s[0]): s[2] for s in strokes}
    for k, (a, b) in enumerate(itertools.pairwise(one.pieces), start=1):
        if k in entry:
            jump = entry[k] * np.abs(np.array(b.leave) - np.array(a.arrive))
            assert np.all(jump <= np.array(STRICT.jump) * (1.0 + 1e-9))


@given(SECTIONS, st.sampled_from(["speeds", "accels", "jerks", "feeds"]), st.floats(1.05, 4.0))
def test_more_of_any_limit_is_no_slower(one: Section, which: str, times: float) -> None:
    if which == "feeds":
        assert seconds(dataclasses.replace(one, feeds=one.feeds * times)) <= seconds(one) * (1.0 + 1e-6)
        return
    more = dataclasses.replace(STRICT, **{which: tuple(limit * times for limit in getattr(STRICT, which))})
    assert seconds(one, more) <= seconds(one) * (1.0 + 1e-6)


@given(SECTIONS, st.floats(1.05, 4.0))
def test_rounder_corners_are_no_slower_but_for_the_choice_of_strokes(one: Section, times: float) -> None:
    """Three speeds are tried at a joint, not all: of 4000 drawn sections the worst became 0.9 % slower."""
    more = dataclasses.replace(STRICT, jump=(10.0 * times,) * 3)
    assert seconds(one, more) <= seconds(one) * 1.01


@given(SECTIONS)
def test_a_limited_jerk_is_never_quicker_and_a_high_one_is_like_none(one: Section) -> None:
    at_once = seconds(one, dataclasses.replace(STRICT, jerks=(math.inf,) * 3))
    assert seconds(one) >= at_once * (1.0 - 1e-9)
    assert seconds(one, dataclasses.replace(STRICT, jerks=(1e13,) * 3)) == pytest.approx(at_once, rel=1e-3)


@given(SECTIONS, st.floats(0.01, 100.0))
def test_the_same_in_other_units(one: Section, scale: float) -> None:
    """All lengths times a scale; and half as quick a clock: jerk by its cube."""
    larger = Section(one.positions * scale, one.feeds * scale, one.centres * scale, one.turns, ())
    strong = Control(
        tuple(v * scale for v in STRICT.speeds), tuple(a * scale for a in STRICT.accels),
        tuple(j * scale for j in STRICT.jerks),
        STRICT.stop_angle_rad, (10.0 * scale,) * 3,
    )  # fmt: skip
    assert seconds(larger, strong) == pytest.approx(seconds(one), rel=1e-6)
    slow = Control(
        tuple(v / 2.0 for v in STRICT.speeds), tuple(a / 4.0 for a in STRICT.accels),
        tuple(j / 8.0 for j in STRICT.jerks), STRICT.stop_angle_rad, (5.0, 5.0, 5.0),
    )  # fmt: skip
    assert seconds(dataclasses.replace(one, feeds=one.feeds / 2.0), slow) == pytest.approx(2 * seconds(one), rel=1e-6)


def test_without_jerk_it_is_the_law_of_forward_and_backward_passes() -> None:
    """The plain two passes over squared speeds, move by move."""
    for seed in range(5):
        draw = np.random.default_rng(seed)
        points = np.cumsum(draw.normal(0.0, 3.0, (300, 3)), axis=0)
        feeds = draw.choice([15.0, 60.0, 120.0, math.inf], 300)
        delta = np.diff(points, axis=0)
        length = np.linalg.norm(delta, axis=1)
        unit, cap = delta / length[:, None], np.minimum(feeds[1:], 300.0)
        chord = np.linalg.norm(np.diff(unit, axis=0), axis=1)
        stop = 2.0 * math.sin(0.5 * PLAIN["stop_angle_rad"])
        squared = [
            0.0,
            *np.where(chord >= stop, 0.0, np.minimum(np.minimum(cap[:-1], cap[1:]), 10.0 / chord)) ** 2,
            0.0,
        ]
        for k in range(1, 300):
            squared[k] = min(squared[k], squared[k - 1] + 6000.0 * length[k - 1])
        for k in range(298, -1, -1):
            squared[k] = min(squared[k], squared[k + 1] + 6000.0 * length[k])
        worked = []
        for k, way in enumerate(length):
            top = math.sqrt(min(cap[k] ** 2, 0.5 * (squared[k] + squared[k + 1]) + 3000.0 * way))
            ramps = [(top - math.sqrt(w), (top**2 - w) / 6000.0) for w in squared[k : k + 2]]
            worked.append(sum(w for w, _ in ramps) / 3000.0 + (way - sum(s for _, s in ramps)) / top)
        found = chain_times_s(points, feeds, **{**PLAIN, "jerk_mm_per_s3": math.inf})
        assert found == pytest.approx(worked, rel=1e-9)


def test_points_along_one_line_cost_nothing() -> None:
    whole = move_time_s(distance_mm=50.0, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0, jerk_mm_per_s3=5.0e4)
    axes: dict[str, Any] = {key: (PLAIN[key],) * 3 for key in ("rapid_mm_per_s", "accel_mm_per_s2")}
    for limits in (PLAIN, {**PLAIN, **axes}):
        line = np.column_stack([np.linspace(0.0, 30.0, 101), np.linspace(0.0, 40.0, 101), np.zeros(101)])
        found = chain_times_s(line, np.full(101, 100.0), **limits)
        assert found.sum() == pytest.approx(whole, rel=1e-9)
        assert found == pytest.approx(found[::-1], rel=1e-6)
        assert found[0] > 3.0 * found[50]


def test_chords_of_a_gentle_curve_take_as_long_as_its_length_on_a_line() -> None:
    """Per axis the limits along the chords differ from chord to chord, and strokes over many chords still serve."""
    angle = np.linspace(0.0, math.pi, 151)
    curve = 20.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
    axes: dict[str, Any] = {
        key: (PLAIN[key],) * 3 for key in ("rapid_mm_per_s", "accel_mm_per_s2", "jerk_mm_per_s3", "jump_mm_per_s")
    }
    line = move_time_s(distance_mm=20.0 * math.pi, speed_mm_per_s=60.0, accel_mm_per_s2=3000.0, jerk_mm_per_s3=5.0e4)
    for limits in (PLAIN, {**PLAIN, **axes}):
        found = chain_times_s(curve, np.full(151, 60.0), **limits).sum()
        assert found == pytest.approx(line, rel=0.01)
        assert found <= line * (1.0 + 1e-4)


def test_an_arc_is_slowed_for_its_centre() -> None:
    """Worked: r = 2 mm, share 0.8 of 3000 mm/s2: v = sqrt(0.8 * 3000 * 2) = 69.28 mm/s; without jerk a = 1800 mm/s2."""
    start, arcs = [[2.0, 0.0, 0.0], [2.0, 0.0, 0.0]], Arcs(
        centres_mm=np.zeros((2, 3)), normals=np.array([[0.0, 0.0, 1.0]] * 2), turns_rad=np.array([0.0, 20.0 * math.pi])
    )  # fmt: skip
    found = chain_times_s(start, [1.0, math.inf], arcs=arcs, **{**PLAIN, "jerk_mm_per_s3": math.inf})
    length, top = 40.0 * math.pi, math.sqrt(4800.0)
    assert found[0] == pytest.approx(length / top + top / 1800.0)
    by_jerk = chain_times_s(start, [1.0, math.inf], arcs=arcs, **PLAIN)
    top = (0.5 * 5.0e4 * 4.0) ** (1.0 / 3.0)
    assert by_jerk[0] > length / top > found[0]


def test_it_stops_where_asked_and_where_rotary_moves_begin_and_end() -> None:
    line = np.array([[0.0, 0, 0], [30, 0, 0], [30, 0, 0], [60, 0, 0]])
    one = move_time_s(distance_mm=30.0, speed_mm_per_s=100.0, accel_mm_per_s2=3000.0, jerk_mm_per_s3=5.0e4)
    for stops in ([0, 1, 0, 0], [0, 0, 1, 0], [1, 1, 1, 1]):
        found = chain_times_s(line, np.full(4, 100.0), stops=stops, **PLAIN)
        assert found == pytest.approx([one, 0.0, one])
    five: dict[str, Any] = {
        "rapid_mm_per_s": (300.0,) * 3 + (2.0, 4.0), "accel_mm_per_s2": (3000.0,) * 3 + (10.0, 20.0),
        "jerk_mm_per_s3": (5.0e4,) * 3 + (200.0, 400.0), "jump_mm_per_s": (10.0,) * 3 + (0.01, 0.01),
        "stop_angle_rad": 1.0,
    }  # fmt: skip
    turned = np.array([[0.0, 0, 0, 0, 0], [50, 0, 0, 0, 0], [50, 0, 0, 1.5, 0], [50, 40, 0, 1.5, 0]])
    found = chain_times_s(turned, [1.0, math.inf, math.inf, math.inf], **five)
    expected = [
        move_time_s(distance_mm=d, speed_mm_per_s=v, accel_mm_per_s2=a, jerk_mm_per_s3=j)
        for d, v, a, j in ((50.0, 300.0, 3000.0, 5e4), (1.5, 2.0, 10.0, 200.0), (40.0, 300.0, 3000.0, 5e4))
    ]
    assert found == pytest.approx(expected)
    together = chain_times_s(turned[[0, 3]], [1.0, math.inf], **five)
    share = 1.5 / math.hypot(50.0, 40.0)
    assert together[0] == pytest.approx(
        move_time_s(
            distance_mm=math.hypot(50.0, 40.0), speed_mm_per_s=2.0 / share, accel_mm_per_s2=10.0 / share,
            jerk_mm_per_s3=200.0 / share,
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"arcs": Arcs(centres_mm=np.zeros((2, 3)), normals=np.array([[0, 0, 1.0]] * 2),
                       turns_rad=np.array([0.0, 1.0]))}, "arc does not end"),
        ({"stops": [True]}, "stops"),
        ({"jump_mm_per_s": -1.0}, "jump_mm_per_s"),
        ({"jerk_mm_per_s3": 0.0}, "jerk_mm_per_s3"),
        ({"accel_mm_per_s2": (1.0, 2.0)}, "axis limit"),
    ],
)  # fmt: skip
def test_broken_chains_are_refused(changed: dict[str, Any], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        chain_times_s([[1.0, 0, 0], [0, 1.0, 0]], [1.0, 50.0], **{**PLAIN, **changed})
