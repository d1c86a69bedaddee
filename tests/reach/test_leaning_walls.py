"""Walls that lean back by a hair and bend along the cutter: its flank over the point, held against the true surface."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from fit_cases import block_of, cylinder_of, joined
from reach_triples import Triple, hollow_meets
from shapes import box, cutter, solid_of, target_of

from proveout.model.solid import Solid
from proveout.reach.outline import Tip
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import WALL, Rooms, Shapes, bends, rooms_of
from proveout.reach.standing import REACHED, Look
from proveout.solids.shapes import shape_from_brep, sub_shapes
from proveout.stages.clampings.covering import by_edge_alone

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

ROUND_MM, TURN_RAD = 10.4, 0.025
BEND_MM = ROUND_MM * math.sqrt(2.0)
"""A hollow cone of half a right angle, seen along one of its lines; a point so far beside that line, and its bend."""
ALONG = (math.sqrt(0.5), 0.0, math.sqrt(0.5))
UP = (0.0, 0.0, 1.0)
TROUGH_MM, RISE = 10.0, 0.0009
"""A round trough, and the rise of its normal at a point just under where it stands upright."""


def chamfered() -> Solid:
    """A plate with a hole of 20 whose mouth on top is a chamfer of 0.5 by 45 degrees."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    def axes(z: float) -> gp_Ax2:
        return gp_Ax2(gp_Pnt(40.0, 40.0, z), gp_Dir(0.0, 0.0, 1.0))

    plate = BRepAlgoAPI_Cut(box(80, 80, 10), BRepPrimAPI_MakeCylinder(axes(0.0), 10.0, 10.0).Shape()).Shape()
    return solid_of(BRepAlgoAPI_Cut(plate, BRepPrimAPI_MakeCone(axes(9.5), 10.0, 10.5, 0.5).Shape()).Shape())


def trough(over_mm: float) -> Solid:
    """A block with a round trough along y in its side, whose top lies so high over the trough's middle."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    block = block_of((0, 0, 0), (20, 20, 15.0 + over_mm))
    return solid_of(BRepAlgoAPI_Cut(block, cylinder_of((0, -1, 15), (0, 1, 0), TROUGH_MM, 22)).Shape())


def split_trough(over_mm: float) -> Solid:
    """The same of two blocks joined at the height of the trough's middle: its round is two faces."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    tool = cylinder_of((0, -1, 15), (0, 1, 0), TROUGH_MM, 22)
    low = BRepAlgoAPI_Cut(block_of((0, 0, 0), (20, 20, 15)), tool).Shape()
    high = BRepAlgoAPI_Cut(block_of((0, 0, 15), (20, 20, 15.0 + over_mm)), tool).Shape()
    return solid_of(joined(low, high))


def round_of(solid: Solid) -> int:
    """The one face that is not flat and not the hole's."""
    return next(
        f.index for f in solid.faces if f.surface.kind == "cone" or f.surface.axis[2] == 0.0 < f.surface.radius_mm
    )


def on_chamfer() -> tuple[np.ndarray, np.ndarray]:
    """The point on the chamfer and its normal: 0.1 under the top."""
    way = np.array([math.cos(TURN_RAD), math.sin(TURN_RAD), 0.0])
    return np.array([40.0, 40.0, 9.9]) + ROUND_MM * way, (np.array(UP) - way) * math.sqrt(0.5)


def on_trough() -> tuple[np.ndarray, np.ndarray]:
    """The point of the trough and its normal."""
    normal = np.array([-math.sqrt(1.0 - RISE**2), 0.0, RISE])
    return np.array([0.0, 10.0, 15.0]) - TROUGH_MM * normal, normal


def rooms_at(solid: Solid, place: tuple[np.ndarray, np.ndarray], along: tuple[float, float, float]) -> Rooms:
    """The room at a place of the round face, seen along a way."""
    face = np.array([round_of(solid)], dtype=np.int32)
    shapes = Shapes(solid, target_of(solid))
    return rooms_of(shapes, place[0][None], place[1][None], face, frame=look_frame(along), most_mm=20.0)


def tips(radius: float) -> list[Tip]:
    """A ball, a sharp end and a round corner of a radius."""
    flat = Tip("flat", radius, flat_mm=radius)
    return [Tip("ball", radius, corner_mm=radius), flat, Tip("corner", radius, 0.2 * radius, 0.8 * radius)]


def test_a_flank_along_a_line_of_a_cone_keeps_off_it_however_high_it_stands() -> None:
    """Worked: square to a line of such a cone its sections are parabolas with their tops on the line.

    The bend there is the distance from the cone's tip, so each lies round the one below it: a circle that touches one
    from within meets none over it, up to the bend of the lowest, R 14.708 on the line and R 14.717 beside it.
    """
    rooms = rooms_at(SOLID, on_chamfer(), ALONG)
    assert rooms.way[0] == WALL
    for radius, fits in ((8.912, True), (14.0, True), (14.7, True), (14.75, False)):
        for tip in tips(radius):
            assert bool(bends(rooms, tip)[0]) == fits, (radius, tip.kind)


@pytest.mark.parametrize(("over_mm", "fits"), [(0.0, True), (0.008, True), (0.01, False), (0.03, False), (0.5, False)])
def test_a_flank_meets_a_trough_that_comes_back_as_far_over_its_middle(over_mm: float, fits: bool) -> None:  # noqa: FBT001
    """Worked: an upright line through a point 0.009 under the middle leaves the round 0.009 over it."""
    rooms = rooms_at(trough(over_mm), on_trough(), UP)
    assert rooms.way[0] == WALL
    for tip in tips(6.0):
        assert bool(bends(rooms, tip)[0]) == fits, tip.kind
    assert not bends(rooms, Tip("ball", 10.1, corner_mm=10.1)).any()


@pytest.mark.parametrize(("over_mm", "fits"), [(0.005, True), (0.03, False), (0.5, False)])
def test_a_flank_meets_what_its_wall_runs_on_into(over_mm: float, fits: bool) -> None:  # noqa: FBT001
    """Worked as before: what stands over the middle is another face, of which the own one's height tells nothing."""
    solid, (point, normal) = split_trough(over_mm), on_trough()
    lower, upper = sorted((f for f in solid.faces if f.surface.kind == "cylinder"), key=lambda f: f.centroid_mm[2])
    assert lower.high_mm[2] == pytest.approx(15.0) == upper.low_mm[2]
    face = np.array([lower.index], dtype=np.int32)
    shapes = Shapes(solid, target_of(solid))
    rooms = rooms_of(shapes, point[None], normal[None], face, frame=look_frame(UP), most_mm=20.0)
    assert rooms.way[0] == WALL
    for tip in tips(6.0):
        assert bool(bends(rooms, tip)[0]) == fits, tip.kind


def test_a_ball_makes_a_chamfer_along_which_it_looks_and_no_sharp_end_does() -> None:
    """A whole ball cutter stands there; a sharp end touches with its edge alone, for which there is no pass."""
    rooms, frame, target = rooms_at(SOLID, on_chamfer(), ALONG), look_frame(ALONG), target_of(SOLID)
    ball, mill = cutter("a", "ball", 17.824, 12.2, 16.27), cutter("b", "end mill", 17.824, 12.2, 16.27)
    part = np.ascontiguousarray(frame.into(target.vertices_mm)[target.triangles])
    assert Look(frame, part, rooms, (ball,), pitch_mm=0.1).of(ball, np.ones(1, dtype=bool))[0] == REACHED
    samples = SimpleNamespace(shapes=Shapes(SOLID, target), face=np.array([round_of(SOLID)]))
    assert by_edge_alone(mill, samples, rooms).all()  # pyright: ignore[reportArgumentType]
    assert not by_edge_alone(ball, samples, rooms).any()  # pyright: ignore[reportArgumentType]


@pytest.mark.parametrize(("over_mm", "meets"), [(0.008, False), (0.03, True)])
def test_brute_force_looks_along_the_flank_over_a_wall_that_leans_back(over_mm: float, meets: bool) -> None:  # noqa: FBT001
    """Worked: 0.03 over the middle the round has come back by 0.039^2 / 20 - 0.0009 x 0.039, 0.00004 in all."""
    solid, frame, (point, normal) = trough(over_mm), look_frame(UP), on_trough()
    part = SimpleNamespace(solid=solid, kernel_faces=sub_shapes(shape_from_brep(solid.brep), "face"))
    ball = cutter("a", "ball", 12.0, 30.0, 41.0)
    triple = Triple(frame.into(point[None])[0], frame.turn @ normal, round_of(solid), ball, is_near=True)
    assert hollow_meets(part, frame, triple, ball) == meets  # pyright: ignore[reportArgumentType]


SOLID = chamfered()
