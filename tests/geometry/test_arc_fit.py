"""Chords that are one arc in truth become that arc, and nothing else does."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.geometry.arc_fit import fitted
from proveout.geometry.arcs import chorded

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
    if turn > 3.2:
        assert len(kept) == 3
        return
    assert kept == [0, count]
    sense, i, j = arcs[count]
    assert sense == (1 if turn > 0.0 else -1)
    assert points[0, 0] + i * GRID_MM == pytest.approx(3.0, abs=max(0.004, 0.01 * radius))
    assert points[0, 1] + j * GRID_MM == pytest.approx(-7.0, abs=max(0.004, 0.01 * radius))
    centre = points[0, :2] + np.array([i, j]) * GRID_MM
    ends = points[[0, count]]
    centres = np.vstack([centre, centre])
    back, _ = chorded(ends, centres, np.array([0.0, turn]), within_mm=1e-4)
    off = [np.linalg.norm(back - point, axis=1).min() for point in points]
    spacing = np.linalg.norm(np.diff(back, axis=0), axis=1).max()
    assert max(off) < WITHIN_MM + spacing


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
    _, arcs = fit(points)
    assert 60 not in arcs or len(arcs) > 1
    for row in arcs:
        assert row < 61


def test_a_line_and_its_lead_in_are_parted_where_they_meet() -> None:
    lead = on_circle(radius=4.0, first=math.pi, turn=math.pi / 2.0, count=30, centre=(0.0, 4.0))
    line = np.column_stack([np.arange(1.0, 5.0), np.zeros(4), np.full(4, 2.0)])
    kept, arcs = fit(np.vstack([lead, line]))
    assert kept == [0, 30, 31, 32, 33, 34]
    assert set(arcs) == {30}
