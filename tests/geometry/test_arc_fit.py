"""Chords that are one arc in truth become that arc, and nothing else does."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.geometry.arc_fit import fitted

GRID_MM, WITHIN_MM = 0.001, 0.003
Floats = NDArray[np.float64]


def on_circle(
    *, radius: float, first: float, turn: float, count: int, centre: tuple[float, float] = (3.0, -7.0),
    rise: float = 0.0,
) -> Floats:  # fmt: skip
    """Points (count + 1, 3) along a helix, rounded to the grid."""
    share = np.linspace(0.0, 1.0, count + 1)
    angle = first + share * turn
    points = np.column_stack(
        [centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle), 2.0 + share * rise]
    )
    return np.round(points / GRID_MM) * GRID_MM


def fit(points: Floats, feeds: Floats | None = None) -> tuple[list[int], dict[int, tuple[int, int, int]]]:
    rates = np.full(len(points), 5.0) if feeds is None else feeds
    kept, arcs = fitted(points, rates, np.zeros(len(points), dtype=bool), grid_mm=GRID_MM, within_mm=WITHIN_MM)
    return kept.tolist(), arcs


@pytest.mark.parametrize("turn", [0.9, -2.2, 4.0])
@pytest.mark.parametrize("radius", [0.4, 6.0, 80.0])
@pytest.mark.parametrize("rise", [0.0, -0.7])
def test_chords_of_an_arc_become_the_arc(radius: float, turn: float, rise: float) -> None:
    count = max(6, math.ceil(abs(turn) / (2.0 * math.acos(1.0 - 0.0005 / radius))))
    points = on_circle(radius=radius, first=0.3, turn=turn, count=count, rise=rise)
    kept, arcs = fit(points)
    assert kept == ([0, count] if turn <= 3.2 else [0, kept[1], count])
    assert len(kept) == len(arcs) + 1
    for first, last in pairwise(kept):
        sense, i, j = arcs[last]
        assert sense == (1 if turn > 0.0 else -1)
        centre = points[first, :2] + np.array([i, j]) * GRID_MM
        assert centre == pytest.approx([3.0, -7.0], abs=max(0.004, 0.01 * radius))
        own = points[first : last + 1]
        size = np.hypot(*(own[0, :2] - centre))
        assert np.abs(np.hypot(*(own[:, :2] - centre).T) - size).max() < WITHIN_MM
        angle = np.unwrap(np.arctan2(own[:, 1] - centre[1], own[:, 0] - centre[0]))
        even = own[0, 2] + (own[-1, 2] - own[0, 2]) * (angle - angle[0]) / (angle[-1] - angle[0])
        assert np.abs(own[:, 2] - even).max() < WITHIN_MM


def test_a_whole_circle_is_two_arcs_that_stay_on_it() -> None:
    points = on_circle(radius=10.0, first=0.0, turn=2.0 * math.pi, count=315)
    kept, arcs = fit(points)
    assert len(kept) == 3
    for row, (sense, i, j) in arcs.items():
        start = points[kept[kept.index(row) - 1], :2]
        assert sense == 1
        assert np.hypot(*(start + np.array([i, j]) * GRID_MM - np.array([3.0, -7.0]))) < 0.003


def test_corners_stay_corners() -> None:
    """A square, a hexagon within a circle, and a polygon whose corners stand off it are no arcs."""
    square = np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 0.0], [9.0, 9.0, 0.0], [0.0, 9.0, 0.0], [0.0, 0.0, 0.0]])
    assert fit(square) == ([0, 1, 2, 3, 4], {})
    hexagon = on_circle(radius=10.0, first=0.0, turn=2.0 * math.pi, count=6)
    assert fit(hexagon) == (list(range(7)), {})
    rough = on_circle(radius=10.0, first=0.0, turn=2.0, count=60)
    rough[::2, :2] += 0.002 * (rough[::2, :2] - np.array([3.0, -7.0]))
    assert fit(rough)[1] == {}


def test_only_one_feed_and_no_rapid_moves_make_an_arc() -> None:
    points = on_circle(radius=5.0, first=0.0, turn=2.0, count=60)
    feeds = np.full(61, 5.0)
    feeds[31:] = 7.0
    kept, arcs = fit(points, feeds)
    assert kept == [0, 30, 60]
    assert set(arcs) == {30, 60}
    assert fit(points, np.zeros(61))[1] == {}


def test_uneven_rise_makes_no_helix() -> None:
    points = on_circle(radius=5.0, first=0.0, turn=2.0, count=60)
    points[:, 2] += 0.5 * np.linspace(0.0, 1.0, 61) ** 2
    kept, arcs = fit(points)
    assert kept != [0, 60]
    for first, last in pairwise(kept):
        if last not in arcs:
            continue
        share = np.linspace(0.0, 1.0, last - first + 1)
        even = points[first, 2] + share * (points[last, 2] - points[first, 2])
        assert np.abs(points[first : last + 1, 2] - even).max() < WITHIN_MM + 1e-4


def test_a_line_and_its_lead_in_are_parted_where_they_meet() -> None:
    lead = on_circle(radius=4.0, first=math.pi, turn=math.pi / 2.0, count=30, centre=(0.0, 4.0))
    line = np.column_stack([np.arange(1.0, 5.0), np.zeros(4), np.full(4, 2.0)])
    kept, arcs = fit(np.vstack([lead, line]))
    assert kept == [0, 30, 31, 32, 33, 34]
    assert {row: sense for row, (sense, _, _) in arcs.items()} == {30: 1}
