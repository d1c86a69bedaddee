"""What each line of a program takes off, how wide, how deep and with what chip: by hand-worked cuts in a block."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from proveout.cli.main import main

CUTTERS = (
    "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,holder_diameter_mm,holder_length_mm\n"
    "1,end mill,10,4,20,40,20,60\n"
)
# a slot through the middle 2 deep, a side of 2.5 by 3, half a turn of radius 12 above the block
PROGRAM = """G21 G90 G17 G94
G53 G0 Z0
T1 M6
S6000 M3
G0 X-10 Y20
G43 H1 Z5
G1 Z-2 F1200
X70
G0 Z5
Y-2.5
X-10
G1 Z-3 F600
X70
G0 Z5
X30 Y8
G1 Z0.5
G3 Y32 J12 F300
G0 Z5
G53 G0 Z0
M30
"""
BLANK = ["--blank-low", "0", "0", "0", "--blank-high", "60", "40", "30", "--zero", "0", "0", "30"]


def checked(tmp_path: Path, program: str) -> tuple[list[dict[str, str]], dict[str, object]]:
    (tmp_path / "cutters.csv").write_text(CUTTERS)
    (tmp_path / "cut.nc").write_text(program)
    out = tmp_path / "out"
    given = [*BLANK, "--cutters", str(tmp_path / "cutters.csv")]
    main(["check", str(tmp_path / "cut.nc"), *given, "--quiet", "--out", str(out)])
    rows = list(csv.DictReader(io.StringIO((out / "cuts.csv").read_text())))
    return rows, json.loads((out / "check.json").read_text())


def test_a_slot_and_a_side_are_as_wide_and_deep_as_by_hand(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worked: 6000 1/min and four edges are 400 edges a second; 20 mm/s and 10 mm/s are 0.05 and 0.025 mm an edge.

    The slot takes its whole feed as chip. The side of 2.5 by radius 5: the outermost edge stands at cos 60, so that
    the chip is sin 60 of the feed.
    """
    rows, _ = checked(tmp_path, PROGRAM)
    by_line = {int(row["line"]): row for row in rows}
    assert set(by_line) == {8, 13}
    slot, side = by_line[8], by_line[13]
    pitch = 0.25
    assert float(slot["removed_mm3"]) == pytest.approx(60.0 * 10.0 * 2.0, rel=2e-3)
    assert float(slot["a_e_mm"]) == pytest.approx(10.0, abs=2 * pitch)
    assert float(slot["a_p_mm"]) == pytest.approx(2.0, abs=0.01)
    assert float(slot["chip_mm"]) == pytest.approx(0.05, abs=1e-4)
    assert float(side["removed_mm3"]) == pytest.approx(60.0 * 2.5 * 3.0, rel=4e-3)
    assert float(side["a_e_mm"]) == pytest.approx(2.5, abs=2 * pitch)
    assert float(side["a_p_mm"]) == pytest.approx(3.0, abs=0.01)
    assert float(side["chip_mm"]) == pytest.approx(0.025 * 0.75**0.5, abs=2e-3)
    said = capsys.readouterr().out
    assert "thickest chip 0.050 mm, line 8" in said
    assert "a_p 3.00 mm" in said


def test_an_arc_is_one_row_with_all_that_its_chords_took(tmp_path: Path) -> None:
    """Worked: half a turn of radius 12, 10 wide and 2 deep, takes pi 12 x 10 x 2; the disc at its start went before."""
    arc = PROGRAM.replace("G1 Z0.5\n", "G1 Z-2\n").replace("X-10 Y20\n", "X-20 Y-20\n").replace("\nX70\n", "\nX-20\n")
    rows, _ = checked(tmp_path, arc)
    own = [row for row in rows if int(row["line"]) == 17]
    assert len(own) == 1
    assert float(own[0]["cut_mm"]) == pytest.approx(3.14159 * 12.0, rel=0.01)
    assert float(own[0]["removed_mm3"]) == pytest.approx(3.14159 * 12.0 * 10.0 * 2.0, rel=0.01)


def test_where_a_feed_is_not_known_the_minutes_are_not(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows, content = checked(tmp_path, PROGRAM.replace("G1 Z-2 F1200", "G1 Z-2"))
    assert [row["chip_mm"] for row in rows if int(row["line"]) == 8] == [""]
    check = content["check"]
    assert isinstance(check, dict)
    assert check["uses"][0]["feed_s"] is None
    assert "a feed not known" in capsys.readouterr().out


def test_a_shift_of_zero_counts_also_where_nobody_measured_the_zero(tmp_path: Path) -> None:
    """The machine stands at X -10 and calls that 90: X 115 is then X 15 of the block, which is cut from -5 to 20."""
    shifted = "G21 G90 G17 G94\nG53 G0 Z0\nT1 M6\nS6000 M3\nG0 X-10 Y20\nG43 H1 Z5\nG92 X90\nG1 Z-2 F1200\nX115\nM30\n"
    rows, _ = checked(tmp_path, shifted)
    assert [int(row["line"]) for row in rows] == [9]
    half = 3.14159 * 25.0 / 2.0
    assert float(rows[0]["removed_mm3"]) == pytest.approx(2.0 * (15.0 * 10.0 + half), rel=0.01)


def test_a_zero_that_the_program_sets_is_not_known_where_the_work_was_not_measured(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    program = PROGRAM.replace("G53 G0 Z0\nT1", "G53 G0 Z0\nG10 L2 P1 X5 Y3 Z-20\nT1")
    _, content = checked(tmp_path, program)
    assert content["ready"] is False
    assert "the program sets its zero, and where the work lies" in " ".join(capsys.readouterr().out.split())


def test_a_thread_mill_fed_into_metal_while_the_spindle_stands_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,holder_diameter_mm,holder_length_mm,pitch_mm\n"
    (tmp_path / "cutters.csv").write_text(table + "1,thread mill,8,4,20,40,20,60,1.25\n")
    (tmp_path / "cut.nc").write_text(
        "G21 G90 G17 G94\nG53 G0 Z0\nT1 M6\nS6000\nG0 X30 Y20\nG43 H1 Z5\nG1 Z-2 F100\nG0 Z5\nM30\n"
    )
    main(["check", str(tmp_path / "cut.nc"), *BLANK, "--cutters", str(tmp_path / "cutters.csv"), "--quiet"])
    said = " ".join(capsys.readouterr().out.split())
    assert "is fed into metal while the spindle stands" in said
    assert "no hole of the thread's own size is there" in said


def test_each_use_of_a_cutter_has_its_own_most(tmp_path: Path) -> None:
    """The cutter is called twice: the slot of the second time is 1 deep, that of the first 2."""
    again = "G53 G0 Z0\nT1 M6\nS6000 M3\nG0 X-10 Y35\nG43 H1 Z5\nG1 Z-1 F600\nX70\nG0 Z5\nG53 G0 Z0\nM30\n"
    _, content = checked(tmp_path, PROGRAM.replace("G53 G0 Z0\nM30\n", again))
    check = content["check"]
    assert isinstance(check, dict)
    first, second = check["uses"]
    assert first["axial_mm"] == pytest.approx(3.0, abs=0.01)
    assert second["axial_mm"] == pytest.approx(1.0, abs=0.01)
    assert second["chip_line"] > first["chip_line"]
