"""The target mesh: faces move inward by their offset, corners and edges follow, nothing else moves."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.geometry.mesh import mesh_volume_mm3
from proveout.geometry.target_mesh import offset_errors_mm, target_vertices

Mesh = tuple[np.ndarray, np.ndarray, np.ndarray]


def box(size: tuple[float, float, float]) -> Mesh:
    """A box at the origin; faces 0..5 are -x +x -y +y -z +z."""
    vertices = np.array([[size[0] * x, size[1] * y, size[2] * z] for x, y, z in product((0, 1), repeat=3)], float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return prism_mesh(vertices, quads)


def prism_mesh(vertices: np.ndarray, faces: list[tuple[int, ...]]) -> Mesh:
    triangles, owner = [], []
    for index, face in enumerate(faces):
        for k in range(1, len(face) - 1):
            triangles.append((face[0], face[k], face[k + 1]))
            owner.append(index)
    return vertices, np.array(triangles, np.int32), np.array(owner, np.int32)


def ring(count: int, inner_mm: float, outer_mm: float, height_mm: float) -> Mesh:
    """A tube about z; faces: 0 bore, 1 outside, 2 bottom, 3 top. The bore is what a hole's wall looks like."""
    turn = 2.0 * math.pi * np.arange(count) / count
    round_ = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rings = [(inner_mm, 0.0), (inner_mm, height_mm), (outer_mm, 0.0), (outer_mm, height_mm)]
    vertices = np.concatenate([np.column_stack([r * round_, np.full(count, z)]) for r, z in rings])
    triangles, owner = [], []
    for i in range(count):
        j = (i + 1) % count
        ib, it, ob, ot = i, count + i, 2 * count + i, 3 * count + i
        jb, jt, pb, pt = j, count + j, 2 * count + j, 3 * count + j
        quads = [(ib, it, jt, jb), (ob, pb, pt, ot), (ib, jb, pb, ob), (it, ot, pt, jt)]
        for index, (a, b, c, d) in enumerate(quads):
            triangles += [(a, b, c), (a, c, d)]
            owner += [index, index]
    return vertices, np.array(triangles, np.int32), np.array(owner, np.int32)


def cone_point(count: int, radius_mm: float, height_mm: float) -> Mesh:
    """A solid cone with its point up; faces: 0 flank, 1 base."""
    turn = 2.0 * math.pi * np.arange(count) / count
    rim = np.column_stack([radius_mm * np.cos(turn), radius_mm * np.sin(turn), np.zeros(count)])
    vertices = np.concatenate([rim, [[0.0, 0.0, height_mm], [0.0, 0.0, 0.0]]])
    triangles, owner = [], []
    for i in range(count):
        j = (i + 1) % count
        triangles += [(i, j, count), (j, i, count + 1)]
        owner += [0, 1]
    return vertices, np.array(triangles, np.int32), np.array(owner, np.int32)


def moved(mesh: Mesh, offsets: list[float]) -> np.ndarray:
    return target_vertices(
        vertices_mm=mesh[0], triangles=mesh[1], triangle_face=mesh[2], face_offset_mm=np.array(offsets)
    )


@given(st.lists(st.floats(-0.5, 0.5), min_size=6, max_size=6))
def test_every_plane_of_a_box_moves_by_its_own_offset(offsets: list[float]) -> None:
    """worked: a 10 x 20 x 30 box with offsets o has corners at o and at size - o."""
    after = moved(box((10.0, 20.0, 30.0)), offsets)
    low = [offsets[0], offsets[2], offsets[4]]
    high = [10.0 - offsets[1], 20.0 - offsets[3], 30.0 - offsets[5]]
    expected = np.array(list(product(*zip(low, high, strict=True))))
    assert after == pytest.approx(expected, abs=1e-12)


def test_no_offset_moves_nothing() -> None:
    mesh = ring(24, 10.0, 15.0, 8.0)
    assert np.array_equal(moved(mesh, [0.0, 0.0, 0.0, 0.0]), mesh[0])


def test_the_wall_of_a_hole_moves_to_a_larger_radius_and_its_mouth_follows_both_faces() -> None:
    """worked: coat 0.025 on the bore and the top of a 20 mm hole: radius 10.025, top 0.025 lower, outside kept."""
    mesh = ring(72, 10.0, 15.0, 8.0)
    after = moved(mesh, [0.025, 0.0, 0.0, 0.025])
    radius = np.hypot(after[:, 0], after[:, 1])
    facet = 0.025 / math.cos(math.pi / 72)  # the chord's plane moves by exactly the offset
    assert radius[:144] == pytest.approx(10.0 + facet, abs=1e-9)
    assert radius[144:] == pytest.approx(15.0, abs=1e-9)
    assert after[72:144, 2] == pytest.approx(7.975, abs=1e-9)
    assert after[:72, 2] == pytest.approx(0.0, abs=1e-12)


def test_a_chamfer_at_45_degrees_keeps_its_angle_and_moves_square_to_itself() -> None:
    """worked: profile (0,0) (10,0) (10,8) (8,10) (0,10); only the chamfer moves by 0.1: x + y falls by 0.1 * sqrt 2."""
    profile = [(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (8.0, 10.0), (0.0, 10.0)]
    vertices = np.array([(x, y, 0.0) for x, y in profile] + [(x, y, 5.0) for x, y in profile])
    walls = [(i, (i + 1) % 5, (i + 1) % 5 + 5, i + 5) for i in range(5)]
    mesh = prism_mesh(vertices, [*walls, (4, 3, 2, 1, 0), (5, 6, 7, 8, 9)])
    after = moved(mesh, [0.0, 0.0, 0.1, 0.0, 0.0, 0.0, 0.0])
    run = 0.1 * math.sqrt(2.0)
    expected = {2: (10.0, 8.0 - run), 3: (8.0 - run, 10.0)}
    for index, (x, y) in expected.items():
        assert after[index] == pytest.approx((x, y, 0.0), abs=1e-12)
        assert after[index + 5] == pytest.approx((x, y, 5.0), abs=1e-12)
    untouched = [0, 1, 4, 5, 6, 9]
    assert after[untouched] == pytest.approx(vertices[untouched], abs=1e-12)


def test_the_point_of_a_cone_sinks_by_more_than_the_offset() -> None:
    """worked: flank of a cone of half angle a moved square to itself by o lowers its point by o / sin a."""
    half = math.radians(59.0)
    after = moved(cone_point(180, 5.0, 5.0 / math.tan(half)), [0.05, 0.0])
    assert after[180, 2] == pytest.approx(5.0 / math.tan(half) - 0.05 / math.sin(half), rel=1e-4)


def test_faces_that_run_smoothly_into_each_other_share_a_differing_offset() -> None:
    """A seam of 2 degrees with 0 on one side and 0.05 on the other moves by about the mean, not sideways."""
    slope = math.tan(math.radians(2.0)) * 10.0
    profile = [(0.0, -5.0), (20.0, -5.0), (20.0, -slope), (10.0, 0.0), (0.0, 0.0)]
    vertices = np.array([(x, y, 0.0) for x, y in profile] + [(x, y, 5.0) for x, y in profile])
    walls = [(i, (i + 1) % 5, (i + 1) % 5 + 5, i + 5) for i in range(5)]
    mesh = prism_mesh(vertices, [*walls, (4, 3, 2, 1, 0), (5, 6, 7, 8, 9)])
    step = moved(mesh, [0.0, 0.0, 0.05, 0.0, 0.0, 0.0, 0.0])[3] - vertices[3]
    assert np.linalg.norm(step) == pytest.approx(0.025, rel=0.02)


def test_volume_falls_by_area_times_offset() -> None:
    """To first order the volume lost is the sum of area x offset: what is left over falls with the square."""
    mesh = ring(90, 10.0, 15.0, 8.0)
    offsets = np.array([0.01, 0.02, 0.005, 0.015])
    before = mesh_volume_mm3(vertices_mm=mesh[0], triangles=mesh[1])
    corners = mesh[0][mesh[1]]
    areas = 0.5 * np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    first_order = sum(offsets[face] * areas[mesh[2] == face].sum() for face in range(4))
    left_over = []
    for scale in (1.0, 0.1):
        after = mesh_volume_mm3(vertices_mm=moved(mesh, list(scale * offsets)), triangles=mesh[1])
        left_over.append(before - after - scale * first_order)
    assert abs(left_over[0]) < 3e-3 * first_order
    assert left_over[1] / left_over[0] == pytest.approx(0.01, rel=0.02)
    assert before == pytest.approx(0.5 * 90 * math.sin(2 * math.pi / 90) * (15.0**2 - 10.0**2) * 8.0, rel=1e-9)


def test_flat_triangles_and_lone_vertices_do_no_harm() -> None:
    vertices, triangles, owner = box((10.0, 20.0, 30.0))
    vertices = np.concatenate([vertices, [[99.0, 0.0, 0.0]]])
    triangles = np.concatenate([triangles, np.array([[0, 0, 1]], np.int32)])
    owner = np.concatenate([owner, np.array([5], np.int32)])
    after = moved((vertices, triangles, owner), [0.1, 0.0, 0.0, 0.0, 0.0, 0.3])
    assert after[8] == pytest.approx([99.0, 0.0, 0.0])
    assert after[0] == pytest.approx([0.1, 0.0, 0.0], abs=1e-12)


def errors(mesh: Mesh, offsets: list[float]) -> np.ndarray:
    return offset_errors_mm(
        vertices_mm=mesh[0], moved_mm=moved(mesh, offsets), triangles=mesh[1], triangle_face=mesh[2],
        face_offset_mm=np.array(offsets),
    )  # fmt: skip


def test_faces_that_came_out_elsewhere_are_found_out() -> None:
    """worked: a box obeys six offsets; a seam of 2 degrees shares 0 and 0.05, so both faces are off by half of it."""
    assert errors(box((10.0, 20.0, 30.0)), [0.1, 0.2, 0.0, 0.05, 0.3, 0.0]) == pytest.approx(np.zeros(6), abs=1e-12)
    slope = math.tan(math.radians(2.0)) * 10.0
    profile = [(0.0, -5.0), (20.0, -5.0), (20.0, -slope), (10.0, 0.0), (0.0, 0.0)]
    vertices = np.array([(x, y, 0.0) for x, y in profile] + [(x, y, 5.0) for x, y in profile])
    walls = [(i, (i + 1) % 5, (i + 1) % 5 + 5, i + 5) for i in range(5)]
    mesh = prism_mesh(vertices, [*walls, (4, 3, 2, 1, 0), (5, 6, 7, 8, 9)])
    found = errors(mesh, [0.0, 0.0, 0.05, 0.0, 0.0, 0.0, 0.0])
    assert found[2:4] == pytest.approx([0.025, 0.025], rel=0.02)
    assert found[[0, 1, 4, 5, 6]] == pytest.approx(np.zeros(5), abs=1e-3)
