"""Sizes, tolerances and datums of NIST's AP242 files: ours against the text of the file, every difference explained."""

from __future__ import annotations

from pathlib import Path

import pytest
from drawn_text import text_of
from pmi import compared, drawn_files

from proveout.model.pmi import Pmi
from proveout.model.solid import ReadSolid

# by file and kind: what only the text holds.  FTC-10: three diameters and four tolerances stand on no face of its solid
# and one straightness on a face, and the kernel leaves all of them out
EXPLAINED: dict[str, dict[str, int]] = {
    "nist_ftc_10_asme1_ap242-e2": {
        "size or location": 3, "faces of a size": 3, "position": 3, "profile of a surface": 1,
        "straightness": 1, "faces of a tolerance": 5,
    }
}  # fmt: skip


@pytest.fixture(scope="module")
def files(outside_data: Path) -> list[Path]:
    found = drawn_files(outside_data)
    if not found:
        pytest.skip(f"no AP242 files in {outside_data}/nist-pmi: this part of the outside data is not on this machine")
    return found


@pytest.fixture(scope="module")
def read(files: list[Path]) -> dict[str, ReadSolid]:
    from proveout.solids.step import read_step

    return {path.stem: read_step(path, deflection_mm=0.2) for path in files}


def test_every_kind_counts_as_in_the_text_but_for_what_is_explained(
    files: list[Path], read: dict[str, ReadSolid]
) -> None:
    for path in files:
        rows = compared(text_of(path), read[path.stem].pmi or Pmi())
        assert {row.what: len(row.only_text) for row in rows if row.only_text} == EXPLAINED.get(path.stem, {}), (
            path.stem
        )
        assert [row.what for row in rows if row.only_ours] == [], path.stem


def test_what_was_lost_in_reading_is_told(read: dict[str, ReadSolid]) -> None:
    for name, one in read.items():
        wanted = EXPLAINED.get(name, {})
        assert one.pmi is not None
        assert one.pmi.lost_sizes_count == wanted.get("size or location", 0)
        lost = sum(wanted.get(kind, 0) for kind in ("position", "profile of a surface", "straightness"))
        assert one.pmi.lost_tolerances_count == lost
        assert any("look at its drawing" in warning for warning in one.warnings) == bool(wanted)


def test_a_diameter_stands_on_faces_that_measure_it(read: dict[str, ReadSolid]) -> None:
    """Values of the file against the geometry beside them: neither knows of the other."""
    seen = 0
    for one in read.values():
        for size in one.pmi.sizes if one.pmi is not None else ():
            if size.kind == "diameter" and size.nominal_mm is not None:
                for face_id in size.face_ids:
                    assert 2.0 * one.solid.face(face_id).surface.radius_mm == pytest.approx(size.nominal_mm, abs=1e-4)
                    seen += 1
    assert seen > 50
