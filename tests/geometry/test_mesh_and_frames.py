"""What is asked of meshes and frames: inside or outside, samples of faces, volumes, there and back again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import box, cut_box, drilled, solid_of

from proveout.geometry.frames import Frame, frame_looking_down, triple
from proveout.geometry.mesh import (
    face_samples,
    is_inside,
    mesh_volume_mm3,
    triangle_areas_mm2,
    triangle_normals,
)
from proveout.model.solid import Solid
from proveout.quantities.errors import OutOfRange

NUMBER = st.floats(-100.0, 100.0)
DIRECTION = st.tuples(NUMBER, NUMBER, NUMBER).filter(lambda v: float(np.linalg.norm(v)) > 1.0)


@pytest.fixture(scope="module")
def bracket() -> Solid:
    """40 x 30 x 20 with a step and a through hole of 8 mm."""
    return solid_of(drilled(cut_box(box(40, 30, 20), (20, -1, 8), (41, 31, 21)), at=(10, 15, -1), along=(0, 0, 1),
                            dia=8, deep=22))  # fmt: skip


def is_in_bracket(p: np.ndarray) -> np.ndarray:
    x, y, z = p.T
    block = (x > 0) & (x < 40) & (y > 0) & (y < 30) & (z > 0) & (z < np.where(x < 20, 20, 8))
    return block & (np.hypot(x - 10, y - 15) > 4.0)


def test_inside_is_what_the_shape_says(bracket: Solid) -> None:
    draw = np.random.default_rng(7)
    points = draw.uniform(-5.0, 45.0, (400, 3)) * [1.0, 0.8, 0.6]
    clear = np.abs(np.hypot(points[:, 0] - 10, points[:, 1] - 15) - 4.0) > 0.05
    found = is_inside(points, bracket.vertices_mm, bracket.triangles)
    wanted = is_in_bracket(points)
    assert 80 < wanted.sum() < 320
    np.testing.assert_array_equal(found[clear], wanted[clear])


def test_inside_does_not_depend_on_where_the_mesh_lies(bracket: Solid) -> None:
    draw = np.random.default_rng(8)
    points = draw.uniform(0.5, 39.5, (60, 3)) * [1.0, 0.7, 0.5]
    frame = frame_looking_down(up=(1.0, 2.0, 3.0), along=(1.0, 0.0, 0.0), origin_mm=(500.0, -90.0, 7.0))
    here = is_inside(points, bracket.vertices_mm, bracket.triangles)
    there = is_inside(frame.into(points), frame.into(bracket.vertices_mm), bracket.triangles)
    np.testing.assert_array_equal(here, there)


def test_a_mesh_turned_inside_out_holds_nothing(bracket: Solid) -> None:
    middle = np.array([[30.0, 15.0, 4.0]])
    assert is_inside(middle, bracket.vertices_mm, bracket.triangles).all()
    assert not is_inside(middle, bracket.vertices_mm, bracket.triangles[:, ::-1]).any()


def test_volume_area_and_normals_agree_with_the_solid_that_the_mesh_was_made_of(bracket: Solid) -> None:
    """Worked: 40 30 8 + 20 30 12 - 20 pi 4^2 = 15 795 mm3, less what chords of 0.01 mm leave out of the hole."""
    volume = mesh_volume_mm3(bracket.vertices_mm, bracket.triangles)
    assert volume == pytest.approx(9600 + 7200 - 320 * math.pi, abs=20 * 2 * math.pi * 4 * 0.01)
    assert mesh_volume_mm3(bracket.vertices_mm, bracket.triangles[:, ::-1]) == pytest.approx(-volume)
    assert float(triangle_areas_mm2(bracket.vertices_mm, bracket.triangles).sum()) == pytest.approx(
        bracket.area_mm2, rel=2e-3
    )
    normals = triangle_normals(bracket.vertices_mm, bracket.triangles)
    for row, face in zip(normals, bracket.triangle_face.tolist(), strict=True):
        if bracket.faces[face].surface.kind == "plane":
            np.testing.assert_allclose(row, bracket.faces[face].normal, atol=1e-9)
    thin = np.array([[0.0, 0, 0], [1.0, 0, 0], [2.0, 0, 0]])
    np.testing.assert_array_equal(triangle_normals(thin, np.array([[0, 1, 2]], dtype=np.int32)), [[0.0, 0.0, 0.0]])


def test_samples_lie_on_their_face_and_point_out_of_the_metal(bracket: Solid) -> None:
    points, normals, index = face_samples(
        bracket.vertices_mm, bracket.triangles, bracket.triangle_face, faces_count=len(bracket.faces), per_face=40
    )
    assert np.bincount(index).tolist() == [40] * len(bracket.faces)
    np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0, atol=1e-12)
    for face in bracket.faces:
        own, out = points[index == face.index], normals[index == face.index]
        if face.surface.kind == "plane":
            np.testing.assert_allclose(own @ face.normal, np.dot(face.centroid_mm, face.normal), atol=1e-9)
            np.testing.assert_allclose(out, np.tile(face.normal, (40, 1)), atol=1e-9)
        else:
            off = np.hypot(own[:, 0] - 10.0, own[:, 1] - 15.0)
            assert (np.abs(off - 4.0) < 0.02).all()
        assert (own >= np.array(face.low_mm) - 1e-9).all()
        assert (own <= np.array(face.high_mm) + 1e-9).all()
    assert not is_inside(points + 0.05 * normals, bracket.vertices_mm, bracket.triangles).any()
    assert is_inside(points - 0.05 * normals, bracket.vertices_mm, bracket.triangles).all()


def test_samples_are_spread_by_area_and_always_the_same(bracket: Solid) -> None:
    """The mean of many samples of a face is its middle, whatever its triangles are."""
    args = (bracket.vertices_mm, bracket.triangles, bracket.triangle_face)
    points, _, index = face_samples(*args, faces_count=len(bracket.faces), per_face=400)
    for face in bracket.faces:
        size = float(np.linalg.norm(np.subtract(face.high_mm, face.low_mm)))
        middle = points[index == face.index].mean(axis=0)
        np.testing.assert_allclose(middle, face.centroid_mm, atol=0.02 * size)
    again, _, _ = face_samples(*args, faces_count=len(bracket.faces), per_face=400)
    np.testing.assert_array_equal(points, again)


def test_a_face_without_area_gets_no_samples() -> None:
    points, normals, index = face_samples(
        np.zeros((3, 3)), np.array([[0, 1, 2]], dtype=np.int32), np.zeros(1, dtype=np.int32), faces_count=1, per_face=5
    )
    assert points.shape == normals.shape == (0, 3)
    assert index.shape == (0,)


@given(DIRECTION, DIRECTION, st.tuples(NUMBER, NUMBER, NUMBER), st.lists(st.tuples(NUMBER, NUMBER, NUMBER), min_size=1))
def test_a_frame_there_and_back_again_keeps_places_and_lengths(
    up: tuple[float, ...], along: tuple[float, ...], origin: tuple[float, ...], points: list[tuple[float, ...]]
) -> None:
    if np.linalg.norm(np.cross(up, along)) < 1e-3 * np.linalg.norm(up) * np.linalg.norm(along):
        return
    frame = frame_looking_down(up=up, along=along, origin_mm=origin)
    seen = frame.into(points)
    np.testing.assert_allclose(frame.out_of(seen), points, atol=1e-9)
    np.testing.assert_allclose(frame.into(frame.out_of(points)), points, atol=1e-9)
    np.testing.assert_allclose(
        np.linalg.norm(seen, axis=1), np.linalg.norm(np.subtract(points, origin), axis=1), atol=1e-9
    )
    np.testing.assert_allclose(frame.into([origin]), [[0.0, 0.0, 0.0]], atol=1e-9)
    np.testing.assert_allclose(frame.turn @ np.array(up) / np.linalg.norm(up), [0.0, 0.0, 1.0], atol=1e-9)
    assert (frame.turn @ np.array(along))[0] > 0.0
    assert np.linalg.det(frame.turn) == pytest.approx(1.0)


def test_into_and_out_of_turn_the_way_their_names_say() -> None:
    """Worked: x of the frame along the parent's y, origin at (1, 2, 3): the parent's (1, 7, 3) lies 5 along x."""
    frame = Frame(x=(0.0, 1.0, 0.0), y=(-1.0, 0.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(1.0, 2.0, 3.0))
    np.testing.assert_allclose(frame.into([[1.0, 7.0, 3.0]]), [[5.0, 0.0, 0.0]])
    np.testing.assert_allclose(frame.out_of([[0.0, 4.0, 0.0]]), [[-3.0, 2.0, 3.0]])


@pytest.mark.parametrize(
    ("x", "y", "z"),
    [
        ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)),
        ((2.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
        ((1.0, 0.0, 0.0), (0.6, 0.8, 0.0), (0.0, 0.0, 1.0)),
    ],
)
def test_axes_that_are_left_handed_long_or_askew_are_refused(
    x: tuple[float, float, float], y: tuple[float, float, float], z: tuple[float, float, float]
) -> None:
    with pytest.raises(OutOfRange, match="three right-handed unit axes"):
        Frame(x=x, y=y, z=z, origin_mm=(0.0, 0.0, 0.0))


def test_a_direction_along_the_axis_itself_is_refused() -> None:
    with pytest.raises(OutOfRange, match="must not be parallel"):
        frame_looking_down(up=(0.0, 0.0, 2.0), along=(0.0, 0.0, -1.0), origin_mm=(0.0, 0.0, 0.0))


def test_equal_geometry_has_equal_numbers() -> None:
    assert str(triple((-0.0, 1e-13, -1e-13))) == "(0.0, 0.0, 0.0)"
