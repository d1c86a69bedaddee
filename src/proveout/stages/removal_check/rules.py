"""What a course breaks without any metal being looked at: travels, brakes, lengths, spindle, feeds, zeros."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from proveout.model.checking import CutterTable, Finding, Standing
from proveout.model.course import Course, Event, Modes, Motion, Turning
from proveout.model.shop import Machine
from proveout.quantities.units import deg_from_rad
from proveout.stages.removal_check.placing import polyline

HAIR_MM, HAIR_RAD = 1e-6, 1e-9
OVER_RATIO = 1.0 + 1e-9
PITCH_RATIO = 0.005
"""Our own: a feed written with one decimal differs from the pitch by less."""


def broken_rules(course: Course, *, standing: Standing, table: CutterTable) -> tuple[Finding, ...]:
    """Everything that the words alone show, in the order of the program; what goes on is told where it begins."""
    found: list[Finding] = []
    before: set[tuple[str, str]] = set()
    length_since: int | None = None
    for item in course.items:
        if isinstance(item, Event):
            if item.kind == "cutter change":
                length_since, before = item.line, set()
            if item.kind == "spindle":
                found.extend(_too_fast(item, table))
            continue
        now: set[tuple[str, str]] = set()
        for finding in _of_item(item, length_since, standing, table):
            key = finding.kind, finding.what
            now.add(key)
            if key not in before:
                found.append(finding)
        if isinstance(item, Turning) or not (item.from_top and item.to_top):
            before = now
    if table.machine is not None and None in standing.zero_mm:
        found.extend(_too_wide(course, table.machine))
    return tuple(found)


def _too_wide(course: Course, machine: Machine) -> Iterator[Finding]:
    """Wherever the work stands: moves of one zero, length and turn that lie further apart than an axis goes."""
    ends: dict[tuple[object, ...], tuple[list[float], list[float]]] = {}
    told: set[int] = set()
    for item in course.items:
        if not isinstance(item, Motion):
            continue
        modes = item.modes
        key = modes.system, modes.shift_mm, modes.length_mm, modes.turned_rad, modes.plane
        low, high = ends.setdefault(key, ([math.inf] * 3, [-math.inf] * 3))
        for k, letter in enumerate("XYZ"):
            for value in (item.start[k], item.end[k]):
                if value is not None:
                    low[k], high[k] = min(low[k], value), max(high[k], value)
            if high[k] - low[k] > machine.travel_mm[k] + HAIR_MM and k not in told:
                told.add(k)
                yield _told(
                    item, "over-travel", f"{letter} goes further than the whole axis, wherever the work stands",
                    found=round(high[k] - low[k], 3), limit=machine.travel_mm[k], unit="mm",
                )  # fmt: skip


def _of_item(
    item: Motion | Turning, change_line: int | None, standing: Standing, table: CutterTable
) -> Iterator[Finding]:
    if isinstance(item, Motion):
        if not (item.from_top and item.to_top):
            yield from _cutter_and_length(item, change_line, table)
            yield from _spindle_and_feed(item, table)
            yield from _zero(item, standing)
        yield from _brakes(item)
        if table.machine is not None:
            yield from _travel(item, table.machine, standing)
    else:
        yield from _turn(item, table.machine)


def _told(item: Motion | Turning | Event, kind: str, what: str, **more: object) -> Finding:
    return Finding(kind=kind, line=item.line, heading=item.heading, what=what, **more)  # type: ignore[arg-type]


def _cutter_and_length(motion: Motion, change_line: int | None, table: CutterTable) -> Iterator[Finding]:
    modes = motion.modes
    if modes.cutter == 0:
        if motion.kind == "feed":
            yield _told(motion, "cutter", "a feed is made and no cutter is in the spindle")
        return
    if modes.cutter is not None and modes.cutter not in table.cutters:
        yield _told(motion, "cutter", f"cutter {modes.cutter} is not in the table", is_sure=False)
        return
    if modes.length_number is None and table.gauge_mm.get(modes.cutter or 0) == 0.0:
        return
    if modes.length_number is None:
        since = f" since the cutter change in line {change_line}" if change_line is not None else ""
        yield _told(
            motion, "length", f"no length word (G43 H) is in force{since}: the tip lies a cutter's length lower"
        )
    elif modes.length_mm is not None and modes.cutter in table.gauge_mm:
        off = modes.length_mm - table.gauge_mm[modes.cutter]
        if abs(off) > HAIR_MM:
            what = (
                f"H{modes.length_number} is the length of another cutter than {modes.cutter}, which is in the spindle"
            )
            yield _told(motion, "length", what, found=round(abs(off), 4), limit=0.0, unit="mm")


def _spindle_and_feed(motion: Motion, table: CutterTable) -> Iterator[Finding]:
    modes = motion.modes
    cutter = table.cutters.get(modes.cutter or 0)
    if motion.kind == "probe" and modes.spindle in ("right", "left"):
        yield _told(motion, "spindle", "a probe is moved while the spindle turns")
    if motion.kind == "feed":
        if modes.spindle == "left" and not (cutter and cutter.kind == "tap"):
            yield _told(motion, "spindle", "the cutter is fed while the spindle turns to the left (M4)")
        if modes.spindle in ("right", "left") and modes.speed_rad_per_s <= 0.0:
            yield _told(motion, "speed", "the cutter is fed and no S gives the spindle a speed")
        if cutter is not None and cutter.kind == "tap" and motion.feed_mm_per_s and modes.speed_rad_per_s > 0.0:
            pitch = motion.feed_mm_per_s * 2.0 * math.pi / modes.speed_rad_per_s
            if abs(pitch - cutter.pitch_mm) > PITCH_RATIO * cutter.pitch_mm:
                yield _told(
                    motion, "feed", "the tap is not fed its pitch each turn", found=round(pitch, 4),
                    limit=cutter.pitch_mm, unit="mm",
                )  # fmt: skip
        if motion.feed_mm_per_s is None:
            yield _told(motion, "feed", "the feed of this move is not known", is_sure=False)
    machine = table.machine
    feed = motion.feed_mm_per_s
    if machine is not None and motion.kind != "rapid" and feed and feed > machine.feed_max_mm_per_s * OVER_RATIO:
        yield _told(
            motion, "feed", "the feed is above what the machine makes",
            found=round(feed * 60.0, 1), limit=round(machine.feed_max_mm_per_s * 60.0, 1),
            unit="mm/min",
        )  # fmt: skip


def _too_fast(event: Event, table: CutterTable) -> Iterator[Finding]:
    modes = event.modes
    for limit, whose in _speed_limits(modes, table):
        if modes.speed_rad_per_s > limit * OVER_RATIO and modes.spindle != "off":
            yield _told(
                event, "speed", f"the spindle turns faster than {whose} allows",
                found=round(modes.speed_rad_per_s * 30.0 / math.pi, 1), limit=round(limit * 30.0 / math.pi, 1),
                unit="1/min",
            )  # fmt: skip


def _speed_limits(modes: Modes, table: CutterTable) -> Iterator[tuple[float, str]]:
    cutter = table.cutters.get(modes.cutter or 0)
    if cutter is not None and cutter.rated_rad_per_s is not None:
        yield cutter.rated_rad_per_s, f"cutter {modes.cutter} or its holder"
    if table.machine is not None:
        yield table.machine.speed_max_rad_per_s, "the machine"


def _zero(motion: Motion, standing: Standing) -> Iterator[Finding]:
    if motion.modes.system == standing.system:
        return
    yield _told(
        motion, "zero", f"work offset {motion.modes.system} is in force; the work was set up on {standing.system}",
        is_sure=False,
    )  # fmt: skip


def _brakes(motion: Motion) -> Iterator[Finding]:
    if motion.kind != "feed":
        return
    for name, held in (("A", motion.modes.a_held), ("C", motion.modes.c_held)):
        if held is False:
            yield _told(motion, "brake", f"the cutter is fed while the brake of {name} is open")


def _turn(turning: Turning, machine: Machine | None) -> Iterator[Finding]:
    names = ("A", "B", "C")
    before, after = turning.before, turning.after
    held = {"A": before.a_held, "C": before.c_held}
    for k, name in enumerate(names):
        if before.turned_rad[k] != after.turned_rad[k] and held.get(name):
            yield _told(turning, "brake", f"{name} turns against its closed brake")
    rotary = machine.rotary if machine is not None else None
    if machine is not None and rotary is None:
        yield _told(turning, "over-travel", "a rotary axis is named and the machine has none")
    if rotary is None:
        return
    ends = ((0, "A", rotary.a_low_rad, rotary.a_high_rad), (2, "C", rotary.c_low_rad, rotary.c_high_rad))
    for k, name, low, high in ends:
        at = after.turned_rad[k]
        if at is None or (name == "C" and rotary.c_is_continuous) or low is None or high is None:
            continue
        if not low - HAIR_RAD <= at <= high + HAIR_RAD:
            limit = low if at < low else high
            yield _told(
                turning, "over-travel", f"{name} is sent beyond its end", found=round(deg_from_rad(at), 4),
                limit=round(deg_from_rad(limit), 4), unit="°",
            )  # fmt: skip


def _travel(motion: Motion, machine: Machine, standing: Standing) -> Iterator[Finding]:
    """The spindle's nose in machine coordinates against the ends of each axis, whose zero lies at one end."""
    modes = motion.modes
    is_known = None not in motion.end and None not in motion.start
    points = polyline(motion) if is_known else np.array([motion.end], dtype=np.float64)
    for k, letter in enumerate("XYZ"):
        if motion.end[k] is None:
            continue
        origin, zero = modes.origin_mm[k], standing.zero_mm[k]
        if origin is None or zero is None or (k == 2 and modes.length_mm is None):
            continue
        place = points[:, k] + origin + (modes.length_mm or 0.0 if k == 2 else 0.0)
        first = -machine.travel_mm[k] if k == 2 or zero < 0.0 else 0.0
        last = first + machine.travel_mm[k]
        worst = float(place[np.argmax(np.maximum(first - place, place - last))])
        if not first - HAIR_MM <= worst <= last + HAIR_MM:
            yield _told(
                motion, "over-travel", f"{letter} is sent beyond its end, in machine coordinates",
                found=round(worst, 3), limit=first if worst < first else last, unit="mm",
            )  # fmt: skip
