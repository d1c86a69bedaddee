"""The motion law of a chain of moves once more, slowly and by other means, to hold the engine's times against.

Nothing here comes from the package. Limits along the moves are worked out move by move in plain Python. A ramp is
integrated numerically in the plane of speed and acceleration, where a jerk j from rest gives a^2 = 2 j w after a
change of speed w. Speeds are found by halving. Every way to cut a section between two stops into strokes is tried.
At last the chosen strokes are run in small steps of time with the jerk switched on, off and over.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

POINTS = 160
_X = (np.arange(POINTS) + 0.5) / POINTS
_RISE, _FALL = np.sin(0.5 * math.pi * _X), np.cos(0.5 * math.pi * _X)
HALVINGS = 44


@dataclass(frozen=True)
class Control:
    """Limits per axis, in mm and s: speed, acceleration, jerk; corners by one number or per axis."""

    speeds: tuple[float, ...]
    accels: tuple[float, ...]
    jerks: tuple[float, ...]
    stop_angle_rad: float
    jump: float | tuple[float, ...]


@dataclass(frozen=True)
class Piece:
    """One move: length and limits along it, directions at its two ends."""

    length: float
    cap: float
    accel: float
    jerk: float
    leave: tuple[float, ...]
    arrive: tuple[float, ...]


def line_piece(start: np.ndarray, end: np.ndarray, feed: float, control: Control) -> Piece:
    """A straight move."""
    delta = [b - a for a, b in zip(start, end, strict=True)]
    length = math.sqrt(sum(d * d for d in delta[:3]))
    unit = tuple(d / length for d in delta)
    cap, accel, jerk = feed, math.inf, math.inf
    for share, v, a, j in zip(unit, control.speeds, control.accels, control.jerks, strict=True):
        if share != 0.0:
            cap, accel, jerk = min(cap, v / abs(share)), min(accel, a / abs(share)), min(jerk, j / abs(share))
    return Piece(length, cap, accel, jerk, unit, unit)


def arc_piece(
    start: np.ndarray, centre: np.ndarray, turn: float, rise: float, feed: float, control: Control
) -> Piece:  # fmt: skip
    """A turn about an axis along Z with a rise; X, Y and Z alone move."""
    out_x, out_y = start[0] - centre[0], start[1] - centre[1]
    radius = math.hypot(out_x, out_y)
    length = math.hypot(radius * turn, rise)
    flat, steep = radius * abs(turn) / length, abs(rise) / length
    v, a, j = (
        [min(one[0] / flat, one[1] / flat, one[2] / steep if steep else math.inf) for one in limits]
        for limits in ((control.speeds,), (control.accels,), (control.jerks,))
    )
    inward, jolt = min(control.accels[:2]), min(control.jerks[:2])
    cap = min(feed, v[0], math.sqrt(0.8 * inward * radius) / flat, (0.5 * jolt * radius**2) ** (1.0 / 3.0) / flat)
    accel = 0.6 * a[0]
    if math.isfinite(jolt):
        accel = min(accel, 0.2 * jolt ** (2.0 / 3.0) * (2.0 * radius) ** (1.0 / 3.0) / flat)
    scale = radius * turn / length
    ends = []
    for angle in (0.0, turn):
        x = (out_x * math.cos(angle) - out_y * math.sin(angle)) / radius
        y = (out_x * math.sin(angle) + out_y * math.cos(angle)) / radius
        ends.append((-y * scale, x * scale, rise / length))
    return Piece(length, cap, accel, 0.3 * j[0], ends[0], ends[1])


def joint_speed(one: Piece, other: Piece, control: Control) -> float:
    """Highest speed between two moves."""
    change = [b - a for a, b in zip(one.arrive, other.leave, strict=True)]
    cosine = sum(a * b for a, b in zip(one.arrive[:3], other.leave[:3], strict=True))
    if math.acos(max(-1.0, min(1.0, cosine))) >= control.stop_angle_rad:
        return 0.0
    speed = min(one.cap, other.cap)
    if isinstance(control.jump, tuple):
        for part, jump in zip(change, control.jump, strict=True):
            if abs(part) > 1e-9:
                speed = min(speed, jump / abs(part))
    else:
        size = math.sqrt(sum(c * c for c in change))
        if size > 1e-9:
            speed = min(speed, control.jump / size)
    return speed


@lru_cache(maxsize=1_000_000)
def ramp(low: float, high: float, accel: float, jerk: float) -> tuple[float, float]:
    """Seconds and length of a change of speed, integrated over the speed."""
    change = high - low
    if change <= 0.0:
        return 0.0, 0.0
    if math.isinf(jerk):
        push = np.full(POINTS, accel)
    else:
        push = np.minimum(accel, math.sqrt(2.0 * jerk * change) * np.minimum(_RISE, _FALL))
    pace = change * math.pi * _RISE * _FALL / push / POINTS
    return float(pace.sum()), float(((low + change * _RISE**2) * pace).sum())


def reach(start: float, length: float, cap: float, accel: float, jerk: float) -> float:
    """Highest speed at the end of a ramp that fits into the length."""
    low, high = start, cap
    if ramp(start, cap, accel, jerk)[1] <= length:
        return cap
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if ramp(start, middle, accel, jerk)[1] <= length else (low, middle)
    return low


@lru_cache(maxsize=1_000_000)
def stroke(start: float, end: float, length: float, cap: float, accel: float, jerk: float) -> tuple[float, float]:
    """Seconds and top speed of a stroke, infinite where the ramp between its ends is too long."""
    low, high = max(start, end), cap
    if ramp(min(start, end), low, accel, jerk)[1] > length * (1.0 + 1e-6):
        return math.inf, math.nan
    top = cap
    if ramp(start, cap, accel, jerk)[1] + ramp(end, cap, accel, jerk)[1] > length:
        for _ in range(HALVINGS):
            top = 0.5 * (low + high)
            fits = ramp(start, top, accel, jerk)[1] + ramp(end, top, accel, jerk)[1] <= length
            low, high = (top, high) if fits else (low, top)
        top = low
    (up_s, up), (down_s, down) = ramp(start, top, accel, jerk), ramp(end, top, accel, jerk)
    return up_s + down_s + max(0.0, length - up - down) / top, top


Run = tuple[float, float, float, float, float, float, float]


def way_in_strokes(pieces: Sequence[Piece], joints: Sequence[float], cuts: Sequence[int]) -> tuple[float, list[Run]]:
    """Seconds and strokes (start, end, length, cap, acceleration, jerk, seconds) of one way to cut a section."""
    ends = [0, *cuts, len(pieces)]
    parts = []
    for first, last in itertools.pairwise(ends):
        some = pieces[first:last]
        cap = min([p.cap for p in some] + [joints[k] for k in range(first + 1, last)])
        parts.append((sum(p.length for p in some), cap, min(p.accel for p in some), min(p.jerk for p in some)))
    if any(cap <= 0.0 for _, cap, _, _ in parts):
        return math.inf, []
    speeds = [0.0] * len(ends)
    for k in range(1, len(ends) - 1):
        most = min(joints[ends[k]], parts[k - 1][1], parts[k][1])
        speeds[k] = min(most, reach(speeds[k - 1], *parts[k - 1])) if speeds[k - 1] < most else most
    for k in range(len(ends) - 2, 0, -1):
        if speeds[k + 1] < speeds[k]:
            speeds[k] = min(speeds[k], reach(speeds[k + 1], *parts[k]))
    runs = []
    for k, part in enumerate(parts):
        runs.append((speeds[k], speeds[k + 1], *part, stroke(speeds[k], speeds[k + 1], *part)[0]))
    return sum(run[-1] for run in runs), runs


def section_seconds(pieces: Sequence[Piece], control: Control) -> tuple[float, list[Run]]:
    """Seconds of the quickest way from rest to rest, all ways to cut tried; joints that stop must not lie inside."""
    joints = [0.0, *(joint_speed(a, b, control) for a, b in itertools.pairwise(pieces)), 0.0]
    inner = range(1, len(pieces))
    ways = (
        way_in_strokes(pieces, joints, cuts)
        for count in range(len(pieces))
        for cuts in itertools.combinations(inner, count)
    )
    return min(ways, key=lambda way: way[0])


def stepped_ramp(low: float, high: float, accel: float, jerk: float, steps: int) -> tuple[float, float]:
    """Seconds and length of a change of speed in small steps of time.

    The jerk is on until the acceleration is full or must be taken back to arrive, then off, then turned over.
    """
    change = high - low
    if change <= 0.0:
        return 0.0, 0.0
    if math.isinf(jerk):
        return change / accel, 0.5 * (low + high) * change / accel
    step_s = (change / accel + math.sqrt(change / jerk)) / steps
    way, speed, push, time = 0.0, low, 0.0, 0.0
    while True:
        is_easing = speed + 0.5 * push * push / jerk >= high
        turn = -jerk if is_easing else (jerk if push < accel else 0.0)
        before, push = push, min(accel, push + turn * step_s)
        if push <= 0.0:  # a part of the last step is enough
            step_s, push = before / jerk, 0.0
        middle = speed + 0.25 * (before + push) * step_s
        speed += 0.5 * (before + push) * step_s
        way += middle * step_s
        time += step_s
        if push <= 0.0:
            return time, way


def stepped_seconds(run: Run, *, steps: int = 2000) -> float:
    """Seconds of one stroke in small steps of time, its way down taken backwards."""
    start, end, length, cap, accel, jerk, _ = run
    top = stroke(start, end, length, cap, accel, jerk)[1]
    (up_s, up), (down_s, down) = (stepped_ramp(speed, top, accel, jerk, steps) for speed in (start, end))
    return up_s + down_s + (length - up - down) / top
