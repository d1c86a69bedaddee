"""Compiled search and walking against the same done plainly."""

from __future__ import annotations

import math
from typing import Any

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.geometry.kernels.loops import walk_loops, without_opposite
from proveout.geometry.nearest import Nearness
from proveout.geometry.upward import Upward

Array = NDArray[np.float64]


def riddled() -> tuple[Array, NDArray[Any]]:
    """Points and triangles of a block with holes in many directions."""
    draw = np.random.default_rng(3)
    body = manifold3d.Manifold.cube((40.0, 30.0, 20.0))
    for _ in range(9):
        hole = manifold3d.Manifold.cylinder(60.0, draw.uniform(1.0, 5.0), draw.uniform(1.0, 5.0), 24, center=True)
        turned = hole.rotate(tuple(draw.uniform(-40.0, 40.0, 3)))
        body -= turned.translate(tuple(draw.uniform([0.0, 0.0, 0.0], [40.0, 30.0, 20.0])))
    mesh = body.to_mesh64()
    return np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)


POINTS, TRIANGLES = riddled()


def distance_mm(place: Array, corners: Array) -> float:
    """To the nearest of all triangles: the foot of the perpendicular where it lies inside, else the nearest border."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    normal = np.cross(b - a, c - a)
    square = (normal * normal).sum(axis=1)
    foot = place - normal * (((place - a) * normal).sum(axis=1) / np.maximum(square, 1e-300))[:, None]
    inside = square > 0.0
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(q - p, foot - p) * normal).sum(axis=1) >= 0.0
    best = float(np.linalg.norm(place - foot, axis=1)[inside].min(initial=math.inf))
    for p, q in ((a, b), (b, c), (c, a)):
        way = q - p
        share = ((place - p) * way).sum(axis=1) / np.maximum((way * way).sum(axis=1), 1e-300)
        best = min(best, float(np.linalg.norm(place - p - np.clip(share, 0.0, 1.0)[:, None] * way, axis=1).min()))
    return best


@pytest.mark.parametrize("radius_mm", [0.7, 6.0])
def test_distances_agree_with_a_plain_search(radius_mm: float) -> None:
    draw = np.random.default_rng(5)
    corners = POINTS[draw.integers(0, len(POINTS), 16)]
    places = corners + draw.uniform(-1.5, 1.5, (16, 3)) * (radius_mm > 1.0) + draw.uniform(-0.5, 0.5, (16, 3))
    plain = np.array([distance_mm(p, POINTS[TRIANGLES]) for p in places])
    found = Nearness(POINTS, TRIANGLES, radius_mm=radius_mm).distances(places)
    near = plain <= radius_mm
    assert near.sum() > 5
    assert np.abs(found - plain)[near].max() < 1e-9
    assert (found >= plain - 1e-9).all()


def test_triangles_on_or_below_the_plane_are_left_out() -> None:
    plane = (np.array([0.0, 0.0, 20.0]), np.array([0.0, 0.0, 1.0]))
    assert np.isinf(Nearness(POINTS, TRIANGLES, radius_mm=5.0, plane=plane).distances(np.array([[1.0, 1.0, 21.0]])))
    lower = (np.array([0.0, 0.0, 19.0]), np.array([0.0, 0.0, 1.0]))
    found = Nearness(POINTS, TRIANGLES, radius_mm=5.0, plane=lower).distances(np.array([[1.0, 1.0, 21.0]]))
    assert found[0] == pytest.approx(1.0)


def test_tops_of_many_spots_are_those_of_each_spot_sought_over_all_triangles() -> None:
    """A body of one triangle has no cells to speak of: the greatest over all of them is the plain search."""
    turn = np.array([[0.8, 0.6, 0.0], [-0.36, 0.48, 0.8], [0.48, -0.64, 0.6]])
    turned = POINTS @ turn.T  # so that the highest place is another one under every disc
    upward = Upward(turned, TRIANGLES)
    alone = [Upward(turned, row[None]) for row in upward.rows]
    draw = np.random.default_rng(6)
    for radius in (0.05, 2.5):
        spots = draw.uniform(turned[:, :2].min(axis=0), turned[:, :2].max(axis=0), (40, 2))
        plain = np.max([one.tops_mm(spots, radius_mm=radius) for one in alone], axis=0)
        assert np.array_equal(upward.tops_mm(spots, radius_mm=radius), plain)


def test_a_disc_stands_where_the_top_under_it_is_no_higher_than_asked() -> None:
    """Beside the greatest height under each disc, which is sought to the end."""
    turn = np.array([[0.8, 0.6, 0.0], [-0.36, 0.48, 0.8], [0.48, -0.64, 0.6]])
    turned = POINTS @ turn.T
    upward = Upward(turned, TRIANGLES)
    draw = np.random.default_rng(7)
    low, high = turned.min(axis=0), turned.max(axis=0)
    spots = draw.uniform(low[:2], high[:2], (60, 5, 2))
    limits = draw.uniform(low[2], high[2], 60)
    for radius in (0.05, 2.5):
        tops = upward.tops_mm(spots.reshape(-1, 2), radius_mm=radius).reshape(60, 5)
        plain = (tops <= limits[:, None]).any(axis=1)
        assert 0 < plain.sum() < 60
        assert np.array_equal(upward.stands_at_any(spots, limits, radius_mm=radius), plain)


def test_the_border_is_what_no_other_triangle_runs_back_along() -> None:
    rows = TRIANGLES[: len(TRIANGLES) // 2].astype(np.int64)
    edges = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    ways = {tuple(e) for e in edges.tolist()}
    plain = np.array([(b, a) not in ways for a, b in edges.tolist()])
    assert 0 < plain.sum() < len(plain)
    assert np.array_equal(without_opposite(edges, len(POINTS)), plain)


def test_loops_walk_every_edge_once_and_close() -> None:
    # two rings that share point 0, and one apart: 0-1-2-0, 0-3-4-0, 5-6-7-5
    edges = np.array([[0, 1], [1, 2], [2, 0], [0, 3], [3, 4], [4, 0], [5, 6], [6, 7], [7, 5]])
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    starts = np.searchsorted(edges[order, 0], np.arange(9))
    points, stops = walk_loops(np.ascontiguousarray(edges[order, 1]), starts)
    loops = [loop.tolist() for loop in np.split(points, stops[:-1])]
    walked = [(a, b) for loop in loops for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)]
    assert sorted(walked) == sorted(map(tuple, edges.tolist()))
    assert [5, 6, 7] in loops
