"""Measured responses and spindle readings of a shop file: read in the units inside, refused where they cannot be."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from semi_discretisation import Spring

from proveout.intake.measured_files import response_rows, response_text
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import check_words
from proveout.quantities.errors import BadInput

SHOP_TEXT = (Path(__file__).parents[2] / "examples" / "shop.toml").read_text(encoding="utf-8")
RESPONSE = """
[[response]]
machine = "mill-3"
cutter = "EM12"
stick_out_mm = 38
file = "em12.csv"
error = { low = 0.05, nominal = 0.08, high = 0.1, source = "three taps", strength = "measured here" }
measured = 2026-02-03
"""
READING = """
[[spindle_reading]]
machine = "mill-3"
cutter = "EM12"
alloy = "6061-T6"
speed_rpm = 9000
tooth_feed_mm = 0.05
axial_mm = 6
radial_mm = 4.8
load_kw = 2.1
idle_kw = 0.6
date = 2026-02-03
"""
HEAD = "frequency_hz,x_real_um_per_n,x_imag_um_per_n,y_real_um_per_n,y_imag_um_per_n"
STICK_OUT = next(c.stick_out_mm for c in read_shop(Path(__file__).parents[2] / "examples" / "shop.toml").cutters
                 if c.id == "EM12")  # fmt: skip


def table(unit: str = "um_per_n", times: float = 1.0e3) -> str:
    hz = np.arange(300.0, 1600.0, 10.0)
    g = Spring(900.0, 0.03, 9000.0).response(hz) * times
    rows = [f"{f},{v.real},{v.imag},{v.real},{v.imag}" for f, v in zip(hz, g, strict=True)]
    return "\n".join([HEAD.replace("um_per_n", unit), *rows]) + "\n"


def shop_with(more: str, folder: Path, text: str | None = None) -> Path:
    (folder / "em12.csv").write_text(table() if text is None else text, encoding="utf-8")
    path = folder / "shop.toml"
    path.write_text(SHOP_TEXT + more, encoding="utf-8")
    return path


def test_a_response_is_read_from_its_table_in_mm_per_newton(tmp_path: Path) -> None:
    """Worked: 1 um/N is 0.001 mm/N; 1 m/N is 1000 mm/N."""
    shop = read_shop(shop_with(RESPONSE, tmp_path))
    (one,) = shop.responses
    assert (one.machine_id, one.cutter_id, one.stick_out_mm, one.measured) == ("mill-3", "EM12", 38.0, "2026-02-03")
    assert (one.error_ratio.high, one.error_ratio.source) == (0.1, "shop-file: three taps")
    assert one.frequency_error_ratio.strength == "assumed"
    assert any("frequencies may be off" in line for line in shop.assumed)
    expected = Spring(900.0, 0.03, 9000.0).response(np.array([300.0]))[0]
    assert one.rows[0] == pytest.approx((300.0, expected.real, expected.imag, expected.real, expected.imag))
    in_metres = response_rows(table("m_per_n", 1.0e-3), file="r.csv")
    assert np.allclose(in_metres, one.rows)
    assert response_rows(response_text(one), file="r.csv") == one.rows
    assert any(line.startswith("Response of EM12 in the spindle of mill-3") for line in check_words(shop))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"EM12"', '"EM99"', "names a cutter that the shop does not have"),
        ('"mill-3"', '"mill-9"', "names a machine that the shop does not have"),
        ('"em12.csv"', '"../em12.csv"', "write the name alone, without a folder"),
        ('"em12.csv"', '"other.csv"', "There is no such file"),
        ('"em12.csv"', '"em12.txt"', "a name that ends in .csv"),
        ("stick_out_mm = 38\n", "", "The key stick_out_mm is missing"),
        ("high = 0.1", "high = 1.5", "outside its plausible range"),
    ],
)
def test_a_response_that_cannot_be_is_refused(old: str, new: str, says: str, tmp_path: Path) -> None:
    assert old in RESPONSE
    with pytest.raises(BadInput, match=says):
        read_shop(shop_with(RESPONSE.replace(old, new), tmp_path))


def test_two_responses_of_one_cutter_and_a_file_that_nobody_can_find_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="Two responses are given for one cutter"):
        read_shop(shop_with(RESPONSE + RESPONSE, tmp_path))
    with pytest.raises(BadInput, match="name the shop file itself"):
        shop_from_text(SHOP_TEXT + RESPONSE)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "This table is empty"),
        (table().replace("y_imag_um_per_n", "y_size", 1), "columns of a response are missing"),
        (table().replace(HEAD, HEAD + ",note").replace("\n300.0", "\n300.0"), "not known here, or stands twice"),
        (table().replace("\n310.0,", "\n290.0,"), "frequencies do not rise"),
        (table().replace("\n300.0,", "\n0,"), "frequencies do not rise"),
        (table().replace("\n300.0,", "\n300.0,x"), "is no number"),
        (table().replace("\n300.0,", "\n300.0,1,"), "another number of fields"),
        ("\n".join(table().splitlines()[:10]), "too few or too many rows"),
        ("\n".join([HEAD, *(f"{500 + k},1,-1,-1,-1" for k in range(40))]), "too narrow a band"),
        ("\n".join([HEAD, *(f"{100 + 10 * k},1,-1,1,-1" for k in range(40))]), "never below 0"),
    ],
)
def test_a_table_that_is_no_response_is_refused(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        response_rows(text, file="r.csv")


def test_a_reading_is_in_milliwatts_whatever_the_meter_shows() -> None:
    """Worked: mill-3 lasts at some kW; 14 percent of it is 0.14 times that."""
    shop = shop_from_text(SHOP_TEXT + READING)
    (one,) = shop.spindle_readings
    assert (one.load_mw, one.idle_mw, one.step_mw, one.is_share) == (2.1e6, 0.6e6, 0.1e6, False)
    assert one.speed_rad_per_s == pytest.approx(300.0 * math.pi)
    assert (one.edge, one.date, one.efficiency_ratio.low) == ("sharp", "2026-02-03", 0.75)
    assert any("smallest step of the meter" in line for line in shop.assumed)
    percent = READING.replace("load_kw = 2.1", "load_percent = 14").replace("idle_kw = 0.6", "idle_percent = 4")
    (other,) = shop_from_text(SHOP_TEXT + percent + "step_percent = 0.5\n").spindle_readings
    power = next(m.power_mw for m in shop.machines if m.id == "mill-3")
    assert (other.load_mw, other.idle_mw, other.step_mw) == pytest.approx((0.14 * power, 0.04 * power, 0.005 * power))
    assert other.is_share
    assert any(line.startswith("Spindle readings in 6061-T6: 1") for line in check_words(shop))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("idle_kw = 0.6\n", "", "load and idle of one meter; .*no idle"),
        ("load_kw = 2.1\n", "", "load and idle of one meter; .*no load"),
        ("load_kw = 2.1\n", "load_kw = 2.1\nload_percent = 14\n", "kW and percent together"),
        ("load_kw = 2.1", "load_kw = 0.5", "not above that in the air"),
        ("radial_mm = 4.8", "radial_mm = 12.5", "larger than its cutter"),
        ("axial_mm = 6", "axial_mm = 200", "larger than its cutter"),
        ('"EM12"', '"FM50"', "side cut with an end mill"),
        ("date = 2026-02-03\n", "", "The key date is missing"),
        ("speed_rpm = 9000", "speed_m_per_min = 300", "not known here"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(old: str, new: str, says: str) -> None:
    assert old in READING
    with pytest.raises(BadInput, match=says):
        shop_from_text(SHOP_TEXT + READING.replace(old, new))


def test_a_response_of_another_stick_out_is_said_not_to_be_used(tmp_path: Path) -> None:
    wrong = RESPONSE.replace("stick_out_mm = 38", f"stick_out_mm = {STICK_OUT + 3:g}")
    right = RESPONSE.replace("stick_out_mm = 38", f"stick_out_mm = {STICK_OUT:g}")
    assert any("it is not used" in line for line in check_words(read_shop(shop_with(wrong, tmp_path))))
    assert not any("it is not used" in line for line in check_words(read_shop(shop_with(right, tmp_path))))


SCRAP = """
[[test_cut]]
machine = "mill-3"
cutter = "EM12"
alloy = "6061-T6"
stick_out_mm = 40
speed_rpm = 9000
tooth_feed_mm = 0.08
radial_mm = 4.8
quiet_mm = 4.5
date = 2026-01-12
"""


def test_a_cut_in_scrap_is_read_and_said() -> None:
    (one,) = shop_from_text(SHOP_TEXT + SCRAP).test_cuts
    assert (one.machine_id, one.cutter_id, one.alloy, one.date) == ("mill-3", "EM12", "6061-T6", "2026-01-12")
    assert one.speed_rad_per_s == pytest.approx(9000.0 * math.pi / 30.0)
    assert (one.quiet_mm, one.howled_mm) == (4.5, None)
    (told,) = [w for w in check_words(shop_from_text(SHOP_TEXT + SCRAP)) if w.startswith("Test cut")]
    assert told.endswith("9000 1/min, 0.08 mm an edge, 4.8 mm wide: quiet down to 4.5 mm, it never howled.")
    (told,) = [
        w for w in check_words(shop_from_text(SHOP_TEXT + SCRAP + "howled_mm = 6\n")) if w.startswith("Test cut")
    ]
    assert told.endswith("quiet down to 4.5 mm, it howled at 6 mm.")


@pytest.mark.parametrize(
    ("find", "replace", "words"),
    [
        ('"mill-3"', '"mill-9"', "This names a machine that the shop does not have"),
        ('"EM12"', '"UC32-20"', "No test cut is made with such a cutter"),
        ("radial_mm = 4.8", "radial_mm = 12.5", "This cut is larger than its cutter"),
        ("quiet_mm = 4.5", "quiet_mm = 33", "This cut is larger than its cutter"),
        ("quiet_mm = 4.5", "quiet_mm = 4.5\nhowled_mm = 4.5", "This cut howled where it was still quiet"),
    ],
)
def test_a_cut_in_scrap_that_cannot_be_is_refused(find: str, replace: str, words: str) -> None:
    assert find in SCRAP
    with pytest.raises(BadInput, match=words):
        shop_from_text(SHOP_TEXT + SCRAP.replace(find, replace))
