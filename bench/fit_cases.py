"""Slots, holes, corners and gaps of known sizes, each with a cutter whose fit follows from plane geometry.

Every size differs from the cutter's by at least 0.1 mm. The part lies any way in space; a cutter is asked for alone, as
the search for clampings asks, and the faces named by a point on them must be reached whole, or not whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from proveout.model.run import Run
from proveout.model.shop import Cutter, CutterKind
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.solids.measure import solid_from_shape
from proveout.solids.shapes import sub_shapes
from proveout.stages import survey
from proveout.stages.clampings.covering import reached_from, samples_of

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

WHOLE = 0.99
LEAST_MM = 0.1
MOST_MM = 1.5


@dataclass(frozen=True)
class Case:
    """A shape with z up, points on faces that the cutter must reach whole together, and whether it does."""

    name: str
    shape: Any
    spots: tuple[tuple[float, float, float], ...]
    cutter: Cutter
    fits: bool


def cutter_of(kind: CutterKind, diameter: float, *, flute: float, out: float, **more: float) -> Cutter:
    """A cutter with a thin shank unless said otherwise, and a holder that never matters."""
    given: dict[str, Any] = {
        "corner_radius_mm": 0.0, "shank_diameter_mm": 0.8 * diameter, "holder_diameter_mm": diameter,
        "holder_length_mm": 40.0, "tip_angle_rad": math.pi, "tip_diameter_mm": 0.0, **more,
    }  # fmt: skip
    return Cutter(
        id="c", name="c", kind=kind, diameter_mm=diameter, flutes_count=2, flute_length_mm=flute, stick_out_mm=out,
        pitch_mm=0.0, speed_max_rad_per_s=None, cutting_speed_mm_per_s=1.0, tooth_feed_mm=0.1, life_s=None, price=1.0,
        **given,
    )  # fmt: skip


def block_of(low: tuple[float, float, float], high: tuple[float, float, float]) -> Any:
    """A box given by two corners."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    return BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Solid()


def cylinder_of(at: tuple[float, float, float], along: tuple[float, float, float], radius: float, high: float) -> Any:
    """A cylinder from the middle of its end."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*at), gp_Dir(*along)), radius, high).Shape()


def _less(shape: Any, *tools: Any) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    for tool in tools:
        shape = BRepAlgoAPI_Cut(shape, tool).Shape()
    return shape


def joined(shape: Any, tool: Any) -> Any:
    """Two shapes as one."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    return BRepAlgoAPI_Fuse(shape, tool).Shape()


def _rounded(shape: Any, radius: float, is_wanted: Callable[[np.ndarray, np.ndarray], bool]) -> Any:
    """The shape with the straight edges whose two ends are wanted made round."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet

    maker = BRepFilletAPI_MakeFillet(shape)
    for edge in sub_shapes(shape, "edge"):
        ends = [BRep_Tool.Pnt_s(v) for v in sub_shapes(edge, "vertex")]
        if len(ends) == 2 and is_wanted(*(np.array([p.X(), p.Y(), p.Z()]) for p in ends)):
            maker.Add(radius, edge)
    return maker.Shape()


def _differing(draw: np.random.Generator, size: float) -> tuple[float, bool]:
    """Another size at least LEAST_MM from it, half of them just so; and whether it is the smaller."""
    by = LEAST_MM if draw.random() < 0.5 else float(draw.uniform(LEAST_MM, MOST_MM))
    smaller = bool(draw.random() < 0.5)
    return (max(0.3, size - by) if smaller else size + by), smaller


def slot(draw: np.random.Generator) -> Case:
    """A slot open at both ends: two walls and a floor."""
    width, deep = float(draw.uniform(2.0, 14.0)), float(draw.uniform(2.0, 12.0))
    other, fits = _differing(draw, width)
    shape = _less(block_of((0, 0, 0), (50, 40, 20)), block_of((-1, 10, 20 - deep), (51, 10 + width, 21)))
    spots = ((25, 10, 20 - deep / 2), (25, 10 + width, 20 - deep / 2), (25, 10 + width / 2, 20 - deep))
    return Case(f"slot {width:.3f}", shape, spots, cutter_of("end mill", other, flute=deep + 1, out=deep + 20), fits)


def corner(draw: np.random.Generator) -> Case:
    """A pocket with round inside corners: one of them."""
    radius, deep = float(draw.uniform(1.0, 6.0)), float(draw.uniform(3.0, 10.0))
    other, fits = _differing(draw, 2.0 * radius)
    tool = _rounded(
        block_of((10, 8, 20 - deep), (40, 32, 25)), radius,
        lambda a, b: bool(np.hypot(*(a - b)[:2]) < 1e-6),
    )  # fmt: skip
    at = radius * (1.0 - math.sqrt(0.5))
    shape = _less(block_of((0, 0, 0), (50, 40, 20)), tool)
    spots = ((10 + at, 8 + at, 20 - deep / 2),)
    return Case(
        f"corner R{radius:.3f}", shape, spots, cutter_of("end mill", other, flute=deep + 1, out=deep + 20), fits
    )


def bore(draw: np.random.Generator) -> Case:
    """A round pocket too wide to be a drilled hole's business: its wall, by a mill that goes round in it."""
    size, deep = float(draw.uniform(3.0, 16.0)), float(draw.uniform(2.0, 8.0))
    other, fits = _differing(draw, size)
    # a slot through its edge: so it is no hole, and its wall is milled
    shape = _less(
        block_of((0, 0, 0), (50, 40, 20)), cylinder_of((25, 20, 20 - deep), (0, 0, 1), size / 2, 30),
        block_of((25, 20 - 0.1 * size, 20 - deep), (51, 20 + 0.1 * size, 21)),
    )  # fmt: skip
    spots = ((25 - size / 2, 20, 20 - deep / 2),)
    return Case(f"round {size:.3f}", shape, spots, cutter_of("end mill", other, flute=deep + 1, out=deep + 20), fits)


def drilled(draw: np.random.Generator) -> Case:
    """A drilled hole, by a drill of its size and one that is not; and too short flutes."""
    size, deep = float(draw.uniform(2.0, 14.0)), float(draw.uniform(5.0, 18.0))
    short = bool(draw.random() < 0.3)
    other, _ = _differing(draw, size)
    same = bool(draw.random() < 0.5) or short
    flute = deep - float(draw.uniform(LEAST_MM, 3.0)) if short else deep + float(draw.uniform(LEAST_MM, 3.0))
    shape = _less(block_of((0, 0, 0), (50, 40, 20)), cylinder_of((25, 20, 20 - deep), (0, 0, 1), size / 2, 30))
    tool = cutter_of("drill", size if same else other, flute=flute, out=deep + 30, tip_angle_rad=math.radians(118.0))
    return Case(f"hole {size:.3f}", shape, ((25 - size / 2, 20, 20 - deep / 2),), tool, same and not short)


def boss(draw: np.random.Generator) -> Case:
    """A round boss beside a wall: the gap between them."""
    gap, radius, high = float(draw.uniform(2.0, 10.0)), float(draw.uniform(3.0, 8.0)), float(draw.uniform(2.0, 10.0))
    other, fits = _differing(draw, gap)
    shape = joined(block_of((0, 0, 0), (60, 50, 10)), block_of((0, 0, 9), (60, 6, 10 + high)))
    shape = joined(shape, cylinder_of((30, 6 + gap + radius, 9), (0, 0, 1), radius, 1 + high))
    spots = ((30, 6 + gap, 10 + high / 2),)
    return Case(
        f"gap {gap:.3f} at a boss", shape, spots, cutter_of("end mill", other, flute=high + 1, out=high + 20), fits
    )


def flutes(draw: np.random.Generator) -> Case:
    """A wall higher than flutes whose shank is as thick."""
    high = float(draw.uniform(5.0, 25.0))
    other, short = _differing(draw, high)
    shape = joined(block_of((0, 0, 0), (50, 40, 10)), block_of((0, 0, 9), (50, 15, 10 + high)))
    tool = cutter_of("end mill", 8.0, flute=other, out=other + 30, shank_diameter_mm=8.0)
    return Case(f"wall {high:.3f} high", shape, ((25, 15, 10 + high / 2),), tool, not short)


def groove(draw: np.random.Generator) -> Case:
    """A half-round groove: a ball no larger than it."""
    radius = float(draw.uniform(1.5, 6.0))
    other, fits = _differing(draw, 2.0 * radius)
    shape = _less(block_of((0, 0, 0), (50, 40, 20)), cylinder_of((-1, 20, 20), (1, 0, 0), radius, 60))
    spots = ((25, 20, 20 - radius),)
    return Case(f"groove R{radius:.3f}", shape, spots, cutter_of("ball", other, flute=other, out=other + 30), fits)


def fillet(draw: np.random.Generator) -> Case:
    """A rounding between wall and floor: a mill's corner no larger than it."""
    radius = float(draw.uniform(0.6, 3.0))
    other, fits = _differing(draw, radius)
    shape = joined(block_of((0, 0, 0), (50, 40, 10)), block_of((0, 0, 9), (50, 15, 22)))
    shape = _rounded(
        shape, radius, lambda a, b: bool(abs(a[1] - 15) + abs(b[1] - 15) + abs(a[2] - 10) + abs(b[2] - 10) < 1e-6)
    )  # fmt: skip
    at = radius * (1.0 - math.sqrt(0.5))
    tool = cutter_of("end mill", 2.0 * other + 4.0, flute=14.0, out=30.0, corner_radius_mm=other)
    return Case(f"rounding R{radius:.3f}", shape, ((25, 15 + at, 10 + at),), tool, fits)


def t_slot(draw: np.random.Generator) -> Case:
    """A T-shaped slot: neck, head, its height or its way in, one of them against a cutter's."""
    neck, under, high, lip = (float(draw.uniform(*ends)) for ends in ((6, 12), (3, 6), (3, 7), (4, 9)))
    head = neck + 2.0 * under
    by = float(draw.uniform(LEAST_MM, 1.0))
    which = int(draw.integers(6))
    # 0: fits; 1: neck too thick; 2: head too wide; 3: head too high; 4, 5: closed at both ends, with a round way in
    # that is as much wider or narrower than the head
    thick = neck + by if which == 1 else neck - LEAST_MM
    wide = head + by if which == 2 else head - LEAST_MM
    tall = high + by if which == 3 else high - by
    ends = (14.0, 36.0) if which >= 4 else (-1.0, 51.0)
    shape = _less(
        block_of((0, 0, 0), (50, 50, 30)),
        block_of((ends[0], 25 - neck / 2, 30 - lip - high), (ends[1], 25 + neck / 2, 31)),
        block_of((ends[0], 25 - head / 2, 30 - lip - high), (ends[1], 25 + head / 2, 30 - lip)),
    )  # fmt: skip
    if which >= 4:
        way = wide / 2.0 + (by if which == 4 else -by) / 2.0
        tools = [cylinder_of((25, 25, 30 - lip - high), (0, 0, 1), way, 40)]
        for x in ends:
            tools.append(cylinder_of((x, 25, 30 - lip - high), (0, 0, 1), neck / 2, 40))
            tools.append(cylinder_of((x, 25, 30 - lip - high), (0, 0, 1), head / 2, high))
        shape = _less(shape, *tools)
    tool = cutter_of("T-slot", wide, flute=tall, out=lip + high + 20.0, shank_diameter_mm=thick)
    spots = ((14, 25 + neck / 2 + under / 2, 30 - lip), (14, 25 - neck / 2 - under / 2, 30 - lip))
    return Case(f"T-slot {neck:.3f} {head:.3f} kind {which}", shape, spots, tool, which in (0, 4))


MAKERS: tuple[Callable[[np.random.Generator], Case], ...] = (
    slot, corner, bore, drilled, boss, flutes, groove, fillet, t_slot,
)  # fmt: skip


def turned(shape: Any, draw: np.random.Generator) -> tuple[Any, np.ndarray, np.ndarray]:
    """The shape turned and moved anyhow; the turn (3, 3) and the shift (3,)."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Trsf

    q = draw.normal(size=4)
    w, x, y, z = q / np.linalg.norm(q)
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )
    shift = draw.uniform(-30.0, 30.0, 3)
    move = gp_Trsf()
    move.SetValues(*(float(v) for row in range(3) for v in (*turn[row], shift[row])))
    return BRepBuilderAPI_Transform(shape, move, theCopyGeom=True).Shape(), turn, shift


def target_of(solid: Solid) -> Target:
    """The solid itself as its target."""
    return Target(
        vertices_mm=solid.vertices_mm, triangles=solid.triangles, triangle_face=solid.triangle_face,
        face_ids=tuple(f.id for f in solid.faces), face_offset_mm=np.zeros(len(solid.faces)),
        volume_mm3=solid.volume_mm3, mesh_deflection_mm=solid.mesh_deflection_mm, mesh_is_closed=solid.mesh_is_closed,
    )  # fmt: skip


def answered(case: Case, draw: np.random.Generator) -> bool:
    """Whether the planner says that the cutter reaches the named faces whole."""
    shape, turn, shift = turned(case.shape, draw)
    solid = solid_from_shape(sub_shapes(shape, "solid")[0], name="case", unit_declared="mm", deflection_mm=0.01)
    target = target_of(solid)
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    x, y, z = (float(v) for v in turn[:, 2])
    reached, _ = reached_from(
        (x, y, z), target=target, samples=samples, obstacles=(), cutters=(case.cutter,), solid=solid, run=Run()
    )
    for spot in case.spots:
        away = np.linalg.norm(samples.points - (turn @ np.array(spot) + shift), axis=1)
        face = _face_at(solid, target, turn @ np.array(spot) + shift, samples.face[int(np.argmin(away))])
        if float(reached[samples.face == face].mean()) < WHOLE:
            return False
    return True


def _face_at(solid: Solid, target: Target, place: np.ndarray, near: int) -> int:
    """The face that a place lies on: the one whose triangle's plane and box hold it best."""
    corners = target.vertices_mm[target.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-12)
    off = np.abs(np.einsum("ij,ij->i", corners[:, 0] - place, across))
    outside = np.zeros(len(corners))
    for k in range(3):
        a, b = corners[:, k], corners[:, (k + 1) % 3]
        inward = np.cross(across, b - a)
        inward /= np.maximum(np.linalg.norm(inward, axis=1, keepdims=True), 1e-12)
        outside = np.maximum(outside, -np.einsum("ij,ij->i", place - a, inward))
    best = int(np.argmin(off + np.maximum(outside, 0.0)))
    return int(target.triangle_face[best]) if solid.faces else near


def wrong_answers(count: int, seed: int) -> list[str]:
    """What is answered wrongly among `count` cases, in words."""
    draw = np.random.default_rng(seed)
    out: list[str] = []
    for number in range(count):
        case = MAKERS[number % len(MAKERS)](draw)
        said = answered(case, draw)
        if said != case.fits:
            c = case.cutter
            out.append(
                f"{case.name} against {c.kind} Ø{c.diameter_mm:.3f} r {c.corner_radius_mm:.3f} shank "
                f"{c.shank_diameter_mm:.3f} flutes {c.flute_length_mm:.3f}: said {'fits' if said else 'does not fit'}"
            )
    return out
