"""Small parts that others made, planned by the command line as a user would; all of them are planned by `make outside`.

Files are named by the first eight digits of their sha256.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from outside import Row, outside_files, plan_one

LIMIT_S = 300
# chosen by kind: no solid at all, a round, a plate with slanting edges, three solids, a block, a spacer
NO_SOLID, ROUND, SLANTING, SEVERAL, BLOCK, SPACER = (
    "4b388629", "6fe50381", "d46d5493", "4a66a769", "cd740a3a", "41667b6d",
)  # fmt: skip
PLANNED = (ROUND, SLANTING, SEVERAL, BLOCK, SPACER)
SECTIONS = ("Bar ", "Clamping 1 ", "Work ", "Price ", "Dear ")


@pytest.fixture(scope="module")
def files(outside_data: Path) -> dict[str, Path]:
    return dict(outside_files(outside_data))


@pytest.fixture(scope="module")
def planned(files: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Row, Path]]:
    folder = tmp_path_factory.mktemp("outside")
    return {
        name: (plan_one(name, files[name], folder=folder, limit_s=LIMIT_S), folder / name)
        for name in (NO_SOLID, *PLANNED)
    }


def plan_of(place: Path) -> dict[str, Any]:
    return json.loads((place / "result" / "plan.json").read_bytes())


def test_files_are_found_by_kind_and_named_by_content(files: dict[str, Path]) -> None:
    assert len(files) > 60
    assert all(re.fullmatch(r"[0-9a-f]{8}", name) for name in files)
    assert {path.suffix.lower() for path in files.values()} <= {".step", ".stp", ".p21"}


def test_nothing_of_ours_goes_wrong_on_any_of_them(planned: dict[str, tuple[Row, Path]]) -> None:
    assert {name: row.defects for name, (row, _) in planned.items() if row.defects} == {}


def test_a_file_without_a_solid_is_refused_in_one_sentence(planned: dict[str, tuple[Row, Path]]) -> None:
    row, place = planned[NO_SOLID]
    assert row.status == 2
    assert "holds no solid" in (place / "stderr").read_text("utf-8").splitlines()[-1]


@pytest.mark.parametrize("name", PLANNED)
def test_a_bare_file_is_planned_but_never_ready_with_an_assumed_shop(
    planned: dict[str, tuple[Row, Path]], name: str
) -> None:
    row, place = planned[name]
    assert row.status == 3
    plan = plan_of(place)
    assert plan["ready"] is False
    assert any(p["blocks_release"] and p["verdict"] != "holds" for p in plan["proofs"])


@pytest.mark.parametrize("name", PLANNED)
def test_metal_is_neither_lost_nor_made(planned: dict[str, tuple[Row, Path]], name: str) -> None:
    """What the blank held is in the part, the chips and the left-over; the gouges are missing from the part."""
    found = plan_of(planned[name][1])["removal"]
    error = found["blank_mm3"] + found["gouge_mm3"] - found["target_mm3"] - found["chips_mm3"] - found["leftover_mm3"]
    assert found["chips_mm3"] > 0.0
    # a strip that stays on is left-over as large as itself, known to a cell's side: of the whole blank
    assert abs(error) <= 0.002 * found["blank_mm3"]


@pytest.mark.parametrize("name", [SLANTING, SEVERAL, BLOCK, SPACER])
def test_plain_parts_are_reached_whole_in_two_clampings(planned: dict[str, tuple[Row, Path]], name: str) -> None:
    row, _ = planned[name]
    assert (row.clampings_count, row.reached_ratio) == (2, 1.0)


def test_a_round_that_gives_no_grip_is_made_in_part_and_says_why(planned: dict[str, tuple[Row, Path]]) -> None:
    row, place = planned[ROUND]
    assert row.clampings_count == 1
    assert row.reached_ratio is not None
    assert row.reached_ratio < 1.0
    said = " ".join((place / "stdout").read_text("utf-8").split())
    assert "neither two parallel finished flats nor a finished round" in said


@pytest.mark.parametrize("name", PLANNED)
def test_the_first_five_minutes_are_told_in_words(planned: dict[str, tuple[Row, Path]], name: str) -> None:
    """Which bar, which way up, minutes, a price range, dear faces, at most five questions; no id that only we read."""
    _, place = planned[name]
    said = (place / "stdout").read_text("utf-8")
    lines = said.splitlines()
    for head in SECTIONS:
        assert any(line.startswith(head) for line in lines), head
    assert re.search(r"^Price +\d+\.\d\d to \d+\.\d\d EUR a piece", said, re.MULTILINE)
    assert re.search(r"^Clamping 1 +[+-][xyz] up on ", said, re.MULTILINE)
    assert "No shop file; assumed:" in lines
    questions = said[said.index("Questions, the one that changes most first:") :]
    assert 1 <= len(re.findall(r"^\d\. ", questions, re.MULTILINE)) <= 5
    assert not re.search(r"#[0-9a-f]{6}", said)


def test_of_several_solids_the_largest_is_planned_and_the_others_are_named(
    planned: dict[str, tuple[Row, Path]],
) -> None:
    _, place = planned[SEVERAL]
    others = plan_of(place)["part"]["other_solids"]
    said = " ".join((place / "stdout").read_text("utf-8").split())
    assert len(others) == 2
    assert all(f'"{name}"' in said for name in others)
