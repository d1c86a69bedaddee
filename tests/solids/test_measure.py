"""Faces, edges, mesh and measures of solids against closed forms."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from proveout.model.solid import Solid

PLATE_VOLUME_MM3 = 40.0 * 30.0 * 10.0 - math.pi * 4.0**2 * 10.0  # worked
PLATE_AREA_MM2 = 2.0 * (40 * 30 + 40 * 10 + 30 * 10) - 2.0 * math.pi * 4.0**2 + 2.0 * math.pi * 4.0 * 10.0  # worked


def _solid(shape: Any, *, deflection_mm: float = 0.01) -> Solid:
    from proveout.solids.measure import solid_from_shape

    return solid_from_shape(shape, name="plate", unit_declared="mm", deflection_mm=deflection_mm)


def _mesh_volume_mm3(solid: Solid) -> float:
    a, b, c = (solid.vertices_mm[solid.triangles[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


@pytest.fixture
def plate(plate_with_hole: Any) -> Solid:
    return _solid(plate_with_hole)


def test_volume_area_and_box_of_a_plate_with_a_hole_are_exact(plate: Solid) -> None:
    assert plate.volume_mm3 == pytest.approx(PLATE_VOLUME_MM3, rel=1e-6)
    assert plate.area_mm2 == pytest.approx(PLATE_AREA_MM2, rel=1e-6)
    assert plate.low_mm == (0.0, 0.0, 0.0)
    assert plate.high_mm == (40.0, 30.0, 10.0)
    assert sum(face.area_mm2 for face in plate.faces) == pytest.approx(plate.area_mm2, rel=1e-9)


def test_the_hole_is_one_inward_cylinder_with_its_axis_and_depth(plate: Solid) -> None:
    (hole,) = [face for face in plate.faces if face.surface.kind == "cylinder"]
    assert hole.inward
    assert hole.id.startswith("cylinder in d8.000 z #")
    assert hole.surface.radius_mm == pytest.approx(4.0, abs=1e-9)
    assert hole.surface.axis == (0.0, 0.0, 1.0)
    assert hole.surface.origin_mm == pytest.approx((12.0, 15.0, 0.0), abs=1e-9)
    assert (hole.along_low_mm, hole.along_high_mm) == pytest.approx((0.0, 10.0), abs=1e-9)
    assert hole.turn_rad == pytest.approx(2.0 * math.pi)


def test_a_boss_is_an_outward_cylinder() -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder

    solid = _solid(BRepPrimAPI_MakeCylinder(5.0, 20.0).Solid())
    (wall,) = [face for face in solid.faces if face.surface.kind == "cylinder"]
    assert not wall.inward
    assert solid.mesh_is_closed


def test_normals_of_planes_point_out_of_the_material(plate: Solid) -> None:
    middle = np.array([20.0, 15.0, 5.0])
    planes = [face for face in plate.faces if face.surface.kind == "plane"]
    assert len(planes) == 6
    for face in planes:
        assert float(np.dot(np.array(face.centroid_mm) - middle, face.normal)) > 0.0
        assert face.surface.axis == pytest.approx(face.normal, abs=1e-12)
    assert {face.id.split(" #")[0] for face in planes} == {
        "plane +x 40.000",
        "plane -x 0.000",
        "plane +y 30.000",
        "plane -y 0.000",
        "plane +z 10.000",
        "plane -z 0.000",
    }


def test_outer_edges_and_hole_rims_are_convex(plate: Solid) -> None:
    """A rim of a through hole is a corner of the material of a quarter turn, like any outer edge."""
    assert len(plate.edges) == 14
    assert {edge.convexity for edge in plate.edges} == {"convex"}
    assert all(edge.turn_rad == pytest.approx(math.pi / 2.0, abs=1e-9) for edge in plate.edges)
    rims = [edge for edge in plate.edges if edge.kind == "circle"]
    assert [edge.length_mm for edge in rims] == pytest.approx([8.0 * math.pi] * 2, rel=1e-9)


def test_the_inner_corner_of_an_l_is_concave() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    from proveout.solids.shapes import sub_shapes

    cut = BRepAlgoAPI_Cut(
        BRepPrimAPI_MakeBox(20.0, 20.0, 10.0).Solid(), BRepPrimAPI_MakeBox(gp_Pnt(8, 8, -1), 20.0, 20.0, 12.0).Solid()
    ).Shape()
    solid = _solid(sub_shapes(cut, "solid")[0])
    concave = [edge for edge in solid.edges if edge.convexity == "concave"]
    assert len(solid.edges) == 18
    assert len(concave) == 1
    assert concave[0].points_mm[:, :2] == pytest.approx(np.full((2, 2), 8.0), abs=1e-9)


def test_a_fillet_meets_its_neighbours_smoothly() -> None:
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

    from proveout.solids.shapes import sub_shapes

    box = BRepPrimAPI_MakeBox(20.0, 20.0, 10.0).Solid()
    fillet = BRepFilletAPI_MakeFillet(box)
    fillet.Add(3.0, sub_shapes(box, "edge")[0])
    solid = _solid(sub_shapes(fillet.Shape(), "solid")[0])
    assert sum(edge.convexity == "smooth" for edge in solid.edges) == 2
    (round_face,) = [face for face in solid.faces if face.surface.kind == "cylinder"]
    assert not round_face.inward
    assert round_face.turn_rad == pytest.approx(math.pi / 2.0)


@pytest.mark.parametrize("kind", ["sphere", "torus", "cone"])
def test_closed_round_solids_mesh_closed_and_measure_right(kind: str) -> None:
    """Poles, apexes and seams are where meshes come apart."""
    from OCP import BRepPrimAPI

    shape, volume_mm3 = {
        "sphere": (BRepPrimAPI.BRepPrimAPI_MakeSphere(6.0), 4.0 / 3.0 * math.pi * 6.0**3),
        "torus": (BRepPrimAPI.BRepPrimAPI_MakeTorus(10.0, 3.0), 2.0 * math.pi**2 * 10.0 * 3.0**2),
        "cone": (BRepPrimAPI.BRepPrimAPI_MakeCone(5.0, 0.0, 12.0), math.pi * 25.0 * 12.0 / 3.0),
    }[kind]  # worked
    solid = _solid(shape.Solid())
    assert solid.mesh_is_closed
    assert solid.volume_mm3 == pytest.approx(volume_mm3, rel=1e-6)
    assert _mesh_volume_mm3(solid) == pytest.approx(volume_mm3, rel=0.005)
    face = max(solid.faces, key=lambda f: f.area_mm2)
    assert face.surface.kind == kind
    assert not face.inward


def test_the_mesh_is_closed_and_lies_within_its_deflection(plate: Solid) -> None:
    assert plate.mesh_is_closed
    edges = np.sort(plate.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    assert (np.unique(edges, axis=0, return_counts=True)[1] == 2).all()
    (hole,) = [face for face in plate.faces if face.surface.kind == "cylinder"]
    corners = plate.vertices_mm[plate.triangles[plate.triangle_face == hole.index]]
    middles = (corners + np.roll(corners, 1, axis=1)) / 2.0
    radii = np.linalg.norm(middles[:, :, :2] - np.array([12.0, 15.0]), axis=2)
    assert radii.max() <= 4.0 + 1e-9
    assert radii.min() >= 4.0 - plate.mesh_deflection_mm - 1e-9


def test_a_box_without_its_lid_has_no_closed_mesh() -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

    from proveout.solids.mesh import mesh_of
    from proveout.solids.shapes import sub_shapes

    box = BRepPrimAPI_MakeBox(1.0, 2.0, 3.0).Solid()
    faces = sub_shapes(box, "face")
    assert mesh_of(box, faces, deflection_mm=0.1).is_closed
    assert not mesh_of(box, faces[:5], deflection_mm=0.1).is_closed


def test_a_moved_solid_keeps_its_mesh_on_its_faces() -> None:
    """A location on the shape must reach the mesh as well as the faces."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location

    move = gp_Trsf()
    move.SetTranslation(gp_Vec(100.0, 0.0, -7.0))
    shape = BRepPrimAPI_MakeBox(1.0, 2.0, 3.0).Solid().Moved(TopLoc_Location(move))
    solid = _solid(shape)
    assert solid.low_mm == (100.0, 0.0, -7.0)
    assert tuple(solid.vertices_mm.min(axis=0)) == pytest.approx((100.0, 0.0, -7.0))
    assert tuple(solid.vertices_mm.max(axis=0)) == pytest.approx((101.0, 2.0, -4.0))


def test_halves_of_a_split_hole_share_one_group_and_have_stable_ids() -> None:
    """Some exporters split a hole into two halves; their wall is still one."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    from proveout.solids.shapes import sub_shapes

    shape = BRepPrimAPI_MakeBox(gp_Pnt(-10, -10, 0), 20.0, 20.0, 5.0).Shape()
    for turn in (0.0, math.pi):
        axis = gp_Ax2(gp_Pnt(0, 0, -1), gp_Dir(0, 0, 1), gp_Dir(math.cos(turn), math.sin(turn), 0))
        shape = BRepAlgoAPI_Cut(shape, BRepPrimAPI_MakeCylinder(axis, 3.0, 10.0, math.pi).Shape()).Shape()
    solid = _solid(sub_shapes(shape, "solid")[0])
    halves = [face for face in solid.faces if face.surface.kind == "cylinder"]
    assert len(halves) == 2
    assert halves[0].surface_group == halves[1].surface_group == min(face.index for face in halves)
    assert halves[0].id != halves[1].id
    assert halves[0].turn_rad + halves[1].turn_rad == pytest.approx(2.0 * math.pi)
    others = [face for face in solid.faces if face.surface.kind == "plane"]
    assert all(face.surface_group == face.index for face in others)


def test_a_cylinder_written_as_a_free_form_surface_is_recognised(plate_with_hole: Any) -> None:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_NurbsConvert

    from proveout.solids.shapes import sub_shapes

    solid = _solid(sub_shapes(BRepBuilderAPI_NurbsConvert(plate_with_hole).Shape(), "solid")[0])
    (hole,) = [face for face in solid.faces if face.surface.kind == "cylinder"]
    assert hole.inward
    assert hole.surface.radius_mm == pytest.approx(4.0, abs=1e-4)
    assert hole.turn_rad == pytest.approx(2.0 * math.pi)
    assert sum(face.surface.kind == "plane" for face in solid.faces) == 6


def test_ids_and_order_survive_another_export(plate_with_hole: Any, tmp_path: Path) -> None:
    from proveout.solids.step import read_step, write_step

    first = _solid(plate_with_hole)
    write_step(plate_with_hole, tmp_path / "again.step", name="again")
    again = read_step(tmp_path / "again.step").solid
    assert [face.id for face in again.faces] == [face.id for face in first.faces]
    assert [edge.id for edge in again.edges] == [edge.id for edge in first.edges]
    assert len({face.id for face in first.faces}) == 7


def test_ids_do_not_depend_on_noise_in_the_last_digits() -> None:
    """1/32 inch lies exactly between two steps of rounding: noise of 1e-10 must not flip an address."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

    low = _solid(BRepPrimAPI_MakeBox(0.79375 - 1e-10, 10.0005 - 1e-10, 3.0005 - 1e-10).Solid())
    high = _solid(BRepPrimAPI_MakeBox(0.79375 + 1e-10, 10.0005 + 1e-10, 3.0005 + 1e-10).Solid())
    assert [face.id for face in low.faces] == [face.id for face in high.faces]
    assert [edge.id for edge in low.edges] == [edge.id for edge in high.edges]


def test_a_thicker_plate_has_another_digest_and_other_ids() -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

    thin, thick = (_solid(BRepPrimAPI_MakeBox(40.0, 30.0, z).Solid()) for z in (10.0, 10.1))
    assert thin.digest != thick.digest
    assert "plane +z 10.100" in {face.id.split(" #")[0] for face in thick.faces}


def test_a_solid_survives_pickling_and_its_brep_reads_back(plate: Solid) -> None:
    from proveout.solids.measure import volume_of
    from proveout.solids.shapes import shape_from_brep, sub_shapes

    again = pickle.loads(pickle.dumps(plate))  # noqa: S301  our own bytes
    assert again.digest == plate.digest
    assert again.faces == plate.faces
    assert np.array_equal(again.triangles, plate.triangles)
    shape = shape_from_brep(again.brep)
    assert volume_of(shape) == pytest.approx(plate.volume_mm3, rel=1e-12)
    assert len(sub_shapes(shape, "face")) == len(plate.faces)
    with pytest.raises(ValueError, match="read-only"):
        plate.vertices_mm[0, 0] = 1.0
