"""Distances between two faces of an exact solid, against what can be counted by hand."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from shapes import box, cut_box, drilled, solid_of

from proveout.jobs.measuring import measured
from proveout.model.solid import Point, Solid


@pytest.fixture(scope="module")
def solid() -> Solid:
    """60 x 40 x 20 mm; a step 8 mm down along the far side; two upright holes of 6 mm, 30 and 15 mm apart each way."""
    shape = cut_box(box(60.0, 40.0, 20.0), (-1.0, 30.0, 12.0), (61.0, 41.0, 21.0))
    for x, y in ((10.0, 5.0), (40.0, 20.0)):
        shape = drilled(shape, at=(x, y, 21.0), along=(0.0, 0.0, -1.0), dia=6.0, deep=50.0)
    shape = drilled(shape, at=(30.0, -1.0, 6.0), along=(0.0, 1.0, 0.0), dia=4.0, deep=10.0)
    return solid_of(shape)


def in_process(solid: Solid, one: int, other: int) -> tuple[float, Point, Point]:
    from proveout.solids.nearness import nearest_points

    return nearest_points(solid.brep, one=solid.faces[one].brep_index, other=solid.faces[other].brep_index)


def face(solid: Solid, begins: str, place: int = 0) -> str:
    return sorted(f.id for f in solid.faces if f.id.startswith(begins))[place]


def test_parallel_planes_are_measured_square(solid: Solid) -> None:
    """worked: the step lies 8 mm below the top, the top 20 mm above the bottom; both face the same way or not."""
    top, step, bottom = face(solid, "plane +z 20.000"), face(solid, "plane +z 12.000"), face(solid, "plane -z")
    assert measured(solid, top, step).distance_mm == pytest.approx(8.0, abs=1e-9)
    found = measured(solid, bottom, top)
    assert (found.between, found.distance_mm) == ("planes", pytest.approx(20.0, abs=1e-9))
    # a plane may be told by any of its points
    surface = solid.face(top).surface
    aside = tuple(value + by for value, by in zip(surface.origin_mm, (7.0, -3.0, 0.0), strict=True))
    told = msgspec.structs.replace(solid.face(top), surface=msgspec.structs.replace(surface, origin_mm=aside))
    other = msgspec.structs.replace(solid, faces=tuple(told if f.id == top else f for f in solid.faces))
    assert measured(other, bottom, top).distance_mm == pytest.approx(20.0, abs=1e-9)


def test_round_faces_with_parallel_axes_are_measured_from_axis_to_axis(solid: Solid) -> None:
    """worked: 30 and 15 mm apart: the root of 1125."""
    found = measured(solid, face(solid, "cylinder in d6.000", 0), face(solid, "cylinder in d6.000", 1))
    assert (found.between, found.distance_mm) == ("axes", pytest.approx(math.sqrt(1125.0), abs=1e-9))


def test_a_hole_is_measured_from_a_side_along_it_by_its_axis(solid: Solid) -> None:
    """worked: one of the holes stands 10 mm from the left side, the other 40."""
    left = face(solid, "plane -x")
    found = sorted(measured(solid, left, face(solid, "cylinder in d6.000", n)).distance_mm for n in (0, 1))
    assert found == pytest.approx([10.0, 40.0], abs=1e-9)
    assert measured(solid, face(solid, "cylinder in d6.000"), left).between == "axis and plane"


def test_everything_else_is_the_shortest_way_with_its_ends(solid: Solid) -> None:
    """worked: a hole of 6 mm upright at x 10, one of 4 mm along y at x 30 and z 6: 20 - 3 - 2 = 15 along x."""
    near = next(
        f.id
        for f in solid.faces
        if f.id.startswith("cylinder in d6.000") and f.surface.origin_mm[0] == pytest.approx(10.0)
    )
    found = measured(solid, near, face(solid, "cylinder in d4.000"), nearest=in_process)
    assert found.between == "shortest"
    assert found.distance_mm == pytest.approx(15.0, abs=1e-6)
    assert found.angle_rad == pytest.approx(math.pi / 2.0)
    assert found.points_mm is not None
    assert [p[0] for p in found.points_mm] == pytest.approx([13.0, 28.0], abs=1e-5)


def test_faces_that_touch_are_told_so(solid: Solid) -> None:
    found = measured(solid, face(solid, "plane -x"), face(solid, "plane -z"), nearest=in_process)
    assert (found.distance_mm, found.words) == (pytest.approx(0.0, abs=1e-9), "the faces touch")


def test_order_makes_no_difference(solid: Solid) -> None:
    ids = [f.id for f in solid.faces]
    for one, other in ((0, 3), (1, 5), (2, 7)):
        a, b = (measured(solid, *pair, nearest=in_process) for pair in ((ids[one], ids[other]), (ids[other], ids[one])))
        assert a.distance_mm == pytest.approx(b.distance_mm, abs=1e-7)
        assert a.between == b.between


def test_the_shortest_way_is_found_in_a_child_process_too(solid: Solid) -> None:
    from proveout.intake.step import nearest_faces

    one, other = (solid.face(face(solid, begins)).index for begins in ("cylinder in d4.000", "plane +x"))
    distance, first, second = nearest_faces(solid, one, other)
    assert distance == pytest.approx(28.0, abs=1e-6)
    assert math.dist(first, second) == pytest.approx(distance, abs=1e-9)


def test_a_part_mesh_names_the_face_of_every_corner(solid: Solid) -> None:
    from proveout.jobs.part_mesh import part_mesh

    mesh = part_mesh(solid)
    of_triangle = mesh.face[mesh.triangles]
    assert (of_triangle == of_triangle[:, :1]).all()
    assert sorted(of_triangle[:, 0].tolist()) == sorted(solid.triangle_face.tolist())
    for index, centre in enumerate(mesh.centres_mm):
        own: Any = solid.faces[index]
        assert (centre >= [v - 0.02 for v in own.low_mm]).all()
        assert (centre <= [v + 0.02 for v in own.high_mm]).all()


def test_edges_of_a_part_lie_where_faces_meet_at_an_angle() -> None:
    """worked: a bare box has 12 edges and its mesh one piece for each."""
    from proveout.jobs.part_mesh import part_mesh

    assert len(part_mesh(solid_of(box(10.0, 20.0, 30.0))).edges) == 12
