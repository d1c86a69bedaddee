"""Sizes and places of recesses, bosses and edges, exact on planes, lines and arcs."""

from __future__ import annotations

import math

import numpy as np

from proveout.geometry.frames import triple
from proveout.model.solid import Point
from proveout.recognition.edges import Edging
from proveout.recognition.lengths import box_mm, longest_way, longest_ways
from proveout.recognition.looks import facing_mm
from proveout.recognition.recesses import Recess
from proveout.recognition.rims import rim_middle_mm
from proveout.recognition.web import Vec, Web, is_parallel

DIGITS = 6


def tidy(sizes_mm: dict[str, float]) -> dict[str, float]:
    """Sizes to a nanometre, so that equal geometry has equal bytes."""
    return {key: round(value, DIGITS) + 0.0 for key, value in sizes_mm.items()}


def recess_sizes(web: Web, recess: Recess) -> tuple[dict[str, float], Point]:
    """Sizes of a recess or boss, and the middle of its mouth (of a boss, of its top)."""
    across = np.cross(recess.opens, recess.along)
    spans = [web.span_mm(recess.regions, way) for way in (recess.along, across, recess.opens)]
    long, wide, deep = (high - low for low, high in spans)
    level = sum(spans[2]) / 2.0 if recess.is_through else spans[2][1]
    place = box_middle_mm(web, recess) + recess.opens * level
    sizes: dict[str, float] = {}
    if recess.kind == "boss":
        rounds = [
            r for n in recess.regions
            if (r := web.regions[n]).kind == "cylinder" and not r.inward and is_parallel(r.axis, recess.opens)
        ]  # fmt: skip
        if rounds and not any(web.regions[n].kind == "plane" for n in recess.regions):
            sizes["diameter_mm"] = 2.0 * max(r.surface.radius_mm for r in rounds)
        else:
            sizes |= {"width_mm": min(long, wide), "length_mm": max(long, wide)}
        return {**sizes, "height_mm": deep}, triple(place)
    if recess.kind == "pocket" and recess.form == "round":
        ball = web.regions[recess.regions[0]].surface
        deep = ball.radius_mm + spans[2][1] - float(np.array(ball.origin_mm) @ recess.opens)
        deep = 2.0 * ball.radius_mm - deep if deep > 2.0 * ball.radius_mm else deep
        return {"diameter_mm": long, "ball_radius_mm": ball.radius_mm, "depth_mm": deep}, triple(place)
    if recess.kind == "slot" and recess.form == "ring":
        radii = sorted(r.surface.radius_mm for n in recess.regions if (r := web.regions[n]).kind == "cylinder")
        return {"width_mm": radii[1] - radii[0], "diameter_mm": 2.0 * radii[1], "depth_mm": deep}, triple(place)
    if recess.kind == "slot":
        facing = facing_mm(web, recess.regions, recess.opens)
        sizes |= {"width_mm": facing[0] if facing else wide, "length_mm": long}
    elif recess.kind == "step":
        sizes |= {"width_mm": wide, "length_mm": long}
    else:
        sizes |= {"width_mm": min(long, wide), "length_mm": max(long, wide)}
    sizes["depth_mm"] = deep
    hollow = [r for n in recess.regions if (r := web.regions[n]).kind == "cylinder" and r.inward]
    upright = [r.surface.radius_mm for r in hollow if is_parallel(r.axis, recess.opens)]
    lying = [r.surface.radius_mm for r in hollow if not is_parallel(r.axis, recess.opens)]
    lying += [r.surface.minor_radius_mm for n in recess.regions if (r := web.regions[n]).kind == "torus" and r.inward]
    if upright:
        sizes["corner_radius_mm"] = min(upright)
    if lying:
        sizes["floor_radius_mm"] = min(lying)
    return sizes, triple(place)


def box_middle_mm(web: Web, recess: Recess) -> Vec:
    """Middle of a recess's box square to its opening; of several boxes of one size that none is before, their mean."""
    ways = [recess.along]
    alike = longest_ways(web, recess.regions, recess.opens)
    if any(is_parallel(recess.along, way) for way in alike):
        ways = alike
    middle = np.zeros(3)
    for way in ways:
        for direction in (way, np.cross(recess.opens, way)):
            middle += direction * (0.5 * sum(web.span_mm(recess.regions, direction)) / len(ways))
    return middle


def edging_sizes(web: Web, edging: Edging) -> tuple[dict[str, float], Point, Vec]:
    """Sizes of a chamfer or fillet, the middle of its rims, and the way it looks on the whole."""
    sizes = {"radius_mm": edging.radius_mm} if edging.kind == "fillet" else {
        "leg_mm": edging.legs_mm[0], "other_leg_mm": edging.legs_mm[1]
    }  # fmt: skip
    area = sum(web.regions[n].area_mm2 for n in edging.regions)
    look = sum((web.regions[n].normals.T @ web.regions[n].areas_mm2 for n in edging.regions), np.zeros(3))
    length = float(np.linalg.norm(look))
    way = look / length if length > 1e-6 * area else np.array([0.0, 0.0, 1.0])
    return sizes, triple(rim_middle_mm(web, edging.regions)), way


def plane_sizes(web: Web, number: int) -> tuple[dict[str, float], Point]:
    """Width and length of a plane along its longest straight edge, and its middle."""
    region = web.regions[number]
    way = longest_way(web, (number,), region.axis)
    sides = box_mm(web, (number,), region.axis, way)
    middle = sum((np.array(f.centroid_mm) * f.area_mm2 for f in region.faces), np.zeros(3)) / region.area_mm2
    return {"width_mm": min(sides), "length_mm": max(sides)}, triple(middle)


def lean_rad(normal: Vec, up: Vec) -> float:
    """Angle of a plane against `up`: 0 for an upright wall, positive where it looks up, negative where it hides."""
    return math.asin(max(-1.0, min(1.0, float(normal @ up))))
