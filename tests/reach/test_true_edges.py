"""Edges between flat faces are straight: brute force sees a cutter stand into them by a thousandth of a millimetre."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fit_cases import block_of, cylinder_of, joined
from reach_triples import Part, by_brute_force
from shapes import box, cutter, drilled, solid_of
from whole_cutters import body_of, true_parts

from proveout.reach.reaching import look_frame
from proveout.reach.rooms import rooms_of

LOOK = (math.sqrt(0.75), 0.0, 0.5)
SINE, ASIDE_MM = 0.066, 0.31
"""How the round's normal leans at the point, and how far the point lies from the plate behind."""


def room_mm() -> float:
    """Radius of the ball that touches the point and the edge.

    Worked: the point lies d = 1 - n under the edge's height, n the normal's rise; the ball's middle n R - d over it and
    ASIDE_MM before it: (n R - d)^2 + 0.31^2 = R^2.
    """
    n = math.sqrt(1.0 - SINE**2)
    d = 1.0 - n
    return (-d * n + math.sqrt((d * n) ** 2 + SINE**2 * (ASIDE_MM**2 + d**2))) / SINE**2


@pytest.fixture(scope="module")
def part() -> Part:
    """A plate 40 high and before it, flush with its top, a rail 2 deep whose end has a round of 1 on top."""
    plate = block_of((-20, 2, 20), (30, 6, 40))
    rail = joined(block_of((9.5, 0, 20), (30, 2, 40)), block_of((8.5, 0, 20), (9.5, 2, 39)))
    return Part(solid_of(joined(joined(rail, cylinder_of((9.5, 0, 39), (0, 1, 0), 1.0, 2)), plate)), "rail")


def touched() -> tuple[np.ndarray, np.ndarray]:
    """A point of the round near its top, and the normal there."""
    normal = np.array([-SINE, 0.0, math.sqrt(1.0 - SINE**2)])
    return np.array([9.5, 2.0 - ASIDE_MM, 39.0]) + normal, normal


def test_the_plate_s_edge_bounds_a_ball_that_touches_the_round(part: Part) -> None:
    """Worked: R 4.224, at which the ball stands 0.011 under the top there; the planner's room is that."""
    point, normal = touched()
    assert room_mm() == pytest.approx(4.2241, abs=1e-4)
    face = np.array([f.index for f in part.solid.faces if f.surface.kind == "cylinder"], dtype=np.int32)
    rooms = rooms_of(part.shapes, point[None], normal[None], face, frame=look_frame(LOOK), most_mm=20.0)
    assert rooms.radius_mm[0] == pytest.approx(room_mm(), abs=1e-5)


@pytest.mark.parametrize(("more_mm", "reaches"), [(-0.1, True), (0.1, False), (0.54, False)])
def test_brute_force_sees_a_ball_stand_into_that_edge(part: Part, more_mm: float, reaches: bool) -> None:  # noqa: FBT001
    """Worked: with 0.54 more than there is room for the ball stands in by 0.00247, with 0.1 more by 0.0005."""
    frame, (point, normal) = look_frame(LOOK), touched()
    body = body_of(
        frame.into(part.fine.reshape(-1, 3)).reshape(-1, 3, 3), within_mm=part.within_mm, true=part.true,
        true_mm=part.true_mm,
    )  # fmt: skip
    radius = room_mm() + more_mm
    middle = point + radius * normal
    deep = radius - math.hypot(middle[1] - 2.0, middle[2] - 40.0)
    assert deep == pytest.approx({-0.1: -0.00049, 0.1: 0.00048, 0.54: 0.00247}[more_mm], abs=2e-5)
    ball = cutter("a", "ball", 2.0 * radius, 31.72, 40.29, shank_diameter_mm=7.0)
    assert by_brute_force(body, frame.into(point[None])[0], frame.turn @ normal, ball) == reaches


def test_what_ends_at_an_arc_is_a_chord_unless_two_flat_faces_meet_in_it() -> None:
    """A plate with a hole: all edges of its box are true, and nothing of its top that has a corner on the hole."""
    solid = solid_of(drilled(box(30, 20, 5), at=(10, 10, 5), along=(0, 0, -1), dia=8.0, deep=5.0))
    flat = np.array([face.surface.kind == "plane" for face in solid.faces])
    true = true_parts(solid.triangles, solid.triangle_face, flat)
    corners = solid.vertices_mm[solid.triangles]
    at_hole = np.abs(np.hypot(corners[..., 0] - 10.0, corners[..., 1] - 10.0) - 4.0) < 1e-6
    assert not true[at_hole.any(axis=1), 0].any()
    assert not true[:, 1:][at_hole & np.roll(at_hole, -1, axis=1)].any()
    sides = (corners[..., 2].max(axis=1) > 4.9) & ~at_hole.any(axis=1)
    assert sides.sum() == 8 and true[sides].all()  # noqa: PT018
    outer = np.isin(corners[..., 0], (0.0, 30.0)) & np.isin(corners[..., 1], (0.0, 20.0))
    along_box = outer & np.roll(outer, -1, axis=1)
    assert along_box.sum() == 32
    assert true[:, 1:][along_box].all()
