"""Minutes of a program from its course: moves, cutter changes, turns and dwells."""

from __future__ import annotations

import numpy as np

from proveout.model.course import Course, Event, Motion, Turning
from proveout.model.shop import Machine
from proveout.motion.program_time import polyline_time_s
from proveout.stages.timing.cycle import JUMP_MM_PER_S, STOP_ANGLE_RAD

ARC_POINTS_RAD = 0.05


def course_seconds(course: Course, machine: Machine) -> float | None:
    """Seconds of a program from its beginning to its end; None where a motion's place or feed is not known.

    Moves to and from the top of Z whose height is not known count the machine's whole Z travel.
    """
    total = 0.0
    chain: list[tuple[float, float, float]] = []
    feeds: list[float] = []

    def close() -> None:
        nonlocal total
        if len(chain) > 1:
            total += polyline_time_s(
                np.array(chain), np.array(feeds), rapid_mm_per_s=machine.rapid_mm_per_s,
                accel_mm_per_s2=machine.accel_mm_per_s2, stop_angle_rad=STOP_ANGLE_RAD, jump_mm_per_s=JUMP_MM_PER_S,
            )  # fmt: skip
        chain.clear()
        feeds.clear()

    for item in course.items:
        if isinstance(item, Motion):
            if item.by_hand or item.feed_mm_per_s is None:
                return None
            points = _points(item, machine)
            if points is None:
                if item.from_top and item.to_top:
                    continue  # the first of all: from where, nobody knows
                return None
            if chain and chain[-1] != points[0]:
                close()
            if not chain:
                chain.append(points[0])
                feeds.append(np.inf)
            speed = min(item.feed_mm_per_s, machine.feed_max_mm_per_s) if item.kind != "rapid" else np.inf
            for point in points[1:]:
                chain.append(point)
                feeds.append(speed)
            continue
        close()
        if isinstance(item, Turning):
            total += machine.rotary.tilt_s if machine.rotary is not None else 0.0
        elif isinstance(item, Event) and item.kind == "cutter change":
            total += machine.cutter_change_s
        elif item.kind == "dwell":
            total += item.value
    close()
    return total


def _points(motion: Motion, machine: Machine) -> list[tuple[float, float, float]] | None:
    """The motion's points; None where they are not known."""
    start, end = list(motion.start), list(motion.end)
    for one, other, at_top in ((start, end, motion.from_top), (end, start, motion.to_top)):
        if at_top and one[2] is None and other[2] is not None:
            one[2] = other[2] + machine.travel_mm[2]
        for k in range(2):
            if one[k] is None:
                one[k] = other[k]
    if None in start or None in end:
        return None
    first = (float(start[0] or 0.0), float(start[1] or 0.0), float(start[2] or 0.0))
    last = (float(end[0] or 0.0), float(end[1] or 0.0), float(end[2] or 0.0))
    if motion.arc is None:
        return [first, last]
    from proveout.geometry.arcs import point_at

    count = max(1, int(abs(motion.arc.turn_rad) / ARC_POINTS_RAD))
    return [first, *(point_at(motion.arc, first, last, k / count) for k in range(1, count)), last]
