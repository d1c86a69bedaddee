"""Extents of edges are those of the curve itself, not of the points it was drawn with."""

from __future__ import annotations

import math

import numpy as np
import pytest

from proveout.model.solid import Edge
from proveout.recognition.web import edge_span_mm, loops_of


def arc(first_rad: float, last_rad: float, *, points: int = 4, radius: float = 10.0) -> Edge:
    """About z at (1, 2, 3), drawn with few points."""
    angles = np.linspace(first_rad, last_rad, points)
    rim = np.stack([1 + radius * np.cos(angles), 2 + radius * np.sin(angles), np.full(points, 3.0)], axis=1)
    return Edge(
        id="", index=0, faces=(0, 1), kind="circle", length_mm=1.0, convexity="convex", turn_rad=1.0, points_mm=rim,
        radius_mm=radius, centre_mm=(1.0, 2.0, 3.0), axis=(0.0, 0.0, 1.0),
    )  # fmt: skip


X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


def test_an_arc_reaches_to_its_bulge_between_its_points() -> None:
    """Worked: from -50 to 70 degrees the rim passes 0 degrees, x = 11, at none of the points drawn."""
    low, high = edge_span_mm(arc(math.radians(-50), math.radians(70)), X)
    assert high == pytest.approx(11.0)
    assert low == pytest.approx(1 + 10 * math.cos(math.radians(70)))
    other = edge_span_mm(arc(math.radians(70), math.radians(-50)), X)
    assert other == pytest.approx((low, high)), "whichever way it runs"


def test_an_arc_that_does_not_pass_its_summit_ends_where_it_ends() -> None:
    low, high = edge_span_mm(arc(math.radians(10), math.radians(80)), X)
    assert (low, high) == pytest.approx((1 + 10 * math.cos(math.radians(80)), 1 + 10 * math.cos(math.radians(10))))


def test_a_whole_circle_reaches_both_ways_and_not_along_its_axis() -> None:
    whole = arc(0.1, 0.1 + 2.0 * math.pi, points=6)
    whole.points_mm[-1] = whole.points_mm[0]
    assert edge_span_mm(whole, Y) == pytest.approx((-8.0, 12.0))
    assert edge_span_mm(whole, np.array([0.0, 0.0, 1.0])) == pytest.approx((3.0, 3.0))


def test_edges_that_meet_in_their_ends_are_one_rim() -> None:
    quarter = math.pi / 2.0
    one = [arc(quarter * k, quarter * (k + 1)) for k in range(4)]
    assert len(loops_of(one)) == 1
    assert len(loops_of([*one, arc(0.0, 1.0, radius=4.0)])) == 2
