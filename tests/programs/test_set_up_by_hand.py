"""A set-up told on the command line, without a plan: which vise of the shop holds the work, and what is then found."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.cli.main import main

SHOP = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"
CUTTERS = (
    "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,holder_diameter_mm,holder_length_mm\n"
    "1,end mill,8,3,20,40,20,60\n"
)
PROGRAM = "G21 G90 G17 G94\nG53 G0 Z0\nT1 M6\nS8000 M3\nG0 X-30 Y20\nG43 H1 Z40\nG1 Z{} F300\nG0 Z40\nG53 G0 Z0\nM30\n"
BLANK = ["--blank-low", "0", "0", "0", "--blank-high", "60", "40", "30", "--zero", "0", "0", "30"]
# the seat at z 0 of the solid, the fixed jaw behind at y 40
JAWS = ["--vise", "vise-5", "--jaw-at", "30", "40", "0", "--gap", "40", "--jaw-top", "3"]
MACHINE = ["--shop", str(SHOP), "--machine", "mill-5"]


def check(tmp_path: Path, z: float, *more: str) -> int:
    cutters, program = tmp_path / "cutters.csv", tmp_path / "beside.nc"
    cutters.write_text(CUTTERS)
    program.write_text(PROGRAM.format(z))
    return main(["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet", *more])


def test_the_jaws_named_by_hand_are_struck_at_their_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worked: beside the work, above the seat between the jaws; the seat lies 30 mm below program zero."""
    check(tmp_path, -29.9, *MACHINE, *JAWS)
    clean = capsys.readouterr().out
    assert "meets the seat" not in clean
    assert "jaws of vise-5 are taken to lie along machine X" in " ".join(clean.split())
    assert check(tmp_path, -30.1, *MACHINE, *JAWS) == 3
    assert "2 lines from 7 to 8: end mill 8 meets the seat (worst 0.1 mm, limit 0.02)" in capsys.readouterr().out


def test_without_a_vise_that_it_was_not_looked_at_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    check(tmp_path, -30.1)
    said = " ".join(capsys.readouterr().out.split())
    assert "meets the seat" not in said
    assert "Not looked at, for nobody named it: the jaws, the vise's bed, the table, the spindle's head." in said


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--vise", "vise-5"], "takes four options"),
        ([*MACHINE, *JAWS[:1], "vise-3", *JAWS[2:]], "one of the shop's on this machine"),
        (JAWS, "name the shop file with --shop"),
        ([*MACHINE, *JAWS[:-3], "400", *JAWS[-2:]], "cannot stand so far apart"),
        ([*MACHINE, *JAWS[:-1], "80"], "cannot stand so high"),
    ],
)
def test_a_set_up_that_cannot_be_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], says: str
) -> None:
    assert check(tmp_path, -10.0, *more) == 2
    assert says in capsys.readouterr().err
