"""What kind of cut a removed body is, by its geometry alone, and along which direction one cutter can make it.

A body is made along a direction when every wall is a floor square to it, stands along it, or turns about an axis
along it, no wall hangs over, and nothing stands above what is cut. Where two walls along the direction meet within
the body, a round cutter leaves metal: (tan(t/2) - t/2) r^2 of the section at a turn t between the walls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from removed import COARSE_MM, BodyFace, Removed
from shadows import frame_along, projected, shadow, upward_triangles

from proveout.solids.faces import surface_key

LEVEL = 1e-6  # of a direction's part along another
SHARP_RAD = math.radians(1.0)
RIGHT_RAD = math.radians(89.0)
SAME_MM = 1e-4
# why not along a direction, the nearest to a yes first
COVERED, SLANTS, HANGS = (
    "metal stands above what is cut", "a wall slants or is curved along the cutter", "a wall hangs over",
)  # fmt: skip
COVERED_RATIO = 1e-6  # of a floor's area that may seem covered, by the chords of the mesh


@dataclass(frozen=True, kw_only=True, eq=False)
class Kind:
    """name: of the cut.   direction: (3,) from tip to shank; None when no one cutter direction makes the body.

    is_turned: made by plunging along an axis (its foot in axis_mm).   corner_mm3_per_mm2: metal that stays in the
    inside corners, over the square of a cutter's radius.   reason: why there is no direction.
    """

    name: str
    direction: np.ndarray | None = None
    is_turned: bool = False
    axis_mm: np.ndarray | None = None
    corner_mm3_per_mm2: float = 0.0
    has_sharp_corner: bool = False
    reason: str = ""


def classify(body: Removed) -> Kind:
    """The kind of a removed body.

    Of several directions the one that leaves least in the corners is taken, then one square to an open face, then the
    one along which the body is least deep.
    """
    hole = _hole(body)
    if hole is not None:
        return hole
    found: list[tuple[tuple[float, bool, float], Kind]] = []
    reasons: list[str] = []
    for direction in _directions(body):
        reason = _obstacle(body, direction)
        if reason:
            reasons.append(reason)
            continue
        left, sharpest = _corners(body, direction)
        frame = frame_along(direction)
        along = [face.triangles_mm @ frame[2] for face in body.faces]
        depth = max(float(a.max()) for a in along) - min(float(a.min()) for a in along)
        entry = not any(not face.wall and float(face.normal @ direction) > 1.0 - LEVEL for face in body.faces)
        kind = Kind(
            name=_prism_name(body, direction, sharpest_rad=sharpest), direction=direction, corner_mm3_per_mm2=left,
            has_sharp_corner=sharpest > RIGHT_RAD,
        )  # fmt: skip
        found.append(((round(left, 9), entry, round(depth, 6)), kind))
    if not found:
        return Kind(name="not along one direction", reason=_nearest(reasons))
    return min(found, key=lambda one: one[0])[1]


def _nearest(reasons: list[str]) -> str:
    """Of why each direction will not do, the one nearest to a yes."""
    return min(reasons, key=(COVERED, SLANTS, HANGS).index) if reasons else "it has no flat face and no axis"


def _directions(body: Removed) -> list[np.ndarray]:
    """Normals of the flat faces and axes of the round ones, both ways, each once, in a fixed order."""
    found: dict[tuple[float, ...], np.ndarray] = {}
    for face in body.faces:
        if face.surface.kind not in ("plane", "cylinder", "cone"):
            continue
        axis = np.array(face.surface.axis)
        for way in (axis, -axis):
            found.setdefault(tuple(float(x) for x in np.round(way, 6) + 0.0), way / np.linalg.norm(way))
    return [found[key] for key in sorted(found)]


def _stands_along(face: BodyFace, direction: np.ndarray) -> bool:
    """A wall whose every line along the direction lies in it."""
    part = abs(float(np.array(face.surface.axis) @ direction))
    return part < LEVEL if face.surface.kind == "plane" else face.surface.kind == "cylinder" and part > 1.0 - LEVEL


def _is_floor(face: BodyFace, direction: np.ndarray) -> bool:
    return face.surface.kind == "plane" and float(face.normal @ direction) < -1.0 + LEVEL


def _obstacle(body: Removed, direction: np.ndarray) -> str:
    """Why an upright cutter with a flat end cannot make the body along a direction; empty when it can."""
    for face in body.faces:
        if not face.wall or _is_floor(face, direction) or _stands_along(face, direction):
            continue
        corners = face.triangles_mm
        rise = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) @ direction
        return HANGS if float(rise.max()) > LEVEL else SLANTS
    return COVERED if _is_covered(body, direction) else ""


def _is_covered(body: Removed, direction: np.ndarray) -> bool:
    frame = frame_along(direction)
    for height, triangles in floors(body, frame):
        region = projected(triangles)
        low_u, low_v, high_u, high_v = region.bounds
        over = shadow(
            (*body.whole_after, *body.obstacles), frame, above_mm=height, low=np.array([low_u, low_v]),
            high=np.array([high_u, high_v]),
        )  # fmt: skip
        # chords of a round wall lie up to the mesh's deflection within it
        rim = 2.0 * COARSE_MM * region.length
        if region.intersection(over).area > COVERED_RATIO * region.area + rim:
            return True
    return False


def floors(body: Removed, frame: np.ndarray) -> list[tuple[float, np.ndarray]]:
    """Heights along w, the highest first, and the triangles that look down there; of a bent face its lowest height."""
    by_height: dict[float, list[np.ndarray]] = {}
    for face in body.faces:
        down = upward_triangles(face.triangles_mm, np.array([frame[1], frame[0], -frame[2]]))
        if len(down):
            own = np.stack([down[:, :, 1], down[:, :, 0], -down[:, :, 2]], axis=2)
            by_height.setdefault(round(float(own[:, :, 2].min()), 6), []).append(own)
    return [(height, np.concatenate(by_height[height])) for height in sorted(by_height, reverse=True)]


def _corners(body: Removed, direction: np.ndarray) -> tuple[float, float]:
    """Metal left by a round cutter over the square of its radius, and the largest turn, of inside corners."""
    left, sharpest = 0.0, 0.0
    for edge in body.edges:
        one, two = (body.faces[place] for place in edge.faces)
        if edge.convexity != "convex" or edge.turn_rad < SHARP_RAD or not (one.wall and two.wall):
            continue
        if not (_stands_along(one, direction) and _stands_along(two, direction)):
            continue
        left += (math.tan(min(0.5 * edge.turn_rad, 1.5)) - 0.5 * edge.turn_rad) * edge.length_mm
        sharpest = max(sharpest, edge.turn_rad)
    return left, sharpest


def _prism_name(body: Removed, direction: np.ndarray, *, sharpest_rad: float) -> str:
    # a surface that the kernel parted into several faces is one wall
    by_surface = {surface_key(f.surface, inward=f.inward): f for f in body.faces if f.wall}
    walls = [f for f in by_surface.values() if _stands_along(f, direction)]
    opens = [
        f for f in body.faces if not f.wall and abs(float(f.normal @ direction)) < 0.5
    ]  # fmt: skip
    flat = [f for f in walls if f.surface.kind == "plane"]
    bosses = [f for f in walls if f.surface.kind == "cylinder" and f.inward]
    bores = [f for f in walls if f.surface.kind == "cylinder" and not f.inward]
    if opens:
        facing = any(float(a.normal @ b.normal) < LEVEL - 1.0 for a in flat for b in flat)
        if sharpest_rad > RIGHT_RAD:
            return "open pocket with sharp inside corners" if facing else "step with a sharp inside corner"
        if facing:
            return "open slot"
        if bores:
            return "step with rounded inside corners" if flat else "step with a round wall"
        square = all(
            abs(float(a.normal @ b.normal)) < LEVEL or abs(float(a.normal @ b.normal)) > 1.0 - LEVEL
            for a in flat for b in opens if b.surface.kind == "plane"
        )  # fmt: skip
        return "step" if square else "step with a slanting wall"
    if not flat and bosses and bores:
        return "ring groove"
    if sharpest_rad > RIGHT_RAD:
        return "pocket with sharp inside corners"
    if len(flat) == 2 and len(bores) == 2 and not bosses:
        return "slot with round ends"
    return "pocket"


def _hole(body: Removed) -> Kind | None:
    """A body about one axis that lies within it, open along the axis; None when it is none."""
    round_walls = [f for f in body.faces if f.wall and f.surface.kind in ("cylinder", "cone")]
    if not any(f.surface.kind == "cylinder" for f in round_walls):
        return None
    first = next(f for f in round_walls if f.surface.kind == "cylinder")
    axis, foot = np.array(first.surface.axis), np.array(first.surface.origin_mm)
    for face in body.faces:
        if not face.wall:
            continue
        if face.surface.kind == "plane":
            if abs(float(face.normal @ axis)) < 1.0 - LEVEL:
                return None
            continue
        away = np.array(face.surface.origin_mm) - foot
        off = np.linalg.norm(away - (away @ axis) * axis)
        if face not in round_walls or face.inward or off > SAME_MM:
            return None
        if abs(float(np.array(face.surface.axis) @ axis)) < 1.0 - LEVEL:
            return None
    middles = [float((f.triangles_mm.reshape(-1, 3) @ axis).mean()) for f in round_walls]
    if not any(body.holds(foot + (m - foot @ axis) * axis) for m in middles):
        return None
    reasons = []
    for direction in (axis, -axis):
        reason = _hole_obstacle(body, direction)
        if not reason:
            radii = {round(f.surface.radius_mm, 4) for f in round_walls if f.surface.kind == "cylinder"}
            cones = any(f.surface.kind == "cone" for f in round_walls)
            name = "countersunk hole" if cones else ("hole", "stepped hole")[len(radii) > 1]
            return Kind(name=name, direction=direction, is_turned=True, axis_mm=foot)
        reasons.append(reason)
    return Kind(name="hole", reason=_nearest(reasons))


def _hole_obstacle(body: Removed, direction: np.ndarray) -> str:
    for face in body.faces:
        if face.wall and face.surface.kind in ("plane", "cone") and float(face.normal @ direction) > LEVEL:
            return HANGS
    frame = frame_along(direction)
    low, high = body.box_mm
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    own = corners @ frame.T
    top = max(float((f.triangles_mm @ frame[2]).max()) for f in body.faces)
    region = projected(np.concatenate([upward_triangles(f.triangles_mm, frame) for f in body.faces]))
    over = shadow(
        (*body.whole_after, *body.obstacles),
        frame,
        above_mm=top,
        low=own[:, :2].min(axis=0),
        high=own[:, :2].max(axis=0),
    )
    return COVERED if region.intersection(over).area > 1e-3 * region.area else ""
