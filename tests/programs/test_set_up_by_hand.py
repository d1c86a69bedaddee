"""A set-up told on the command line, without a plan: which vise of the shop holds the work, and what is then found."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from proveout.cli.main import main
from proveout.intake.shop_file import read_shop

SHOP = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"
CUTTERS = (
    "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,holder_diameter_mm,holder_length_mm\n"
    "1,end mill,8,3,20,40,20,60\n"
)
PROGRAM = "G21 G90 G17 G94\nG53 G0 Z0\nT1 M6\nS8000 M3\nG0 X-30 Y20\nG43 H1 Z40\nG1 Z{} F300\nG0 Z40\nG53 G0 Z0\nM30\n"
BLANK = ["--blank-low", "0", "0", "0", "--blank-high", "60", "40", "30", "--zero", "0", "0", "30"]
# the seat at z 0 of the solid, the fixed jaw behind at y 40
JAWS = ["--vise", "vise-5", "--jaw-at", "30", "40", "0", "--gap", "40", "--jaw-top", "3"]
SECOND = "further = [{ stands_x_mm = 430.0, stands_y_mm = -180.2, stands_z_mm = -360.0 }]"
MACHINE = ["--shop", str(SHOP), "--machine", "mill-5"]


def check(tmp_path: Path, z: float, *more: str, cutters: str = CUTTERS) -> int:
    table, program = tmp_path / "cutters.csv", tmp_path / "beside.nc"
    table.write_text(cutters)
    program.write_text(PROGRAM.format(z))
    return main(["check", str(program), *BLANK, "--cutters", str(table), "--quiet", *more])


def test_the_jaws_named_by_hand_are_struck_at_their_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worked: beside the work, above the seat between the jaws; the seat lies 30 mm below program zero."""
    check(tmp_path, -29.9, *MACHINE, *JAWS)
    clean = capsys.readouterr().out
    assert "meets the seat" not in clean
    assert "jaws of vise-5 are taken to lie along machine X" in " ".join(clean.split())
    assert check(tmp_path, -30.1, *MACHINE, *JAWS) == 3
    assert "2 lines from 7 to 8: end mill 8 meets the seat (worst 0.1 mm, limit 0.02 mm)" in capsys.readouterr().out


def test_a_shop_of_inches_is_told_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Worked: 0.1 mm is 0.00394 in, 0.02 mm 0.0008 in, 40 mm between the jaws 1.57 in; nothing is left in mm."""
    shop = tmp_path / "shop.toml"
    text = SHOP.read_text(encoding="utf-8")
    shop.write_text(text.replace('units = "mm"', 'units = "inch"'), encoding="utf-8")
    for more in (["--shop", str(shop), *MACHINE[2:]], [*MACHINE, "--inch"]):
        assert check(tmp_path, -30.1, *more, *JAWS) == 3
        said = " ".join(capsys.readouterr().out.split())
        assert "2 lines from 7 to 8: end mill 8 meets the seat (worst 0.004 in, limit 0.0008 in)" in said
        assert "1.57 in between them" in said
        assert " mm" not in said


def test_names_of_cutter_and_vise_stay_as_the_shop_has_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """Worked: 0.1 mm is 0.004 in; a cutter and a vise with a length in their names keep them."""
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP.read_text(encoding="utf-8").replace('"vise-5"', '"125mm"'), encoding="utf-8")
    jaws = [*JAWS[:1], "125mm", *JAWS[2:]]
    cutters = CUTTERS.replace("number,", "number,name,").replace("1,end mill,", "1,end 8 mm,end mill,")
    assert check(tmp_path, -30.1, "--shop", str(shop), *MACHINE[2:], *jaws, "--inch", cutters=cutters) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert "end 8 mm meets the seat (worst 0.004 in, limit 0.0008 in)" in said
    assert "The jaws of 125mm are taken" in said


def test_without_a_vise_that_it_was_not_looked_at_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    check(tmp_path, -30.1)
    said = " ".join(capsys.readouterr().out.split())
    assert "meets the seat" not in said
    assert "Not looked at, for nobody named it: the jaws, the vise's bed, the table, the spindle's head." in said


TWO = ["--machine", "mill-3"]
IN_ONE = ["--vise", "vise-3", *JAWS[2:]]


@pytest.mark.parametrize("second", [SECOND, SECOND.replace("430.0", "365.0").replace("-360.0", "-320.0"), ""])
def test_the_vise_that_stands_idle_is_looked_at_or_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], second: str
) -> None:
    """Worked: program zero at machine X 220; jaws of a vise at 365 begin at X 82.5, its seat 10 above zero at -320."""
    shop = tmp_path / "shop.toml"
    text = SHOP.read_text(encoding="utf-8")
    assert SECOND in text
    shop.write_text(text.replace(SECOND, second), encoding="utf-8")
    cutters, program = tmp_path / "cutters.csv", tmp_path / "beside.nc"
    cutters.write_text(CUTTERS)
    program.write_text(PROGRAM.format(-5).replace("G1 Z-5 F300", "G1 Z1 F300\nG1 X100 F600"))
    main(
        ["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet", "--shop", str(shop), *TWO, *IN_ONE]
    )  # fmt: skip
    said = " ".join(capsys.readouterr().out.split())
    assert ("Not looked at" in said and "the idle vise in place 2" in said) == (second == "")
    assert ("jaw of the idle vise in place 2" in said) == ("365.0" in second)
    assert ("taken to be the first vise-3" in said) == (second != "")


def test_with_no_vise_named_the_others_of_the_table_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check(tmp_path, -10.0, "--shop", str(SHOP), *TWO)
    assert "the other vises of its table" in " ".join(capsys.readouterr().out.split())
    check(tmp_path, -10.0, *MACHINE)
    assert "the other vises" not in " ".join(capsys.readouterr().out.split())


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


def test_what_was_not_looked_at_is_not_said_to_hold(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a machine nothing is known of travels, brakes and the machine's own limits; without a vise of strikes."""
    check(tmp_path, -10.0, "--out", str(tmp_path / "out"))
    said = " ".join(capsys.readouterr().out.split())
    proofs = {
        p["id"].rpartition(":")[2]: p for p in json.loads((tmp_path / "out" / "check.json").read_text())["proofs"]
    }
    for kind in ("over-travel", "brake", "speed", "feed", "strike"):
        assert (proofs[kind]["verdict"], proofs[kind]["blocks_release"]) == ("not shown", False), kind
    assert proofs["length"]["verdict"] == "holds"
    assert "not shown: every axis stays within its travel. Name the machine and its shop file" in said
    check(tmp_path, -10.0, *MACHINE, "--out", str(tmp_path / "out"))
    proofs = {
        p["id"].rpartition(":")[2]: p for p in json.loads((tmp_path / "out" / "check.json").read_text())["proofs"]
    }
    assert proofs["speed"]["verdict"] == "holds"
    assert proofs["over-travel"]["verdict"] == "not shown"


def test_a_span_wider_than_the_axis_fails_wherever_the_work_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Worked: mill-5 goes 500 mm along Y; from Y 20 to Y -490 is 510."""
    cutters, program = tmp_path / "cutters.csv", tmp_path / "wide.nc"
    cutters.write_text(CUTTERS)
    program.write_text(PROGRAM.format(-10.0).replace("G0 Z40\nG53", "G0 Z40\nG0 Y-490\nG53"))
    travel = next(m for m in read_shop(SHOP).machines if m.id == "mill-5").travel_mm[1]
    wide = program.read_text().replace("Y-490", f"Y{20.0 - travel - 10.0:g}")
    for text, status in ((wide, 3), (wide.replace(f"Y{20.0 - travel - 10.0:g}", f"Y{20.0 - travel + 10.0:g}"), None)):
        program.write_text(text)
        found = main(["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet", *MACHINE])
        said = " ".join(capsys.readouterr().out.split())
        assert (f"Y goes further than the whole axis, wherever the work stands ({travel + 10.0:g} mm" in said) == (
            status == 3
        )
        assert status is None or found == status


def test_the_cause_is_told_before_what_follows_from_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without its length word the nose goes where the tip was meant to: the strikes follow from that."""
    cutters, program = tmp_path / "cutters.csv", tmp_path / "bare.nc"
    cutters.write_text(CUTTERS)
    program.write_text(PROGRAM.format(-10.0).replace("G43 H1 Z40", "Z-15").replace("X-30 Y20", "X20 Y20"))
    main(["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet", *MACHINE, *JAWS])
    fails = [line for line in capsys.readouterr().out.splitlines() if line.startswith("  fails: ")]
    assert len(fails) > 1
    assert fails[0].startswith("  fails: the length in force")


def test_jaws_that_do_not_touch_the_blank_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wide = [*JAWS[:-3], "45", *JAWS[-2:]]
    assert check(tmp_path, -10.0, *MACHINE, *wide) == 2
    assert "The jaws do not touch the blank" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("block", "back_mm"),
    [("G83 X30 Y20 Z25 R35 Q3 F200", "0.254"), ("N10G083X30 Y20 Z25 R35 Q3 F200", "0.254"), ("(G83 X30)", "")],
)
def test_how_far_pecks_come_back_is_said_where_the_program_has_some(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], block: str, back_mm: str
) -> None:
    cutters, program = tmp_path / "cutters.csv", tmp_path / "pecked.nc"
    cutters.write_text(CUTTERS)
    program.write_text(PROGRAM.format(10).replace("G0 Z40\nG53", f"{block}\nG80\nG0 Z40\nG53"))
    for more, number in (([], back_mm), (MACHINE, "0.5" if back_mm else "")):
        main(["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet", *more])
        said = " ".join(capsys.readouterr().out.split())
        assert (f"come back by rapid to {number} mm above the last bottom" in said) == (number != "")
        assert ("come back by rapid" in said) == (number != "")


def test_units_that_nobody_wrote_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    check(tmp_path, -10.0)
    assert "No G20 and no G21" not in capsys.readouterr().out
    cutters, program = tmp_path / "cutters.csv", tmp_path / "bare.nc"
    program.write_text("(G21 IN A COMMENT)\n" + PROGRAM.format(-10.0).replace("G21 ", ""))
    main(["check", str(program), *BLANK, "--cutters", str(cutters), "--quiet"])
    assert "No G20 and no G21 is written" in " ".join(capsys.readouterr().out.split())
