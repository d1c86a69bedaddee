"""The calibration program written, read back, timed and fitted: the numbers that made the times come back."""

from __future__ import annotations

import math
from pathlib import Path

import msgspec
import numpy as np
import pytest

from proveout.cli.main import main
from proveout.intake.shop_file import read_shop
from proveout.intake.times_file import WatchedTimes, read_times
from proveout.jobs.calibration_run import Calibration, calibration_of, fit_of, stretch_seconds, write_calibration
from proveout.jobs.check_program import control_of
from proveout.model.checking import CutterTable
from proveout.model.course import Course, Motion
from proveout.model.shop import Machine
from proveout.motion.calibration import Stretch
from proveout.motion.chain_time import chain_times_s
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.sheets.calibration_page import calibration_document
from proveout.stages.timing.cycle import STOP_ANGLE_RAD

SHOP = Path(__file__).resolve().parents[2] / "examples" / "shop.toml"


@pytest.fixture(scope="module")
def made() -> Calibration:
    return calibration_of("mill-5", shop_path=SHOP)


def course_of(made: Calibration, machine: Machine) -> Course:
    table = CutterTable(cutters={}, gauge_mm={}, machine=machine)
    return follow(read_program(made.text), control_of(machine, table))


def meant_s(stretch: Stretch, machine: Machine) -> float:
    """Seconds of a stretch by the engine of motion alone, with the shop's one number for the path."""
    assert machine.rotary is not None
    assert machine.jerk_mm_per_s3 is not None
    assert machine.corner_jump_mm_per_s is not None
    around = stretch.cutter_changes_count * machine.cutter_change_s + stretch.tilts_count * machine.rotary.tilt_s
    each = chain_times_s(
        stretch.positions, stretch.feeds, rapid_mm_per_s=machine.rapid_mm_per_s,
        accel_mm_per_s2=machine.accel_mm_per_s2, jerk_mm_per_s3=machine.jerk_mm_per_s3,
        stop_angle_rad=STOP_ANGLE_RAD, jump_mm_per_s=machine.corner_jump_mm_per_s, arcs=stretch.arcs,
    )  # fmt: skip
    return around + stretch.times_count * float(each.sum())


def test_the_foretold_times_are_those_of_motion(made: Calibration) -> None:
    """What the text says, read back, takes as long as the stretches that were meant."""
    for stretch, found in zip(made.stretches, made.seconds, strict=True):
        assert found == pytest.approx(meant_s(stretch, made.machine), rel=1e-3), stretch.name


def other(machine: Machine) -> Machine:
    """The same machine as it really is, unlike what its shop file says."""
    assert machine.rotary is not None
    rotary = msgspec.structs.replace(machine.rotary, tilt_s=2.3)
    return msgspec.structs.replace(
        machine, rapid_mm_per_s=330.0, accel_mm_per_s2=2200.0, jerk_mm_per_s3=3.5e4, corner_jump_mm_per_s=31.0,
        cutter_change_s=6.4, rotary=rotary,
    )  # fmt: skip


def watched(made: Calibration, seed: int) -> WatchedTimes:
    real = other(made.machine)
    seconds = stretch_seconds(course_of(made, real), made.stretches, real)
    draw = np.random.default_rng(seed)
    times = {one.name: s * (1.0 + 0.01 * float(draw.normal())) for one, s in zip(made.stretches, seconds, strict=True)}
    return WatchedTimes(machine_id="mill-5", fingerprint=made.fingerprint, seconds=times)


def test_numbers_that_made_the_times_come_back_within_their_intervals(made: Calibration) -> None:
    """Two standard deviations: of 12 numbers 11 are expected inside, and none beyond twice as far."""
    real = other(made.machine)
    assert real.jerk_mm_per_s3 is not None
    fit = fit_of(made, watched(made, 3), file="times.toml")
    facts = [*fit.rapid_mm_per_s, *fit.accel_mm_per_s2, *fit.jerk_mm_per_s3, fit.corner_jump_mm_per_s,
             fit.cutter_change_s, fit.tilt_s]  # fmt: skip
    truths = [*[330.0] * 3, *[2200.0] * 3, *[3.5e4] * 3, 31.0, 6.4, 2.3]
    shown = [(fact, true) for fact, true in zip(facts, truths, strict=True) if fact is not None]
    assert len(shown) >= 11
    assert sum(fact.low <= true <= fact.high for fact, true in shown) >= len(shown) - 1
    assert all(fact.low**2 / fact.nominal <= true <= fact.high**2 / fact.nominal for fact, true in shown)


def test_the_program_keeps_to_the_box_of_its_page_with_the_spindle_off(made: Calibration) -> None:
    course = course_of(made, made.machine)
    assert course.ended
    assert not course.notes
    known = [m for m in course.items if isinstance(m, Motion) and None not in m.end and not (m.from_top or m.to_top)]
    ends = np.array([m.end for m in known], dtype=np.float64)
    assert (ends >= np.array(made.low_mm) - 1e-9).all()
    assert (ends <= np.array(made.high_mm) + 1e-9).all()
    assert made.low_mm[1] == -8.0, "circles of radius 8 about (8, 0) reach 8 to either side"
    assert all(m.modes.spindle == "off" for m in course.items if isinstance(m, Motion))
    travels = made.machine.travel_mm
    assert all(h - low + 40.0 <= t for low, h, t in zip(made.low_mm, made.high_mm, travels, strict=True))


def test_every_stretch_of_the_3_axis_mill_is_there_too() -> None:
    three = calibration_of("mill-3", shop_path=SHOP)
    assert three.tilted is None
    assert len(three.seconds) == len(three.stretches) == 25


def test_a_control_that_counts_the_other_way_is_spoken_to_so(tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP.read_text().replace('a_counts = "as the work turns"', 'a_counts = "the other way"'))
    assert "G0 A-30. C90." in calibration_of("mill-5", shop_path=shop).text


@pytest.mark.parametrize(
    ("find", "put", "kind", "says"),
    [
        ("travel_x_mm = 600", "travel_x_mm = 140", OutOfRange, "travel is too short"),
        ('["G53 G0 Z0", "M5"]', '["G53 G0 Z0", "G222"]', BadInput, "G222"),
        ('["G53 G0 Z0", "M5"]', '["G53 G0 Z0", "S500 M3"]', BadInput, "turns the spindle"),
    ],
)  # fmt: skip
def test_a_machine_that_cannot_run_it_is_refused(
    find: str, put: str, kind: type[BadInput], says: str, tmp_path: Path
) -> None:
    text = SHOP.read_text()
    assert find in text
    shop = tmp_path / "shop.toml"
    shop.write_text(text.replace(find, put, 1))
    with pytest.raises(kind, match=says):
        calibration_of("mill-5", shop_path=shop)


def test_a_time_that_fits_no_machine_is_refused_with_its_name(made: Calibration) -> None:
    times = watched(made, 3)
    slip = msgspec.structs.replace(times, seconds={**times.seconds, "drilling": 1.3 * times.seconds["drilling"]})
    with pytest.raises(BadInput, match="does not fit the others") as caught:
        fit_of(made, slip, file="times.toml")
    assert caught.value.where == "times.toml: drilling"
    assert caught.value.limit == "5 %"


def test_times_of_another_program_are_refused(made: Calibration) -> None:
    times = watched(made, 3)
    with pytest.raises(BadInput, match="another program"):
        fit_of(made, msgspec.structs.replace(times, fingerprint="000000000000"), file="times.toml")
    with pytest.raises(BadInput, match="another machine"):
        fit_of(made, msgspec.structs.replace(times, machine_id="mill-3"), file="times.toml")
    with pytest.raises(BadInput, match="no such stretch"):
        fit_of(made, msgspec.structs.replace(times, seconds={"W 3": 4.0}), file="times.toml")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("machine = 'a'\n", "names its machine and program"),
        ("machine = 'a'\nprogram = 'b'\n", "There are no times"),
        ("machine = 'a'\nprogram = 'b'\n[times_s]\n'X 2' = 'ten'\n", "a number of seconds"),
        ("machine = 'a'\nprogram = 'b'\n[times_s]\n'X 2' = -1\n", "must be above 0"),
        ("machine = 'a'\nprogram = 'b'\n[times_s]\n'X 2' = nan\n", "must be above 0"),
        ("machine = 'a'\nprogram = 'b'\nmore = 1\n[times_s]\n'X 2' = 1\n", "key is not known"),
        ("machine = \n", "times.toml"),
    ],
)
def test_a_broken_file_of_times_is_refused(text: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "times.toml"
    path.write_text(text)
    with pytest.raises(BadInput, match=says):
        read_times(path)


def test_the_door_writes_and_fits(made: Calibration, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "cal"
    assert main(["calibrate", "mill-5", "--shop", str(SHOP), "--out", str(out)]) == 0
    assert sorted(path.name for path in out.iterdir()) == ["calibration.nc", "calibration.pdf", "times.toml"]
    assert (out / "calibration.pdf").read_bytes().startswith(b"%PDF")
    draft = (out / "times.toml").read_text()
    times = watched(made, 3)
    for name, seconds in times.seconds.items():
        about = next(line for line in draft.splitlines() if line.startswith(f'# "{name}"'))
        draft = draft.replace(about, f'"{name}" = {seconds:.2f}')
    (out / "times.toml").write_text(draft)
    capsys.readouterr()
    assert main(["calibrate", "mill-5", "--shop", str(SHOP), "--times", str(out / "times.toml")]) == 0
    said = capsys.readouterr().out
    assert "26 times of 26 stretches" in said
    key = next(line for line in said.splitlines() if "rapid_m_per_min" in line)
    assert float(key.split("=")[1]) == pytest.approx(330.0 * 0.06, rel=0.03)
    assert main(["calibrate", "mill-5", "--shop", str(SHOP), "--times", str(tmp_path / "none.toml")]) == 2
    assert main(["calibrate", "mill-9", "--shop", str(SHOP), "--out", str(out)]) == 2
    assert main(["calibrate", "mill-5", "--shop", str(SHOP)]) == 2


def test_the_page_says_what_to_see_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from proveout.jobs import calibration_run

    kept = []
    monkeypatch.setattr(calibration_run, "calibration_pdf", lambda sheet: kept.append(sheet) or b"%PDF")
    write_calibration("mill-5", shop_path=SHOP, out=tmp_path / "cal")
    blocks = calibration_document(kept[0])["pages"][0]["blocks"]
    text = str(blocks)
    for words in (
        "No work on the table", "Spindle off", "X 0 to 300, Y −8 to 225, Z −6 to 200", "X −20 to 320", "single block",
        "100 %", "A 30 C 90", "Pockets 1 and 2",
    ):  # fmt: skip
        assert words in text
    table = next(block for block in blocks if block["kind"] == "table")
    assert len(table["rows"]) == 26
    assert all(row[-1] == {"box": True} for row in table["rows"])
    assert math.isclose(float(table["rows"][24][4]), 4 * read_shop(SHOP).machines[0].cutter_change_s)
