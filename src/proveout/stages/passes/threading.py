"""Threads, tapped in step with the spindle or milled from the bottom of the hole upward."""

from __future__ import annotations

import math

from proveout.cutting.threads import FULL_DEPTH_RATIO
from proveout.model.choice import THREAD_ROOM_MM
from proveout.model.cutter import tooth_rows_count
from proveout.model.shop import Cutter
from proveout.stages.passes.holes import Seat, body_room, floor_of, into
from proveout.stages.passes.sizing import inner_ratio
from proveout.stages.passes.task import Task
from proveout.stages.passes.track import Track


def tap(task: Task, seat: Seat, *, cutter: Cutter) -> bool:
    """Cuts the thread in step with the spindle, the feed is pitch times turns; a hole that no pass made is left."""
    if seat.drilled is None:
        return False
    step, high, low, _ = seat.drilled
    if not _is_made(task, step.face_ids):
        task.reasons.setdefault(seat.hole.id, "the hole is not made, so that it cannot be tapped")
        return False
    speeds = task.speeds(cutter)
    lead = 2.0 * cutter.pitch_mm
    goal = low - lead if seat.hole.is_through else low + 0.5 * cutter.pitch_mm
    goal = max(goal, floor_of(task, seat, cutter, goal))
    body = body_room(task, seat, cutter, goal)
    if body or goal >= high:
        task.reasons[seat.hole.id] = body or "too shallow to tap"
        return False
    feed = cutter.pitch_mm * speeds.speed_rad_per_s / (2.0 * math.pi)
    track = task.track()
    start = high + 2.0 * cutter.pitch_mm
    track.enter(x_mm=seat.x_mm, y_mm=seat.y_mm, z_mm=start, feed_mm_per_s=feed, from_mm=start)
    track.feed(seat.x_mm, seat.y_mm, goal, feed)
    track.feed(seat.x_mm, seat.y_mm, start, feed)
    task.add(
        kind="tap",
        cutter=cutter,
        feature=seat.hole.id,
        face_ids=(),
        track=track,
        speeds=speeds,
        radial_mm=0.65 * cutter.pitch_mm,
        axial_mm=high - goal,
    )
    task.threadless.discard(seat.hole.id)
    return True


def mill_thread(task: Task, seat: Seat, *, cutter: Cutter, major_mm: float, pitch_mm: float) -> bool:
    """Cuts a right-hand thread in climb milling, from below; a hole that no pass made is left.

    The tip goes down the middle, in on half a turn that rises a quarter of the pitch, up by the pitch each turn, and
    out on half a turn. A cutter with many rows of teeth goes once round for each of its lengths.
    """
    if seat.drilled is None:
        return False
    step, high, low, minor = seat.drilled
    if not _is_made(task, step.face_ids):
        task.reasons.setdefault(seat.hole.id, "the hole is not made, so that no thread can be milled in it")
        return False
    swing = (major_mm - cutter.diameter_mm) / 2.0
    goal = low - pitch_mm if seat.hole.is_through else low + 0.1 * pitch_mm
    goal = max(goal, floor_of(task, seat, cutter, goal, extra_mm=swing))
    reason = body_room(task, seat, cutter, goal, swing_mm=swing)
    if cutter.diameter_mm > minor - THREAD_ROOM_MM + 1e-6:
        reason = f"{cutter.id} has no room in Ø{minor:.3f} mm to come out of its thread"
    if reason or goal >= high:
        task.reasons[seat.hole.id] = reason or "too shallow for a thread"
        return False
    speeds, track = task.speeds(cutter), task.track()
    feed = speeds.feed_mm_per_s * inner_ratio(cutter, swing)
    into(task, track, seat, high, cutter, speeds.air_mm_per_s)
    rows = tooth_rows_count(flute_length_mm=cutter.flute_length_mm, pitch_mm=cutter.pitch_mm)
    if rows < 2:
        # the one row cuts at the middle of its height
        turns = math.ceil((high - goal) / pitch_mm) + 1
        _up(track, seat, from_mm=goal, pitch_mm=pitch_mm, turns=turns, swing_mm=swing, feed=feed, air=feed)
    else:
        z = goal
        while z < high:
            _up(
                track, seat, from_mm=z, pitch_mm=pitch_mm, turns=1, swing_mm=swing, feed=feed,
                air=speeds.air_mm_per_s,
            )  # fmt: skip
            z += rows * pitch_mm
    depth = FULL_DEPTH_RATIO / 2.0 * pitch_mm
    task.add(
        kind="mill thread",
        cutter=cutter,
        feature=seat.hole.id,
        face_ids=(),
        track=track,
        speeds=speeds,
        radial_mm=section_width_mm(major_mm=major_mm, depth_mm=depth, cutter_mm=cutter.diameter_mm),
        axial_mm=min(cutter.flute_length_mm, high - goal),
    )
    task.threadless.discard(seat.hole.id)
    return True


def _is_made(task: Task, face_ids: tuple[str, ...]) -> bool:
    return all(task.view.index_of.get(f, -1) in task.done for f in face_ids)


def section_width_mm(*, major_mm: float, depth_mm: float, cutter_mm: float) -> float:
    """Metal of a ring per depth and way of the cutter's axis: the width of cut as loads reckon it.

    Formula:  pi (D^2 - (D - 2 t)^2) / 4 divided by pi (D - d), at most d
    Args:     major_mm: D.   depth_mm: t of the thread.   cutter_mm: d < D.
    Returns:  mm; for a thread twice what it is, as half of the ring stays.
    Valid:    milled once round inside.
    Source:   own derivation.   Departs: nothing.
    Checked:  tests/stages/passes/test_threads.py
    """
    return min(cutter_mm, depth_mm * (major_mm - depth_mm) / (major_mm - cutter_mm))


def _up(
    track: Track, seat: Seat, *, from_mm: float, pitch_mm: float, turns: int, swing_mm: float, feed: float, air: float
) -> None:
    """Down the middle to a height, in, so many turns up, out to the middle."""
    x, y, z = seat.x_mm, seat.y_mm, from_mm
    track.feed(x, y, z, air)
    half = x + swing_mm / 2.0, y
    z += pitch_mm / 4.0
    track.arc(end=(x + swing_mm, y, z), centre=half, turns_left=True, feed_mm_per_s=feed)
    for _ in range(turns):
        z += pitch_mm
        track.arc(end=(x + swing_mm, y, z), centre=(x, y), turns_left=True, feed_mm_per_s=feed)
    track.arc(end=(x, y, z + pitch_mm / 4.0), centre=half, turns_left=True, feed_mm_per_s=feed)
