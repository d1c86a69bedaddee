"""The fastest speed, feed and depth within every limit, in closed form, before any move of a pass is laid."""

from __future__ import annotations

import math
from collections.abc import Callable

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.spindle import (
    highest_speed_rad_per_s,
    power_or_torque,
    top_speed,
    torques_at_edge_n_mm,
)
from proveout.model.pace import THICK, THIN, TOP_FEED, TORQUE
from proveout.model.shop import Cutter, Machine

Floats = NDArray[np.float64]
LOW_SPEED_RATIO = 0.05
"""Where no cutting speed is written: the slowest that is looked at, as a share of the rated one."""
GRID_RATIO = 1.001
"""Speeds that are looked at below the highest, each so many times the one before: the same ones whatever the limits."""
HALVINGS = 44
SHAVED = 1.0 - 1e-9
LEAST = 1e-9
# of speeds (k,): what is chosen at each, what that is worth, and whether it is as much as there could be
Fits = Callable[[Floats], tuple[Floats, Floats, NDArray[np.bool_]]]


class Room(msgspec.Struct, frozen=True, kw_only=True):
    """What one cutter on one machine may do.

    low_rad_per_s, high_rad_per_s: of the spindle; by: what the high end is, in words.  feed_low_mm, feed_high_mm: of a
    tooth, where the thickest chip of a turn is as thin and as thick as it may be; feed_by: what the high end is.
    """

    machine: Machine
    teeth_count: int
    low_rad_per_s: float
    high_rad_per_s: float
    by: str
    feed_low_mm: float
    feed_high_mm: float
    feed_by: str

    def tooth_feeds_mm(self, speeds_rad_per_s: Floats) -> Floats:
        """The largest feed of a tooth at each speed."""
        most = 2.0 * math.pi * self.machine.feed_max_mm_per_s / (self.teeth_count * speeds_rad_per_s)
        return np.minimum(self.feed_high_mm, most)


class Fastest(msgspec.Struct, frozen=True, kw_only=True):
    """The choice; the words name the limit that stopped each.

    feed_mm_per_s: of the table.  is_within: False where not even the least of everything stays within the limits.
    """

    speed_rad_per_s: float
    tooth_feed_mm: float
    axial_mm: float
    feed_mm_per_s: float
    speed_by: str
    feed_by: str
    depth_by: str
    is_within: bool = True


def room_of(
    cutter: Cutter, machine: Machine, *, thinning_ratio: float = 1.0, feed_ratio: float = 1.0, feed_by: str = THICK
) -> Room:  # fmt: skip
    """The room of a cutter.

    thinning_ratio: feed for each unit of the thickest chip.   feed_ratio: share of the thickest chip that the limits in
    force leave.   feed_by: what the thickest chip is called.
    """
    high, by = top_speed(cutter, machine)
    low = cutter.cutting_speed_low_mm_per_s
    if low is not None and machine.torque_curve and machine.torque_curve[-1][0] < high:
        # beyond the speeds that are written nobody knows the spindle's torque
        high, by = machine.torque_curve[-1][0], TORQUE
    slowest = high if low is None else min(high, 2.0 * low / cutter.diameter_mm)
    thick = cutter.tooth_feed_mm * thinning_ratio * feed_ratio
    thin = thick if cutter.chip_low_mm is None else min(thick, cutter.chip_low_mm * thinning_ratio)
    return Room(
        machine=machine, teeth_count=max(cutter.flutes_count, 1), low_rad_per_s=slowest, high_rad_per_s=high, by=by,
        feed_low_mm=thin, feed_high_mm=thick, feed_by=feed_by,
    )  # fmt: skip


def fastest_feed(room: Room, *, axial_mm: float, torques_n_mm: Callable[[Floats], Floats]) -> Fastest:
    """The fastest table feed at a depth that is given.

    Formula:  max n f_z over n_low <= n <= n_high and f_low <= f_z <= min(f_high, 2 pi V / (z n)) with
              T(f_z) <= eta min(P / n, M(n)); and n no higher than keeps the chip at f_low, where the machine's feed V
              thins it
    Args:     room: n, f_z, V, P and M.   axial_mm: a_p, only told.
              torques_n_mm: T at the edge of feeds of a tooth (k,), never less for more.
    Returns:  Fastest.
    Raises:   nothing.
    Valid:    the exact highest speed at the full feed is tried, and speeds 0.1 % apart below it with less.
    Source:   milling_power_problem, for P = M n; chip_geometry.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py
    """

    def fits(speeds: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        most, has = room.tooth_feeds_mm(speeds), torques_at_edge_n_mm(room.machine, speeds_rad_per_s=speeds)
        least = np.minimum(room.feed_low_mm, most)
        feeds = _largest(lambda feed: torques_n_mm(feed) <= has, least, most)
        return feeds, feeds * speeds, feeds >= most

    at_full = float(torques_n_mm(np.array([room.feed_high_mm]))[0])
    speed, feed, by = _best(room, fits, at_full)
    if speed is None:
        slow = np.array([room.low_rad_per_s])
        feed = float(np.minimum(room.feed_low_mm, room.tooth_feeds_mm(slow))[0])
        words = power_or_torque(room.machine, float(slow[0]))
        return _told(room, float(slow[0]), feed, axial_mm, words, words, "", is_within=False)
    return _told(room, speed, feed, axial_mm, by, _feed_by(room, speed, feed), "")


def fastest_depth(
    room: Room, *, floor_mm: float, most_mm: float, torques_n_mm: Callable[[Floats, Floats], Floats]
) -> Fastest:  # fmt: skip
    """The speed and the depth at which most is taken off, at the thickest chip that machine and cutter allow.

    Formula:  max a_p n f_z over n_low <= n <= n_high and floor <= a_p <= most, f_z = min(f_high, 2 pi V / (z n)), with
              T(f_z, a_p) <= eta min(P / n, M(n)); and n no higher than keeps the chip at f_low
    Args:     room: n, f_z, V, P and M.   floor_mm, most_mm: ends of a_p.
              torques_n_mm: T at the edge of feeds and depths, (k,) each, never less
              for more of either.
    Returns:  Fastest.
    Raises:   nothing.
    Valid:    as fastest_feed; the width is given.
    Source:   milling_power_problem, for P = M n and Q = a_p a_e v_f; chip_geometry.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py
    """

    def fits(speeds: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        feeds, has = room.tooth_feeds_mm(speeds), torques_at_edge_n_mm(room.machine, speeds_rad_per_s=speeds)
        least, most = np.full(speeds.shape, min(floor_mm, most_mm)), np.full(speeds.shape, most_mm)
        depths = _largest(lambda deep: torques_n_mm(feeds, deep) <= has, least, most)
        return depths, depths * feeds * speeds, depths >= most

    at_full = float(torques_n_mm(np.array([room.feed_high_mm]), np.array([most_mm]))[0])
    speed, depth, by = _best(room, fits, at_full)
    is_within = speed is not None
    if speed is None:
        speed, depth = room.low_rad_per_s, min(floor_mm, most_mm)
        by = power_or_torque(room.machine, speed)
    feed = float(room.tooth_feeds_mm(np.array([speed]))[0])
    shallow = "" if depth >= most_mm * SHAVED else power_or_torque(room.machine, speed)
    return _told(room, speed, feed, depth, by, _feed_by(room, speed, feed), shallow, is_within=is_within)


def largest_feed_mm(*, low_mm: float, high_mm: float, is_held: Callable[[Floats], NDArray[np.bool_]]) -> float | None:
    """The largest feed of a tooth between two that is held.

    Formula:  by halving, from the side that is held, until both ends agree to 13 digits
    Args:     low_mm, high_mm: ends of the feed.   is_held: of feeds (k,); once False for one, False for every larger.
    Returns:  mm, or None where not even the low one is held.
    Raises:   nothing.
    Valid:    for what only ever gets worse with more feed.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/laws/test_fastest.py
    """
    found = float(_largest(is_held, np.array([low_mm]), np.array([high_mm]))[0])
    return found if found > 0.0 else None


def _best(room: Room, fits: Fits, torque_n_mm: float) -> tuple[float | None, float, str]:
    """The speed of most worth, what is chosen at it, and what stopped the speed; None where nothing is carried.

    torque_n_mm: of everything at its full.
    """
    machine, low, top, by = room.machine, room.low_rad_per_s, room.high_rad_per_s, room.by
    thinned = 2.0 * math.pi * machine.feed_max_mm_per_s / (room.teeth_count * max(room.feed_low_mm, LEAST))
    if thinned < top:
        top, by = max(low, thinned), THIN if room.feed_low_mm < room.feed_high_mm else TOP_FEED
    chosen, worth, is_whole = fits(np.array([top]))
    if is_whole[0]:
        return top, float(chosen[0]), by
    # up to this speed the machine's feed leaves the chip as thick as it may be
    full = 2.0 * math.pi * machine.feed_max_mm_per_s / (room.teeth_count * max(room.feed_high_mm, LEAST))
    found = highest_speed_rad_per_s(machine, torque_n_mm=torque_n_mm, low_rad_per_s=low, high_rad_per_s=min(top, full))
    first, last = (math.log(end) / math.log(GRID_RATIO) for end in (low, top))
    grid = GRID_RATIO ** np.arange(math.ceil(first), math.floor(last) + 1, dtype=np.float64)
    speeds = np.concatenate([grid, [] if found is None else [found[0]]])
    # the highest speed itself takes no part where there is another: what was below it stays so when it rises
    speeds = np.clip(speeds, low, top) if len(speeds) else np.array([top])
    chosen, worth, _ = fits(speeds)
    at = int(np.lexsort((speeds, worth))[-1])
    if worth[at] <= 0.0:
        return None, 0.0, ""
    speed = float(speeds[at])
    return speed, float(chosen[at]), by if speed * GRID_RATIO > top else power_or_torque(machine, speed)


def _largest(is_held: Callable[[Floats], NDArray[np.bool_]], least: Floats, most: Floats) -> Floats:
    """The largest value between two ends that is held, 0 where the least is not: by halving, from the held side."""
    low, high = least.astype(np.float64).copy(), most.astype(np.float64).copy()
    whole = is_held(high)
    if bool(whole.all()):
        return high
    none = ~is_held(low)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        held = is_held(middle)
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    return np.where(none, 0.0, np.where(whole, most, low))


def _feed_by(room: Room, speed_rad_per_s: float, tooth_feed_mm: float) -> str:
    if tooth_feed_mm >= room.feed_high_mm * SHAVED:
        return room.feed_by
    most = float(room.tooth_feeds_mm(np.array([speed_rad_per_s]))[0])
    return TOP_FEED if tooth_feed_mm >= most * SHAVED else power_or_torque(room.machine, speed_rad_per_s)


def _told(
    room: Room, speed: float, feed: float, axial_mm: float, by: str, feed_by: str, depth_by: str, *,
    is_within: bool = True,
) -> Fastest:  # fmt: skip
    return Fastest(
        speed_rad_per_s=speed, tooth_feed_mm=feed, axial_mm=axial_mm,
        feed_mm_per_s=feed * room.teeth_count * speed / (2.0 * math.pi), speed_by=by, feed_by=feed_by,
        depth_by=depth_by, is_within=is_within,
    )  # fmt: skip
