"""Left-over and gouge, against distances computed by brute force and shapes computed by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import trimesh

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.comparing import deviation, difference_mm3, per_face, point_deviation
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.removal.sweeping import cut

UP = np.array([0.0, 0.0, 1.0])
GRID = {"low_mm": np.zeros(3), "high_mm": np.array([12.0, 10.0, 8.0]), "pitch_mm": 0.25}


def end_mill(radius: float) -> tuple[Piece, ...]:
    return (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=30.0, r_low_mm=radius, r_high_mm=radius),)


def brute_distance(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """(n, t) distance of points to triangles (t, 3, 3): the foot on the plane if inside, else the nearest edge."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    height = np.einsum("ntk,tk->nt", points[:, None] - triangles[None, :, 0], normal)
    foot = points[:, None] - height[:, :, None] * normal[None]
    inside = np.ones(height.shape, dtype=bool)
    to_edges = np.full(height.shape, np.inf)
    for one, two in ((0, 1), (1, 2), (2, 0)):
        start, along = triangles[:, one], triangles[:, two] - triangles[:, one]
        inside &= np.einsum("tk,ntk->nt", np.cross(normal, along), foot - start) >= 0.0
        share = np.clip(np.einsum("ntk,tk->nt", points[:, None] - start, along) / (along**2).sum(axis=1), 0.0, 1.0)
        gap = points[:, None] - start - share[:, :, None] * along
        to_edges = np.minimum(to_edges, np.linalg.norm(gap, axis=2))
    return np.where(inside, np.abs(height), to_edges)


def winding(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Solid angle of the mesh seen from each point over 4 pi: 1 inside, 0 outside."""
    a, b, c = (triangles[None, :, k] - points[:, None] for k in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=2) for side in (a, b, c))
    above = np.einsum("ntk,ntk->nt", a, np.cross(b, c))
    below = la * lb * lc + (a * b).sum(2) * lc + (b * c).sum(2) * la + (c * a).sum(2) * lb
    return np.arctan2(above, below).sum(axis=1) / (2.0 * np.pi)


def jagged_solid() -> trimesh.Trimesh:
    """A star with sharp concave and convex edges and thin triangles, the case for which signs go wrong."""
    ball = trimesh.creation.icosphere(subdivisions=2, radius=3.0)
    draw = np.random.default_rng(9)
    ball.vertices *= draw.uniform(0.55, 1.3, (len(ball.vertices), 1))
    ball.apply_translation([6.0, 5.0, 4.0])
    return ball


def test_distance_and_sign_agree_with_brute_force() -> None:
    solid = jagged_solid()
    points = np.random.default_rng(1).uniform((1.0, 0.0, -1.0), (11.0, 10.0, 9.0), (400, 3))
    triangles = np.asarray(solid.triangles)
    distances = brute_distance(points, triangles)
    inside = winding(points, triangles) > 0.5
    expected = np.where(inside, -1.0, 1.0) * distances.min(axis=1)
    found = point_deviation(
        points,
        vertices=solid.vertices,
        triangles=solid.faces,
        triangle_face=np.arange(len(solid.faces)),
        face_offset_mm=np.zeros(len(solid.faces)),
    )
    assert 20 < inside.sum() < 380
    assert found.open_edges_count == 0
    np.testing.assert_allclose(found.deviation_mm, expected, atol=1e-9)
    np.testing.assert_allclose(distances[np.arange(400), found.face], distances.min(axis=1), atol=1e-9)


def test_inside_the_face_whose_target_is_nearest_decides() -> None:
    """Offsets drawn at random: the deviation is -min(distance - offset) over all faces, by brute force."""
    solid = jagged_solid()
    draw = np.random.default_rng(2)
    offsets = draw.uniform(0.0, 0.4, len(solid.faces))
    points = draw.uniform((5.0, 4.0, 3.0), (7.0, 6.0, 5.0), (200, 3))
    triangles = np.asarray(solid.triangles)
    inside = winding(points, triangles) > 0.5
    distances = brute_distance(points, triangles)
    found = point_deviation(
        points,
        vertices=solid.vertices,
        triangles=solid.faces,
        triangle_face=np.arange(len(solid.faces)),
        face_offset_mm=offsets,
    )
    assert inside.sum() > 100
    np.testing.assert_allclose(found.deviation_mm[inside], -(distances - offsets).min(axis=1)[inside], atol=1e-9)


def step_block() -> dict[str, Any]:
    """A block 12 x 10 x 5: faces 0 floor, 1 top, 2.. sides."""
    low, high = np.zeros(3), np.array([12.0, 10.0, 5.0])
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    triangles = np.array(
        [
            [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3], [0, 1, 3], [0, 3, 2],
            [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6],
        ]
    )  # fmt: skip
    return {"vertices": corners, "triangles": triangles, "triangle_face": np.repeat(np.arange(6), 2)}


def test_a_floor_cut_to_the_target_deviates_by_nothing_and_others_by_what_they_are_off() -> None:
    """Worked: the top carries 0.04 of coat, so its target is at 4.96; the work stands at 4.96, 5.01 and 4.93."""
    for floor, left, gouged in ((4.96, 0.0, 0.0), (5.01, 0.05, 0.0), (4.93, 0.0, 0.03)):
        work = Fields.from_box(**GRID)
        rows = np.arange(-1.0, 12.0, 2.0)
        starts = np.array([[-4.0, y, floor] for y in rows])
        ends = starts + np.array([20.0, 0.0, 0.0])
        cut(work, pieces=end_mill(1.5), axis=UP, starts_mm=starts, ends_mm=ends)
        found = deviation(work, **step_block(), face_offset_mm=np.array([0.0, 0.04, 0.0, 0.0, 0.0, 0.0]))
        faces = per_face(found)
        assert set(faces) == {0, 1, 2, 3, 4, 5}
        assert faces[1][0] == pytest.approx(left, abs=1e-9)
        assert faces[1][1] == pytest.approx(gouged, abs=1e-9)
        assert sum(face[2] for face in faces.values()) == len(found.points_mm)
        assert faces[0][:2] == pytest.approx((0.0, 0.0), abs=1e-12)


def test_a_coated_wall_beside_a_masked_face_is_judged_by_its_own_target() -> None:
    """Near the edge the masked floor is nearer than the coated wall; the wall cut to its target must not be a gouge."""
    offsets = np.array([0.0, 0.0, 0.03, 0.0, 0.0, 0.0])  # the wall x = 0
    points = np.array([[0.03, 5.0, z] for z in (0.001, 0.01, 0.02, 0.5)])
    found = point_deviation(points, **step_block(), face_offset_mm=offsets)
    np.testing.assert_allclose(found.deviation_mm, [-0.001 + 0.001, 0.0, 0.0, 0.0], atol=1e-12)
    assert found.face.tolist()[1:] == [2, 2, 2]


def test_metal_beyond_an_edge_is_left_on_the_face_over_which_it_stands() -> None:
    """Faces 1 top at z 5 and 2 wall at x 0: beside the wall, level with the top, nothing is left on the top."""
    block = step_block()
    points = np.array([[-0.5, y, z] for y in (2.0, 7.3) for z in (5.0, 5.3)] + [[-0.2, 5.0, 5.3]])
    for order in (np.arange(12), np.arange(12)[::-1], np.roll(np.arange(12), 5)):
        turned = {**block, "triangles": block["triangles"][order], "triangle_face": block["triangle_face"][order]}
        found = point_deviation(points, **turned, face_offset_mm=np.zeros(6))
        assert found.face.tolist() == [2, 2, 2, 2, 1]
        np.testing.assert_allclose(found.deviation_mm, [0.5, math.hypot(0.5, 0.3)] * 2 + [math.hypot(0.2, 0.3)])


def test_left_over_and_gouge_by_volume() -> None:
    """Worked: 0.5 mm too high over 12 x 10 leaves 60 mm3; 0.5 too low gouges as much."""
    target = mesh_fields(step_block()["vertices"], step_block()["triangles"], **GRID)
    for high, left, gouged in ((5.5, 60.0, 0.0), (4.5, 0.0, 60.0), (5.0, 0.0, 0.0)):
        work = mesh_fields(step_block()["vertices"] * [1.0, 1.0, high / 5.0], step_block()["triangles"], **GRID)
        leftover, gouge = difference_mm3(work, target)
        np.testing.assert_allclose(leftover, left, atol=1e-9)
        np.testing.assert_allclose(gouge, gouged, atol=1e-9)
    with pytest.raises(BadInput, match="same grid"):
        difference_mm3(target, Fields.from_box(**{**GRID, "pitch_mm": 0.5}))


def test_volumes_differ_as_the_difference_says() -> None:
    """Two unlike shapes: |one| - |other| = left-over - gouge in every field."""
    one = Fields.from_box(**GRID)
    other = Fields.from_box(**GRID)
    draw = np.random.default_rng(4)
    for fields in (one, other):
        starts = draw.uniform(0.0, 10.0, (20, 3))
        cut(fields, pieces=end_mill(1.0), axis=UP, starts_mm=starts, ends_mm=starts + draw.uniform(-3.0, 3.0, (20, 3)))
    leftover, gouge = difference_mm3(one, other)
    assert leftover.min() > 1.0
    assert gouge.min() > 1.0
    np.testing.assert_allclose(leftover - gouge, one.volume_mm3() - other.volume_mm3(), rtol=1e-9)


def test_an_open_mesh_and_wrong_offsets_are_told() -> None:
    block = step_block()
    opened = {**block, "triangles": block["triangles"][1:], "triangle_face": block["triangle_face"][1:]}
    point = np.array([[1.0, 1.0, 1.0]])
    assert point_deviation(point, **opened, face_offset_mm=np.zeros(6)).open_edges_count == 3
    with pytest.raises(OutOfRange, match="inward"):
        point_deviation(point, **block, face_offset_mm=np.full(6, -0.1))
    with pytest.raises(BadInput, match="number of a face"):
        point_deviation(point, **block, face_offset_mm=np.zeros(5))


def test_threads_change_no_bit_of_the_deviation() -> None:
    solid = jagged_solid()
    points = np.random.default_rng(6).uniform(0.0, 10.0, (40000, 3))
    mesh = {"vertices": solid.vertices, "triangles": solid.faces, "triangle_face": np.arange(len(solid.faces)) % 7}
    offsets = np.array([0.0, 0.03, 0.0, 0.02, 0.0, 0.0, 0.01])
    one = point_deviation(points, **mesh, face_offset_mm=offsets, threads_count=1)
    two = point_deviation(points, **mesh, face_offset_mm=offsets, threads_count=3)
    assert one.deviation_mm.tobytes() == two.deviation_mm.tobytes()
    assert one.face.tobytes() == two.face.tobytes()
