"""A machine's calibration: its program with the page beside it, and its numbers from the times that were watched."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from proveout.intake.shop_file import read_shop
from proveout.intake.times_file import WatchedTimes, read_times, times_draft
from proveout.jobs.calibrating import MachineFit, fit_machine, slowest
from proveout.jobs.check_program import control_of, fingerprint_of_text
from proveout.jobs.results import result_folder
from proveout.model.checking import CutterTable
from proveout.model.course import Course, Event, Motion
from proveout.model.fact import Fact
from proveout.model.shop import Machine
from proveout.motion.calibration import Stretch, calibration_moves, reached_mm
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.programs.writing.calibration import CUTTER_NUMBERS, TiltedTo, calibration_program
from proveout.quantities.errors import BadInput, InternalError, OutOfRange
from proveout.quantities.units import MM_PER_S_PER_M_PER_MIN
from proveout.sheets.calibration_page import CalibrationSheet, StretchRow, calibration_pdf
from proveout.stages.removal_check.placing import polyline
from proveout.stages.timing.course import course_seconds
from proveout.stages.timing.cycle import STOP_ANGLE_RAD

CLEAR_MM = 20.0
"""To be free beyond the box that the nose stays in, to each side (our own)."""
TILT_A_RAD, TILT_C_RAD, TILT_LEAST_RAD = math.radians(30.0), math.radians(90.0), math.radians(5.0)
WORST_RATIO = 0.05
"""How far a watched time may lie from the reckoned one: five times the scatter that is taken for granted."""
OURS = ("times.toml",)
MM_PER_M = 1000.0


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """A machine's program and page before they are written.  low_mm, high_mm: the box that the nose stays in."""

    machine: Machine
    shop: str
    stretches: tuple[Stretch, ...]
    text: str
    fingerprint: str
    seconds: tuple[float, ...]
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    tilted: TiltedTo | None


def calibration_of(machine_id: str, *, shop_path: Path) -> Calibration:
    """The calibration program of one machine of a shop, written, read back and timed.

    Raises:   BadInput where the shop has no such machine or its programs are not described; OutOfRange where its
              travels are too short.
    """
    shop = read_shop(shop_path)
    known = {machine.id: machine for machine in shop.machines}
    if machine_id not in known:
        raise BadInput(
            "The shop has no such machine", where=shop_path.name, value=machine_id, limit=", ".join(known),
            do="name one of these",
        )  # fmt: skip
    machine = known[machine_id]
    if machine.program is None:
        raise BadInput(
            "A calibration program needs the machine's description of its programs", where=shop_path.name,
            value=f"{machine_id} has no [machine.program]", do="describe how its control is spoken to",
        )  # fmt: skip
    tilted = _tilted(machine)
    moves = calibration_moves(
        travel_mm=machine.travel_mm, feed_mm_per_s=machine.feed_max_mm_per_s, has_rotary=tilted is not None
    )
    stretches = tuple(
        replace(one, positions=np.round(one.positions, machine.program.decimals_count))  # as they can be written
        for one in moves
        if machine.pockets_count > 1 or not one.cutter_changes_count
    )
    low, high = _box(stretches, machine, shop_path)
    text = calibration_program(
        title=f"CALIBRATION OF {machine_id}", stretches=stretches, style=machine.program, tilted=tilted
    )
    course = follow(read_program(text), control_of(machine, CutterTable(cutters={}, gauge_mm={}, machine=machine)))
    _prove_read_back(course, low, high)
    return Calibration(
        machine=machine, shop=shop.name, stretches=stretches, text=text, fingerprint=fingerprint_of_text(text),
        seconds=stretch_seconds(course, stretches, machine), low_mm=low, high_mm=high, tilted=tilted,
    )  # fmt: skip


def _tilted(machine: Machine) -> TiltedTo | None:
    """Rotary positions within the machine's travels that a tilt goes to."""
    rotary = machine.rotary
    if rotary is None:
        return None
    a = min(TILT_A_RAD, rotary.a_high_rad)
    if a < TILT_LEAST_RAD:
        a = max(-TILT_A_RAD, rotary.a_low_rad)
    c_high = TILT_C_RAD if rotary.c_is_continuous else rotary.c_high_rad or 0.0
    return TiltedTo(a_rad=a, c_rad=min(TILT_C_RAD, c_high))


def _box(
    stretches: tuple[Stretch, ...], machine: Machine, shop_path: Path
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    low, high = reached_mm(stretches)
    for axis, span, travel in zip("XYZ", high - low, machine.travel_mm, strict=True):
        if span + 2.0 * CLEAR_MM > travel:
            raise OutOfRange(
                "The travel is too short for the calibration program", where=f"{shop_path.name}: {machine.id} {axis}",
                value=f"travel {travel:g} mm", limit=f"{span + 2.0 * CLEAR_MM:.0f} mm or more",
                do="this machine's numbers cannot be found this way",
            )  # fmt: skip
    first, last = (tuple(float(v) for v in np.round(end, 3)) for end in (low, high))
    return (first[0], first[1], first[2]), (last[0], last[1], last[2])


def _prove_read_back(
    course: Course, low_mm: tuple[float, float, float], high_mm: tuple[float, float, float]
) -> None:  # fmt: skip
    """The program must mean what was wanted, and keep to the box that the page states."""
    if course.notes or not course.ended:
        first = f"line {course.notes[0].line}: {course.notes[0].what}" if course.notes else "it has no end word"
        raise BadInput(
            "The calibration program does not mean what it should in this machine's description",
            where="[machine.program]", value=first, do="correct opening, before_change, closing or own words",
        )  # fmt: skip
    for item in course.items:
        if isinstance(item, Event) and item.kind == "spindle" and item.modes.spindle != "off":
            raise BadInput(
                "A block of the machine's description turns the spindle", where=f"line {item.line}",
                do="take it out of opening, before_change and closing",
            )  # fmt: skip
        if not isinstance(item, Motion) or item.from_top or item.to_top or None in item.start or None in item.end:
            continue
        points = polyline(item)
        if (points < np.array(low_mm) - 0.01).any() or (points > np.array(high_mm) + 0.01).any():
            raise InternalError(
                "The calibration program leaves the box that its page states", where=f"line {item.line}"
            )


def stretch_seconds(course: Course, stretches: tuple[Stretch, ...], machine: Machine) -> tuple[float, ...]:
    """Seconds from the stop before each stretch to the next stop, by the program's own text."""
    stops = [k for k, item in enumerate(course.items) if isinstance(item, Event) and item.kind == "stop"]
    found: list[float] = []
    for number, stretch in enumerate(stretches, start=1):
        at = next((n for n, k in enumerate(stops) if course.items[k].heading.startswith(f"{number}:")), None)
        if at is None or at + 1 >= len(stops):
            raise InternalError(
                "A stretch of the calibration program has no stop before or behind it", where=stretch.name
            )
        part = Course(items=course.items[stops[at] + 1 : stops[at + 1]], notes=(), ended=True)
        seconds = course_seconds(part, machine)
        if seconds is None:
            raise InternalError("A stretch of the calibration program cannot be timed", where=stretch.name)
        found.append(seconds)
    return tuple(found)


def write_calibration(machine_id: str, *, shop_path: Path, out: Path) -> list[str]:
    """Program, page and the file for the times, in a folder; what was written, in lines."""
    if (out / "times.toml").exists():
        raise BadInput(
            "There are times in this folder already", where=str(out / "times.toml"), value="written before",
            do="name another folder with --out, so that no time that was watched is lost",
        )  # fmt: skip
    made = calibration_of(machine_id, shop_path=shop_path)
    style = made.machine.program
    assert style is not None
    name = f"calibration{style.ending}"
    sheet = CalibrationSheet(
        machine_id=machine_id, shop=made.shop, program=name, fingerprint=made.fingerprint, low_mm=made.low_mm,
        high_mm=made.high_mm, clear_mm=CLEAR_MM,
        cutter_numbers=CUTTER_NUMBERS if any(one.cutter_changes_count for one in made.stretches) else (),
        tilted_deg=None if made.tilted is None else (math.degrees(made.tilted.a_rad), math.degrees(made.tilted.c_rad)),
        rows=tuple(
            StretchRow(
                number=number, name=one.name, text=one.text, times_count=one.times_count, seconds=seconds
            )
            for number, (one, seconds) in enumerate(zip(made.stretches, made.seconds, strict=True), start=1)
        ),
    )  # fmt: skip
    named = list(zip((one.name for one in made.stretches), made.seconds, strict=True))
    with result_folder(out, ours=OURS) as folder:
        (folder / name).write_text(made.text, encoding="utf-8", newline="")
        (folder / "calibration.pdf").write_bytes(calibration_pdf(sheet))
        draft = times_draft(machine_id=machine_id, fingerprint=made.fingerprint, stretches=named)
        (folder / "times.toml").write_text(draft, encoding="utf-8", newline="")
    return [
        f"Written: {out / name}, its page calibration.pdf and times.toml for the times",
        (
            f"It runs about {sum(made.seconds) / 60.0:.0f} minutes without the stops. Read the page first: the table "
            "is empty, the spindle off, and it is tried in single block before it is timed."
        ),
        f"Then: proveout calibrate {machine_id} --shop {shop_path} --times {out / 'times.toml'}",
    ]


def fitted(machine_id: str, *, shop_path: Path, times_path: Path) -> list[str]:
    """The machine's numbers from watched times, with the keys for its shop file, in lines.

    Raises:   BadInput where the times belong to another machine or program, or do not fit each other.
    """
    made = calibration_of(machine_id, shop_path=shop_path)
    times = read_times(times_path)
    fit = fit_of(made, times, file=times_path.name)
    return fit_words(fit, made, len(times.seconds))


def fit_of(made: Calibration, times: WatchedTimes, *, file: str) -> MachineFit:
    """The fit, refused where a time lies further from the law than watches do."""
    for key, value, wanted in (
        ("machine", times.machine_id, made.machine.id), ("program", times.fingerprint, made.fingerprint)
    ):  # fmt: skip
        if value != wanted:
            raise BadInput(
                f"These times are of another {key}", where=f"{file}: {key}", value=value, limit=wanted,
                do="write the program anew and time that one, or name the shop file it was written with",
            )  # fmt: skip
    known = {one.name: seconds for one, seconds in zip(made.stretches, made.seconds, strict=True)}
    for name in times.seconds:
        if name not in known:
            raise BadInput(
                "The program has no such stretch", where=f"{file}: {name}", value=f"{times.seconds[name]:g} s",
                limit=", ".join(known), do="write it as on the page",
            )  # fmt: skip
    fit = fit_machine(times.seconds, stretches=made.stretches, stop_angle_rad=STOP_ANGLE_RAD)
    if fit.worst_ratio > WORST_RATIO:
        raise BadInput(
            "A time does not fit the others, whatever the machine's numbers", where=f"{file}: {fit.worst}",
            value=f"{times.seconds[fit.worst]:g} s, {100.0 * fit.worst_ratio:.1f} % off the best fit",
            limit=f"{100.0 * WORST_RATIO:g} %",
            do="look for a slip of the pen and at the overrides, time this stretch again, or leave it out",
        )  # fmt: skip
    return fit


def fit_words(fit: MachineFit, made: Calibration, times_count: int) -> list[str]:
    """What was found, each number with its interval, and the keys for the shop file."""
    rows: list[tuple[str, Fact | None, float, str]] = []
    for name, facts, factor, unit in (
        ("rapid", fit.rapid_mm_per_s, MM_PER_S_PER_M_PER_MIN, "m/min"),
        ("acceleration", fit.accel_mm_per_s2, MM_PER_M, "m/s²"), ("jerk", fit.jerk_mm_per_s3, MM_PER_M, "m/s³"),
    ):  # fmt: skip
        rows += [(f"{name} of {axis}", fact, factor, unit) for axis, fact in zip("XYZ", facts, strict=True)]
    rows.append(("jump at corners", fit.corner_jump_mm_per_s, MM_PER_S_PER_M_PER_MIN, "m/min"))
    rows.append(("cutter change", fit.cutter_change_s, 1.0, "s"))
    if made.tilted is not None:
        rows.append(("tilt", fit.tilt_s, 1.0, "s"))
    lines = [
        (
            f"{times_count} times of {len(made.stretches)} stretches; the worst, {fit.worst}, lies "
            f"{100.0 * fit.worst_ratio:.1f} % from the law."
        )
    ]
    for name, fact, factor, unit in rows:
        if fact is None:
            lines.append(f"  {name}: not shown, these times do not decide it")
        else:
            low, value, high = (v / factor for v in (fact.low, fact.nominal, fact.high))
            lines.append(f"  {name}: {value:.3g} {unit}, from {low:.3g} to {high:.3g}")
    keys = [
        ("rapid_m_per_min", slowest(fit.rapid_mm_per_s), MM_PER_S_PER_M_PER_MIN),
        ("accel_m_per_s2", slowest(fit.accel_mm_per_s2), MM_PER_M),
        ("jerk_m_per_s3", slowest(fit.jerk_mm_per_s3), MM_PER_M),
        ("corner_jump_m_per_min", fit.corner_jump_mm_per_s, MM_PER_S_PER_M_PER_MIN),
        ("cutter_change_s", fit.cutter_change_s, 1.0),
    ]
    lines.append(f'For [[machine]] "{made.machine.id}" in the shop file, the slowest axis for all:')
    lines += [f"  {key} = {fact.nominal / factor:.4g}" for key, fact, factor in keys if fact is not None]
    if fit.tilt_s is not None:
        lines += ["and in its [machine.rotary]:", f"  tilt_s = {fit.tilt_s.nominal:.4g}"]
    missing = [key for key, fact, _ in keys if fact is None]
    if missing:
        lines.append(f"Not shown, so leave as it is: {', '.join(missing)}")
    return lines
