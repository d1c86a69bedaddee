"""What a cutter's row leaves to the plan is read as written, and a row of single numbers leaves nothing."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from proveout.intake.cutter_ranges import range_words
from proveout.intake.cutters_csv import cutter_rows
from proveout.intake.shop_file import cutter_from_words
from proveout.intake.toml_words import Place
from proveout.model.shop import Cutter
from proveout.quantities.errors import BadInput

PLAIN: dict[str, Any] = {
    "id": "EM12", "kind": "end mill", "diameter_mm": 12, "flutes": 3, "flute_length_mm": 32, "stick_out_mm": 40,
    "shank_diameter_mm": 12, "holder_diameter_mm": 40, "holder_length_mm": 60, "cutting_speed_m_per_min": 360,
    "tooth_feed_mm": 0.08, "speed_max_rpm": 18000,
}  # fmt: skip
PLACE = Place(file="cutters.csv", path="row 2", key_noun="column")


def read(without: str = "", **more: Any) -> Cutter:
    row = {key: value for key, value in {**PLAIN, **more}.items() if key != without}
    return cutter_from_words(row, PLACE, [])


def test_a_row_of_single_numbers_leaves_nothing_to_the_plan() -> None:
    found = read()
    assert not found.is_range
    assert (found.cutting_speed_mm_per_s, found.tooth_feed_mm) == (6000.0, 0.08)
    assert found.rated_rad_per_s == pytest.approx(600.0 * math.pi)


def test_low_ends_and_mosts_are_read_in_our_units() -> None:
    """Worked. 120 m/min are 2000 mm/s; 9000 1/min are 300 pi rad/s."""
    found = read(
        cutting_speed_low_m_per_min=120, chip_low_mm=0.03, axial_max_mm=12, radial_max_mm=6, holder_speed_max_rpm=9000
    )
    assert found.is_range
    assert found.cutting_speed_low_mm_per_s == pytest.approx(2000.0)
    assert (found.chip_low_mm, found.axial_max_mm, found.radial_max_mm) == (0.03, 12.0, 6.0)
    assert found.rated_rad_per_s == pytest.approx(300.0 * math.pi)
    assert range_words(found) == (
        "The plan takes the fastest that every limit allows of EM12: 120 to 360 m/min, chips 0.03 to 0.08 mm thick, "
        "to 12 mm deep in roughing, to 6 mm wide in roughing."
    )


def test_a_cutter_without_a_cutting_speed_may_run_as_fast_as_it_is_rated() -> None:
    """Worked. 18 000 1/min at a radius of 6 mm: 11 310 mm/s; a twentieth of it is the slowest that is looked at."""
    found = read("cutting_speed_m_per_min")
    assert found.cutting_speed_mm_per_s == pytest.approx(11_309.7, abs=0.1)
    assert found.cutting_speed_low_mm_per_s == pytest.approx(565.5, abs=0.1)
    bare = {k: v for k, v in PLAIN.items() if k not in ("cutting_speed_m_per_min", "speed_max_rpm")}
    with pytest.raises(BadInput, match="Nobody wrote how fast this cutter may run"):
        cutter_from_words(bare, PLACE, [])


def test_the_table_with_ends_has_the_same_cutters_as_the_one_of_single_numbers() -> None:
    """Only ends, speeds and what edges are made of differ; mills and balls have ends, drills and taps none."""
    examples = Path(__file__).parents[2] / "examples"
    kept, ranged = (
        {str(row["id"]): row for row in cutter_rows((examples / name).read_text(encoding="utf-8"))}
        for name in ("cutters.csv", "ranged-cutters.csv")
    )
    more = {"cutting_speed_low_m_per_min", "chip_low_mm", "axial_max_mm", "radial_max_mm", "made_of"}
    for name, row in ranged.items():
        left = {key: value for key, value in row.items() if key not in {*more, "cutting_speed_m_per_min"}}
        assert left == {key: value for key, value in kept[name].items() if key != "cutting_speed_m_per_min"}
        has_ends = row["kind"] in ("face mill", "end mill", "ball")
        assert cutter_from_words(row, PLACE, []).is_range == has_ends
    assert ranged.keys() == kept.keys()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"cutting_speed_low_m_per_min": 400}, "lowest cutting speed is above the highest"),
        ({"chip_low_mm": 0.09}, "thinnest chip is thicker than the thickest"),
        ({"axial_max_mm": 33}, "deepest cut is longer than the flutes"),
        ({"radial_max_mm": 6.1}, "widest roughing cut is more than half the diameter"),
        ({"kind": "face mill", "radial_max_mm": 5}, "led over the work by seven tenths"),
    ],
)
def test_ends_that_cross_are_refused(more: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read(**more)
