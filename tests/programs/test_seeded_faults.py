"""Thirty and more faults that people make in programs, each found at its line; the program without them is clean."""

from __future__ import annotations

from dataclasses import dataclass

import foreign_program as given
import msgspec
import pytest

from proveout.model.checking import Finding
from proveout.model.proof import is_ready


@dataclass(frozen=True)
class Seeded:
    """`find` becomes `put`, and a finding of the `kind` must then come first at a line that reads `at`."""

    name: str
    find: str
    put: str
    kind: str
    at: str
    sure: bool = True


SEEDED = (
    Seeded("another work offset", "G0 X30 Y20\nG0 Z2", "G55 G0 X30 Y20\nG0 Z2", "zero", "G55 G0 X30 Y20", sure=False),
    Seeded("no length word", "G43 H2 Z20 M8", "Z20 M8", "length", "Z20 M8"),
    Seeded("length of another cutter", "G43 H2 Z20 M8", "G43 H3 Z20 M8", "length", "G43 H3 Z20 M8"),
    Seeded("another plane", "G3 X30 Y20 Z-4 I1 J0 F400", "G18 G3 X30 Y20 Z-4 I1 J0 F400", "words",
           "G18 G3 X30 Y20 Z-4 I1 J0 F400"),
    Seeded("turned before retract", "G53 G0 Z0\n(FLAT AT 30 DEGREES)\nT2 M6\nS9000 M3\nM11\nG0 A30",
           "(FLAT AT 30 DEGREES)\nS9000 M3\nG0 Z-1\nM11\nG0 A30", "turn", "G0 A30"),
    Seeded("sign of A", "G0 A30", "G0 A-30", "over-travel", "G0 A-30"),
    Seeded("another tilt", "G0 A30", "G0 A40", "gouge", "G1 X84 F800"),
    Seeded("brake left open", "G0 A30\nM10", "G0 A30", "brake", f"G1 Z{given.FLAT_TOP:.3f} F600"),
    Seeded("turned against the brake", "M10\nM5", "M10\nG0 A10\nM5", "brake", "G0 A10"),
    Seeded("rapid instead of feed", "G1 Z-20.5 F3000\nG41 D2 G1 X0", "G1 Z-20.5 F3000\nG41 D2 G0 X0",
           "rapid in metal", "Y40"),
    Seeded("a hundredth too deep and more", "G3 X30 Y20 Z-8 I1 J0", "G3 X30 Y20 Z-8.05 I1 J0", "gouge",
           "G3 X30 Y20 Z-8.05 I1 J0"),
    Seeded("a wrong digit", "G1 X21 Y20 F1000", "G1 X12 Y20 F1000", "gouge", "G1 X12 Y20 F1000"),
    Seeded("a point left out", "G1 X90 F1500", "G1 X900 F1500", "over-travel", "G1 X900 F1500"),
    Seeded("spindle never started", "S6000 M3\nG0 X-30", "S6000\nG0 X-30", "spindle", "G1 X90 F1500"),
    Seeded("spindle the wrong way", "S9000 M3\nG0 X-20", "S9000 M4\nG0 X-20", "spindle", "G1 Z-20.5 F3000"),
    Seeded("faster than the cutter may", "S6000 M3\nG0 X-30", "S9500 M3\nG0 X-30", "speed", "S9500 M3"),
    Seeded("faster than the spindle", "S9000 M3", "S90000 M3", "speed", "S90000 M3"),
    Seeded("no feed at all", "G1 X90 F1500", "G1 X90", "words", "G1 X90"),
    Seeded("a feed no machine makes", "G1 X90 F1500", "G1 X90 F150000", "feed", "G1 X90 F150000"),
    Seeded("cutter of another number", "T2 M6\nS9000 M3\nG0 X-20", "T7 M6\nS9000 M3\nG0 X-20",
           "cutter", "G43 H2 Z20 M8", sure=False),
    Seeded("the change left out", "T2 M6\nS9000 M3\nG0 X-20", "T2\nS9000 M3\nG0 X-20", "length", "G43 H2 Z20 M8"),
    Seeded("increments left on", "(POCKET)\n", "(POCKET)\nG91\n", "words", "G3 X30 Y20 Z-4 I1 J0 F400"),
    Seeded("inches", "G21 G17", "G20 G17", "over-travel", "G0 X-30 Y20"),
    Seeded("drilled into the seat", "Z-22 R2", "Z-26 R2", "strike", "G83 X6 Y6 Z-26 R2 Q5 F300"),
    Seeded("drilled into the solid jaw", "X50 Y6\nG80\nG53", "X50 Y-4\nG80\nG53", "strike", "X50 Y-4"),
    Seeded("retract height within metal", "R2 Q5", "R-5 Q5", "rapid in metal", "G83 X6 Y6 Z-22 R-5 Q5 F300"),
    Seeded("compensation never ended", "G40 G1 X35 Y20\nG0 Z20\nM9\nG53 G0 Z0", "G1 X35 Y20\nG0 Z20\nM9\nG53 G0 Z0",
           "words", "G1 X35 Y20"),
    Seeded("the other side", "G41 D2 G1 X0 Y-12", "G42 D2 G1 X0 Y-12", "gouge", "Y40"),
    Seeded("radius of another cutter", "G41 D2 G1 X0 Y-12", "G41 D3 G1 X0 Y-12", "gouge", "Y40"),
    Seeded("the arc turns the other way", "G3 X15 Y24 I0 J-6", "G2 X15 Y24 I0 J-6", "gouge", "G1 X21"),
    Seeded("a centre that is none", "G3 X39 Y30 I-6 J0", "G3 X39 Y30 I-7 J0", "words", "G3 X39 Y30 I-7 J0"),
    Seeded("a radius too small", "G3 X21 Y10 R6", "G3 X21 Y10 R3", "words", "G3 X21 Y10 R3"),
    Seeded("a word nobody declared", "G905 P2", "G906 P2", "words", "G906 P2", sure=False),
    Seeded("a comment never closed", "(HOLES)", "(HOLES", "words", "(HOLES", sure=False),
    Seeded("a letter twice", "G1 X90 F1500", "G1 X90 X95 F1500", "words", "G1 X90 X95 F1500"),
    Seeded("a subprogram that is not there", "M98 P1100", "M98 P1101", "words", "M98 P1101", sure=False),
    Seeded("an unset parameter", "G1 X90 F1500", "G1 X#500 F1500", "words", "G1 X#500 F1500", sure=False),
    Seeded("no hole for the tap", "X50 Y6\nG80\nG53", "G80\nG53", "strike", "G84 X50 Y6 Z-18 R3 F500"),
    Seeded("the tap fed another pitch", "R3 F500", "R3 F400", "feed", "G84 X50 Y6 Z-18 R3 F400"),
    Seeded("no end", "M5\nM30\n", "M5\n", "words", "O1100 (ACROSS AND BACK)"),
    Seeded("no hole deep enough for the holder", "Z-8 I1 J0\nG3", "Z-27 I1 J0\nG3", "gouge", "G3 X30 Y20 Z-27 I1 J0"),
)  # fmt: skip


def mutated(seeded: Seeded) -> str:
    assert seeded.find in given.PROGRAM
    return given.PROGRAM.replace(seeded.find, seeded.put, 1)


def test_the_program_without_a_fault_is_clean() -> None:
    decided = given.check(given.PROGRAM)
    assert decided.value.findings == ()
    assert is_ready(decided.proofs)
    assert decided.value.faces[0].gouge_mm < 0.002


SAME = {
    "home by G28": lambda text: text.replace("G53 G0 Z0", "G91 G28 Z0\nG90"),
    "small letters and spaces": lambda text: text.lower().replace("x", " x ").replace("z", "  z "),
    "numbered": lambda text: "\n".join(
        f"N{10 * n} {line}" if line and line[0] in "GTSM" else line for n, line in enumerate(text.splitlines(), start=1)
    ),
    "inches": given.in_inches,
    "increments along the outline": lambda text: text.replace("X60\nG1 Y0", "G91 X60\nG90 G1 Y0", 1),
    "a parameter for a depth": lambda text: text.replace("(POCKET)", "#101=-8 (POCKET)").replace("Z-8", "Z[#101]"),
}


@pytest.mark.parametrize("same", SAME)
def test_the_same_program_in_other_words_is_clean(same: str) -> None:
    decided = given.check(SAME[same](given.PROGRAM))
    assert decided.value.findings == ()
    assert is_ready(decided.proofs)


@pytest.mark.parametrize("seeded", SEEDED, ids=lambda seeded: seeded.name)
def test_every_seeded_fault_is_found_at_its_line(seeded: Seeded) -> None:
    text = mutated(seeded)
    decided = given.check(text)
    assert not is_ready(decided.proofs)
    lines = text.splitlines()
    told = [f for f in decided.value.findings if f.kind == seeded.kind]
    assert told, [(f.kind, lines[f.line - 1], f.what) for f in decided.value.findings]
    first: Finding = told[0]
    assert lines[first.line - 1] == seeded.at, (first.line, first.what)
    assert first.is_sure == seeded.sure
    verdict = next(p.verdict for p in decided.proofs if p.id.endswith(f":{seeded.kind}"))
    assert verdict == ("fails" if any(f.is_sure for f in told) else "not shown")


def test_a_cutter_set_too_short_takes_its_holder_into_the_work_at_its_line() -> None:
    """Worked: 12 out of its holder of 40 it goes 20.5 down beside the block, 12 from it: the holder, from 8.5 below the
    top on, stands over the block from the line on that comes nearer than its radius of 20."""
    whole = given.table()
    longer = whole.cutters[2].holder_length_mm + whole.cutters[2].stick_out_mm - 12.0
    short = msgspec.structs.replace(
        whole.cutters[2], stick_out_mm=12.0, flute_length_mm=12.0, holder_length_mm=longer
    )  # fmt: skip
    found = given.check(given.PROGRAM, cutters=msgspec.structs.replace(whole, cutters={**whole.cutters, 2: short}))
    first = next(f for f in found.value.findings if f.kind == "shank or holder")
    assert given.PROGRAM.splitlines()[first.line - 1] == "G41 D2 G1 X0 Y-12 F1200"
    assert (first.heading, first.is_sure) == ("OUTLINE", True)
    assert "holder of end mill 10 meets the work" in first.what
    verdicts = {p.id: p.verdict for p in found.proofs}
    assert verdicts["program check:shank or holder"] == "fails"


PROBED = "(POCKET)\nM5\nG0 X30 Y20\nG0 Z5\nG31 Z-1 F100\nG0 Z5\nM3\n"


def test_a_probe_may_touch_the_work_while_the_spindle_stands() -> None:
    knows = msgspec.structs.replace(given.control(), meanings={**given.control().meanings, "G31": "probe"})
    still = given.check(given.PROGRAM.replace("(POCKET)\n", PROBED, 1), knows=knows)
    assert still.value.findings == ()
    turning = given.check(given.PROGRAM.replace("(POCKET)\n", PROBED.replace("M5\n", ""), 1), knows=knows)
    assert [f.kind for f in turning.value.findings] == ["spindle"]
    aside = given.check(
        given.PROGRAM.replace("(POCKET)\n", PROBED.replace("F100\nG0 Z5", "F100\nG0 X31 Z5"), 1), knows=knows
    )
    assert [(f.kind, f.is_sure) for f in aside.value.findings] == [("not known", False)]


def test_metal_of_the_part_taken_is_a_proof_of_its_own() -> None:
    """Whatever surface later lines leave: the line that took the metal fails."""
    clean = {p.id: p.verdict for p in given.check(given.PROGRAM).proofs}
    assert clean["program check:part"] == "holds"
    deep = given.check(given.PROGRAM.replace("G3 X30 Y20 Z-8 I1 J0", "G3 X30 Y20 Z-8.05 I1 J0", 1)).proofs
    assert {p.id: p.verdict for p in deep}["program check:part"] == "fails"


def test_a_turn_below_the_top_with_nobody_knows_what_in_the_spindle_is_not_shown() -> None:
    text = "G21 G90 G0 X0 Y0\nG0 Z5\nM11\nG0 A30\nM30\n"
    told = [f for f in given.check(text).value.findings if f.kind == "turn"]
    assert [f.is_sure for f in told] == [False]
