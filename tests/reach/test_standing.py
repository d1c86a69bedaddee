"""Whole cutters over a map of heights: against brute force, and worked cases of holder, jaws and sight."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from reach_triples import Part, Tally, compare
from shapes import box, cut_box, cutter, drilled, solid_of, target_of
from whole_cutters import body_of, floor_is_free, floor_slack_mm, meets, meets_quickly, true_parts, whole_of

from proveout.geometry.mesh import face_samples
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.quantities.errors import OutOfRange
from proveout.reach.outline import lowest_at, stacked
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import Shapes, rooms_of
from proveout.reach.standing import (
    BODY_MEETS,
    FINE_MM,
    HELD_MEETS,
    REACHED,
    TOO_TALL,
    TOO_WIDE,
    Look,
    mills_first,
    needed_out_mm,
    relief,
)
from proveout.reach.under import QUARTER_CHORDS, between, cut_off, grown, is_under, ways_in

UP = (0.0, 0.0, 1.0)


def block() -> Solid:
    """A slot 8 wide and 8 deep, a step and a round pocket."""
    shape = cut_box(box(60, 40, 20), (-1, 10, 12), (61, 18, 21))
    shape = cut_box(shape, (40, 25, 6), (61, 41, 21))
    return solid_of(drilled(shape, at=(15, 30, 21), along=(0, 0, -1), dia=11.0, deep=10))


def looked(solid: Solid, *cutters: Cutter, pitch_mm: float = FINE_MM) -> tuple[Look, np.ndarray]:
    points, normals, face = face_samples(
        solid.vertices_mm, solid.triangles, solid.triangle_face, faces_count=len(solid.faces), per_face=16
    )
    frame, target = look_frame(UP), target_of(solid)
    rooms = rooms_of(Shapes(solid, target), points, normals, face, frame=frame, most_mm=12.0)
    part = np.ascontiguousarray(frame.into(target.vertices_mm)[target.triangles])
    return Look(frame, part, rooms, cutters, pitch_mm=pitch_mm, names=True), face


def face_of(solid: Solid, start: str) -> int:
    return next(f.index for f in solid.faces if f.id.startswith(start))


@pytest.mark.parametrize("seed", [1, 2])
def test_the_fine_map_agrees_with_brute_force(seed: int) -> None:
    """Some hundred triples, more than half near a boundary: no answer differs, few lie within a pixel of one."""
    tally = Tally()
    compare(Part(block(), "block"), np.random.default_rng(seed), 500, tally)
    assert tally.wrong == []
    assert tally.near >= 250
    assert tally.left_out <= 10
    assert 100 < tally.reached < 400


@pytest.mark.parametrize("pitch_mm", [FINE_MM, 0.5])
def test_holder_width_and_flutes_stop_a_cutter_in_a_slot(pitch_mm: float) -> None:
    """Worked: the floor lies 8 below the top, the slot is 8 wide."""
    solid = block()
    free = cutter("a", "end mill", 6.0, 9.0, 9.0)
    short = cutter("b", "end mill", 6.0, 7.0, 7.0)
    wide = cutter("c", "end mill", 8.2, 9.0, 30.0)
    low = cutter("d", "end mill", 6.0, 5.0, 30.0)
    look, face = looked(solid, free, short, wide, low, pitch_mm=pitch_mm)
    asked = face == face_of(solid, "plane +z 12")
    verdicts = {c.id: set(look.of(c, asked)[asked].tolist()) for c in (free, short)}
    assert verdicts == {"a": {REACHED}, "b": {BODY_MEETS}}
    assert TOO_WIDE in look.of(wide, asked)[asked]
    wall = face == face_of(solid, "plane +y 10")
    deep = wall & (look.rooms.points[:, 2] < 14.0)
    assert set(look.of(low, wall)[deep].tolist()) == {TOO_TALL}
    assert set(look.of(free, wall)[wall].tolist()) == {REACHED}


def test_jaws_keep_a_holder_off_what_the_part_leaves_free() -> None:
    """A box beside the part that stands 10 over it: past it a cutter 9 out does not come down beside the box."""
    solid = block()
    mill = cutter("a", "end mill", 6.0, 9.0, 9.0)
    look, face = looked(solid, mill)
    asked = face == face_of(solid, "plane +z 12")
    jaw = solid_of(box(60, 20, 30))
    held = look.past(jaw.vertices_mm[jaw.triangles] + np.array([0.0, -20.0, 0.0]))
    assert HELD_MEETS in look.of(mill, asked, held)[asked]
    assert set(look.of(mill, asked)[asked].tolist()) == {REACHED}
    low = look.past(jaw.vertices_mm[jaw.triangles] + np.array([0.0, -20.0, -60.0]))
    assert low is None


def test_the_stick_out_needed_is_the_depth_under_the_holder() -> None:
    solid = block()
    mill = cutter("a", "end mill", 6.0, 9.0, 9.0)
    look, face = looked(solid, mill)
    rows = np.flatnonzero(face == face_of(solid, "plane +z 12"))
    assert needed_out_mm(look, rows, radius_mm=3.0, holder_mm=14.0) == pytest.approx(8.0, abs=1e-9)


def test_what_lies_under_metal_is_not_in_sight() -> None:
    solid = solid_of(cut_box(box(40, 30, 20), (-1, 10, 5), (41, 31, 12)))
    look, face = looked(solid, cutter("a", "end mill", 4.0, 9.0, 30.0))
    wall = face == face_of(solid, "plane +y 10")
    assert not look.in_sight[wall].any()
    assert look.in_sight[face == face_of(solid, "plane +y 30")].all()


def test_an_outline_begins_where_its_pieces_do() -> None:
    """Worked: a ball's foot at its radius, its holder at the stick-out; every kernel sees the same rows."""
    ball = cutter("a", "ball", 6.0, 8.0, 20.0)
    found = lowest_at(stacked(ball), np.array([0.0, 3.0, 3.5, 14.0, 14.1]))
    np.testing.assert_allclose(found, [0.0, 3.0, 20.0, 20.0, np.inf])
    mill = cutter("a", "end mill", 6.0, 8.0, 20.0, corner_radius_mm=1.0)
    np.testing.assert_allclose(lowest_at(stacked(mill), np.array([2.0, 3.0])), [0.0, 1.0])


def test_a_map_needs_a_pitch() -> None:
    with pytest.raises(OutOfRange, match="pitch above zero"):
        relief(np.zeros((1, 3, 3)), frame=look_frame(UP), pitch_mm=0.0, low=np.zeros(2), high=np.ones(2))


@pytest.mark.parametrize(("way_in", "enters"), [(0.0, False), (13.8, False), (14.2, True)])
def test_a_head_comes_under_its_ceiling_only_by_a_way_in(way_in: float, enters: bool) -> None:  # noqa: FBT001
    """Worked: a slot 6 wide over one 15 wide, closed at both ends; a head of 14 through a round hole at its middle."""
    shape = cut_box(box(60, 40, 20), (12, 17, 8), (48, 23, 21))
    shape = cut_box(shape, (12, 12.5, 8), (48, 27.5, 12))
    if way_in > 0.0:
        shape = drilled(shape, at=(30, 20, 21), along=(0, 0, -1), dia=way_in, deep=13)
    corners = solid_of(shape).vertices_mm[solid_of(shape).triangles]
    tool = cutter("t", "T-slot", 14.0, 3.9, 40.0, shank_diameter_mm=5.9)
    points = np.array([[42.0, 26.0, 12.0], [18.0, 14.0, 12.0]])
    assert (is_under(ways_in(corners, 12.0, tool), points, tool) == enters).all()


def test_cutters_are_tried_from_the_narrowest_one_of_each_outline() -> None:
    mills = (cutter("b", "end mill", 6.0, 8, 20), cutter("a", "end mill", 6.0, 8, 20), cutter("c", "ball", 4.0, 8, 20))
    assert [c.id for c in mills_first((*mills, cutter("d", "drill", 3.0, 8, 20)))] == ["c", "a"]


def test_brute_force_sees_a_cutter_enter_a_block_and_not_beside_it() -> None:
    """Worked: the wall lies at x = 0; the cutter's axis 3.01 or 2.9 before it; over the top it is free."""
    solid = solid_of(box(40, 30, 20))
    body = body_of(solid.vertices_mm[solid.triangles], within_mm=0.004)
    mill = whole_of(cutter("a", "end mill", 6.0, 9.0, 30.0))
    assert not meets(body, mill, np.array([-3.01, 15.0, 5.0]))
    assert meets(body, mill, np.array([-2.9, 15.0, 5.0]))
    assert not meets(body, mill, np.array([10.0, 15.0, 20.001]))
    assert meets(body, mill, np.array([10.0, 15.0, 19.9]))
    slot = body_of(block().vertices_mm[block().triangles], within_mm=0.004)
    room = floor_slack_mm(slot, mill[:1], np.array([30.0, 13.0, 12.0]), 3.0)
    assert room == pytest.approx(1.0, abs=0.01)


def test_compiled_brute_force_says_what_the_plain_one_says() -> None:
    """Every kind of piece at random places of a block; floors where the answer does not lie on the edge."""
    solid = block()
    flat = np.array([face.surface.kind == "plane" for face in solid.faces])
    true = true_parts(solid.triangles, solid.triangle_face, flat)
    body = body_of(solid.vertices_mm[solid.triangles], within_mm=0.3, true=true)
    tools = [
        cutter("a", "end mill", 6.0, 9.0, 14.0), cutter("b", "ball", 5.0, 6.0, 12.0),
        cutter("c", "end mill", 8.0, 9.0, 14.0, corner_radius_mm=1.5),
        cutter("d", "edge break", 6.0, 4.0, 12.0, tip_angle_rad=np.pi / 2.0, tip_diameter_mm=1.0),
    ]  # fmt: skip
    draw = np.random.default_rng(5)
    said: list[bool] = []
    for number in range(240):
        pieces, tip = whole_of(tools[number % 4]), draw.uniform((-3.0, -3.0, 5.0), (63.0, 43.0, 22.0))
        said.append(meets_quickly(body, pieces, tip))
        assert said[-1] == meets(body, pieces, tip), (number, tip)
    assert 60 < sum(said) < 200
    frees: list[bool] = []
    for number in range(32):
        radius = float(draw.uniform(2.0, 7.0))
        pieces = whole_of(cutter("f", "end mill", 2.0 * radius, 6.0, float(draw.uniform(7.0, 11.0))))
        point = np.array([draw.uniform(5.0, 55.0), draw.uniform(10.5, 17.5), 12.0])
        slack = floor_slack_mm(body, pieces, point, radius)
        if abs(slack) > 0.01:
            frees.append(slack > 0.0)
            assert floor_is_free(body, pieces, point, radius) == frees[-1], (number, slack)
    assert 4 < sum(frees) < len(frees) - 4


@pytest.mark.parametrize(
    ("neck", "head", "high", "touches"),
    [(5.9, 13.9, 3.9, True), (6.1, 13.9, 3.9, False), (5.9, 14.1, 3.9, False), (5.9, 13.9, 4.1, False)],
)
def test_a_t_slot_cutter_needs_its_neck_its_head_and_its_height(
    neck: float, head: float, high: float, touches: bool  # noqa: FBT001
) -> None:  # fmt: skip
    """Worked: a slot 6 wide over one 14 wide and 4 high."""
    shape = cut_box(box(40, 40, 20), (-1, 17, 8), (41, 23, 21))
    solid = solid_of(cut_box(shape, (-1, 13, 8), (41, 27, 12)))
    tool = cutter("t", "T-slot", head, high, 40.0, shank_diameter_mm=neck)
    corners = solid.vertices_mm[solid.triangles]
    assert bool(is_under(ways_in(corners, 12.0, tool), np.array([[20.0, 25.0, 12.0]]), tool)[0]) == touches


@pytest.mark.parametrize(("long", "touches"), [(8.1, True), (7.9, False)])
def test_a_shank_thicker_than_the_neck_stays_over_the_slot(long: float, *, touches: bool) -> None:
    """Worked: from the ceiling to the top of the block the slot of 6 is 8 high; the shank of 12 begins where the neck
    of 5.9 ends."""
    shape = cut_box(box(40, 40, 20), (-1, 17, 8), (41, 23, 21))
    solid = solid_of(cut_box(shape, (-1, 13, 8), (41, 27, 12)))
    tool = cutter(
        "t", "T-slot", 13.9, 3.9, 40.0, shank_diameter_mm=12.0, neck_diameter_mm=5.9, neck_length_mm=long
    )  # fmt: skip
    corners = solid.vertices_mm[solid.triangles]
    assert bool(is_under(ways_in(corners, 12.0, tool), np.array([[20.0, 25.0, 12.0]]), tool)[0]) == touches


@pytest.mark.parametrize(("low_x", "reached"), [(10, [False, False, False]), (-1, [True, False, False])])
def test_no_cutter_comes_under_a_roof_without_a_slot_for_its_neck(low_x: float, reached: list[bool]) -> None:
    """Worked: a room 6 high right through a block, metal over it; a head of R6 on a neck of R3. Where the room is open
    at its side too, the neck stops at the lip at x = 0 and the head reaches 3 under it.
    """
    solid = solid_of(cut_box(box(80, 80, 30), (low_x, -1, 8), (70, 81, 14)))
    tool = cutter("t", "T-slot", 12.0, 4.0, 60.0, shank_diameter_mm=6.0)
    corners = solid.vertices_mm[solid.triangles]
    points = np.array([[x + max(low_x, 0.0), 40.0, 14.0] for x in (2.9, 3.1, 30.0)])
    assert is_under(ways_in(corners, 14.0, tool), points, tool).tolist() == reached


def test_metal_between_two_heights_is_cut_out_of_triangles() -> None:
    """Worked: of a block 40 x 30 x 20 from 5 to 12 four sides of 7 are left, of which the longer have 40 x 7."""
    corners = solid_of(box(40, 30, 20)).vertices_mm[solid_of(box(40, 30, 20)).triangles]

    def area(found: np.ndarray) -> float:
        return float(np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1).sum() / 2)

    found = between(corners, 5.0, 12.0)
    assert area(found) == pytest.approx(2 * (40 + 30) * 7)
    assert (found[:, :, 2].min(), found[:, :, 2].max()) == pytest.approx((5.0, 12.0))
    assert area(cut_off(corners, 5.0)) == pytest.approx(2 * (40 + 30) * 15 + 40 * 30)
    assert len(cut_off(corners, 20.0)) == 0


def test_parts_grown_one_by_one_cover_what_all_at_once_cover() -> None:
    """A ring of chords with stubs across them, and two areas, against the library's way with the whole."""
    turns = np.linspace(0.0, 2.0 * np.pi, 25)
    ring = np.column_stack([np.cos(turns), np.sin(turns)]) * 9.0
    chords = [shapely.LineString(ends) for ends in pairwise(ring)]
    stubs = [shapely.LineString([0.9 * at, 1.1 * at]) for at in ring[::4]]
    areas = [shapely.box(0.0, 0.0, 1.0, 1.0), shapely.box(3.0, 0.0, 5.0, 1.0)]
    for shape in (shapely.union_all([*chords, *stubs]), shapely.union_all(areas)):
        own, whole = grown(shape, 2.5), shapely.buffer(shape, 2.5, quad_segs=QUARTER_CHORDS)
        assert own.symmetric_difference(whole).area < 1e-9 * whole.area
