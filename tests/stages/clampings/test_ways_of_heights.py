"""Ways in under ceilings: one look for all faces of a height."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from shapes import cutter

from proveout.stages.clampings import covering
from proveout.stages.clampings.covering import WaysIn

TOOL = cutter("t", "T-slot", 14.0, 3.9, 40.0, shank_diameter_mm=5.9)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Heights that are looked at."""
    found: list[float] = []

    def look(_part: Any, top: float, _cutter: Any, *, air_mm: float) -> str:
        found.append(top)
        return f"{top:.3f} {air_mm}"

    monkeypatch.setattr(covering, "ways_in", look)
    return found


def test_faces_on_one_level_share_their_ways_in(asked: list[float]) -> None:
    ways = WaysIn(np.zeros((1, 3, 3)), TOOL)
    assert ways.at(44.5015914189008) == ways.at(44.501591418900816)
    assert asked == [44.5015914189008]


def test_another_level_has_its_own(asked: list[float]) -> None:
    ways = WaysIn(np.zeros((1, 3, 3)), TOOL)
    assert ways.at(44.501) != ways.at(44.502)
    assert asked == [44.501, 44.502]
