"""Blocks of a program: what is read, what is refused and where, and that no text stops the reader."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.programs.reading.blocks import Block, read_program
from proveout.programs.reading.values import ValueFault, evaluate


def only(text: str) -> Block:
    (block,) = read_program(text).blocks
    return block


def words_of(text: str) -> list[tuple[str, float]]:
    return [(word.letter, evaluate(word.value, {})) for word in only(text).words]


def test_a_block_has_its_label_words_settings_and_comments() -> None:
    block = only("/n0070 g1 x-.5 (to the wall) #7 = [1+2] F2540. ; and on")
    assert (block.label, block.can_be_skipped, block.fault) == (70, True, None)
    assert [word.letter for word in block.words] == ["G", "X", "F"]
    assert [word.column for word in block.words] == [8, 11, 41]
    assert [evaluate(setting.value, {}) for setting in block.settings] == [3.0]
    assert block.comments == ("to the wall", "and on")


def test_sign_point_and_zeros_may_be_left_out() -> None:
    assert words_of("X+1. Y-.25 Z007 A-0") == [("X", 1.0), ("Y", -0.25), ("Z", 7.0), ("A", 0.0)]


def test_what_stands_behind_the_second_percent_is_not_read() -> None:
    program = read_program("\r\n%\r\nG90\r\n\r\nM30\r\n%\r\nthis is no block\r\n")
    assert [(block.line, block.text) for block in program.blocks] == [(3, "G90"), (5, "M30")]
    assert (program.ends_at, program.faults) == (6, ())


@pytest.mark.parametrize(
    ("line", "column", "what"),
    [
        ("G1 X", 5, "a number is missing"),
        ("G1 X Y2", 6, "a number is missing"),
        ("G1 X1.2.3", 8, "'.' begins no word"),
        ("G1 (half", 4, "a comment is never closed"),
        ("G1 (a (b) c)", 4, "a comment is opened again before it is closed"),
        ("G1 & X2", 4, "'&' begins no word"),
        ("G1 N7", 4, "a label stands behind other words"),
        ("NX1", 1, "N has no whole number behind it"),
        ("X[1+2", 6, "a [ is never closed"),
        ("X[1 2 3&]", 8, "an operation or ] is missing"),
        ("X[]", 3, "a number is missing"),
        ("XSIN 30", 6, "SIN has no [ behind it"),
        ("XATAN[1]", 9, "ATAN takes two values in brackets, parted by /"),
        ("#3 X1", 4, "a parameter is named and no = follows"),
        ("X" + "9" * 400, 2, "the number is too large"),
        ("X" + "[" * 60 + "1" + "]" * 60, 43, "brackets and signs are nested more than 40 deep"),
        ("X1" + " " * 5000, 1, "the line has 5002 characters; 4096 are read"),
        ("G\N{ARABIC-INDIC DIGIT ONE}", 2, "a number is missing"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_column(line: str, column: int, what: str) -> None:
    program = read_program(f"G90\n{line}\nM30")
    assert [(fault.line, fault.column, fault.what) for fault in program.faults] == [(2, column, what)]
    assert [block.line for block in program.blocks] == [1, 2, 3], "what follows is read on"


def test_words_before_a_fault_are_kept() -> None:
    assert [word.letter for word in only("G1 X2 Y").words] == ["G", "X"]
    assert [word.letter for word in only("G1 X2 (open").words] == ["G", "X"]


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("[1/0]", "/ of 1 and 0 is no number"),
        ("SQRT[-1]", "SQRT of -1 is no number"),
        ("LN[0]", "LN of 0 is no number"),
        ("ASIN[1.1]", "ASIN of 1.1 is no number"),
        ("[-8**0.5]", "** of -8 and 0.5 is no number"),
        ("[10**400]", "** of 10 and 400 is no number"),
        ("EXP[1000]", "EXP of 1000 is no number"),
        ("[7 MOD 0]", "MOD of 7 and 0 is no number"),
        ("#5", "parameter 5 was not set before"),
        ("#2.5", "2.5 numbers no parameter: a whole number from 1 to 99999 does"),
        ("##1", "-4 numbers no parameter: a whole number from 1 to 99999 does"),
    ],
)
def test_a_value_that_comes_to_no_number_says_why(written: str, why: str) -> None:
    with pytest.raises(ValueFault, match="^" + why.replace("*", r"\*").replace("[", r"\[") + "$"):
        evaluate(only(f"X{written}").words[0].value, {1: -4.0})


def test_a_sign_before_any_value() -> None:
    assert evaluate(only("X-#1").words[0].value, {1: 2.5}) == -2.5
    assert words_of("X-[1+2]") == [("X", -3.0)]
    assert words_of("X-SQRT[9]") == [("X", -3.0)]


def test_halves_are_rounded_away_from_nothing_and_a_remainder_is_never_below_it() -> None:
    assert words_of("XROUND[2.5] YROUND[-2.5] Z[-7 MOD 4]") == [("X", 3.0), ("Y", -3.0), ("Z", 1.0)]


def test_a_long_sum_is_no_depth() -> None:
    assert words_of("X[1" + "+1" * 2000 + "]") == [("X", 2001.0)]


@given(st.text(max_size=200))
def test_no_text_stops_the_reader(text: str) -> None:
    for block in read_program(text).blocks:
        assert block.text.strip()
        assert block.fault is None or 1 <= block.fault.column <= len(block.text) + 1


SEED_PROGRAM = """%
(face and drill)
N10 G21 G90 G17 G54
N20 T3 M6
N30 S8000 M3
#101 = 2.5
N40 G0 X[#101*2] Y-SIN[30] Z5.
N50 G2 X10 Y0 I5 J0 F400 (round)
/N60 G83 X1 Y1 Z-8 R2 Q1.5
N70 M30
%
"""


def test_changed_programs_are_read_through() -> None:
    """Every text of 5000 with letters dropped, doubled, exchanged or changed is read to its end."""
    draw = np.random.default_rng(11)
    broken = 0
    for _ in range(5000):
        letters = list(SEED_PROGRAM)
        for _ in range(int(draw.integers(1, 9))):
            at = int(draw.integers(len(letters)))
            match int(draw.integers(4)):
                case 0:
                    del letters[at]
                case 1:
                    letters.insert(at, letters[at])
                case 2:
                    letters[at] = chr(int(draw.choice([draw.integers(1, 127), draw.integers(0xE000, 0x110000)])))
                case _:
                    letters.insert(at, str(draw.choice(list("[]#()%/N=*-+."))))
        program = read_program("".join(letters))
        for block in program.blocks:
            for word in block.words:
                try:
                    assert isinstance(evaluate(word.value, {101: 2.5}), float)
                except ValueFault:
                    continue
        broken += bool(program.faults)
    assert broken > 1000, "the changes hardly broke anything"
