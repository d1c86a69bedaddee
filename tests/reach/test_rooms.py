"""Room beside faces, hollows and slots of known size, and curvature against plane geometry."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from fit_cases import MAKERS, answered, block_of, cylinder_of, joined, turned, wrong_answers
from shapes import box, cut_box, cutter, drilled, solid_of, target_of

from proveout.geometry.mesh import face_samples
from proveout.model.run import Run
from proveout.model.solid import Solid, Surface
from proveout.reach.outline import Tip, tip_of
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import (
    FLOOR,
    INCLINED,
    WALL,
    Rooms,
    Shapes,
    bends,
    hollow_radius_mm,
    outreached,
    rooms_of,
    too_narrow,
)
from proveout.reach.surfaces import height_over, hollows, moved, onto
from proveout.stages import survey
from proveout.stages.clampings.covering import reached_from, samples_of

UP = (0.0, 0.0, 1.0)


def rooms_along(solid: Solid, direction: tuple[float, float, float] = UP) -> tuple[Rooms, np.ndarray]:
    points, normals, face = face_samples(
        solid.vertices_mm, solid.triangles, solid.triangle_face, faces_count=len(solid.faces), per_face=12
    )
    frame = look_frame(direction)
    return rooms_of(Shapes(solid, target_of(solid)), points, normals, face, frame=frame, most_mm=12.0), face


@pytest.mark.parametrize("maker", MAKERS, ids=lambda maker: maker.__name__)
def test_a_fit_is_answered_rightly_when_sizes_differ_by_a_tenth(maker: object) -> None:
    """Seven of each kind, worked: the sizes are known, the cutter's differs by 0.1 mm or more."""
    draw = np.random.default_rng(11)
    for _ in range(7):
        case = maker(draw)  # type: ignore[operator]
        assert answered(case, draw) == case.fits, case.name


def test_wrong_answers_are_told_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fit_cases.answered", lambda case, _: not case.fits)
    assert len(wrong_answers(3, 1)) == 3


@pytest.mark.parametrize("width", [3.0, 6.6])
def test_walls_and_floor_of_a_slot_have_half_its_width(width: float) -> None:
    """Worked: a disc between two walls."""
    solid = solid_of(cut_box(box(40, 30, 20), (-1, 10, 12), (41, 10 + width, 21)))
    rooms, face = rooms_along(solid)
    for own in solid.faces:
        if own.id.startswith(("plane +y 10", "plane -y 1", "plane +z 12")):
            np.testing.assert_allclose(rooms.radius_mm[face == own.index], width / 2.0, atol=2e-4)
    fits, narrow = Tip("flat", width / 2.0 - 0.05), Tip("flat", width / 2.0 + 0.05)
    walls = (rooms.way == WALL) & np.isfinite(rooms.radius_mm)
    assert not too_narrow(rooms, fits)[walls].any()
    assert too_narrow(rooms, narrow)[walls].all()


def test_a_hole_is_as_hollow_as_its_radius_and_nothing_else_bounds_it() -> None:
    shape = drilled(box(40, 40, 20), at=(20, 20, 5), along=(0, 0, 1), dia=24.0, deep=20)
    solid = solid_of(shape)
    rooms, face = rooms_along(solid)
    (hole,) = (f for f in solid.faces if f.surface.kind == "cylinder")
    assert np.isinf(rooms.radius_mm[face == hole.index]).all()
    np.testing.assert_allclose(hollow_radius_mm(rooms)[face == hole.index], 12.0, atol=1e-9)


@pytest.mark.parametrize(("radius", "touches"), [(2.9, True), (3.0, True), (3.1, False)])
def test_a_round_wall_is_touched_by_no_larger_round(radius: float, touches: bool) -> None:  # noqa: FBT001
    solid = solid_of(drilled(box(40, 40, 20), at=(20, 20, 5), along=(0, 0, 1), dia=6.0, deep=20))
    rooms, face = rooms_along(solid)
    (hole,) = (f for f in solid.faces if f.surface.kind == "cylinder")
    assert (bends(rooms, Tip("flat", radius))[face == hole.index] == touches).all()


@pytest.mark.parametrize(
    ("surface", "inward", "places", "worked"),
    [
        (Surface(kind="cylinder", origin_mm=(0, 0, 0), axis=UP, radius_mm=4.0), True, [(4.0, 0.0, 1.0)], 1 / 4.0),
        (Surface(kind="cylinder", origin_mm=(0, 0, 0), axis=UP, radius_mm=4.0), False, [(4.0, 0.0, 1.0)], -1 / 4.0),
        (Surface(kind="sphere", origin_mm=(1, 0, 0), axis=UP, radius_mm=5.0), True, [(6.0, 0.0, 0.0)], 1 / 5.0),
        (
            Surface(kind="torus", origin_mm=(0, 0, 0), axis=UP, radius_mm=9.0, minor_radius_mm=2.0), False,
            [(11.0, 0.0, 0.0)], -1 / 11.0,
        ),
        (Surface(kind="plane", origin_mm=(0, 0, 0), axis=UP), False, [(3.0, 1.0, 0.0)], 0.0),
    ],
)  # fmt: skip
def test_curvature_along_the_way_round_is_that_of_the_circle(
    surface: Surface, inward: bool, places: list[tuple[float, float, float]], worked: float  # noqa: FBT001
) -> None:  # fmt: skip
    bend = hollows(surface, np.array(places), inward=inward)
    way = np.array([0.0, 1.0, 0.0])
    np.testing.assert_allclose(np.einsum("i,nij,j->n", way, bend, way), worked, atol=1e-12)


def test_points_are_put_on_the_moved_surface_of_their_face() -> None:
    """A hole becomes wider by the offset, a boss thinner; the points lie on it."""
    solid = solid_of(drilled(box(40, 40, 20), at=(20, 20, 5), along=(0, 0, 1), dia=6.0, deep=20))
    (hole,) = (f for f in solid.faces if f.surface.kind == "cylinder")
    wider = moved(hole, offset_mm=0.02)
    assert wider.radius_mm == pytest.approx(3.02)
    places = onto(wider, np.array([[23.3, 20.5, 9.0], [18.0, 19.0, 8.0]]), inward=True)
    np.testing.assert_allclose(np.hypot(places[:, 0] - 20.0, places[:, 1] - 20.0), 3.02)
    height, normal = height_over(wider, places + 0.1 * (places - [20.0, 20.0, 0.0]), inward=True)
    assert (height < 0.0).all()
    np.testing.assert_allclose(np.linalg.norm(normal, axis=1), 1.0)


def test_a_wall_higher_than_flutes_is_told_by_its_own_height() -> None:
    solid = solid_of(cut_box(box(40, 30, 20), (-1, 10, 12), (41, 18, 21)))
    rooms, face = rooms_along(solid)
    wall = next(f for f in solid.faces if f.id.startswith("plane +y 10"))
    np.testing.assert_allclose(rooms.column_mm[face == wall.index], 8.0, atol=1e-6)
    assert set(rooms.way[face == wall.index]) == {WALL}
    assert outreached(rooms, flute_mm=7.9)[face == wall.index].all()
    assert not outreached(rooms, flute_mm=8.0)[face == wall.index].any()


def test_ways_of_meeting_a_face() -> None:
    solid = solid_of(box(10, 10, 10))
    lean = 1.0 / math.sqrt(2.0)
    rooms, _ = rooms_along(solid, (0.0, lean, lean))
    assert {int(w) for w in rooms.way} >= {WALL, INCLINED}
    flat, _ = rooms_along(solid)
    assert FLOOR in flat.way


def test_the_end_of_each_kind_of_cutter() -> None:
    assert tip_of(cutter("a", "ball", 6.0, 8, 20)).corner_mm == 3.0
    assert tip_of(cutter("a", "end mill", 6.0, 8, 20, corner_radius_mm=0.5)).flat_mm == 2.5
    assert tip_of(cutter("a", "end mill", 6.0, 8, 20)).kind == "flat"
    cone = tip_of(cutter("a", "edge break", 6.0, 8, 20, tip_angle_rad=math.pi / 2.0, tip_diameter_mm=1.0))
    assert (cone.kind, cone.flat_mm, cone.half_rad) == ("cone", 0.5, math.pi / 4.0)


def test_the_narrowest_place_of_a_wall_is_among_its_points() -> None:
    """A boss 6.1 from a wall, worked: one point of each of the two faces has a room of half the gap.

    Seen from the boss exactly; seen from the wall within the mesh's chords, as the boss's rim is also its top's.
    """
    gap, radius = 6.1, 5.0
    shape = joined(block_of((0, 0, 0), (60, 50, 10)), block_of((0, 0, 9), (60, 6, 16)))
    solid = solid_of(joined(shape, cylinder_of((30, 6 + gap + radius, 9), (0, 0, 1), radius, 7)))
    samples = samples_of(solid, target_of(solid), survey.decide(solid=solid, run=Run()).value)
    rooms = samples.rooms_from(UP, (cutter("a", "end mill", 16.0, 20, 40),))
    for start, within in (("cylinder out", 1e-6), ("plane +y 6", solid.mesh_deflection_mm / 2.0)):
        own = next(f.index for f in solid.faces if f.id.startswith(start))
        assert rooms.radius_mm[samples.face == own].min() == pytest.approx(gap / 2.0, abs=within)


@pytest.mark.parametrize("seed", range(4))
def test_the_narrowest_place_is_found_however_the_part_lies(seed: int) -> None:
    """Worked: half the gap between boss and wall, though the wall's edge is its top's edge too."""
    gap, radius = 6.1, 5.0
    shape = joined(block_of((0, 0, 0), (60, 50, 10)), block_of((0, 0, 9), (60, 6, 16)))
    shape = joined(shape, cylinder_of((30, 6 + gap + radius, 9), (0, 0, 1), radius, 7))
    shape, turn, _ = turned(shape, np.random.default_rng(seed))
    solid = solid_of(shape)
    samples = samples_of(solid, target_of(solid), survey.decide(solid=solid, run=Run()).value)
    x, y, z = (float(v) for v in turn[:, 2])
    rooms = samples.rooms_from((x, y, z), (cutter("a", "end mill", 16.0, 20, 40),))
    boss = next(f.index for f in solid.faces if f.surface.kind == "cylinder")
    assert rooms.radius_mm[samples.face == boss].min() == pytest.approx(gap / 2.0, abs=1e-6)


def test_a_round_face_that_leans_is_made_by_a_ball_and_by_no_sharp_end() -> None:
    """A half round along x on a block: a sharp end meets it with its edge alone, for which there is no pass.

    Worked: a ball of R3 over R6 stands on the floor where sin a = 3 / 9, 19.5 degrees up: 78 % of the round lies above.
    """
    solid = solid_of(joined(block_of((0, 0, 0), (40, 30, 10)), cylinder_of((0, 15, 10), (1, 0, 0), 6.0, 40)))
    target = target_of(solid)
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    own = samples.face == next(f.index for f in solid.faces if f.surface.kind == "cylinder")
    for kind, least, most in (("end mill", 0.0, 0.1), ("ball", 0.70, 0.86)):
        fresh = replace(samples, rooms={}, looks={})
        reached, _ = reached_from(
            UP, target=target, samples=fresh, obstacles=(), cutters=(cutter("a", kind, 6.0, 14, 40),), solid=solid,
            run=Run(),
        )  # fmt: skip
        assert least <= float(reached[own].mean()) <= most, kind
