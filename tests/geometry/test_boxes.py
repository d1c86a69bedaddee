"""Boxes along the axes: corners, triangles, and boxes that are moved."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.geometry.boxes import BOX_TRIANGLES, HIGH_AT, box_corners, moved_box

LOW, HIGH = (-1.0, 2.0, -3.0), (4.0, 8.0, 0.5)


def test_each_corner_is_high_where_its_bits_are_set() -> None:
    found = box_corners(LOW, HIGH)
    for corner in range(8):
        assert tuple(found[corner]) == tuple((LOW, HIGH)[corner >> k & 1][k] for k in range(3))
        assert tuple(HIGH_AT[corner]) == tuple(corner >> k & 1 for k in range(3))


def test_many_boxes_give_the_corners_of_each() -> None:
    lows = np.array([LOW, (0.0, 0.0, 0.0)])
    highs = np.array([HIGH, (1.0, 2.0, 3.0)])
    found = box_corners(lows, highs)
    assert found.shape == (8, 2, 3)
    for number in range(2):
        assert (found[:, number] == box_corners(lows[number], highs[number])).all()


def test_the_triangles_of_a_box_close_and_look_outward() -> None:
    """worked: 5 x 6 x 3.5; each edge between two triangles is run through once either way."""
    a, b, c = (box_corners(LOW, HIGH)[BOX_TRIANGLES[:, k]] for k in range(3))
    assert float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0 == pytest.approx(5.0 * 6.0 * 3.5)
    ways = [(int(t[k]), int(t[(k + 1) % 3])) for t in BOX_TRIANGLES for k in range(3)]
    assert len(set(ways)) == len(ways)
    assert {(j, i) for i, j in ways} == set(ways)


def test_a_box_that_is_moved_keeps_its_size() -> None:
    assert moved_box(LOW, HIGH, (1.0, -2.0, 0.5)) == ((0.0, 0.0, -2.5), (5.0, 6.0, 1.0))
