"""Small solids, each with one feature that anybody can name: its kind, its sizes and the way it opens.

Every expected size is worked: it is the one that the solid was made with.
"""

from __future__ import annotations

import math
from typing import Any

import build123d as bd
import pytest
from shapes import box, cut_box, drilled, solid_of

from proveout.model.features import Feature
from proveout.recognition.recognise import recognise

BLOCK = (60.0, 40.0, 20.0)


def features(shape: Any, *kinds: str) -> list[Feature]:
    found = recognise(solid_of(getattr(shape, "wrapped", shape)))
    return [f for f in found if not kinds or f.kind in kinds]


def only(shape: Any) -> Feature:
    (one,) = features(shape)
    return one


def block() -> Any:
    return box(*BLOCK)


def prism(points: list[tuple[float, float]], *, along: float = 60.0) -> bd.Solid:
    """A bar along x of the section (y, z) given."""
    ring = bd.Polyline([(0.0, y, z) for y, z in points], close=True)
    return bd.Solid.extrude(bd.Face(bd.Wire(ring.edges())), bd.Vector(along, 0, 0))


def is_like(one: Feature, kind: str, form: str, opens: tuple[float, float, float], **sizes: float) -> bool:
    assert (one.kind, one.form) == (kind, form)
    assert one.opens == pytest.approx(opens, abs=1e-9)
    assert {k: one.sizes_mm[k] for k in sizes} == pytest.approx(sizes, abs=1e-6)
    return True


def test_a_bare_block_has_no_feature() -> None:
    assert features(block()) == []


def test_a_rebate_along_an_edge_is_a_step() -> None:
    one = only(cut_box(block(), (-1, 28, 15), (61, 41, 21)))
    assert is_like(one, "step", "open", (0, 0, 1), width_mm=12.0, length_mm=60.0, depth_mm=5.0)
    assert len(one.face_ids) == 2


def test_a_notch_out_of_a_corner_is_a_step() -> None:
    one = only(cut_box(block(), (45, 28, 15), (61, 41, 21)))
    assert is_like(one, "step", "closed", (0, 0, 1), depth_mm=5.0)
    assert sorted((one.sizes_mm["width_mm"], one.sizes_mm["length_mm"])) == pytest.approx([12.0, 15.0])


def test_a_channel_across_is_a_slot_from_end_to_end() -> None:
    one = only(cut_box(block(), (20, -1, 12), (26.6, 41, 21)))
    assert is_like(one, "slot", "ends", (0, 0, 1), width_mm=6.6, length_mm=40.0, depth_mm=8.0)
    assert one.name == "slot 6.6 wide, 40 long, 8 deep, from end to end, open to +z"


def test_a_channel_that_stops_is_a_slot_open_at_one_end() -> None:
    one = only(cut_box(block(), (40, 17, 16), (61, 23, 21)))
    assert is_like(one, "slot", "open", (0, 0, 1), width_mm=6.0, length_mm=20.0, depth_mm=4.0)


def test_a_wide_bay_in_a_side_is_an_open_pocket() -> None:
    one = only(cut_box(block(), (45, 5, 16), (61, 35, 21)))
    assert is_like(one, "pocket", "open", (0, 0, 1), width_mm=15.0, length_mm=30.0, depth_mm=4.0)


def test_a_square_sunk_floor_is_a_closed_pocket() -> None:
    one = only(cut_box(block(), (10, 10, 14), (50, 30, 21)))
    assert is_like(one, "pocket", "closed", (0, 0, 1), width_mm=20.0, length_mm=40.0, depth_mm=6.0)
    assert one.place_mm == pytest.approx((30.0, 20.0, 20.0))
    assert "corner_radius_mm" not in one.sizes_mm


def test_a_pocket_from_below_opens_downwards_and_tells_its_corner() -> None:
    tool = bd.Solid.make_box(40, 20, 6, bd.Plane((10, 10, -1)))
    tool = tool.fillet(3.0, [e for e in tool.edges() if abs(e.length - 6.0) < 1e-6])
    one, *corners = sorted(
        features(bd.Solid.make_box(*BLOCK) - tool, "pocket", "fillet"), key=lambda f: f.kind != "pocket"
    )
    assert is_like(one, "pocket", "closed", (0, 0, -1), width_mm=20.0, length_mm=40.0, depth_mm=5.0)
    assert one.sizes_mm["corner_radius_mm"] == pytest.approx(3.0)
    assert [(f.form, f.sizes_mm["radius_mm"], f.within) for f in corners] == [("inside", 3.0, one.id)] * 4


def test_a_square_opening_through_is_a_window() -> None:
    one = only(cut_box(block(), (10, 10, -1), (50, 30, 21)))
    assert (one.kind, one.form) == ("window", "through")
    assert one.sizes_mm == pytest.approx({"width_mm": 20.0, "length_mm": 40.0, "depth_mm": 20.0})


def test_an_opening_with_outside_corners_is_still_one_window() -> None:
    """A cross has four corners that stand out into it: they part its walls, but not the opening."""
    shape = cut_box(block(), (10, 16, -1), (50, 24, 21))
    one = only(cut_box(shape, (26, 5, -1), (34, 35, 21)))
    assert (one.kind, len(one.face_ids)) == ("window", 12)


def test_an_obround_is_a_slot_sunk_or_through() -> None:
    def cut(z_low: float) -> Any:
        shape = cut_box(block(), (20, 17, z_low), (40, 23, 21))
        for x in (20, 40):
            shape = drilled(shape, at=(x, 20, 21), along=(0, 0, -1), dia=6.0, deep=21 - z_low)
        return shape

    sunk = features(cut(12.0), "slot", "pocket", "window", "hole")
    through = features(cut(-1.0), "slot", "pocket", "window", "hole")
    assert len(sunk) == len(through) == 1
    assert is_like(sunk[0], "slot", "closed", (0, 0, 1), width_mm=6.0, length_mm=26.0, depth_mm=8.0)
    assert (through[0].kind, through[0].form) == ("slot", "through")
    assert through[0].sizes_mm["length_mm"] == pytest.approx(26.0)


def test_a_vee_and_a_round_channel_are_grooves() -> None:
    vee = only(prism([(0, 0), (40, 0), (40, 20), (26, 20), (20, 14), (14, 20), (0, 20)]))
    assert is_like(vee, "slot", "vee", (0, 0, 1), width_mm=12.0, depth_mm=6.0, length_mm=60.0)
    hollow = only(drilled(block(), at=(-1, 20, 20), along=(1, 0, 0), dia=8.0, deep=70))
    assert is_like(hollow, "slot", "round", (0, 0, 1), width_mm=8.0, depth_mm=4.0, length_mm=60.0)


def test_a_groove_round_a_core_is_no_hole() -> None:
    """Its outer wall is a full round with a flat end, as a drilled hole's is; a drill would take the core away."""
    ring = bd.Solid.make_cylinder(10, 6, bd.Plane((30, 20, 14))) - bd.Solid.make_cylinder(7, 6, bd.Plane((30, 20, 14)))
    one = only(bd.Solid.make_box(*BLOCK) - ring)
    assert is_like(one, "slot", "ring", (0, 0, 1), width_mm=3.0, diameter_mm=20.0, depth_mm=6.0)


@pytest.mark.parametrize("deep", [3.0, 5.0])
def test_a_ball_sunk_into_a_face_is_a_hollow(deep: float) -> None:
    """Worked: a ball of radius 5 sunk 3 deep meets the face in a circle of radius sqrt(25 - 4)."""
    one = only(bd.Solid.make_box(*BLOCK) - bd.Solid.make_sphere(5.0, bd.Plane((30, 20, 25.0 - deep))))
    rim = 2.0 * math.sqrt(25.0 - (5.0 - deep) ** 2)
    assert is_like(one, "pocket", "round", (0, 0, 1), diameter_mm=rim, depth_mm=deep, ball_radius_mm=5.0)


def test_what_stands_on_a_ground_is_a_boss() -> None:
    square = bd.Solid.make_box(*BLOCK) + bd.Solid.make_box(20, 10, 5, bd.Plane((20, 15, 20)))
    assert is_like(only(square), "boss", "closed", (0, 0, 1), width_mm=10.0, length_mm=20.0, height_mm=5.0)
    round_one = bd.Solid.make_box(*BLOCK) + bd.Solid.make_cylinder(6, 5, bd.Plane((30, 20, 20)))
    assert is_like(only(round_one), "boss", "closed", (0, 0, 1), diameter_mm=12.0, height_mm=5.0)


def test_a_boss_at_the_rim_of_its_ground_is_no_pocket() -> None:
    """Its walls look away from one another to every side, as those of a pocket look at one another."""
    solid = bd.Solid.make_box(*BLOCK) + bd.Solid.make_cylinder(8, 5, bd.Plane((52, 20, 20)))
    (one,) = features(solid.split(bd.Plane((58, 0, 0), z_dir=(1, 0, 0)), keep=bd.Keep.BOTTOM), "boss", "pocket", "step")
    assert (one.kind, one.form, one.sizes_mm["height_mm"]) == ("boss", "open", pytest.approx(5.0))


def test_pads_side_by_side_out_of_one_wall_are_bosses_each_for_itself() -> None:
    """Worked: a ledge 10 deep and 8 high along the rim, two pads of 12 whose middles stand 3 before its wall."""
    solid = bd.Solid.make_box(*BLOCK) + bd.Solid.make_box(60, 10, 8, bd.Plane((0, 30, 20)))
    for x in (15.0, 45.0):
        solid = solid + bd.Solid.make_cylinder(6.0, 8.0, bd.Plane((x, 27, 20)))
    found = features(solid, "boss", "pocket", "step", "slot")
    assert [f.place_mm[0] for f in found] == pytest.approx([15.0, 45.0])
    for one in found:
        assert is_like(one, "boss", "open", (0, 0, 1), diameter_mm=12.0, height_mm=8.0)


def test_a_comb_is_one_boss_with_all_its_teeth() -> None:
    """The gaps between its teeth end in one plane as pads stand on one wall, but its back holds it together."""
    comb = bd.Solid.make_box(50, 18, 5, bd.Plane((10, 12, 20)))
    for x in (20.0, 40.0):
        comb = comb - bd.Solid.make_box(10, 11, 6, bd.Plane((x, 20, 20)))
    (one,) = features(bd.Solid.make_box(*BLOCK) + comb, "boss", "pocket", "step", "slot")
    assert is_like(one, "boss", "open", (0, 0, 1), width_mm=18.0, length_mm=50.0, height_mm=5.0)


def test_a_round_that_lies_on_its_ground_is_no_upright_boss() -> None:
    """Half a bar of R6 with half a ball at either end, 30 from ball to ball: 12 wide, 42 long."""
    bar = bd.Solid.make_cylinder(6.0, 30.0, bd.Plane((15, 20, 20), z_dir=(1, 0, 0)))
    for x in (15.0, 45.0):
        bar = bar + bd.Solid.make_sphere(6.0, bd.Plane((x, 20, 20)), -90, 90, 360)
    (one,) = features(bd.Solid(block()) + bar, "boss")
    assert is_like(one, "boss", "closed", (0, 0, 1), width_mm=12.0, length_mm=42.0, height_mm=6.0)


def test_a_pocket_whose_walls_look_every_way_without_a_gap_is_one() -> None:
    """An oval of large arcs, so finely meshed that no degree is left out: 4 arcs that meet without a corner."""
    r, big = 320.0, 1200.0
    side = 500.0
    top = math.sqrt((big - r) ** 2 - side**2)
    mouth = (big - top, side + r)
    split = (side * big / (big - r), top * (big / (big - r) - 1.0))
    arcs = [
        bd.Edge.make_three_point_arc((-split[0], split[1]), (0.0, mouth[0]), (split[0], split[1])),
        bd.Edge.make_three_point_arc((split[0], split[1]), (mouth[1], 0.0), (split[0], -split[1])),
        bd.Edge.make_three_point_arc((split[0], -split[1]), (0.0, -mouth[0]), (-split[0], -split[1])),
        bd.Edge.make_three_point_arc((-split[0], -split[1]), (-mouth[1], 0.0), (-split[0], split[1])),
    ]
    oval = bd.Face(bd.Wire(arcs)).moved(bd.Location((1000.0, 600.0, 80.0)))
    sunk = bd.Solid(box(2000, 1200, 100)) - bd.Solid.extrude(oval, bd.Vector(0, 0, 40))
    (one,) = features(sunk, "pocket")
    assert is_like(one, "pocket", "closed", (0, 0, 1), width_mm=2.0 * mouth[0], length_mm=2.0 * mouth[1], depth_mm=20.0)


def test_an_island_in_a_pocket_is_a_boss_and_the_pocket_stays() -> None:
    tool = bd.Solid.make_box(40, 30, 6, bd.Plane((10, 5, 14))) - bd.Solid.make_box(8, 8, 4, bd.Plane((26, 16, 14)))
    found = features(bd.Solid.make_box(*BLOCK) - tool)
    assert sorted((f.kind, f.form) for f in found) == [("boss", "closed"), ("pocket", "closed")]
    pocket = next(f for f in found if f.kind == "pocket")
    assert {k: pocket.sizes_mm[k] for k in ("width_mm", "length_mm", "depth_mm")} == pytest.approx(
        {"width_mm": 30.0, "length_mm": 40.0, "depth_mm": 6.0}
    )


def test_holes_tell_counterbore_countersink_and_point() -> None:
    plain = drilled(block(), at=(20, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)
    bored = only(drilled(plain, at=(20, 20, 14), along=(0, 0, 1), dia=11.0, deep=10))
    assert is_like(bored, "hole", "through", (0, 0, 1), diameter_mm=6.6, depth_mm=20.0, counterbore_depth_mm=6.0)
    assert len(bored.face_ids) == 3, "the seat belongs to the hole"
    cone = bd.Solid.make_cone(3.3, 6.3, 3.0, bd.Plane((20, 20, 17)))
    sunk = only(bd.Solid.make_box(*BLOCK) - bd.Solid.make_cylinder(3.3, 30, bd.Plane((20, 20, -1))) - cone)
    assert sunk.sizes_mm["countersink_diameter_mm"] == pytest.approx(12.6)
    assert sunk.angle_rad == pytest.approx(math.radians(90.0))
    assert "countersink Ø12.6 × 90°" in sunk.name
    blind = only(drilled(block(), at=(20, 20, 20), along=(0, 0, -1), dia=5.0, deep=12.0))
    assert is_like(blind, "hole", "blind", (0, 0, 1), diameter_mm=5.0, depth_mm=12.0)


@pytest.mark.parametrize(("legs", "name"), [((2.0, 2.0), "chamfer 2"), ((1.0, 3.0), "chamfer 1 × 3")])
def test_a_bevelled_edge_is_a_chamfer_with_its_legs(legs: tuple[float, float], name: str) -> None:
    solid = bd.Solid.make_box(*BLOCK)
    edge = next(e for e in solid.edges() if abs(e.center().Y) + abs(e.center().Z) < 1e-6)
    one = only(solid.chamfer(legs[0], legs[1], [edge]))
    assert one.kind == "chamfer"
    assert sorted((one.sizes_mm["leg_mm"], one.sizes_mm["other_leg_mm"])) == pytest.approx(sorted(legs))
    assert one.name == name


def test_the_sides_of_a_hexagon_are_no_chamfers() -> None:
    corners = [(20 + 15 * math.cos(a), 20 + 15 * math.sin(a)) for a in (math.pi / 3 * i for i in range(6))]
    assert features(prism(corners), "chamfer") == []


def test_a_bevel_that_stops_on_a_floor_is_a_step() -> None:
    """A corner cut away down to a small triangle: the bevel alone has the angles of a chamfer."""
    ring = bd.Polyline((60, 40, 12), (52, 40, 12), (60, 32, 12), close=True)
    tool = bd.Solid.extrude(bd.Face(bd.Wire(ring.edges())), bd.Vector(0, 0, 9))
    one = only(bd.Solid.make_box(*BLOCK) - tool)
    assert (one.kind, len(one.face_ids)) == ("step", 2)


def test_rounded_edges_are_outside_fillets_and_run_on_round_the_corner() -> None:
    solid = bd.Solid.make_box(*BLOCK)
    top = [e for e in solid.edges() if abs(e.bounding_box().min.Z - 20.0) < 1e-4]
    (one,) = features(solid.fillet(2.0, top), "fillet")
    assert (one.form, len(one.face_ids), one.sizes_mm) == ("outside", 4, {"radius_mm": 2.0})


def test_a_side_that_hides_under_the_top_is_an_undercut_flank_and_one_that_looks_up_is_not() -> None:
    lean = math.tan(math.radians(20.0)) * 17.0
    for sign, form in ((1.0, "undercut"), (-1.0, "leaning")):
        low, high = (lean, 0.0) if sign > 0.0 else (0.0, lean)
        solid = prism([(low, 0), (40, 0), (40, 20), (high, 20), (high, 17)] if sign > 0.0 else
                      [(0, 0), (40, 0), (40, 20), (high, 20), (0, 3)])  # fmt: skip
        solid = solid - bd.Solid.make_box(20, 10, 6, bd.Plane((20, 20, 14)))
        (flank,) = features(solid, "flank")
        assert flank.form == form
        assert flank.angle_rad == pytest.approx(math.radians(20.0), abs=1e-9)


def test_a_tee_slot_hides_its_undersides() -> None:
    section = [(0, 0), (40, 0), (40, 20), (24, 20), (24, 14), (28, 14), (28, 8), (12, 8), (12, 14), (16, 14), (16, 20)]
    found = features(prism([*section, (0, 20)]))
    slot = next(f for f in found if f.kind == "slot")
    assert slot.opens == pytest.approx((0.0, 0.0, 1.0))
    assert slot.sizes_mm["width_mm"] == pytest.approx(8.0)
    assert [f.form for f in found if f.kind == "flank"] == ["undercut", "undercut"]


def test_ids_do_not_repeat_and_come_in_order() -> None:
    shape = cut_box(cut_box(block(), (10, 5, 15), (20, 15, 21)), (30, 5, 15), (40, 15, 21))
    ids = [f.id for f in features(shape)]
    assert ids == sorted(set(ids))
    assert len(ids) == 2
