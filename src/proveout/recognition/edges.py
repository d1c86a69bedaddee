"""Broken edges and rounds between faces: chamfers, outside fillets, inside fillets."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from proveout.model.features import FeatureKind
from proveout.recognition.web import Link, Region, Vec, Web, is_closed, is_parallel

TURN_LOW_RAD, TURN_HIGH_RAD = math.radians(8.0), math.radians(82.0)
"""A chamfer turns so much at either side; less is a slope, more a wall."""
NARROW_RATIO = 0.9
"""A chamfer is narrower than this share of either neighbour, as a side of a hexagon is not."""
EVEN_RAD, SQUARE_RAD = math.radians(29.0), math.radians(1.0)
"""Between two faces square to each other, a strip that turns at least so much on either side may be wide."""
LONG_RATIO = 0.5
"""Both sides of a chamfer run along at least this share of its length."""
HALF_TURN_RAD = math.pi - 0.05
SAME_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Edging:
    """Regions that break or round one run of edges. legs_mm: set-back on either side, the longer first; or radius."""

    kind: FeatureKind
    regions: tuple[int, ...]
    legs_mm: tuple[float, float]
    radius_mm: float
    angle_rad: float
    inward: bool


def find_chamfers(web: Web, taken: set[int]) -> list[Edging]:
    """Runs of flat or conical strips between two faces that would else meet in a sharp outside edge."""
    legs: dict[int, tuple[float, float, float]] = {}
    for number, region in sorted(web.regions.items()):
        if number in taken:
            continue
        found = None
        if region.kind == "plane":
            found = _flat_strip(web, region)
        elif region.kind == "cone":
            found = _conical_strip(web, region)
        if found is not None:
            legs[number] = found
    runs = _runs(web, {n: tuple(round(v / SAME_MM) for v in legs[n][:2]) for n in legs})
    return [
        Edging("chamfer", run, (legs[run[0]][0], legs[run[0]][1]), 0.0, legs[run[0]][2], inward=False) for run in runs
    ]


def find_fillets(web: Web, taken: set[int]) -> list[Edging]:
    """Runs of rounds that go over smoothly into what lies on either side."""
    radii: dict[int, float] = {}
    for number, region in sorted(web.regions.items()):
        if number not in taken and (radius := fillet_radius_mm(web, region)) > 0.0:
            radii[number] = radius
    keys = {n: (round(radii[n] / SAME_MM), int(web.regions[n].inward)) for n in radii}
    return [
        Edging("fillet", run, (0.0, 0.0), radii[run[0]], 0.0, inward=web.regions[run[0]].inward)
        for run in _runs(web, keys)
    ]


def fillet_radius_mm(web: Web, region: Region) -> float:
    """Radius in mm of a round between two faces, 0 where the region is none."""
    smooth = [link for link in web.links[region.number] if link.edge.convexity == "smooth"]
    if region.kind == "cylinder":
        if region.turn_rad > HALF_TURN_RAD:
            return 0.0
        sides = [link for link in smooth if link.edge.kind == "line" and _runs_along(link, region.axis)]
        return region.surface.radius_mm if _are_apart(sides) else 0.0
    if region.kind == "torus":
        rings = [link for link in smooth if link.edge.kind == "circle"]
        return region.surface.minor_radius_mm if len({_ring_key(link) for link in rings}) >= 2 else 0.0
    if region.kind == "sphere":
        return region.surface.radius_mm if len({link.other for link in smooth}) >= 2 else 0.0
    return 0.0


def _runs(web: Web, keys: dict[int, tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Regions of one key that touch, as sorted groups in order of their least number."""
    return web.runs(set(keys), lambda here, link: _is_alike(keys[link.other], keys[here]))


def _is_alike(a: tuple[int, ...], b: tuple[int, ...]) -> bool:
    """Rounded sizes that differ by no more than the rounding."""
    return all(abs(x - y) <= 1 for x, y in zip(a, b, strict=True))


def _runs_along(link: Link, axis: Vec) -> bool:
    step = link.edge.points_mm[-1] - link.edge.points_mm[0]
    return is_parallel(step / np.linalg.norm(step), axis)


def _are_apart(sides: list[Link]) -> bool:
    """Two of these parallel lines are not one and the same line."""
    for i, one in enumerate(sides):
        p = one.edge.points_mm
        along = (p[-1] - p[0]) / np.linalg.norm(p[-1] - p[0])
        for other in sides[i + 1 :]:
            apart = other.edge.points_mm[0] - p[0]
            if float(np.linalg.norm(apart - along * float(along @ apart))) > SAME_MM:
                return True
    return False


def _ring_key(link: Link) -> tuple[int, ...]:
    return (round(link.edge.radius_mm / SAME_MM), *(round(v / SAME_MM) for v in link.edge.centre_mm))


def _flat_strip(web: Web, region: Region) -> tuple[float, float, float] | None:
    """Legs and angle of a flat chamfer; None where the plane is none."""
    sides: list[tuple[int, float, float, Vec]] = []
    for other in sorted(web.beside(region.number, "convex")):
        links = [
            k for k in web.links[region.number] if k.other == other and k.edge.kind == "line"
            and k.edge.convexity == "convex" and TURN_LOW_RAD <= k.edge.turn_rad <= TURN_HIGH_RAD
        ]  # fmt: skip
        if links:
            longest = max(links, key=lambda k: (k.edge.length_mm, -k.edge.index))
            step = longest.edge.points_mm[-1] - longest.edge.points_mm[0]
            length = sum(k.edge.length_mm for k in links)
            sides.append((other, longest.edge.turn_rad, length, step / np.linalg.norm(step)))
    best: tuple[float, float, float, float] | None = None
    for i, (a, turn_a, length_a, along) in enumerate(sides):
        for b, turn_b, length_b, along_b in sides[i + 1 :]:
            total = turn_a + turn_b
            if not is_parallel(along, along_b) or total > math.pi - TURN_LOW_RAD:
                continue
            low, high = web.span_mm([region.number], along)
            across = np.cross(region.axis, along)
            lies = web.span_mm([region.number], across)
            width = lies[1] - lies[0]
            is_long = min(length_a, length_b) >= LONG_RATIO * (high - low)
            wider = [_is_wider(web, n, along, width) for n in (a, b)]
            is_even = min(turn_a, turn_b) >= EVEN_RAD and abs(total - math.pi / 2.0) < SQUARE_RAD
            if not is_long or not (any(wider) if is_even else high - low >= width and all(wider)):
                continue
            if _is_corner_cut(web, region, along, width):
                return None
            legs = sorted((width * math.sin(turn_b) / math.sin(total), width * math.sin(turn_a) / math.sin(total)))
            if best is None or width < best[3]:
                best = (legs[1], legs[0], min(turn_a, turn_b), width)
    return best[:3] if best is not None else None


def _is_corner_cut(web: Web, region: Region, along: Vec, width_mm: float) -> bool:
    """The strip ends on a floor no larger than its own end: together they cut a corner off and are a step."""
    for other in web.beside(region.number, "concave"):
        floor = web.regions[other]
        if floor.kind != "plane" or not is_parallel(floor.axis, along):
            continue
        points = np.vstack([e.points_mm for e in web.edges_of([other])])
        reach = np.linalg.norm(points - 0.5 * (points.min(axis=0) + points.max(axis=0)), axis=1).max()
        if float(reach) < width_mm and web.beside(other, "concave") == {region.number}:
            return True
    return False


def _is_wider(web: Web, number: int, along: Vec, width_mm: float) -> bool:
    """A neighbour reaches further across the edge than the strip is wide."""
    region = web.regions[number]
    if region.kind != "plane":
        return True
    low, high = web.span_mm([number], np.cross(region.axis, along))
    return width_mm < NARROW_RATIO * (high - low)


def _conical_strip(web: Web, region: Region) -> tuple[float, float, float] | None:
    """Legs and angle of a chamfer round a curved edge; None where the cone is none."""
    rims: list[Link] = [
        k for k in web.links[region.number] if k.edge.kind == "circle" and k.edge.convexity == "convex"
        and TURN_LOW_RAD <= k.edge.turn_rad <= TURN_HIGH_RAD
    ]  # fmt: skip
    radii = sorted({round(k.edge.radius_mm, 6) for k in rims})
    if len(radii) != 2 or len({k.other for k in rims}) < 2:
        return None
    angle = region.surface.half_angle_rad
    level = radii[1] - radii[0]
    rise = level / math.tan(angle)
    if math.hypot(level, rise) > max(radii[1], SAME_MM) and any(is_closed(k.edge) for k in rims):
        return None
    for k in rims:
        beside = web.regions[k.other]
        if beside.kind == "cylinder":
            low, high = web.span_mm([k.other], beside.axis)
            if rise > NARROW_RATIO * (high - low):
                return None
    turn_low = min(k.edge.turn_rad for k in rims)
    return max(level, rise), min(level, rise), turn_low
