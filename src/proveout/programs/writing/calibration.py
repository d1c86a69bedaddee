"""The program whose stretches are watched to find a machine's own numbers, by the machine's description."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.model.program_style import ProgramStyle
from proveout.motion.calibration import Stretch
from proveout.programs.writing.text import ProgramText, degrees

SAFE_WORDS = "G90 G94 G21 G17 G40 G49 G80 G54"
CUTTER_NUMBERS = (1, 2)
"""Changed to and fro; what stands in these places is a person's to see to."""


@dataclass(frozen=True)
class TiltedTo:
    """The rotary positions that tilts go to and come back from, as the work turns."""

    a_rad: float
    c_rad: float


def calibration_program(
    *, title: str, stretches: Sequence[Stretch], style: ProgramStyle, tilted: TiltedTo | None
) -> str:  # fmt: skip
    """Write the program: each stretch begins behind an M0 and ends at the next.

    Args:     stretches: in order, their moves counted from where program zero was set.   tilted: None without tilts.
    Returns:  the text. No spindle turns, no length is in force; it comes to program zero from the top of Z.
    """
    program = ProgramText(style)
    program.comment(title)
    program.comment("NO WORK, HOLDERS WITHOUT CUTTERS. READ THE PAGE FIRST")
    program.comment("MM. G54 IS WHERE THE SPINDLE NOSE STANDS, SEE THE PAGE")
    program.blocks(style.opening)
    program.block(SAFE_WORDS)
    program.block("M5")
    program.blocks(style.before_change)
    is_at_zero = False
    for number, stretch in enumerate(stretches, start=1):
        moves = len(stretch.positions) > 0
        if moves and not is_at_zero:
            program.comment("TO PROGRAM ZERO FROM ABOVE")
            program.block("M0")
            program.rapid((0.0, 0.0, None))
            program.rapid((None, None, 0.0))
        elif not moves:
            program.comment("STOP WATCH. THEN TO THE TOP, NOT TIMED")
            program.block("M0")
            program.blocks(style.before_change)
            if stretch.cutter_changes_count:
                program.block(f"T{CUTTER_NUMBERS[0]} M6")
        is_at_zero = moves
        program.comment(f"{number}: {stretch.name}. START WATCH AND PROGRAM TOGETHER")
        program.block("M0")
        program.forget()
        _stretch(program, stretch, style, tilted)
    program.comment("END OF THE LAST STRETCH. WRITE ITS TIME")
    program.block("M0")
    program.blocks(style.before_change)
    program.blocks(style.closing)
    return program.text()


def _stretch(program: ProgramText, stretch: Stretch, style: ProgramStyle, tilted: TiltedTo | None) -> None:
    if len(stretch.positions):
        for _ in range(stretch.times_count):
            _round(program, stretch)
    for change in range(stretch.cutter_changes_count):
        program.block(f"T{CUTTER_NUMBERS[(change + 1) % 2]} M6")
    for tilt in range(stretch.tilts_count):
        to = tilted if tilted is not None and tilt % 2 == 0 else TiltedTo(0.0, 0.0)
        program.turn(f"A{degrees(style.a_sign * to.a_rad)} C{degrees(style.c_sign * to.c_rad)}")


def _round(program: ProgramText, stretch: Stretch) -> None:
    """One round from program zero back to it."""
    for k in range(1, len(stretch.positions)):
        point = tuple(float(v) for v in stretch.positions[k])
        feed = float(stretch.feeds[k])
        if stretch.arcs is not None and stretch.arcs.turns_rad[k] != 0.0:
            _circles(program, stretch, k, feed)
        elif math.isinf(feed):
            program.rapid((point[0], point[1], point[2]))
        else:
            program.feed((point[0], point[1], point[2]), feed)


def _circles(program: ProgramText, stretch: Stretch, k: int, feed_mm_per_s: float) -> None:
    """Whole circles in XY from a point back to it."""
    assert stretch.arcs is not None
    turn = float(stretch.arcs.turns_rad[k])
    start, centre = (tuple(float(v) for v in row) for row in (stretch.positions[k - 1], stretch.arcs.centres_mm[k]))
    for _ in range(round(abs(turn) / (2.0 * math.pi))):
        program.arc(
            (start[0], start[1], start[2]), (centre[0] - start[0], centre[1] - start[1]), turns_left=turn > 0.0,
            feed_mm_per_s=feed_mm_per_s,
        )  # fmt: skip
