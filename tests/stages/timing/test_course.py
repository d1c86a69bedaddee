"""Minutes of a program from its text: worked by hand on a machine of 1 m/s2 with unlimited jerk."""

from __future__ import annotations

import math

import foreign_program as given
import msgspec
import pytest

from proveout.model.course import Course
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow
from proveout.stages.timing.course import course_seconds

MACHINE = msgspec.structs.replace(
    given.machine(), rapid_mm_per_s=200.0, feed_max_mm_per_s=100.0, accel_mm_per_s2=1000.0, cutter_change_s=5.0
)


def course_of(text: str) -> Course:
    return follow(read_program(text), Control(powers_on=(*REPORT_DEFAULTS, "G21"), cutter=1))


def seconds(text: str) -> float | None:
    """Of the text, from the origin on."""
    return course_seconds(course_of("G0 X0 Y0 Z0\n" + text), MACHINE)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        # 100 mm at 100 mm/s: 1 s and a ramp of 0.1 s at both ends, of which each half counts
        ("G1 X100 F6000\n", 1.1),
        # the machine makes no more than 100 mm/s
        ("G1 X100 F60000\n", 1.1),
        # rapid 200 mm at 200 mm/s, 0.2 s of ramps
        ("G0 X200\n", 1.2),
        ("G0 X200\nG4 P3\n", 4.2),
        ("T2 M6\n", 5.0),
        # there and back: it halts between
        ("G1 X100 F6000\nX0\n", 2.2),
        # a whole circle of radius 20 at 50 mm/s: v2/r = 125 mm/s2 is less than the machine has; ramps at 0.6 a
        ("G2 I20 F3000\n", 40.0 * math.pi / 50.0 + 50.0 / 600.0),
        ("A30\n", 3.0),
    ],
)
def test_minutes_are_those_of_the_moves(text: str, wanted: float) -> None:
    assert seconds(text) == pytest.approx(wanted, rel=1e-3)


def test_where_a_feed_is_unknown_so_are_the_minutes() -> None:
    assert seconds("G1 X100\n") is None
