"""Recesses and bosses: what faces make together that meet in inside edges, and to which sides it opens."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from proveout.model.features import FeatureForm, FeatureKind
from proveout.recognition.bound import (
    binds,
    common_axis,
    components_of,
    is_curved_in,
    is_generator,
    joined_by_mouths,
    parted,
    rim_size_mm,
)  # fmt: skip
from proveout.recognition.lengths import longest_way
from proveout.recognition.looks import (
    FLOOR,
    NEAR_RAD,
    SAME_PLANE_MM,
    WALL,
    best_floor,
    distance_mm,
    facing_mm,
    free_angle,
    is_back_to_back,
    is_floor,
    looks_inward,
    mouth_normal,
    open_ratio,
    plane_axes,
    towards_mouth,
    under_of,
)  # fmt: skip
from proveout.recognition.web import Vec, Web, is_parallel, loops_of

STEP_FROM_RAD = math.radians(30.0)
"""A recess that opens sideways over a wider angle than this is a step, a narrower one a slot or an open pocket."""
OPEN_RATIO = 0.1
"""A pocket of whose floor more than this share of the rim has no wall is open."""


@dataclass(frozen=True, eq=False)
class Recess:
    """Regions that make one recess or boss.

    kind, form: as of the feature.  opens: unit direction.  along: unit direction of its length, square to `opens`.
    is_through: it has no floor.  under: regions that lean under its opening.
    """

    kind: FeatureKind
    form: FeatureForm
    regions: tuple[int, ...]
    opens: Vec
    along: Vec
    is_through: bool = False
    under: tuple[int, ...] = ()


def find_recesses(web: Web, taken: set[int]) -> list[Recess]:
    """Pockets, windows, slots, steps and bosses among the regions that are not taken."""
    out: list[Recess] = []
    components = joined_by_mouths(web, components_of(web, taken))
    ground = set(web.regions) - taken - {n for component in components for n in component}
    for component in components:
        ring = _ring(web, component)
        if ring is not None:
            out.append(ring)
            continue
        rest = set(component)
        for boss in _bosses(web, component):
            out.append(boss)
            rest -= set(boss.regions)
        for part in parted(web, rest, bosses=len(rest) < len(component)):
            found = _recess_of(web, part, ground)
            if found is not None:
                out.extend(_along_a_wall(web, found) if found.kind == "boss" else [found])
    return out


def _along_a_wall(web: Web, boss: Recess) -> list[Recess]:
    """Bosses side by side out of one flat wall, each for itself; the pieces of wall between them are none of theirs."""
    for wall in _walls_of(web, boss.regions):
        own = [n for n in boss.regions if n not in wall]
        axis = web.regions[wall[0]].axis
        level = web.span_mm(wall, axis)[1]
        # what lies behind the wall altogether holds together what stands on it
        if any(web.span_mm((n,), axis)[1] < level + SAME_PLANE_MM for n in own):
            continue
        runs = web.runs(own, lambda _here, _link: True)
        if len(runs) > 1:
            return [
                Recess("boss", boss.form, run, boss.opens, longest_way(web, run, boss.opens)) for run in runs
            ]  # fmt: skip
    return [boss]


def _walls_of(web: Web, part: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Planes of a part that lie in one plane, two or more, and meet the rest of it in inside edges alone."""
    members, groups = set(part), list[list[int]]()
    for n in part:
        region = web.regions[n]
        if region.kind != "plane" or not all(binds(web, n, k) for k in web.links[n] if k.other in members):
            continue
        for group in groups:
            first = web.regions[group[0]]
            if (
                float(first.axis @ region.axis) > 0.0
                and is_parallel(first.axis, region.axis)
                and (distance_mm(first, region) < SAME_PLANE_MM)
            ):
                group.append(n)
                break
        else:
            groups.append([n])
    return [tuple(group) for group in groups if len(group) > 1]


def _ring(web: Web, component: tuple[int, ...]) -> Recess | None:
    """A groove round a core: one hollow and one smaller standing round about one axis, and a floor between."""
    regions = [web.regions[n] for n in component]
    rounds = [r for r in regions if r.kind == "cylinder"]
    floors = [r for r in regions if r.kind == "plane"]
    if len(rounds) != 2 or len(floors) != 1 or len(regions) != 3 or rounds[0].inward == rounds[1].inward:
        return None
    hollow, core = sorted(rounds, key=lambda r: not r.inward)
    whole = all(r.turn_rad > 2.0 * math.pi - 0.02 for r in rounds)
    apart = np.array(hollow.surface.origin_mm) - np.array(core.surface.origin_mm)
    is_coaxial = is_parallel(hollow.axis, core.axis) and float(np.linalg.norm(apart)) < SAME_PLANE_MM
    if not whole or not is_coaxial or hollow.surface.radius_mm <= core.surface.radius_mm:
        return None
    axis = floors[0].axis
    return Recess("slot", "ring", component, axis, plane_axes(axis)[0])


def _bosses(web: Web, component: tuple[int, ...]) -> list[Recess]:
    """What rises from inside a floor: walls on an inner rim of it that all meet it in inside edges."""
    out: list[Recess] = []
    members, used = set(component), set()
    for number in component:
        floor = web.regions[number]
        if floor.kind != "plane":
            continue
        links = list(web.links[number])
        rims = loops_of([k.edge for k in links])
        if len(rims) < 2:
            continue
        other_of = {k.edge.index: k.other for k in links}
        spans = [rim_size_mm(web, [e.index for e in rim], floor) for rim in rims]
        outer = max(range(len(rims)), key=lambda i: spans[i])
        outside = {other_of[e.index] for e in rims[outer]}
        for i, rim in enumerate(rims):
            beside = {other_of[e.index] for e in rim}
            rises = all(
                e.convexity == "concave" or (e.convexity == "smooth" and is_curved_in(web.regions[other_of[e.index]]))
                for e in rim
            )
            if i == outer or not rises or beside & used or not beside <= members:
                continue
            walls = _rising(web, beside, members - {number})
            if walls & outside or not walls:
                continue
            used |= walls
            along = longest_way(web, walls, floor.axis)
            out.append(Recess("boss", "closed", tuple(sorted(walls)), floor.axis, along))
    return out


def _rising(web: Web, beside: set[int], allowed: set[int]) -> set[int]:
    found, front = set(beside), list(beside)
    while front:
        here = front.pop()
        for link in web.links[here]:
            if link.other in allowed and link.other not in found and binds(web, here, link):
                found.add(link.other)
                front.append(link.other)
    return found


def _recess_of(web: Web, part: tuple[int, ...], ground: set[int]) -> Recess | None:
    """The kind of one part by the sides it opens to; None where it opens to none that has a name."""
    axis = common_axis(web, part)
    if axis is not None:
        found = _prism(web, part, axis)
        if found is not None:
            return found
    return _floored(web, part, ground)


def _prism(web: Web, part: tuple[int, ...], axis: Vec) -> Recess | None:
    """A recess of one section all along an axis: a window, or a slot or step from end to end."""
    members = set(part)
    sides = [k for n in part for k in web.links[n] if k.other not in members and is_generator(k, axis)]
    if not sides or all(_is_met_twice(web, n, members, axis) for n in part):
        along = longest_way(web, part, axis)
        if not looks_inward(web, part, axis, along):
            return None
        form = "through"
        kind = "slot" if _is_obround(web, part) else "window"
        return Recess(kind, form, part, axis, along, is_through=True)
    mouth = mouth_normal(web, [k.other for k in sides])
    opens = mouth if mouth is not None else best_floor(web, part)
    if opens is None:
        return None
    under = under_of(web, part, opens)
    if under and mouth is None:
        opens = towards_mouth(web, part, [k.edge.points_mm for k in sides])
        neck = {k.other for k in sides if web.regions[k.other].kind == "plane"}
        part = tuple(sorted({*part, *(n for n in neck if abs(float(web.regions[n].axis @ opens)) < WALL)}))
        under = under_of(web, part, opens)
    planes = [n for n in part if web.regions[n].kind == "plane"]
    has_walls = facing_mm(web, part, opens) is not None
    if len(planes) == 0:
        return Recess("slot", "round", part, opens, axis)
    if has_walls or mouth is not None:
        has_floor = any(float(web.regions[n].axis @ opens) > FLOOR for n in planes)
        form = "ends" if has_floor or has_walls else "vee"
        return Recess("slot", form, part, opens, axis, under=under)
    return Recess("step", "open", part, opens, axis, under=under)


def _is_met_twice(web: Web, number: int, members: set[int], axis: Vec) -> bool:
    """A wall goes over into others of the part on two sides, as each wall of a closed ring does."""
    lines: list[Vec] = []
    for link in web.links[number]:
        if link.other in members and is_generator(link, axis):
            foot = link.edge.points_mm[0] - axis * float(axis @ link.edge.points_mm[0])
            if all(float(np.linalg.norm(foot - other)) > SAME_PLANE_MM for other in lines):
                lines.append(foot)
    return len(lines) >= 2


def _is_obround(web: Web, part: tuple[int, ...]) -> bool:
    """Two parallel walls joined by half rounds."""
    ends = [r for n in part if (r := web.regions[n]).kind == "cylinder" and r.inward]
    walls = [r for n in part if (r := web.regions[n]).kind == "plane"]
    walls = [w for w in walls if not any(is_parallel(w.axis, e.axis) for e in ends)]
    if len(walls) != 2 or not is_parallel(walls[0].axis, walls[1].axis) or not ends:
        return False
    turn = sum(e.turn_rad for e in ends)
    width = distance_mm(walls[0], walls[1])
    return abs(turn - 2.0 * math.pi) < 0.05 and all(abs(2.0 * e.surface.radius_mm - width) < 1e-3 for e in ends)


def _floored(web: Web, part: tuple[int, ...], ground: set[int]) -> Recess | None:
    """A recess with a floor: a closed or open pocket, a slot, or a step."""
    opens = best_floor(web, part)
    if opens is None:
        return _round_recess(web, part)
    under = under_of(web, part, opens)
    gap, clusters = free_angle(web, part, opens)
    along = longest_way(web, part, opens)
    if clusters == 0:
        return None
    facing = facing_mm(web, part, opens)
    if gap < math.pi - NEAR_RAD:
        walls = tuple(n for n in part if not is_floor(web.regions[n], opens))
        if not looks_inward(web, walls, opens, along):
            return Recess("boss", "open", walls, opens, along)
        if _is_obround(web, part):
            return Recess("slot", "closed", part, opens, along, under=under)
        form = "open" if open_ratio(web, part, opens, ground) > OPEN_RATIO else "closed"
        return Recess("pocket", form, part, opens, along, under=under)
    if gap <= math.pi + STEP_FROM_RAD and facing is not None:
        width, across = facing
        way = np.cross(opens, across)
        low, high = web.span_mm(part, way)
        if gap <= math.pi + NEAR_RAD and clusters <= 2:
            return Recess("slot", "ends", part, opens, way, under=under)
        if high - low >= width * (1.0 - 1e-6):
            return Recess("slot", "open", part, opens, way, under=under)
        return Recess("pocket", "open", part, opens, way, under=under)
    if gap < math.pi + STEP_FROM_RAD and not is_back_to_back(web, part, opens):
        return Recess("pocket", "open", part, opens, along, under=under)
    return Recess("step", "closed" if clusters > 1 else "open", part, opens, along, under=under)


def _round_recess(web: Web, part: tuple[int, ...]) -> Recess | None:
    """A hollow of one ball whose rim is one circle; nothing else without a plane has a name."""
    first = web.regions[part[0]]
    rims = [k.edge for k in web.links[part[0]]]
    if len(part) != 1 or first.kind != "sphere" or not rims or len(web.beside(first.number, "convex")) != 1:
        return None
    apart = [np.linalg.norm(np.array(e.centre_mm) - np.array(rims[0].centre_mm)) for e in rims]
    if any(e.kind != "circle" for e in rims) or max(apart) > SAME_PLANE_MM:
        return None
    axis = np.array(rims[0].axis)
    opens = axis if float(axis @ (first.normals.T @ first.areas_mm2)) > 0.0 else -axis
    return Recess("pocket", "round", part, opens, plane_axes(opens)[0])
