"""Sub-steps that others planned, classified and expressed; all of them are run by bench/fabricad.py.

Volumes are worked from the sizes that the file's own text names.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from fabricad import RAYS_COUNT, WITHIN_RATIO, Row, rows_of


def rows(data: Path, part: str) -> list[Row]:
    folder = data / "fabricad" / part
    if not folder.is_dir():
        pytest.skip(f"no {folder}: this part of the outside data is not on this machine")
    return list(rows_of(folder, rays_count=RAYS_COUNT))


def test_counterbored_holes_are_expressed(outside_data: Path) -> None:
    found = rows(outside_data, "00000007")
    assert [row.kind for row in found] == ["stepped hole"] * 5
    assert all(row.agrees and not row.reason for row in found)
    assert max(row.found.worst_ratio for row in found if row.found) <= WITHIN_RATIO


def test_rectangular_pockets_are_listed_with_their_corners_and_the_rest_is_expressed(outside_data: Path) -> None:
    found = {row.step.number: row for row in rows(outside_data, "00000009")}
    for number, volume in (("2.1", 64.0 * 74.0 * 40.0), ("2.2", 81.0 * 24.0 * 20.0), ("2.4", 40.0 * 31.0 * 25.0)):
        assert found[number].kind.removeprefix("open ") == "pocket with sharp inside corners"  # two lie at an edge
        assert found[number].volume_mm3 == pytest.approx(volume, rel=1e-9)
        assert "inside corners" in found[number].reason
    assert (found["2.3"].kind, found["2.3"].reason) == ("ring groove", "")
    assert found["3.2"].volume_mm3 == pytest.approx(math.pi / 4.0 * 13.0**2 * 46.0, rel=1e-9)
    assert [found[n].reason for n in ("3.1", "3.2", "3.3", "3.4")] == [""] * 4
