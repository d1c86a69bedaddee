"""The brute force that T-slot cutters are held against: what it says of a slot whose answer can be worked out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from kernels.level import free_squares, slab
from reach_ceilings import Ceiling, by_force
from shapes import box, cut_box, cutter, solid_of

UP = (0.0, 0.0, 1.0)


def ceiling() -> Ceiling:
    """A slot 6 wide over one 14 wide and 4 high, right through 40; a point 1 from one side wall."""
    solid = solid_of(cut_box(cut_box(box(40, 40, 20), (-1, 17, 8), (41, 23, 21)), (-1, 13, 8), (41, 27, 12)))
    corners = solid.vertices_mm[solid.triangles]
    return Ceiling(corners, corners, np.array([[20.0, 14.0, 12.0]]), 0, UP)


@pytest.mark.parametrize(
    ("head", "neck", "high", "out", "said"),
    [
        (13.8, 5.8, 3.8, 30.0, (True, True)),
        (14.3, 5.8, 3.8, 30.0, (False, False)),
        (13.8, 6.3, 3.8, 30.0, (False, False)),
        (13.8, 5.8, 4.2, 30.0, (False, False)),
        (13.8, 5.8, 3.8, 11.0, (False, False)),  # the holder meets the top, 12 over the floor
        (9.0, 5.8, 3.8, 30.0, (False, False)),  # too narrow to come so far under the lip
        (13.98, 5.8, 3.8, 30.0, (False, True)),  # too near to be told
    ],
)
def test_brute_force_knows_a_t_slot(head: float, neck: float, high: float, out: float, said: tuple[bool, bool]) -> None:
    """Worked: the axis may leave the middle by 3 less half the neck, and the head must come to 6 from the middle."""
    tool = cutter("t", "T-slot", head, high, out, shank_diameter_mm=neck)
    one = ceiling()
    harder, easier = by_force(one, one.points, tool)
    assert (bool(harder[0]), bool(easier[0])) == said


@pytest.mark.parametrize("sure", [True, False])
def test_squares_are_surely_free_or_not_surely_blocked(sure: bool) -> None:  # noqa: FBT001
    """Worked, square for square: a disc of 3 beside one triangle; its corners and edges by plain distances."""
    flats = np.array([[[10.0, 10.0], [20.0, 10.0], [10.0, 18.0]]])
    found = free_squares(0.0, 0.0, 0.5, 64, flats, np.array([3.0]), sure)
    far = 0.25 * math.sqrt(2.0)
    for i in range(0, 64, 3):
        for j in range(0, 64, 3):
            room = distance(0.25 + 0.5 * i, 0.25 + 0.5 * j, flats[0]) - 3.0
            assert bool(found[i, j]) == (room >= far - 1e-9 if sure else room > -far), (i, j)


def distance(x: float, y: float, tri: np.ndarray) -> float:
    """Of a place from a triangle that turns left, 0 inside."""
    best, inside = math.inf, True
    for k in range(3):
        a, b = tri[k], tri[(k + 1) % 3]
        e, r = b - a, np.array([x, y]) - a
        inside &= bool(e[0] * r[1] - e[1] * r[0] > 0.0)
        best = min(best, float(np.linalg.norm(r - np.clip((r @ e) / (e @ e), 0.0, 1.0) * e)))
    return 0.0 if inside else best


def test_triangles_are_cut_to_a_slab() -> None:
    """Worked: a wall of 10 leans by 45 degrees: from 2 to 5 it covers 10 x 3 from above."""
    a, b, c, d = (0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (10.0, 8.0, 8.0), (0.0, 8.0, 8.0)
    wall = np.array([[a, b, c], [a, c, d]])
    flat = slab(wall, 2.0, 5.0)
    e, f = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    assert float(np.abs(e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]).sum() / 2.0) == pytest.approx(30.0)
    assert (flat[:, :, 1].min(), flat[:, :, 1].max()) == pytest.approx((2.0, 5.0))
    assert len(slab(wall, 8.0, 9.0)) == 0
