"""Small parts that others made, planned by the command line as a user would; all of them are planned by `make outside`.

Files are named by the first eight digits of their sha256.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from outside import outside_files, plan_one

LIMIT_S = 300
# chosen by kind: no solid at all, a round, a plate with slanting edges, three solids, a block, a spacer
NO_SOLID, ROUND, SLANTING, SEVERAL, BLOCK, SPACER = (
    "4b388629", "6fe50381", "d46d5493", "4a66a769", "cd740a3a", "41667b6d",
)  # fmt: skip
PLANNED = (ROUND, SLANTING, SEVERAL, BLOCK, SPACER)
# counted by hand: over and back, a third for the holes from a side of the block; the round cannot be turned over
CLAMPINGS = {ROUND: 1, SLANTING: 2, SEVERAL: 2, BLOCK: 3, SPACER: 2}
# of the chips. The release asks for 0.002; these files measured 0 to 0.00009 on rays 0.1 to 0.17 mm apart, the clamp
# jaw of the examples 0.00009: what is much above that is a fault, though the release might pass it
GUARD = 0.0005
SECTIONS = ("Bar ", "Clamping 1 ", "Work ", "Price ", "Dear ")


@pytest.fixture(scope="module")
def files(outside_data: Path) -> dict[str, Path]:
    return dict(outside_files(outside_data))


def plan_of(place: Path) -> dict[str, Any]:
    return json.loads((place / "result" / "plan.json").read_bytes())


def said_by(place: Path) -> str:
    return (place / "stdout").read_text("utf-8")


def check_never_ready(plan: dict[str, Any]) -> None:
    """The starting shop leaves out what only a measurement tells."""
    assert plan["ready"] is False
    assert any(p["blocks_release"] and p["verdict"] != "holds" for p in plan["proofs"])


def check_metal_is_neither_lost_nor_made(plan: dict[str, Any]) -> None:
    """What the blank held is in the part, the chips and the left-over; the gouges are missing from the part."""
    found = plan["removal"]
    error = found["blank_mm3"] + found["gouge_mm3"] - found["target_mm3"] - found["chips_mm3"] - found["leftover_mm3"]
    assert found["chips_mm3"] > 0.0
    assert abs(error) <= GUARD * found["chips_mm3"]
    # the worst of three balances, on the rays along one axis against those along the others
    assert found["balance_ratio"] <= GUARD


def check_first_five_minutes(said: str, told: str) -> None:
    """Which bar, which way up, minutes, a price range, dear faces, at most five questions; no id that only we read.

    told: what went before on the error stream: the assumed shop, line by line, and then the first look.
    """
    lines = said.splitlines()
    for head in SECTIONS:
        assert any(line.startswith(head) for line in lines), head
    assert re.search(r"^Price +\d+\.\d\d to \d+\.\d\d EUR a piece", said, re.MULTILINE)
    assert re.search(r"^Clamping 1 +[+-][xyz] up on ", said, re.MULTILINE)
    assert "No shop file: a starting shop is assumed." in said
    assert re.search(r"^No shop file; assumed:\n(- .*\n(  .*\n)*){20}[\s\S]*^First look", told, re.MULTILINE)
    questions = said[said.index("Questions, the one that changes most first:") :]
    assert 1 <= len(re.findall(r"^\d\. ", questions, re.MULTILINE)) <= 5
    assert not re.search(r"#[0-9a-f]{6}", said)


# one test a file, so that no worker plans a file twice
@pytest.mark.parametrize("name", PLANNED)
def test_a_part_that_others_made_is_planned_from_its_bare_file(
    files: dict[str, Path], tmp_path: Path, name: str
) -> None:
    row = plan_one(name, files[name], folder=tmp_path, limit_s=LIMIT_S)
    assert row.defects == ()
    assert row.status == 3
    place = tmp_path / name
    plan, said = plan_of(place), said_by(place)
    check_never_ready(plan)
    check_metal_is_neither_lost_nor_made(plan)
    check_first_five_minutes(said, (place / "stderr").read_text("utf-8"))
    assert row.clampings_count == CLAMPINGS[name]
    assert row.reached_ratio is not None
    if name == ROUND:
        assert row.reached_ratio < 1.0
        assert "neither two parallel finished flats nor a finished round" in " ".join(said.split())
    else:
        assert row.reached_ratio == 1.0
    if name == SEVERAL:
        others = plan["part"]["other_solids"]
        assert len(others) == 2
        assert all(f'"{other}"' in " ".join(said.split()) for other in others)


def test_a_file_without_a_solid_is_refused_in_one_sentence(files: dict[str, Path], tmp_path: Path) -> None:
    row = plan_one(NO_SOLID, files[NO_SOLID], folder=tmp_path, limit_s=LIMIT_S)
    assert (row.status, row.defects) == (2, ())
    assert "holds no solid" in (tmp_path / NO_SOLID / "stderr").read_text("utf-8").splitlines()[-1]


def test_files_are_found_by_kind_and_named_by_content(files: dict[str, Path]) -> None:
    assert len(files) > 60
    assert all(re.fullmatch(r"[0-9a-f]{8}", name) for name in files)
    assert {path.suffix.lower() for path in files.values()} <= {".step", ".stp", ".p21"}
