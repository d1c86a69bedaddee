"""Stretches of moves whose times tell a machine's speed, acceleration, jerk and jump at corners apart.

Each stretch is a short round from rest to rest at one place, gone so many times that a stop watch is good enough. Long
rapid moves tell the speed, middling ones the acceleration, short ones the jerk; a zigzag whose corners are gone round
without a stop tells the jump; arcs and drilling strokes hold the law against what parts are made of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.motion.move_time import move_time_s
from proveout.motion.path import Arcs, Array
from proveout.quantities.bounds import above_zero

STRETCH_S = 12.0
"""About how long one stretch takes: half a tenth on the watch is then half a percent."""
RAPIDS_MM = (120.0, 70.0, 30.0, 8.0, 2.0)
LONG_MM = 300.0
CORNERS_DEG = (15.0, 30.0, 50.0)
SIDE_MM, SIDES = 6.0, 20
RADII_MM, TURNS = (2.0, 8.0), 5
HOLES, HOLE_MM, BETWEEN_MM = 5, 6.0, 12.0
CHANGES, TILTS = 4, 6
# what decides how often a stretch is gone, nothing else: a middling machine
USUAL_SPEED_MM_PER_S, USUAL_ACCEL_MM_PER_S2, USUAL_JERK_MM_PER_S3 = 300.0, 3000.0, 5.0e4


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One line of the page: a round from rest to rest, and how often it is gone.

    positions: (n, 3) mm from where the stretch starts, Z up; none for a stretch of changes or tilts only.   feeds: (n,)
    mm/s of the move that arrives there, infinite for a rapid move.
    """

    name: str
    text: str
    positions: Array
    feeds: Array
    arcs: Arcs | None = None
    times_count: int = 1
    cutter_changes_count: int = 0
    tilts_count: int = 0


def calibration_moves(
    *, travel_mm: tuple[float, float, float], feed_mm_per_s: float, has_rotary: bool
) -> tuple[Stretch, ...]:
    """The stretches for a machine of these travels; they need at most half of each.

    Args:     travel_mm: of X, Y and Z.   feed_mm_per_s: the machine's highest, used on zigzags and arcs.
              has_rotary: whether there are rotary axes to be timed.
    """
    above_zero(travel_x_mm=travel_mm[0], travel_y_mm=travel_mm[1], travel_z_mm=travel_mm[2])
    above_zero(feed_mm_per_s=feed_mm_per_s)
    found: list[Stretch] = []
    for axis, (name, travel) in enumerate(zip("XYZ", travel_mm, strict=True)):
        lengths = (min(LONG_MM, travel / 2.0), *(one for one in RAPIDS_MM if one < travel / 2.0))
        found += [_rapids(axis, name, length) for length in lengths]
    found += [_zigzag(corner, feed_mm_per_s) for corner in CORNERS_DEG]
    found += [_circles(radius, feed_mm_per_s) for radius in RADII_MM]
    found.append(_strokes(feed_mm_per_s / 4.0))
    nowhere = {"positions": np.zeros((0, 3)), "feeds": np.zeros(0)}
    found.append(
        Stretch(
            name="cutter changes",
            text=f"{CHANGES} cutter changes, chip to chip",
            cutter_changes_count=CHANGES,
            **nowhere,
        )
    )
    if has_rotary:
        found.append(Stretch(name="tilts", text=f"{TILTS} tilts with brake", tilts_count=TILTS, **nowhere))
    return tuple(found)


def reached_mm(stretches: Sequence[Stretch]) -> tuple[Array, Array]:
    """The box that all stretches stay in, from where they start.

    Formula:  least and greatest of every position along each axis, and of c - r and c + r along X and Y for each circle
              of radius r about c.
    Args:     stretches: any; those without moves reach nothing.
    Returns:  mm, low and high corner, (3,) float64 each; low <= 0 <= high.
    Raises:   nothing.
    Valid:    arcs that are whole circles about Z, as calibration_moves gives them.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/motion/test_calibration_run.py
    """
    low, high = np.zeros(3), np.zeros(3)
    for one in stretches:
        if not len(one.positions):
            continue
        low, high = np.minimum(low, one.positions.min(axis=0)), np.maximum(high, one.positions.max(axis=0))
        if one.arcs is not None:
            centres = one.arcs.centres_mm[one.arcs.turns_rad != 0.0]
            starts = one.positions[one.arcs.turns_rad != 0.0]
            away = np.hypot(*(starts - centres)[:, :2].T)[:, None] * np.array([1.0, 1.0, 0.0])
            low = np.minimum(low, (centres - away).min(axis=0))
            high = np.maximum(high, (centres + away).max(axis=0))
    return low, high


def _rapids(axis: int, name: str, length_mm: float) -> Stretch:
    there = np.zeros(3)
    there[axis] = length_mm
    one_s = move_time_s(
        distance_mm=length_mm, speed_mm_per_s=USUAL_SPEED_MM_PER_S, accel_mm_per_s2=USUAL_ACCEL_MM_PER_S2,
        jerk_mm_per_s3=USUAL_JERK_MM_PER_S3,
    )  # fmt: skip
    return Stretch(
        name=f"{name} {length_mm:g}", text=f"rapid {length_mm:g} mm along {name} and back",
        positions=np.array([np.zeros(3), there, np.zeros(3)]), feeds=np.array([1.0, math.inf, math.inf]),
        times_count=math.ceil(STRETCH_S / (2.0 * one_s)),
    )  # fmt: skip


def _zigzag(corner_deg: float, feed_mm_per_s: float) -> Stretch:
    """Sides that lean by half the corner to X, first to one side, then to the other, and the same way back."""
    lean = math.radians(corner_deg) / 2.0
    side = SIDE_MM * np.column_stack(
        [np.full(SIDES, math.cos(lean)), math.sin(lean) * (-1.0) ** np.arange(SIDES), np.zeros(SIDES)]
    )
    there = np.vstack([np.zeros(3), np.cumsum(side, axis=0)])
    points = np.vstack([there, there[-2::-1]]).astype(np.float64)
    usual_s = 2.0 * SIDES * SIDE_MM / min(feed_mm_per_s, 60.0)
    return Stretch(
        name=f"zigzag {corner_deg:g}", text=f"{SIDES} sides of {SIDE_MM:g} mm that turn by {corner_deg:g}°, and back",
        positions=points, feeds=np.full(len(points), feed_mm_per_s), times_count=math.ceil(STRETCH_S / usual_s),
    )  # fmt: skip


def _circles(radius_mm: float, feed_mm_per_s: float) -> Stretch:
    turns = np.array([0.0, 1.0, -1.0]) * 2.0 * math.pi * TURNS
    arcs = Arcs(
        centres_mm=np.tile([radius_mm, 0.0, 0.0], (3, 1)), normals=np.tile([0.0, 0.0, 1.0], (3, 1)), turns_rad=turns
    )
    usual_s = 4.0 * math.pi * radius_mm * TURNS / min(feed_mm_per_s, 40.0)
    return Stretch(
        name=f"circles {radius_mm:g}", text=f"{TURNS} circles of radius {radius_mm:g} mm in XY, and back",
        positions=np.zeros((3, 3)), feeds=np.full(3, feed_mm_per_s), arcs=arcs,
        times_count=math.ceil(STRETCH_S / usual_s),
    )  # fmt: skip


def _strokes(feed_mm_per_s: float) -> Stretch:
    """As drilling a row of holes goes: down by feed, up and on by rapid, and back along the row."""
    points, feeds = [[0.0, 0.0, 0.0]], [1.0]
    for hole in range(HOLES):
        x = BETWEEN_MM * hole
        points += [[x, 0.0, -HOLE_MM], [x, 0.0, 0.0], [x + BETWEEN_MM, 0.0, 0.0]]
        feeds += [feed_mm_per_s, math.inf, math.inf]
    points.append([0.0, 0.0, 0.0])
    feeds.append(math.inf)
    usual_s = HOLES * (HOLE_MM / feed_mm_per_s + 0.5)
    return Stretch(
        name="drilling", text=f"{HOLES} strokes of {HOLE_MM:g} mm as in drilling, and back", positions=np.array(points),
        feeds=np.array(feeds), times_count=math.ceil(STRETCH_S / usual_s),
    )  # fmt: skip
