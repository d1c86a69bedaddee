"""Minutes of a program from its course: moves, cutter changes, turns and dwells."""

from __future__ import annotations

import math

import numpy as np

from proveout.geometry.arcs import Arc
from proveout.model.course import Course, Event, Motion, Turning
from proveout.model.shop import Machine
from proveout.motion.chain_time import chain_times_s
from proveout.motion.path import Arcs
from proveout.stages.timing.cycle import STOP_ANGLE_RAD, corner_jump_mm_per_s

Point = tuple[float, float, float]


def course_seconds(course: Course, machine: Machine) -> float | None:
    """Seconds of a program from its beginning to its end; None where a motion's place or feed is not known.

    Moves to and from the top of Z whose height is not known count the machine's whole Z travel. The way to the first
    place that is known does not count.
    """
    total, has_begun = 0.0, False
    chain = _Chain()
    for item in course.items:
        if isinstance(item, Motion):
            if item.by_hand or item.feed_mm_per_s is None:
                return None
            ends = _ends(item, machine)
            if ends is None:
                if has_begun:
                    return None
                continue
            has_begun = True
            if chain.places and chain.places[-1] != ends[0]:
                total += chain.seconds(machine)
                chain = _Chain()
            speed = min(item.feed_mm_per_s, machine.feed_max_mm_per_s) if item.kind != "rapid" else math.inf
            chain.add(*ends, speed, item.arc)
            continue
        total += chain.seconds(machine)
        chain = _Chain()
        if isinstance(item, Turning):
            total += machine.rotary.tilt_s if machine.rotary is not None else 0.0
        elif isinstance(item, Event) and item.kind == "cutter change":
            total += machine.cutter_change_s
        elif item.kind == "dwell":
            total += item.value
    return total + chain.seconds(machine)


class _Chain:
    """Moves that follow each other without a halt between."""

    def __init__(self) -> None:
        self.places: list[Point] = []
        self.feeds: list[float] = []
        self.centres: list[Point] = []
        self.normals: list[Point] = []
        self.turns: list[float] = []

    def add(self, start: Point, end: Point, feed_mm_per_s: float, arc: Arc | None) -> None:
        if not self.places:
            self._row(start, math.inf, None)
        self._row(end, feed_mm_per_s, arc)

    def _row(self, place: Point, feed_mm_per_s: float, arc: Arc | None) -> None:
        self.places.append(place)
        self.feeds.append(feed_mm_per_s)
        centre, normal = [0.0, 0.0, 0.0], [0.0, 0.0, 1.0]
        if arc is not None:
            centre[arc.plane[0]], centre[arc.plane[1]] = arc.centre_mm
            normal = [float(k == 3 - sum(arc.plane)) for k in range(3)]
        self.centres.append((centre[0], centre[1], centre[2]))
        self.normals.append((normal[0], normal[1], normal[2]))
        self.turns.append(0.0 if arc is None else arc.turn_rad)

    def seconds(self, machine: Machine) -> float:
        if len(self.places) < 2:
            return 0.0
        arcs = Arcs(centres_mm=np.array(self.centres), normals=np.array(self.normals), turns_rad=np.array(self.turns))
        return float(
            chain_times_s(
                np.array(self.places), np.array(self.feeds), rapid_mm_per_s=machine.rapid_mm_per_s,
                accel_mm_per_s2=machine.accel_mm_per_s2, stop_angle_rad=STOP_ANGLE_RAD,
                jerk_mm_per_s3=math.inf if machine.jerk_mm_per_s3 is None else machine.jerk_mm_per_s3,
                jump_mm_per_s=corner_jump_mm_per_s(machine), arcs=arcs if any(self.turns) else None,
            ).sum()
        )  # fmt: skip


def _ends(motion: Motion, machine: Machine) -> tuple[Point, Point] | None:
    """Both ends of a motion; None where they are not known."""
    start, end = list(motion.start), list(motion.end)
    for one, other, at_top in ((start, end, motion.from_top), (end, start, motion.to_top)):
        if at_top and one[2] is None and other[2] is not None:
            one[2] = other[2] + machine.travel_mm[2]
        for k in range(2):
            if one[k] is None:
                one[k] = other[k]
    for k in range(3):
        if start[k] is None and end[k] is None and motion.start != (None, None, None):
            # to a place of the machine that nobody measured: its whole travel, but from top to top
            start[k], end[k] = 0.0, 0.0 if k == 2 and motion.from_top and motion.to_top else machine.travel_mm[k]
    if None in start or None in end:
        return None
    first, last = ((float(p[0] or 0.0), float(p[1] or 0.0), float(p[2] or 0.0)) for p in (start, end))
    return first, last
