"""Jumps, conditions, loops, calls with arguments and empty parameters; values worked by hand."""

from __future__ import annotations

import itertools

import pytest

from proveout.model.course import Course, Motion
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow

KNOWN = Control(powers_on=(*REPORT_DEFAULTS, "G21"), cutter=1)


def course_of(text: str) -> Course:
    return follow(read_program(text), KNOWN)


def xs(text: str) -> list[float | None]:
    """Where X goes, motion by motion."""
    return [item.end[0] for item in course_of(text).items if isinstance(item, Motion)]


def told(text: str) -> list[tuple[int, str, str]]:
    return [(note.line, note.kind, note.what) for note in course_of(text).notes]


def value_of(written: str) -> float | None:
    """What an expression gives as a length."""
    course = course_of(f"G0 Y0\nX{written}\n")
    assert not course.notes, course.notes
    return next(item.end[0] for item in reversed(course.items) if isinstance(item, Motion))


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("[1 EQ 1]", 1.0), ("[1 EQ 2]", 0.0), ("[1 NE 2]", 1.0), ("[1 NE 1]", 0.0), ("[2 GT 1]", 1.0),
        ("[1 GT 1]", 0.0), ("[1 GE 1]", 1.0), ("[0 GE 1]", 0.0), ("[0 LT 1]", 1.0), ("[1 LT 1]", 0.0),
        ("[1 LE 1]", 1.0), ("[2 LE 1]", 0.0), ("[[1 LT 2] AND [3 GT 2]]", 1.0), ("[[1 GT 2] OR [3 GT 2]]", 1.0),
        ("[[1 LT 2] XOR [3 GT 2]]", 0.0), ("[7 MOD 4 EQ 3]", 1.0), ("[1 + 1 LT 2 + 1]", 1.0), ("[3 LT 2 + 1]", 0.0),
        ("FUP[2.2]", 3.0), ("ROUND[2.5]", 3.0), ("ABS[-4]", 4.0), ("[2 ** 3]", 8.0), ("SQRT[16]", 4.0),
    ],
)  # fmt: skip
def test_comparisons_come_behind_sums_and_give_one_or_nothing(written: str, wanted: float) -> None:
    assert value_of(written) == pytest.approx(wanted)


@pytest.mark.parametrize("written", ["[1 LT 2 AND 3 GT 2]", "[1 LT 2 LT 3]"])
def test_comparisons_whose_order_nobody_agrees_on_are_told(written: str) -> None:
    assert any("brackets of its own" in what for _, _, what in told(f"G0 X{written}\n"))


def test_a_loop_is_done_as_often_as_its_condition_holds() -> None:
    """Worked: X0, then 10, 20, 30 while the counter is below 3."""
    text = "#1=0\nG0 X0\nWHILE [#1 LT 3] DO1\n#1=#1+1\nX[#1*10]\nEND1\nX99\nM30\n"
    assert xs(text) == [0.0, 10.0, 20.0, 30.0, 99.0]
    assert course_of(text).ended
    assert xs(text.replace("LT 3", "LT 0")) == [0.0, 99.0]


def test_a_loop_within_a_loop() -> None:
    """Worked: two rows of three, 10 apart along X from the first row at 0, the second at 100."""
    text = (
        "#1=0\nWHILE [#1 LT 2] DO1\n#2=0\nWHILE [#2 LT 3] DO2\nG0 X[#1*100+#2*10]\n#2=#2+1\nEND2\n#1=#1+1\nEND1\nM30\n"
    )
    assert xs(text) == [0.0, 10.0, 20.0, 100.0, 110.0, 120.0]


def test_jumps_go_to_the_next_label_of_their_own_program() -> None:
    text = "O1\nG0 X0\nGOTO 20\nX1\nN10 X2\nM30\nN20 X3\nGOTO[5*2]\nM30\nO2\nN20 X9\nM99\n"
    assert xs(text) == [0.0, 3.0, 2.0]
    assert not told(text)


def test_a_condition_leads_on_or_elsewhere_or_lets_its_own_block_be_done() -> None:
    text = "#1=5\nG0 X0\nIF [#1 GT 4] GOTO 7\nX1\nN7 IF [#1 EQ 5] THEN #1=8\nIF [#1 EQ 5] THEN X50\nX#1\nM30\n"
    assert xs(text) == [0.0, 8.0]


def test_a_call_has_parameters_of_its_own_and_gives_them_back() -> None:
    """Worked: A is 1, D 7, X 24, Z 26; the caller's own #1 is as before when it comes back, #100 is everybody's."""
    text = (
        "#1=3\nG0 X0 Y0\nG65 P8 A11 D12 X13 Z14\nX#1\nX#100\nM30\n"
        "O8\nX#1\nX#7\nX#24\nX#26\n#1=77\n#100=5\nM99\n"
    )  # fmt: skip
    assert xs(text) == [0.0, 11.0, 12.0, 13.0, 14.0, 3.0, 5.0]
    assert not told(text)


def test_every_letter_of_a_call_has_its_parameter() -> None:
    """Common practice: the numbers by their letters, G, L, N, O and P left out."""
    letters = "ABCIJKDEFHMQRSTUVWXYZ"
    numbers = [1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 13, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26]
    call = "G65 P8 " + " ".join(f"{letter}{100 + n}" for letter, n in zip(letters, numbers, strict=True))
    body = "\n".join(f"X#{n}" for n in numbers)
    assert xs(f"G0 X0\n{call}\nM30\nO8\n{body}\nM99\n") == [0.0, *(100.0 + n for n in numbers)]


def test_groups_of_i_j_k_go_on_behind_each_other() -> None:
    text = "G0 X0\nG65 P8 A1 I2 J3 K4 I5 J6 K7\nM30\nO8\n" + "\n".join(f"X[#{n}*10]" for n in (1, 4, 5, 6, 7, 8, 9))
    assert xs(text + "\nM99\n") == [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0]


def test_what_a_call_leaves_out_is_empty_and_not_nothing() -> None:
    """Worked: B is left out: it equals what is empty, not 0; a word with it counts as not written; in a sum it is 0."""
    text = (
        "G0 X0 Y0\nG65 P8 A0\nM30\nO8\nIF [#2 EQ #0] THEN X1\nIF [#2 EQ 0] THEN X2\nIF [#1 EQ #0] THEN X3\n"
        "IF [#1 NE #0] THEN X4\nX#2 Y7\nX[#2+6]\n#3=#2\nIF [#3 EQ #0] THEN X8\nM99\n"
    )
    assert xs(text) == [0.0, 1.0, 4.0, 4.0, 6.0, 8.0]
    assert not told(text)


def test_calls_within_calls_and_repeats() -> None:
    """Worked: each call adds its A to where the tip is; the inner one has its own A."""
    text = "G0 X0\nG65 P8 A1 L3\nM30\nO8\nG91 G65 P9 A[#1*10]\nX#1\nG90\nM99\nO9\nG91 X#1\nM99\n"
    assert xs(text.replace("G91 G65", "G65")) == [0.0, 10.0, 11.0, 21.0, 22.0, 32.0, 33.0]
    assert any("beside G65" in what for _, _, what in told(text))


def test_an_unset_parameter_of_nobody_is_not_empty() -> None:
    assert any("parameter 5 was not set" in what for _, _, what in told("IF [#5 EQ #0] GOTO 1\nN1 M30\n"))


def test_m99_with_p_goes_to_a_label_of_its_caller() -> None:
    assert xs("G0 X0\nM98 P8\nX1\nN5 X2\nM30\nO8\nX7\nM99 P5\n") == [0.0, 7.0, 2.0]


@pytest.mark.parametrize(
    ("text", "line", "kind", "says"),
    [
        ("G0 X0\nN1 X5\nGOTO 1\n", 3, "fault", "never ends"),
        ("N1 M98 P7\nGOTO 1\nO7\nG0 X1\nM99\n", 2, "fault", "never ends"),
        ("N1 G65 P7 A1\nGOTO 1\nM30\nO7\n#2=5\nM99\n", 2, "fault", "never ends"),
        ("DO1\nG4 P0\nEND1\n", 3, "fault", "never ends"),
        ("#1=0\nWHILE [#1 LT 1] DO1\nG4 P0\nEND1\n", 4, "fault", "never ends"),
        ("GOTO 5\nM30\n", 1, "fault", "has the label N5"),
        ("WHILE [1 EQ 1] DO1\nM30\n", 1, "fault", "no END"),
        ("END1\nM30\n", 1, "fault", "no DO"),
        ("IF [1 EQ 1] X5\n", 1, "unknown", "neither THEN nor GOTO"),
        ("WHILE [1 EQ 1]\n", 1, "unknown", "WHILE has no DO"),
        ("X5 GOTO 1\n", 1, "unknown", "behind other words"),
        ("IF [#500 EQ 1] GOTO 1\nN1 M30\n", 1, "unknown", "which way it goes is not known"),
        ("GOTO #500\nM30\n", 1, "unknown", "where it goes is not known"),
        ("G65 A1\nM30\n", 1, "unknown", "it has no P"),
        ("G65 P9\nM30\n", 1, "unknown", "subprogram 9 is not in this file"),
        ("G65 P7 A#500\nM30\nO7\nG4 P#1\nM99\n", 4, "unknown", "parameter 1 was not set"),
        ("G65 P7 N5\n", 1, "unknown", "label stands behind"),
        ("G65 P7 G5\nM30\nO7\nM99\n", 1, "fault", "names no parameter"),
        ("G65 P7 A1 A2\nM30\nO7\nM99\n", 1, "fault", "second argument"),
        ("O7\nG65 P7\n", 2, "fault", "deep"),
        ("#0=1\n", 1, "unknown", "numbers no parameter"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, line: int, kind: str, says: str) -> None:
    assert any((n, k) == (line, kind) and says in what for n, k, what in told(text)), told(text)


def test_a_loop_that_only_counts_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.programs.reading.running.JUMPS_BACK_MOST", 100)
    text = "#1=0\nWHILE [#1 GE 0] DO1\n#1=#1+1\nEND1\nM30\n"
    assert [(n, kind) for n, kind, what in told(text) if "more than 100 times" in what] == [(4, "unknown")]
    assert not course_of(text).ended


def test_a_loop_entered_anew_with_other_arguments_is_no_endless_one() -> None:
    """The same jump with the same count inside a call that its caller makes three times, each with another A."""
    text = (
        "#100=0\nWHILE [#100 LT 3] DO1\nG65 P7 A#100\n#100=#100+1\nEND1\nM30\n"
        "O7\n#2=0\nWHILE [#2 LT 2] DO1\nG0 X[#1*10+#2]\n#2=#2+1\nEND1\nM99\n"
    )
    assert xs(text) == [10.0 * a + b for a, b in itertools.product(range(3), range(2))]
    assert not told(text)
