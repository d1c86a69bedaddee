"""Cutters with a round corner in round hollows that lean, against the shadow that they throw along the hollow."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from fit_cases import block_of, joined
from reach_triples import Triple, hollow_meets
from shapes import cutter, solid_of

from proveout.model.solid import Surface
from proveout.reach.outline import Tip
from proveout.reach.reaching import look_frame
from proveout.reach.rooms import INCLINED, Rooms, bends
from proveout.reach.surfaces import hollows
from proveout.solids.shapes import shape_from_brep, sub_shapes

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

RADIUS_MM, CORNER_MM = 10.153, 2.985


def shadow_mm(axis: np.ndarray, normal: np.ndarray, *, flat: float, corner: float) -> float:
    """Radius of the outline that a mill's end throws along an axis, where that outline looks along -normal.

    Worked: the end is a ball of the corner's radius carried over a level disc. The disc's shadow is an ellipse of half
    axes f and f s, s the rise of the axis; where its outward normal is (c, d) along them it bends with a radius of
    a^2 b^2 / (a^2 c^2 + b^2 d^2)^1.5, and carrying the ball over it adds the ball's radius.
    """
    level = np.cross((0.0, 0.0, 1.0), axis)
    level = level / np.linalg.norm(level)
    c, d = float(normal @ level), float(normal @ np.cross(axis, level))
    a, b = flat, flat * abs(float(axis[2]))
    return corner + (a * b) ** 2 / (a * a * c * c + b * b * d * d) ** 1.5


def room_at(axis: np.ndarray, normal: np.ndarray, radius: float) -> Rooms:
    """The room at one point of a round hollow of a radius, nothing beside it."""
    surface = Surface(
        kind="cylinder", origin_mm=(0.0, 0.0, 0.0), axis=(float(axis[0]), float(axis[1]), float(axis[2])),
        radius_mm=radius,
    )  # fmt: skip
    point = -radius * normal
    return Rooms(
        points=point[None], normals=normal[None], way=np.array([INCLINED], dtype=np.int8),
        radius_mm=np.array([np.inf]), met=np.array([-1]), middle=point[None, :2],
        hollow=hollows(surface, point[None], inward=True), column_mm=np.zeros(1), flank_mm=np.zeros(1),
    )  # fmt: skip


def test_a_mill_fits_a_leaning_hollow_as_its_shadow_along_the_hollow_does() -> None:
    """Worked: seen along the hollow this is a circle, and the mill's end an outline that must bend no less."""
    draw = np.random.default_rng(4)
    for _ in range(200):
        axis, other = (v / np.linalg.norm(v) for v in draw.normal(size=(2, 3)))
        normal = np.cross(axis, other)
        normal = normal / np.linalg.norm(normal) * np.copysign(1.0, normal[2])
        if not 0.05 < normal[2] < 0.95:
            continue
        radius = float(draw.uniform(2.0, 10.0))
        corner = radius * float(draw.uniform(0.1, 0.9))
        tip = Tip("corner", radius, corner_mm=corner, flat_mm=radius - corner)
        needed = shadow_mm(axis, normal, flat=tip.flat_mm, corner=corner)
        assert bends(room_at(axis, normal, 1.001 * needed), tip).all()
        assert not bends(room_at(axis, normal, 0.999 * needed), tip).any()


def test_a_round_corner_smaller_than_the_hollow_may_still_be_too_wide_for_it() -> None:
    """Worked: along a hollow that rises by 10 degrees a disc of R 7.168 is an ellipse of 7.168 and 1.245.

    Where it looks along the normal, (0.429, 0.903) in it, it bends with R 2.269; the corner's 2.985 added that is
    R 5.254, though the corner alone would go into a hollow of R 5 twice over.
    """
    axis, normal = _leaning()
    tip = Tip("corner", RADIUS_MM, corner_mm=CORNER_MM, flat_mm=RADIUS_MM - CORNER_MM)
    assert shadow_mm(axis, normal, flat=tip.flat_mm, corner=CORNER_MM) == pytest.approx(5.254, abs=1e-3)
    assert not bends(room_at(axis, normal, 5.0), tip).any()
    assert bends(room_at(axis, normal, 5.26), tip).all()


@pytest.mark.parametrize(("corner", "meets"), [(CORNER_MM, True), (2.65, True), (2.5, False)])
def test_brute_force_sees_a_mill_stand_into_a_hollow_that_runs_out_beside_it(corner: float, meets: bool) -> None:  # noqa: FBT001
    """The hollow of R 5 ends 0.12 mm beside the point, where the mill stands into it by a ten-thousandth at the most.

    Worked: a corner of 2.65 leaves a disc of R 7.503, whose shadow bends with R 2.375: 5.025 in all, so that it stands
    in by a millionth; one of 2.5 leaves R 7.653, whose shadow bends with R 2.423: 4.92 in all goes into R 5.
    """
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet

    wall = joined(block_of((0, 0, -40), (20, 4, 0)), block_of((0, 0, -40), (40, 4, -27.4226)))
    maker = BRepFilletAPI_MakeFillet(wall)
    for edge in sub_shapes(wall, "edge"):
        if _is_inner(edge):
            maker.Add(5.0, edge)
    solid = solid_of(maker.Shape())
    (index,) = (f.index for f in solid.faces if f.surface.kind == "cylinder" and f.inward)
    frame, normal, point = look_frame(LOOK), *_touched()
    part = SimpleNamespace(solid=solid, kernel_faces=sub_shapes(shape_from_brep(solid.brep), "face"))
    mill = cutter("a", "end mill", 2.0 * RADIUS_MM, 28.0, 41.0, corner_radius_mm=corner)
    triple = Triple(frame.into(point[None])[0], frame.turn @ normal, index, mill, is_near=True)
    assert hollow_meets(part, frame, triple, mill) == meets  # pyright: ignore[reportArgumentType]


LOOK = (0.8999, 0.1736, -0.4001)
TURN_RAD = 0.02488433


def _touched() -> tuple[np.ndarray, np.ndarray]:
    """Outward normal and point of a hollow of R 5 about (25, -22.4226) in x and z, beside where it leaves x = 20."""
    normal = np.array([math.cos(TURN_RAD), 0.0, math.sin(TURN_RAD)])
    return normal, np.array([25.0, 2.8465, -22.4226]) - 5.0 * normal


def _leaning() -> tuple[np.ndarray, np.ndarray]:
    """The hollow's axis and normal there as the cutter sees them."""
    frame = look_frame(LOOK)
    return frame.turn @ np.array([0.0, 1.0, 0.0]), frame.turn @ _touched()[0]


def _is_inner(edge: object) -> bool:
    """Whether an edge lies where the wall stands on the ledge."""
    from OCP.BRep import BRep_Tool

    ends = [BRep_Tool.Pnt_s(v) for v in sub_shapes(edge, "vertex")]
    return all(abs(p.X() - 20.0) + abs(p.Z() + 27.4226) < 1e-6 for p in ends)
