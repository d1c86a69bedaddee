"""A revised solid against the planned one: each change is told once, and a mere new export is none."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import pytest
from shapes import box, cut_box, drilled, solid_of

from proveout.jobs.solid_change import solid_change
from proveout.model.revision import SolidChange
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.stages import survey

POCKET = ((10.0, 10.0, 12.0), (40.0, 30.0, 30.0))


def plate(*, hole_x: float = 52.0, hole: float = 6.6, floor: float = 12.0, more: bool = False) -> Any:
    """60 x 40 x 20 with a pocket from above and a through hole; more: a second hole besides."""
    shape = cut_box(box(60.0, 40.0, 20.0), (10.0, 10.0, floor), POCKET[1])
    shape = drilled(shape, at=(hole_x, 20.0, 21.0), along=(0.0, 0.0, -1.0), dia=hole, deep=30.0)
    return drilled(shape, at=(5.0, 5.0, 21.0), along=(0.0, 0.0, -1.0), dia=3.0, deep=30.0) if more else shape


def moved(shape: Any, *, by: tuple[float, float, float], turn_rad: float) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec

    turned, shifted = gp_Trsf(), gp_Trsf()
    turned.SetRotation(gp_Ax1(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(0.0, 0.0, 1.0)), turn_rad)
    shifted.SetTranslation(gp_Vec(*by))
    return BRepBuilderAPI_Transform(shape, shifted * turned).Shape()


def change(old: Solid, new: Solid) -> SolidChange:
    found = [survey.decide(solid=solid, run=Run()).value for solid in (old, new)]
    return solid_change(old, found[0], new, found[1])


OLD = solid_of(plate())


def test_the_same_solid_read_again_has_not_changed() -> None:
    assert change(OLD, solid_of(plate())).is_same


def ridge() -> Any:
    """A bar along y whose upper face is half of an elliptic cylinder: no plane, cylinder, cone, sphere or torus."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Ax2, gp_Dir, gp_Elips, gp_Pnt, gp_Vec

    ellipse = gp_Elips(gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(0.0, -1.0, 0.0), gp_Dir(1.0, 0.0, 0.0)), 10.0, 6.0)
    right, left = gp_Pnt(10.0, 0.0, 0.0), gp_Pnt(-10.0, 0.0, 0.0)
    over = BRepBuilderAPI_MakeEdge(ellipse, right, left).Edge()
    wire = BRepBuilderAPI_MakeWire(over, BRepBuilderAPI_MakeEdge(left, right).Edge()).Wire()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire).Face(), gp_Vec(0.0, 30.0, 0.0)).Shape()


def test_a_part_with_free_forms_is_no_mirror_image_of_itself() -> None:
    solid = solid_of(ridge())
    assert "other" in {face.surface.kind for face in solid.faces}
    found = change(solid, solid_of(ridge()))
    assert (found.why_other, found.is_same) == ("", True)


def test_a_solid_that_only_lies_elsewhere_has_not_changed() -> None:
    found = change(OLD, solid_of(moved(plate(), by=(100.0, -5.0, 3.0), turn_rad=0.5)))
    assert found.is_same
    assert found.turned_rad == pytest.approx(0.5, abs=1e-4)


def test_a_hole_that_moved_is_known_again_with_its_way() -> None:
    found = change(OLD, solid_of(plate(hole_x=50.5)))
    (hole,) = [one for one in found.faces if one.fate == "moved"]
    assert hole.by_mm == pytest.approx(1.5, abs=1e-6)
    assert all(id.startswith("cylinder in d6.6") for id in (*hole.old_ids, *hole.new_ids))
    others = Counter(one.fate for one in found.faces if one is not hole)
    assert others == {"outline": 2}, "top and underside have the mouth elsewhere, nothing else"


def test_a_wider_hole_is_resized_in_its_place() -> None:
    found = change(OLD, solid_of(plate(hole=8.0)))
    (hole,) = [one for one in found.faces if one.fate == "resized"]
    assert (hole.old_size, hole.new_size) == pytest.approx((3.3, 4.0))
    assert {one.fate for one in found.faces} == {"resized", "outline"}


def test_a_deeper_pocket_moves_its_floor_and_lengthens_its_walls() -> None:
    found = change(OLD, solid_of(plate(floor=10.0)))
    (floor,) = [one for one in found.faces if one.fate == "moved"]
    assert floor.by_mm == pytest.approx(2.0)
    assert Counter(one.fate for one in found.faces) == {"moved": 1, "outline": 4}


def test_a_solid_with_most_of_its_borders_moved_is_still_a_revision() -> None:
    """A deeper pocket with a wider hole leaves only the four sides as they were."""
    found = change(OLD, solid_of(plate(floor=10.0, hole=8.0)))
    assert not found.why_other
    assert (found.same_count, found.moved_mm, found.turned_rad) == (4, 0.0, 0.0)
    assert Counter(one.fate for one in found.faces) == {"moved": 1, "resized": 1, "outline": 6}


def test_a_new_hole_is_new_and_one_that_is_filled_is_gone() -> None:
    more = solid_of(plate(more=True))
    (new,) = [one for one in change(OLD, more).faces if one.fate == "new"]
    assert not new.old_ids
    (gone,) = [one for one in change(more, OLD).faces if one.fate == "gone"]
    assert not gone.new_ids
    assert gone.old_ids == new.new_ids


def test_a_chamfer_is_new_and_its_neighbours_have_other_outlines() -> None:
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer

    from proveout.solids.shapes import sub_shapes

    shape = plate()
    tool = BRepFilletAPI_MakeChamfer(shape)
    edge = next(e for e in sub_shapes(shape, "edge") if _ends(e) == [(0.0, 0.0, 0.0), (0.0, 0.0, 20.0)])
    tool.Add(2.0, edge)
    found = change(OLD, solid_of(tool.Shape()))
    assert Counter(one.fate for one in found.faces) == {"new": 1, "outline": 4}
    (chamfer,) = [one for one in found.faces if one.fate == "new"]
    assert chamfer.new_mm2 == pytest.approx(20.0 * 2.0 * math.sqrt(2.0))


def _ends(edge: Any) -> list[tuple[float, float, float]]:
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    curve = BRepAdaptor_Curve(edge)
    ends = [curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter())]
    return sorted((round(p.X(), 6), round(p.Y(), 6), round(p.Z(), 6)) for p in ends)


def test_a_mirror_image_and_another_part_are_said_to_be_none_of_its_revisions() -> None:
    def handed(x: float) -> Any:
        shape = cut_box(box(60.0, 40.0, 20.0), (0.0, 0.0, 12.0), (15.0, 9.0, 30.0))
        return drilled(shape, at=(x, 12.0, 21.0), along=(0.0, 0.0, -1.0), dia=6.0, deep=8.0)

    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf

    mirror = gp_Trsf()
    mirror.SetMirror(gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(1.0, 0.0, 0.0)))
    other = BRepBuilderAPI_Transform(handed(40.0), mirror).Shape()
    assert "mirror image" in change(solid_of(handed(40.0)), solid_of(other)).why_other
    stranger = change(OLD, solid_of(box(17.0, 23.0, 5.0)))
    assert stranger.why_other
    assert not stranger.is_same
