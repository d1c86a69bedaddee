"""T-slot cutters under the ceilings of real parts, judged twice: as the planner does, and whole.

For a flat face that looks straight down under a tilt a cutter of any sizes is drawn, most of them near where brute
force changes its mind along one of its sizes. By brute force the plane of the axis is parted into squares; head, neck
and holder are discs that keep clear of every triangle between their heights, the holder with the air that passes keep;
a square counts when squares that are free lead from it to one where the head comes straight down, and a point when the
head covers it from such a square. What a cutter OVER_MM larger is surely let to, or one PIXEL_MM smaller surely not, is
told; the rest is left out and counted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import msgspec
import numpy as np
import scipy.ndimage
from kernels.level import free_squares, slab
from reach_drills import holes_of
from reach_triples import OVER_MM, PIXEL_MM, SQUARE, Part, Tally

from proveout.model.shop import Cutter
from proveout.model.work import Vector
from proveout.reach.reaching import look_frame
from proveout.reach.standing import Look
from proveout.solids.measure import solid_from_shape
from proveout.solids.shapes import shape_from_brep
from proveout.stages.clampings.covering import HOLDER_AIR_MM, under_ceiling

SIDES_MM, ROUGH_MM = (0.8, 0.2, 0.05), 0.6
"""Sides of the squares, the finer ones for what the coarser leave open, and while a size is sought at which the answer
changes.
"""
SQUARES_MOST = 4096
CLEAR_MM, NEAR_MM = 0.45, 0.9
"""How far from such a size a cutter near a boundary is drawn; the place is known to half a rough square or so."""
TOUCH_MM = 0.01
"""What is no farther inside the end of a disc's heights is touched."""
POINTS, LEAST = 24, 5
"""Judged with one cutter, at the most; fewer than the second are not begun."""
MESH_MM = 0.01
NEAR_SHARE, TRIES = 0.9, 3
"""Of the cutters so many are sought near a boundary, at so many points where the first have none."""
SIZES = ("diameter_mm", "shank_diameter_mm", "flute_length_mm", "stick_out_mm")
LONGEST = {"diameter_mm": 80.0, "shank_diameter_mm": 60.0, "flute_length_mm": 60.0, "stick_out_mm": 160.0}
EVERYWHERE = np.ones((3, 3), dtype=np.int8)


@dataclass(frozen=True)
class Ceiling:
    """One flat face that looks down: its triangles' part (t, 3, 3) and points (n, 3) in the look frame, its height."""

    corners: np.ndarray
    coarse: np.ndarray
    points: np.ndarray
    face: int
    direction: Vector

    @property
    def top(self) -> float:
        """Its height."""
        return float(self.points[0, 2])


def ceilings(part: Part) -> list[tuple[int, Vector]]:
    """Flat faces of a part that look straight down along one of its directions."""
    samples = holes_of(part).samples
    found = []
    for face in part.solid.faces:
        rows = np.flatnonzero(samples.face == face.index)
        if face.surface.kind == "plane" and len(rows):
            found += [
                (face.index, (float(d[0]), float(d[1]), float(d[2])))
                for d in part.directions if float(samples.normals[rows[0]] @ d) < -SQUARE
            ]  # fmt: skip
    return found


@lru_cache(maxsize=16)
def mesh_of(part: Part) -> np.ndarray:
    """(t, 3, 3) a mesh of the part's own for this, coarser than that for whole cutters; its chords lie in OVER_MM."""
    made = solid_from_shape(shape_from_brep(part.solid.brep), name=part.name, unit_declared="mm", deflection_mm=MESH_MM)
    return made.vertices_mm[made.triangles]


@lru_cache(maxsize=64)
def ceiling_of(part: Part, face: int, direction: Vector) -> Ceiling:
    """A ceiling as both judges see it."""
    samples, frame = holes_of(part).samples, look_frame(direction)
    seen = frame.into(mesh_of(part).reshape(-1, 3)).reshape(-1, 3, 3)
    coarse = np.ascontiguousarray(frame.into(part.target.vertices_mm)[part.target.triangles])
    return Ceiling(seen, coarse, frame.into(samples.points[samples.face == face]), face, direction)


def covered(ceiling: Ceiling, points: np.ndarray, cutter: Cutter, *, grown_mm: float, side_mm: float) -> np.ndarray:
    """(n,) whether a cutter so much larger covers points of a ceiling by squares that are surely free (larger), or
    that are not surely blocked (smaller).

    It touches ceiling and floor by what it is: only its radii grow, and its lengths where they do not touch.
    """
    top, corners, is_sure = ceiling.top, ceiling.corners, grown_mm > 0.0
    bottom, collar = top - cutter.flute_length_mm, max(top - cutter.flute_length_mm + cutter.stick_out_mm, top)
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    floors = (np.abs(corners[:, :, 2] - top).max(axis=1) <= TOUCH_MM) & (across[:, 2] > 0.0)
    head = slab(corners, bottom - grown_mm + TOUCH_MM, top - TOUCH_MM)
    parts = [
        np.concatenate([head, corners[floors][:, :, :2]]),
        slab(corners, top + TOUCH_MM, collar - grown_mm + TOUCH_MM),
        slab(corners, max(collar - grown_mm, top) + TOUCH_MM, 1e9),
    ]
    radii = np.array([
        cutter.diameter_mm / 2.0 + grown_mm, max(cutter.shank_diameter_mm / 2.0 + grown_mm, 1e-3),
        cutter.holder_diameter_mm / 2.0 + HOLDER_AIR_MM + grown_mm,
    ])  # fmt: skip
    flats = np.ascontiguousarray(np.concatenate(parts))
    around = np.repeat(radii, [len(p) for p in parts])
    wide = float(radii.max()) + 1.0
    low, high = corners[:, :, :2].min(axis=(0, 1)) - wide, corners[:, :, :2].max(axis=(0, 1)) + wide
    size = float((high - low).max())
    side = min(SQUARES_MOST, 1 << math.ceil(math.log2(size / side_mm)))
    pitch = size / side
    free = free_squares(low[0], low[1], pitch, side, flats, around, is_sure)
    over = free & free_squares(low[0], low[1], pitch, side, flats, np.maximum(around, radii[0]), is_sure)
    labelled: Any = scipy.ndimage.label(free, structure=None if is_sure else EVERYWHERE)
    joined = np.asarray(labelled[0], dtype=np.int64)
    good = np.zeros(int(joined.max()) + 1, dtype=np.bool_)
    good[np.unique(joined[over > 0])] = True
    good[0] = False
    i, j = np.nonzero(good[joined])
    half, reach = 0.5 * pitch, cutter.diameter_mm / 2.0 + max(grown_mm, 0.0)
    x, y = low[0] + (i + 0.5) * pitch, low[1] + (j + 0.5) * pitch
    out = np.zeros(len(points), dtype=np.bool_)
    for k, point in enumerate(points):
        aside = np.maximum(np.abs(x - point[0]) - half, 0.0), np.maximum(np.abs(y - point[1]) - half, 0.0)
        out[k] = bool(np.any(np.hypot(*aside) <= reach))
    return out


def by_force(ceiling: Ceiling, points: np.ndarray, cutter: Cutter) -> tuple[np.ndarray, np.ndarray]:
    """(n,) points that a larger cutter surely comes under, and that a smaller one does not surely not."""
    harder, easier = np.zeros(len(points), dtype=np.bool_), np.ones(len(points), dtype=np.bool_)
    for side in SIDES_MM:
        rows = np.flatnonzero(easier & ~harder)
        if len(rows):
            harder[rows] = covered(ceiling, points[rows], cutter, grown_mm=OVER_MM, side_mm=side)
            easier[rows] = harder[rows] | covered(ceiling, points[rows], cutter, grown_mm=-PIXEL_MM, side_mm=side)
    return harder, easier


def drawn_cutter(draw: np.random.Generator, over_mm: float) -> Cutter:
    """A T-slot cutter of any sizes, mostly longer than what stands over the ceiling."""
    radius = float(np.exp(draw.uniform(math.log(2.0), math.log(12.0))))
    flute = float(np.exp(draw.uniform(math.log(0.8), math.log(10.0))))
    neck = radius * float(draw.uniform(0.25, 0.8))
    stick = flute + float(draw.uniform(2.0, 60.0)) + (over_mm if draw.random() < 0.8 else 0.0)
    return Cutter(
        id="t", name="t", kind="T-slot", diameter_mm=2.0 * radius, corner_radius_mm=0.0, flutes_count=4,
        flute_length_mm=flute, stick_out_mm=stick, shank_diameter_mm=2.0 * neck,
        holder_diameter_mm=max(float(draw.uniform(12.0, 50.0)), 2.0 * radius), holder_length_mm=60.0,
        tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None,
        cutting_speed_mm_per_s=1.0, tooth_feed_mm=0.1, life_s=None, price=1.0,
    )  # fmt: skip


def sized(cutter: Cutter, size: str, value: float) -> Cutter:
    """The cutter with another size; the rest as far as it must to stay a cutter with a neck thinner than its head."""
    at = {name: getattr(cutter, name) for name in SIZES} | {size: value}
    if size == "diameter_mm":
        at["shank_diameter_mm"] = min(at["shank_diameter_mm"], value - 0.2)
    else:
        at["diameter_mm"] = max(at["diameter_mm"], at["shank_diameter_mm"] + 0.2)
    if size == "stick_out_mm":
        at["flute_length_mm"] = min(at["flute_length_mm"], value - 0.2)
    else:
        at["stick_out_mm"] = max(at["stick_out_mm"], at["flute_length_mm"] + 0.2)
    return msgspec.structs.replace(cutter, **at, holder_diameter_mm=max(cutter.holder_diameter_mm, at["diameter_mm"]))


def near_edge(ceiling: Ceiling, point: np.ndarray, cutter: Cutter, draw: np.random.Generator) -> Cutter | None:
    """The cutter with one size near where brute force changes its mind about a point; None where it never does."""
    for size in draw.permutation(SIZES):
        low, high = 0.8, LONGEST[str(size)]

        def said(value: float, size: str = str(size)) -> bool:
            return bool(covered(ceiling, point[None], sized(cutter, size, value), grown_mm=-1e-6, side_mm=ROUGH_MM)[0])

        first = said(low)
        if first == said(high):
            continue
        while high - low > ROUGH_MM / 2.0:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if said(middle) == first else (low, middle)
        off = float(draw.uniform(CLEAR_MM, NEAR_MM))
        value = 0.5 * (low + high) + (off if draw.random() < 0.5 else -off)
        if value > 0.8:
            return sized(cutter, str(size), value)
    return None


def compare_ceilings(part: Part, draw: np.random.Generator, count: int, tally: Tally) -> None:
    """Judge `count` points of ceilings twice and add to the tally; nothing where a part has none."""
    faces = ceilings(part)
    while faces and count >= LEAST:
        face, direction = faces[int(draw.integers(len(faces)))]
        ceiling = ceiling_of(part, face, direction)
        points = ceiling.points[draw.permutation(len(ceiling.points))[: min(count, POINTS)]]
        count -= len(points)
        over = float(ceiling.corners[:, :, 2].max()) - ceiling.top
        cutter, edge, is_near = drawn_cutter(draw, over), None, draw.random() < NEAR_SHARE
        for point in points[:TRIES] if is_near else ():
            edge = near_edge(ceiling, point, drawn_cutter(draw, over), draw)
            if edge is not None:
                break
        cutter = edge or cutter
        tally.asked += len(points)
        tally.near += len(points) if edge is not None else 0
        harder, easier = by_force(ceiling, points, cutter)
        ours = _ours(part, ceiling, points, cutter)
        tally.left_out += int((harder != easier).sum())
        tally.reached += int((harder & easier).sum())
        odd = (harder == easier) & (ours != harder)
        for point, told in zip(points[odd], ours[odd], strict=True):
            tally.wrong.append(
                f"{part.name} {part.solid.faces[face].id} from {np.round(direction, 4).tolist()} at "
                f"{np.round(point, 3).tolist()}: T-slot D {cutter.diameter_mm:.3f} flutes {cutter.flute_length_mm:.3f} "
                f"out {cutter.stick_out_mm:.3f} neck {cutter.shank_diameter_mm:.3f} holder "
                f"{cutter.holder_diameter_mm:.2f}: planner {bool(told)}, by brute force {not told}"
            )


def _ours(part: Part, ceiling: Ceiling, points: np.ndarray, cutter: Cutter) -> np.ndarray:
    rooms = holes_of(part).samples.rooms_from(ceiling.direction, (cutter,))
    look = Look(look_frame(ceiling.direction), ceiling.coarse, rooms, (cutter,), pitch_mm=PIXEL_MM, names=True)
    return under_ceiling(ceiling.coarse, points, cutter, [ground for *_, ground in look.tiles])
