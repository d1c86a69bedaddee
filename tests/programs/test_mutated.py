"""Programs spoiled at random: the reader neither breaks nor stands still, and what it cannot follow it tells.

bench/programs.py draws ten thousand of them.
"""

from __future__ import annotations

import random
import time

import foreign_program as given

from proveout.model.course import Motion
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow

COUNT = 1_000
LONGEST_S = 5.0
PIECES = (
    "G0", "G1", "G2", "G3", "G41 D2", "G40", "G91", "G90", "G20", "G53", "G81", "G83", "G87", "L2000", "M98 P1100",
    "M98 P1001", "M99", "M30", "O1100", "X1e9", "X-0", "R0", "#1=[#1+1]", "#5=#5", "[", "]", "(", ")", "ATAN[1]/[0]",
    "**", "%", "/", ";", "N", "G92 X0", "G92.1", "G10 L2 P1 X0", "G28", "A90", "A-720", "C1e6", "Q0.0001", "F0",
    "S1e300", "T99999999", "\x00", "é", "GOTO 90", "GOTO 1", "GOTO #1", "N1", "N90", "DO1", "END1", "END2",
    "WHILE [#1 LT 9] DO1", "WHILE [1 EQ 1] DO2", "IF [#24 EQ #0] GOTO 1", "IF [#1 GE 0] THEN #1=[#1-1]", "#1=#1+1",
    "#1=0", "#0=1", "X#0", "G65 P1200", "G65 P1200 X1 Y2 Z-3", "G65 P1001 A1", "G65 P1100 I1 I2 I3 L5", "M99 P90",
    "G901", "G901 X1 I10 J20 K30", "G901 J#1", "M901", "G902", "G19", "G18", "[1 LT 2 AND 3]", "EQ", "THEN",
)  # fmt: skip


def mutated(draw: random.Random) -> str:
    """One of the two programs with a few lines, words or letters changed."""
    lines = draw.choice((given.PROGRAM, given.WORDED)).splitlines()
    for _ in range(draw.randint(1, 6)):
        at = draw.randrange(len(lines))
        how = draw.randrange(7)
        if how == 0:
            del lines[at]
            lines = lines or [""]
        elif how == 1:
            lines.insert(at, lines[draw.randrange(len(lines))])
        elif how == 2:
            lines[at] = lines[at] + " " + draw.choice(PIECES)
        elif how == 3:
            lines[at] = draw.choice(PIECES) + lines[at]
        elif how == 4:
            letters = list(lines[at])
            draw.shuffle(letters)
            lines[at] = "".join(letters)
        elif how == 5 and lines[at]:
            k = draw.randrange(len(lines[at]))
            lines[at] = lines[at][:k] + chr(draw.randrange(1, 0x250)) + lines[at][k + 1 :]
        else:
            lines[at] = "".join(draw.choice("0123456789.-XYZGMRFIJ#[]()*/+ ") for _ in range(draw.randint(1, 60)))
    return "\n".join(lines)


def test_spoiled_programs_are_followed() -> None:
    draw = random.Random(20270301)  # noqa: S311 - a fixed seed is wanted
    control = given.control()
    clean = [follow(read_program(text), control).items for text in (given.PROGRAM, given.WORDED)]
    told = differing = 0
    for number in range(COUNT):
        text = mutated(draw)
        begun = time.monotonic()
        course = follow(read_program(text), control)
        assert time.monotonic() - begun < LONGEST_S, f"program {number} takes too long:\n{text}"
        told += bool(course.notes)
        motions = [item for item in course.items if isinstance(item, Motion)]
        differing += course.items not in clean
        for motion in motions:
            for value in (*motion.start, *motion.end):
                assert value is None or abs(value) < 1e300
    assert told > COUNT // 2
    assert differing > COUNT // 2
