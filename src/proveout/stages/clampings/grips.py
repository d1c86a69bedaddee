"""Pairs of parallel finished faces, and finished rounds, that jaws can hold for one way up."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import frame_looking_down, triple
from proveout.grip.jaw_patches import THIN_MM
from proveout.model.choice_of_clampings import Grip
from proveout.model.shop import Vise
from proveout.model.solid import Face, Solid
from proveout.model.target import Target
from proveout.model.work import Vector

CELL_MM = 0.5
LEVEL_MM = 2e-3
PATCH_LENGTH_MIN_MM = 8.0
PATCH_HEIGHT_MIN_MM = 1.0
SEAT_SHARE_MIN = 0.15
ROUND_TURN_MIN_RAD = 1.5 * math.pi
ROUND_HALF_ARC_RAD = math.pi / 6.0
OUTERMOST_MM = 0.1
AWAY_MM2 = 1e-9


def grips_for(
    up: Vector, *, solid: Solid, target: Target, vise: Vise, height_limit_mm: float, made: frozenset[str]
) -> list[Grip]:
    """Every pair of outermost parallel planes square to `up` whose faces are all made, best patch first.

    A wall thinner than THIN_MM of the finished part behind a face is not counted as touched.

    Args:     height_limit_mm: jaws may reach this high above the seat.   made: ids of the faces finished before.
    """
    grips: list[Grip] = []
    planes = [f for f in solid.faces if f.surface.kind == "plane"]
    seen: list[NDArray[np.float64]] = []
    heights = solid_heights(target, up)
    seat = _seat(up, solid, heights[0], made)
    seat_area = sum(solid.face(s).area_mm2 for s in seat)
    for face in sorted(planes, key=lambda f: (-f.area_mm2, f.id)):
        across = np.array(face.normal)
        if abs(float(np.dot(across, up))) > 1e-6 or any(abs(float(np.dot(across, s))) > 0.99999 for s in seen):
            continue
        seen.append(across)
        across = across * _sense(across)
        grip = _grip(
            up, across, solid=solid, target=target, height_limit_mm=height_limit_mm, made=made, heights=heights,
            length_limit_mm=vise.jaw_length_mm,
        )  # fmt: skip
        if grip is None or grip.gap_mm > vise.opening_max_mm:
            continue
        footprint = grip.gap_mm * max(grip.patch_length_mm, 1.0)
        stands = seat if seat_area >= SEAT_SHARE_MIN * footprint else ()
        grips.append(
            Grip(
                across=grip.across,
                faces=grip.faces,
                patch_length_mm=grip.patch_length_mm,
                patch_height_mm=grip.patch_height_mm,
                low_mm=grip.low_mm,
                gap_mm=grip.gap_mm,
                seat_faces=stands,
            )
        )
    grips.sort(key=lambda g: (-g.patch_length_mm * g.patch_height_mm, g.gap_mm, g.across))
    return grips


def _seat(up: Vector, solid: Solid, low_mm: float, made: frozenset[str]) -> tuple[str, ...]:
    """Finished flat faces that point down at the lowest height."""
    return tuple(
        f.id
        for f in solid.faces
        if f.surface.kind == "plane"
        and float(np.dot(f.normal, up)) < -0.99999
        and float(np.dot(f.centroid_mm, up)) <= low_mm + 0.1
        and f.id in made
    )


def round_grips(
    up: Vector, *, solid: Solid, target: Target, vise: Vise, height_limit_mm: float, made: frozenset[str]
) -> list[Grip]:
    """Every finished outer round about `up` that soft jaws bored to it can hold, longest patch first.

    The round must be the outermost of the part across the jaws, and nothing below the jaw tops may stand beyond it.
    The patch counts a sixth of a turn on either side: its length is the chord, which is the radius. How thin the work
    is behind it is not looked at.
    """
    grips: list[Grip] = []
    z = np.array(up)
    heights = solid_heights(target, up)
    along = target.vertices_mm @ z
    for axis_point, radius, faces in _rounds(up, solid, made):
        ends = [_heights_along(f, z) for f in faces]
        low = max(min(e[0] for e in ends) - heights[0], 0.0)
        high = min(max(e[1] for e in ends) - heights[0], height_limit_mm)
        height = high - low - CELL_MM
        beside = target.vertices_mm[along < heights[0] + high] - axis_point
        out = np.linalg.norm(beside - np.outer(beside @ z, z), axis=1)
        length = 2.0 * radius * math.sin(ROUND_HALF_ARC_RAD)
        if height < PATCH_HEIGHT_MIN_MM or length < PATCH_LENGTH_MIN_MM or 2.0 * radius > vise.opening_max_mm:
            continue
        if len(out) and float(out.max()) > radius + OUTERMOST_MM:
            continue
        seat = _seat(up, solid, heights[0], made)
        for across in (np.eye(3)[i] for i in range(3) if abs(up[i]) < 1e-6):
            middle, extent = float(axis_point @ across), target.vertices_mm @ across
            if max(float(extent.max()) - middle, middle - float(extent.min())) > radius + OUTERMOST_MM:
                continue
            grips.append(
                Grip(
                    across=triple(across), faces=tuple(sorted(f.id for f in faces)), patch_length_mm=round(length, 3),
                    patch_height_mm=round(height, 3), low_mm=round(low, 3), gap_mm=round(2.0 * radius, 6),
                    seat_faces=seat, is_round=True,
                )
            )  # fmt: skip
            break
    return sorted(grips, key=lambda g: (-g.patch_length_mm * g.patch_height_mm, g.gap_mm, g.across))


def _rounds(
    up: Vector, solid: Solid, made: frozenset[str]
) -> list[tuple[NDArray[np.float64], float, tuple[Face, ...]]]:
    """Axis point, radius and finished faces of every outer round about `up` that goes most of the way round."""
    z = np.array(up)
    groups: dict[tuple[int, ...], list[Face]] = {}
    for face in solid.faces:
        surface = face.surface
        if surface.kind != "cylinder" or face.inward or face.id not in made:
            continue
        if abs(float(np.dot(surface.axis, up))) < 1.0 - 1e-6:
            continue
        foot = np.array(surface.origin_mm) - z * float(np.dot(surface.origin_mm, up))
        key = (round(surface.radius_mm * 1e3), *(round(float(v) * 1e3) for v in foot))
        groups.setdefault(key, []).append(face)
    return [
        (np.array(faces[0].surface.origin_mm), faces[0].surface.radius_mm, tuple(faces))
        for _, faces in sorted(groups.items())
        if sum(f.turn_rad for f in faces) >= ROUND_TURN_MIN_RAD
    ]


def _heights_along(face: Face, z: NDArray[np.float64]) -> tuple[float, float]:
    sign = 1.0 if float(np.dot(face.surface.axis, z)) > 0.0 else -1.0
    foot = float(np.dot(face.surface.origin_mm, z))
    ends = sorted((foot + sign * face.along_low_mm, foot + sign * face.along_high_mm))
    return ends[0], ends[1]


def solid_heights(target: Target, up: Vector) -> tuple[float, float]:
    """Lowest and highest extent of the part along `up`, mm."""
    along = target.vertices_mm @ np.array(up)
    return float(along.min()), float(along.max())


def _sense(axis: NDArray[np.float64]) -> float:
    for value in axis[::-1]:
        if abs(value) > 1e-9:
            return 1.0 if value > 0.0 else -1.0
    return 1.0


def _grip(
    up: Vector,
    across: NDArray[np.float64],
    *,
    solid: Solid,
    target: Target,
    height_limit_mm: float,
    made: frozenset[str],
    heights: tuple[float, float],
    length_limit_mm: float,
) -> Grip | None:
    from proveout.reach.kernels.heights import raster

    extent = target.vertices_mm @ across
    along = np.cross(across, np.array(up))
    frame = frame_looking_down(up=up, along=along, origin_mm=(0.0, 0.0, 0.0))
    seen = frame.into(target.vertices_mm)
    low_x, high_x = float(seen[:, 0].min()), float(seen[:, 0].max())
    nx = int(np.ceil((high_x - low_x) / CELL_MM)) + 1
    nz = int(np.ceil(max(height_limit_mm, CELL_MM) / CELL_MM))
    masks: list[NDArray[np.bool_]] = []
    faces: list[str] = []
    for sign, edge in ((1.0, float(extent.max())), (-1.0, float(extent.min()))):
        side = [
            f
            for f in solid.faces
            if f.surface.kind == "plane"
            and float(np.dot(f.normal, across)) * sign > 0.99999
            and abs(float(np.dot(f.centroid_mm, across)) - edge) < 0.1
            and f.id in made
        ]
        if not side:
            return None
        rows = np.isin(target.triangle_face, [f.index for f in side])
        corners = seen[target.triangles[rows]][:, :, (0, 2, 1)].copy()
        corners[:, :, 1] -= heights[0]
        corners[:, :, 2] = 1.0
        grid = np.zeros((nx, nz))
        raster(np.ascontiguousarray(corners), low_x, 0.0, CELL_MM, grid)
        masks.append((grid > 0.5) & ~_is_thin(seen, target, sign, low_mm=(low_x, heights[0]), shape=(nx, nz)))
        faces.extend(f.id for f in side)
    both = masks[0] & masks[1]
    columns = both.sum(axis=0)
    rows_held = np.flatnonzero(columns * CELL_MM >= PATCH_LENGTH_MIN_MM)
    if len(rows_held) == 0:
        return None
    # the raster also marks pixels that an edge only grazes: one cell less on every side
    height = float(rows_held[-1] - rows_held[0]) * CELL_MM
    if height < PATCH_HEIGHT_MIN_MM:
        return None
    area = float(both[:, rows_held[0] : rows_held[-1] + 1].sum()) * CELL_MM**2
    length = min(float(area / (height + CELL_MM)) - CELL_MM, length_limit_mm)
    if length < PATCH_LENGTH_MIN_MM:
        return None
    return Grip(
        across=triple(across), faces=tuple(sorted(faces)), patch_length_mm=round(length, 3),
        patch_height_mm=round(height, 3), low_mm=round(float(rows_held[0]) * CELL_MM, 3),
        gap_mm=round(float(extent.max() - extent.min()), 6), seat_faces=(),
    )  # fmt: skip


def _is_thin(
    seen: NDArray[np.float64], target: Target, sign: float, *, low_mm: tuple[float, float], shape: tuple[int, int]
) -> NDArray[np.bool_]:
    """Cells behind whose outermost face the finished part ends within THIN_MM; the work is never thinner before.

    seen: vertices as x along the jaws, y across, z up.   sign: the side of y looked at.   low_mm: of the first cell
    along and up.
    """
    from proveout.reach.kernels.heights import raster

    corners = seen[target.triangles][:, :, (0, 2, 1)]
    corners = corners * (1.0, 1.0, sign) - (0.0, 0.0, float((sign * seen[:, 1]).max()))
    # seen from outside, x, z, sign y: metal ends where a triangle's outside looks away from the jaw
    one, other = (corners[:, k, :2] - corners[:, 0, :2] for k in (1, 2))
    looks = -sign * (one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    depths = np.full(shape, -np.inf)
    raster(np.ascontiguousarray(corners[looks < -AWAY_MM2]), low_mm[0], low_mm[1], CELL_MM, depths)
    return depths > -THIN_MM
