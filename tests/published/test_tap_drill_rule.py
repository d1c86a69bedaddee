"""Machinery's Handbook, percentage of thread (from memory, so the rows are frozen): 76.98 (d - drill) / P."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.threads import thread_depth_ratio

ROWS = [
    ("1/4-20, drill 0.2010 in", 0.25 * 25.4, 0.2010 * 25.4, 25.4 / 20.0, "75.4"),
    ("M6x1, drill 5.0", 6.0, 5.0, 1.0, "77.0"),
    ("M5x0.8, drill 4.2", 5.0, 4.2, 0.8, "77.0"),
    ("10-32, drill 0.1590 in", 0.190 * 25.4, 0.1590 * 25.4, 25.4 / 32.0, "76.4"),
]


@pytest.mark.parametrize(("place", "major_mm", "hole_mm", "pitch_mm", "frozen"), ROWS)
def test_percentage_of_thread(
    agrees: Callable[..., None], place: str, major_mm: float, hole_mm: float, pitch_mm: float, frozen: str
) -> None:
    """X1 to X3."""
    assert place
    agrees(100.0 * thread_depth_ratio(major_mm=major_mm, hole_mm=hole_mm, pitch_mm=pitch_mm), frozen)
