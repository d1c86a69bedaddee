"""NIST report 6556 (The NIST RS274NGC Interpreter, version 3), 3.3 and 3.5: its own examples of lines, arcs, cycles."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from proveout.geometry.arcs import XY
from proveout.model.course import Motion
from proveout.programs.reading.arcs import arc_about
from proveout.programs.reading.blocks import Block, read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.cycles import Cycle, return_height, steps_of
from proveout.programs.reading.running import follow
from proveout.programs.reading.values import evaluate, parameter_number

PROGRAM_OF_EXPRESSIONS = "nc-programs/nist-rs274ngc/c2.ngc"


def only(text: str) -> Block:
    (block,) = read_program(text).blocks
    assert block.fault is None
    return block


def value_of(written: str, parameters: dict[int, float] | None = None) -> float:
    return evaluate(only(f"X{written}").words[0].value, parameters or {})


def test_spaces_change_nothing() -> None:
    """3.3: the line "g0x +0. 12 34y 7" is equivalent to "g0 x+0.1234 y7"."""
    words = [(word.letter, evaluate(word.value, {})) for word in only("g0x +0. 12 34y 7").words]
    assert words == [("G", 0.0), ("X", 0.1234), ("Y", 7.0)]


def test_the_order_of_operations() -> None:
    """3.3.2.3: [2.0 / 3 * 1.5 - 5.5 / 11.0] is 0.5."""
    assert value_of("[2.0 / 3 * 1.5 - 5.5 / 11.0]") == pytest.approx(0.5, abs=1e-12)


@pytest.mark.parametrize(
    ("written", "printed"), [("FIX[2.8]", 2.0), ("FIX[-2.8]", -3.0), ("FUP[2.8]", 3.0), ("FUP[-2.8]", -2.0)]
)
def test_rounding_down_and_up(written: str, printed: float) -> None:
    """3.3.2.4."""
    assert value_of(written) == printed


def test_a_parameter_is_taken_before_it_is_added_to() -> None:
    """3.3.2.2: #1+2 adds 2 to parameter 1, #[1+2] is parameter 3, ##2 is the parameter that parameter 2 numbers."""
    held = {1: 10.0, 2: 3.0, 3: 20.0}
    assert value_of("[#1+2]", held) == 12.0
    assert value_of("#[1+2]", held) == 20.0
    assert value_of("##2", held) == 20.0


def test_the_words_of_a_line_may_stand_in_any_order() -> None:
    """3.3.6: "g40 g1 #3=15 (foo) #4=-7.0" has five items and means the same as "#4=-7.0 g1 #3=15 g40 (foo)"."""
    first, second = only("g40 g1 #3=15 (foo) #4=-7.0"), only("#4=-7.0 g1 #3=15 g40 (foo)")
    assert len(first.words) + len(first.settings) + len(first.comments) == 5

    def held(block: Block) -> tuple[set[tuple[str, float]], dict[float, float]]:
        words = {(word.letter, evaluate(word.value, {})) for word in block.words}
        return words, {evaluate(s.number, {}): evaluate(s.value, {}) for s in block.settings}

    assert held(first) == held(second)


def test_an_arc_by_its_centre() -> None:
    """3.5.3.2: G17 G2 x 10 y 16 i 3 j 4 z 9 from X 7, Y 7 has its centre at X 10, Y 11 and a radius of 5."""
    arc = arc_about((7.0, 7.0, 9.0), (10.0, 16.0, 9.0), plane=XY, offset_mm=(3.0, 4.0), clockwise=True)
    assert arc.centre_mm == (10.0, 11.0)
    assert arc.radius_mm == 5.0
    assert arc.turn_rad < 0.0


def test_drilling_at_one_place() -> None:
    """3.5.16.2, example 1: G90 G81 G98 X4 Y5 Z1.5 R2.8 from (1, 2, 3)."""
    back = return_height(before_mm=3.0, near_mm=2.8, returns_to_start=True)
    cycle = Cycle(code=81, plane=XY, bottom_mm=1.5, near_mm=2.8, back_mm=back)
    steps = [(step.kind, step.to) for step in steps_of(cycle, at=(1.0, 2.0, 3.0), places_mm=[(4.0, 5.0)])]
    assert steps == [
        ("rapid", (4.0, 5.0, 3.0)), ("rapid", (4.0, 5.0, 2.8)), ("feed", (4.0, 5.0, 1.5)), ("rapid", (4.0, 5.0, 3.0)),
    ]  # fmt: skip


def test_drilling_at_three_places() -> None:
    """3.5.16.2, example 2: G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 from (1, 2, 3): R is 4.8, Z is 4.2."""
    back = return_height(before_mm=3.0, near_mm=4.8, returns_to_start=True)
    cycle = Cycle(code=81, plane=XY, bottom_mm=4.2, near_mm=4.8, back_mm=back)
    places = [(5.0, 7.0), (9.0, 12.0), (13.0, 17.0)]
    steps = [(step.kind, step.to) for step in steps_of(cycle, at=(1.0, 2.0, 3.0), places_mm=places)]
    assert steps[0] == ("rapid", (1.0, 2.0, 4.8))
    assert steps[1:] == [
        one for x, y in places for one in (("rapid", (x, y, 4.8)), ("feed", (x, y, 4.2)), ("rapid", (x, y, 4.8)))
    ]


def test_every_expression_of_the_report_comes_to_what_its_comment_says(outside_data: Path) -> None:
    """Appendix C.2: 44 lines say what x should be; parameters are set only after all values of a line are found."""
    program = read_program((outside_data / PROGRAM_OF_EXPRESSIONS).read_text("ascii"))
    assert program.faults == ()
    held: dict[int, float] = {}
    compared = 0
    for block in program.blocks:
        found = {word.letter: evaluate(word.value, held) for word in block.words}
        settings = {parameter_number(evaluate(s.number, held)): evaluate(s.value, held) for s in block.settings}
        held |= settings
        for comment in block.comments:
            printed = re.search(r"x should be (-?[\d.]*\d)", comment)
            if printed is not None:
                places = len(printed[1].partition(".")[2])
                assert found["X"] == pytest.approx(float(printed[1]), abs=max(0.5 * 10.0**-places, 1e-4)), block.text
                compared += 1
    assert compared >= 40
    assert held[2] == 0.375


# worked by hand from the words of c1.ngc (mm): where the tip is at the end of each block that moves it
C1_ENDS = (
    "0 0 50 | 0 0 2 | 0 0 -0.5 | 0 10 -0.5 | 0 10 2 | 0 5 2 | 0 5 -0.5 | 7 5 -0.5 | 7 5 2 | 7 0 2 | 7 0 -0.5 | "
    "7 10 -0.5 | 7 10 2 | 11 2.5 2 | 11 2.5 -0.5 | 16 2.5 -0.5 | 13.5 0 -0.5 | 16 0 -0.5 | 16 0 2 | 20 0 2 | 20 "
    "0 -0.5 | 20 9 -0.5 | 20 9 2 | 26 9 2 | 26 9 -0.5 | 26 0 -0.5 | 26 0 2 | 32.5 0 2 | 32.5 0 -0.5 | 32.5 0 "
    "-0.5 | 32.5 0 2 | 45 5 2 | 45 5 -0.5 | 47 0 -0.5 | 48.5 3 -0.5 | 50 0 -0.5 | 52 5 -0.5 | 52 5 2 | 57.5 0 2 "
    "| 57.5 0 -0.5 | 57.5 0 -0.5 | 57.5 0 2 | 64 0 2 | 64 0 -0.5 | 64 5 -0.5 | 64 4 -0.5 | 69 4 -0.5 | 69 4 2 | "
    "73 0 2 | 73 0 -0.5 | 73 9 -0.5 | 73 9 2 | 81 9 2 | 81 9 -0.5 | 81 0 -0.5 | 79.5 0 -0.5 | 79.5 5 -0.5 | 81 "
    "5 -0.5 | 81 5 50 "
)
# centre, radius and turn in degrees of its arcs, worked by hand: three quarters, two whole circles, the lesser arc over
# a chord of 5 with radius 4, and half a turn
C1_ARCS = (
    ((13.5, 2.5), 2.5, 270.0), ((32.5, 2.5), 2.5, -360.0), ((57.5, 2.5), 2.5, -360.0),
    ((66.5, 4.0 - math.sqrt(16.0 - 2.5**2)), 4.0, -2.0 * math.degrees(math.asin(2.5 / 4.0))),
    ((79.5, 2.5), 2.5, -180.0),
)  # fmt: skip


def test_c1_comes_to_its_end_points(outside_data: Path) -> None:
    text = (outside_data / "nc-programs" / "nist-rs274ngc" / "c1.ngc").read_text()
    course = follow(read_program(text), Control(powers_on=REPORT_DEFAULTS))
    assert not course.notes
    assert course.ended
    moves = [item for item in course.items if isinstance(item, Motion)]
    wanted = [tuple(float(v) for v in point.split()) for point in C1_ENDS.split("|")]
    assert [move.end for move in moves] == wanted
    arcs = [move.arc for move in moves if move.arc is not None]
    for arc, (centre, radius, turn) in zip(arcs, C1_ARCS, strict=True):
        assert arc.centre_mm == pytest.approx(centre)
        assert arc.radius_mm == pytest.approx(radius)
        assert math.degrees(arc.turn_rad) == pytest.approx(turn)
    assert {move.feed_mm_per_s for move in moves if move.kind == "feed"} == {20.0 / 60.0}
