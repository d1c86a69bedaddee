"""What the walls of a recess look at: the way it opens, what hides under that, the sides left free."""

from __future__ import annotations

import math

import numpy as np

from proveout.recognition.bound import rim_size_mm
from proveout.recognition.web import Region, Vec, Web, loops_of

UNDER = -0.05
"""A face leans under when its normal falls below the opening by more than this (3 degrees)."""
FLOOR = 0.999
WALL = 0.02
NEAR_RAD = math.radians(1.0)
SAME_PLANE_MM = 1e-3


def facing_mm(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[float, Vec] | None:
    """Least gap between two parallel walls that face each other, and the direction across it."""
    walls = [r for n in part if (r := web.regions[n]).kind == "plane" and abs(float(r.axis @ opens)) < WALL]
    best: tuple[float, Vec] | None = None
    for i, a in enumerate(walls):
        for b in walls[i + 1 :]:
            if float(a.axis @ b.axis) > -1.0 + 1e-8 or (gap := distance_mm(a, b)) <= 0.0:
                continue
            if best is None or gap < best[0] - 1e-9:
                best = (gap, a.axis)
    return best


def distance_mm(a: Region, b: Region) -> float:
    """Between two parallel planes, > 0 where they face each other across a gap."""
    return float((np.array(b.surface.origin_mm) - np.array(a.surface.origin_mm)) @ a.axis)


def under_of(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[int, ...]:
    """Regions of which more than a sliver leans under the opening."""
    return tuple(
        n
        for n in part
        if float(web.regions[n].areas_mm2[web.regions[n].normals @ opens < UNDER].sum())
        > 0.02 * web.regions[n].area_mm2
    )


def best_floor(web: Web, part: tuple[int, ...]) -> Vec | None:
    """Normal of the plane that leaves least under itself, then encloses most, then is largest."""
    best: tuple[tuple[float, float, float], Vec] | None = None
    total = sum(web.regions[n].area_mm2 for n in part)
    for direction, area in directions_of(web, part):
        hidden = sum(web.regions[n].area_mm2 for n in under_of(web, part, direction)) / total
        gap, _ = free_angle(web, part, direction)
        rank = (round(hidden, 3), round(gap / NEAR_RAD), -round(area / total, 6))
        if best is None or rank < best[0]:
            best = (rank, direction)
    return best[1] if best else None


def directions_of(web: Web, part: tuple[int, ...]) -> list[tuple[Vec, float]]:
    """Normals of the planes of a part, each once, with the area that looks that way."""
    found: list[tuple[Vec, float]] = []
    for n in part:
        r = web.regions[n]
        if r.kind != "plane":
            continue
        at = next((i for i, (d, _) in enumerate(found) if float(d @ r.axis) > FLOOR), None)
        if at is None:
            found.append((r.axis, r.area_mm2))
        else:
            found[at] = (found[at][0], found[at][1] + r.area_mm2)
    return found


def free_angle(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[float, int]:
    """Widest angle about the opening that no wall looks to, and into how many clusters the walls' looks fall.

    Walls that go round without a gap, as rounds between them do on a fine mesh, are one cluster; no walls are none.
    A broken edge that follows the round between floor and wall, as it does where both run out, is no wall.
    """
    x, y = plane_axes(opens)
    angles: list[float] = []
    for n in part:
        r = web.regions[n]
        if r.kind == "torus" and not r.inward:
            continue
        rows = r.normals[:1] if r.kind == "plane" else r.normals
        level = rows - np.outer(rows @ opens, opens)
        size = np.linalg.norm(level, axis=1)
        keep = (size > 0.3) & (rows @ opens < 0.95)
        angles.extend(np.arctan2(level[keep] @ y, level[keep] @ x).tolist())
    if not angles:
        return 2.0 * math.pi, 0
    ordered = np.sort(np.array(angles))
    gaps = np.append(np.diff(ordered), ordered[0] + 2.0 * math.pi - ordered[-1])
    return float(gaps.max()), max(1, int((gaps > NEAR_RAD).sum()))


def plane_axes(normal: Vec) -> tuple[Vec, Vec]:
    """Two unit directions square to the normal and to one another."""
    helper = np.eye(3)[int(np.argmin(np.abs(normal)))]
    x = np.cross(helper, normal)
    x = x / np.linalg.norm(x)
    return x, np.cross(normal, x)


def looks_inward(web: Web, part: tuple[int, ...], axis: Vec, along: Vec) -> bool:
    """Walls about an axis look at the middle of their box along one direction square to it, not away from that."""
    ways = (along, np.cross(axis, along))
    middle = sum((0.5 * sum(web.span_mm(part, way)) * way for way in ways), np.zeros(3))
    total = 0.0
    for n in part:
        region = web.regions[n]
        out = region.middles_mm - middle
        level = out - np.outer(out @ axis, axis)
        total += float(region.areas_mm2 @ (region.normals * level).sum(axis=1))
    return total < 0.0


def is_floor(region: Region, opens: Vec) -> bool:
    """A plane that looks the way the recess opens."""
    return region.kind == "plane" and float(region.axis @ opens) > FLOOR


def open_ratio(web: Web, part: tuple[int, ...], opens: Vec, ground: set[int]) -> float:
    """Share of the floors' rims, in length, over which one steps out of the part: not up a wall, nor into a recess."""
    length, bare = 0.0, 0.0
    for n in part:
        region = web.regions[n]
        if not is_floor(region, opens):
            continue
        rims = loops_of([k.edge for k in web.links[n]])
        outer = max(rims, key=lambda rim: rim_size_mm(web, [e.index for e in rim], region))
        within = {e.index for e in outer}
        for k in web.links[n]:
            if k.edge.index in within:
                length += k.edge.length_mm
                is_bare = k.edge.convexity == "convex" and k.other in ground
                bare += k.edge.length_mm if is_bare else 0.0
    return bare / length if length > 0.0 else 0.0


def is_back_to_back(web: Web, part: tuple[int, ...], opens: Vec) -> bool:
    """Two parallel walls look away from each other: metal stands between them."""
    walls = [r for n in part if (r := web.regions[n]).kind == "plane" and abs(float(r.axis @ opens)) < WALL]
    return any(
        float(a.axis @ b.axis) < -1.0 + 1e-8 and distance_mm(a, b) < 0.0
        for i, a in enumerate(walls)
        for b in walls[i + 1 :]
    )


def towards_mouth(web: Web, part: tuple[int, ...], ends: list[Vec]) -> Vec:
    """Of the ways that its planes look, the one that leads most nearly from the middle of a channel to its mouth."""
    total = sum(web.regions[n].area_mm2 for n in part)
    middle = sum((np.array(f.centroid_mm) * f.area_mm2 for n in part for f in web.regions[n].faces), np.zeros(3))
    way = np.vstack(ends).mean(axis=0) - middle / total
    return max((d for d, _ in directions_of(web, part)), key=lambda d: round(float(d @ way), 6))


def mouth_normal(web: Web, others: list[int]) -> Vec | None:
    """Normal of the one plane that a channel is sunk into; None where its two banks lie in different planes."""
    planes = [web.regions[n] for n in others]
    if any(r.kind != "plane" for r in planes):
        return None
    first = planes[0]
    level = float(np.array(first.surface.origin_mm) @ first.axis)
    for r in planes[1:]:
        other = float(np.array(r.surface.origin_mm) @ r.axis)
        if float(r.axis @ first.axis) < FLOOR or abs(other - level) > SAME_PLANE_MM:
            return None
    return first.axis if len(others) >= 2 else None
