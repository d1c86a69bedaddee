"""A mesh round the metal of three fields: closed, of the fields' volume, with edges where the metal has them."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal.lattice import Lattice
from proveout.removal.netting import Net, creases, net_of
from proveout.removal.sweeping import cut

BOX_LOW, BOX_HIGH = np.zeros(3), np.array([30.0, 20.0, 10.0])
UP = np.array([0.0, 0.0, 1.0])


def box(pitch_mm: float = 0.5) -> Lattice:
    return Lattice.of_box(low_mm=BOX_LOW, high_mm=BOX_HIGH, pitch_mm=pitch_mm)


def mill(radius_mm: float, corner_mm: float = 0.0) -> tuple[Piece, ...]:
    shaft = Piece(kind="frustum", z_low_mm=corner_mm, z_high_mm=30.0, r_low_mm=radius_mm, r_high_mm=radius_mm)
    if corner_mm == 0.0:
        return (shaft,)
    if corner_mm == radius_mm:
        ball = Piece(kind="ball", z_low_mm=0.0, z_high_mm=2.0 * radius_mm, r_low_mm=radius_mm, r_high_mm=radius_mm)
        return (ball, shaft)
    flat = radius_mm - corner_mm
    tip = Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0 * corner_mm, r_low_mm=flat, r_high_mm=radius_mm)
    return (tip, shaft)


def milled(
    fields: Lattice, pieces: tuple[Piece, ...], start: list[float], end: list[float], axis: np.ndarray = UP
) -> None:
    cut(fields, pieces=pieces, axis=axis, starts_mm=np.array([start]), ends_mm=np.array([end]))


def volume_mm3(net: Net) -> float:
    """By the divergence theorem."""
    p, q, r = (net.vertices_mm[net.triangles[:, n]] for n in range(3))
    return float((p * np.cross(q, r)).sum() / 6.0)


def is_closed(net: Net) -> bool:
    """Every edge of a triangle is met once in each sense, or as often in one as in the other."""
    ends = np.concatenate([net.triangles[:, [0, 1]], net.triangles[:, [1, 2]], net.triangles[:, [2, 0]]]).tolist()
    met = Counter((a, b) for a, b in ends)
    return all(met[b, a] == count for (a, b), count in met.items())


def test_a_box_is_drawn_to_its_corners_with_its_twelve_edges() -> None:
    """worked: 12 edges of 60, 40 and 20 cells, four of each: 480 pieces."""
    net = net_of(box())
    assert is_closed(net)
    assert np.abs(net.vertices_mm.min(axis=0) - BOX_LOW).max() < 0.005
    assert np.abs(net.vertices_mm.max(axis=0) - BOX_HIGH).max() < 0.005
    assert volume_mm3(net) == pytest.approx(6000.0, rel=1e-4)
    assert len(net.edges) == 480
    ends = net.vertices_mm[net.edges]
    on_side = ((np.abs(ends - BOX_LOW) < 0.005) | (np.abs(ends - BOX_HIGH) < 0.005)).sum(axis=2)
    assert (on_side >= 2).all()


def test_flat_sides_are_drawn_with_few_triangles() -> None:
    """worked: two triangles a cell would be 8 800 cells of the sides twice; rims alone are left."""
    assert len(net_of(box()).triangles) < 0.2 * 17600


CUTS = (
    (mill(3.0), [-5.0, 10.0, 5.0], [20.0, 13.0, 5.0], UP),
    (mill(4.0, 1.5), [5.0, 5.0, 4.0], [24.0, 16.0, 6.0], UP),
    (mill(3.0, 3.0), [8.0, -5.0, 3.0], [8.0, 25.0, 3.0], UP),
    (mill(2.5), [15.0, 10.0, -1.0], [15.0, 10.0, -1.0], UP),
    (mill(4.0), [30.0, 10.0, 4.0], [26.0, 10.0, 8.0], np.array([0.6, 0.0, 0.8])),
)


@pytest.mark.parametrize("case", range(len(CUTS)))
def test_after_a_cut_the_mesh_is_closed_and_has_the_volume_of_the_fields(case: int) -> None:
    """Nothing that the fields hold is lost in drawing it, and nothing is added, within half a percent."""
    fields = box()
    milled(fields, *CUTS[case][:3], CUTS[case][3])
    net = net_of(fields)
    assert is_closed(net)
    assert volume_mm3(net) == pytest.approx(float(np.median(fields.volume_mm3())), rel=0.005)


def test_the_floor_of_a_slot_lies_where_the_cutter_left_it() -> None:
    """worked: a floor at 4.3, which is no multiple of the pitch; walls at 10 - 3 and 10 + 3."""
    fields = box()
    milled(fields, mill(3.0), [-5.0, 10.0, 4.3], [40.0, 10.0, 4.3])
    inside = net_of(fields).vertices_mm
    inside = inside[(inside[:, 0] > 1.0) & (inside[:, 0] < 29.0) & (np.abs(inside[:, 1] - 10.0) < 2.4)]
    floor = inside[(inside[:, 2] > 3.0) & (inside[:, 2] < 6.0)]
    assert len(floor) > 0
    assert np.abs(floor[:, 2] - 4.3).max() < 1e-6


def test_a_round_hole_is_round() -> None:
    """worked: radius 2.5, pitch 0.5; the lean from ray to ray is off by at most p / 2r, over a cell by p^2 / 2r."""
    fields = box()
    milled(fields, mill(2.5), [15.0, 10.0, -1.0], [15.0, 10.0, -1.0])
    net = net_of(fields)
    wall = net.vertices_mm[np.hypot(net.vertices_mm[:, 0] - 15.0, net.vertices_mm[:, 1] - 10.0) < 3.2]
    wall = wall[(wall[:, 2] > 1.0) & (wall[:, 2] < 9.0)]
    assert len(wall) > 100
    assert np.abs(np.hypot(wall[:, 0] - 15.0, wall[:, 1] - 10.0) - 2.5).max() < 0.5**2 / (2.0 * 2.5)


def test_no_metal_has_no_mesh() -> None:
    fields = box(2.0)
    milled(fields, mill(50.0), [15.0, 10.0, -1.0], [15.0, 10.0, -1.0])
    net = net_of(fields)
    assert len(net.vertices_mm) == len(net.triangles) == len(net.edges) == 0


def test_a_flat_mesh_has_no_crease_and_a_folded_one_has_one() -> None:
    corners = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32)
    assert len(creases(corners, triangles)) == 0
    corners[3, 2] = 1.0
    assert creases(corners, triangles).tolist() == [[0, 2]]


def test_a_stored_lattice_comes_back_with_room_and_its_rays() -> None:
    import pickle

    fields = box()
    milled(fields, *CUTS[1][:3])
    other = pickle.loads(pickle.dumps(fields))  # noqa: S301 - our own bytes
    assert other.digest() == fields.digest()
    assert isinstance(other.copy(), Lattice)
    for one in (fields, other):
        milled(one, *CUTS[0][:3])
    assert other.digest() == fields.digest()


def test_the_ridge_of_a_roof_is_sharp_and_its_slopes_are_flat() -> None:
    """worked: two flat cuts, leaning 0.6 to either side, meet at x 15 and z 9: z = 9 - 0.6 |x - 15| all over."""
    fields = box()
    for side in (-1.0, 1.0):
        axis = np.array([0.6 * side, 0.0, 1.0]) / math.hypot(0.6, 1.0)
        across = np.array([axis[2], 0.0, -axis[0]]) * side
        middle = np.array([15.0, 10.0, 9.0]) + 25.0 * across
        wide = (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=40.0, r_low_mm=30.0, r_high_mm=30.0),)
        aside = np.array([0.0, 60.0, 0.0])
        milled(fields, wide, (middle - aside).tolist(), (middle + aside).tolist(), axis)
    roof = net_of(fields).vertices_mm
    roof = roof[(roof[:, 1] > 1.0) & (roof[:, 1] < 19.0) & (np.abs(roof[:, 0] - 15.0) < 10.0) & (roof[:, 2] > 1.0)]
    assert len(roof) > 500
    assert np.abs(roof[:, 2] - (9.0 - 0.6 * np.abs(roof[:, 0] - 15.0))).max() < 0.01
    assert roof[:, 2].max() == pytest.approx(9.0, abs=0.01)
