"""Chips of a cutter whose row gives both ends: what is too thin and what is too thick is told."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from stages.loads.test_loads import MILL_12, proof
from stages.loads.test_moves import loaded

WINDOW = msgspec.structs.replace(MILL_12, chip_low_mm=0.02, tooth_feed_mm=0.06)


def test_a_chip_thicker_than_the_row_allows_is_told_and_blocks_nothing() -> None:
    """Worked. 20 mm/s at 300 rad/s are 0.13963 of a tooth; 3.6 of 12 wide: 0.13963 2 sqrt(0.21) = 0.12797 mm."""
    found = proof(loaded([21.6, 21.6], tool=WINDOW, path=FAST), "thickest chip")
    assert (found.verdict, found.blocks_release, found.limit) == ("fails", False, 0.06)
    assert found.found_high == pytest.approx(0.12797, abs=1e-4)
    assert "move 1 of this pass" in found.claim


FAST = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 20.0), (70.0, -20.0, 10.0, 20.0)]


def test_a_chip_within_both_ends_holds() -> None:
    """Worked. 9 mm/s are 0.06283 of a tooth; times 2 sqrt(0.21) that is 0.0576 mm, below 0.06."""
    path = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0), (70.0, -20.0, 10.0, 9.0)]
    found = proof(loaded([21.6, 21.6], tool=WINDOW, path=path), "thickest chip")
    assert found.verdict == "holds"
    assert found.found_high == pytest.approx(0.05759, abs=1e-4)


def test_a_row_without_a_low_end_says_nothing_of_a_thickest_chip() -> None:
    assert not any("thickest" in p.id for p in loaded([21.6, 21.6], path=FAST).proofs)


def test_the_owners_thinnest_chip_counts_in_place_of_a_round_edge() -> None:
    """Worked. 0.36 wide at 0.06283 of a tooth: 0.0214 mm, above 0.02 and 0.005; below 0.025."""
    good: dict[str, Any] = {"kind": "finish wall", "radial_mm": 0.36}
    path = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 9.0), (70.0, -20.0, 10.0, 9.0)]
    thin = msgspec.structs.replace(WINDOW, chip_low_mm=0.025)
    assert proof(loaded([2.16, 2.16], tool=WINDOW, path=path, **good), "thinnest chip").verdict == "holds"
    found = proof(loaded([2.16, 2.16], tool=thin, path=path, **good), "thinnest chip")
    assert (found.verdict, found.limit) == ("fails", 0.025)
    assert "the thinnest that its row allows" in found.claim
