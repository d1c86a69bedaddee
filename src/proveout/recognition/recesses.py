"""Recesses and bosses: what faces make together that meet in inside edges, and to which sides it opens."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from proveout.recognition.web import Link, Region, Vec, Web, is_parallel, is_square, loops_of

UNDER = -0.05
"""A face leans under when its normal falls below the opening by more than this (3 degrees)."""
FLOOR = 0.999
WALL = 0.02
NEAR_RAD = math.radians(1.0)
STEP_FROM_RAD = math.radians(30.0)
"""A recess that opens sideways over a wider angle than this is a step, a narrower one a slot or an open pocket."""
SAME_PLANE_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Recess:
    """Regions that make one recess or boss.

    kind, form: as of the feature.  opens: unit direction.  along: unit direction of its length, square to `opens`.
    is_through: it has no floor.  under: regions that lean under its opening.
    """

    kind: str
    form: str
    regions: tuple[int, ...]
    opens: Vec
    along: Vec
    is_through: bool = False
    under: tuple[int, ...] = ()


def find_recesses(web: Web, taken: set[int]) -> list[Recess]:
    """Pockets, windows, slots, steps and bosses among the regions that are not taken."""
    out: list[Recess] = []
    for component in _joined_by_mouths(web, _components(web, taken)):
        ring = _ring(web, component)
        if ring is not None:
            out.append(ring)
            continue
        rest = set(component)
        for boss in _bosses(web, component):
            out.append(boss)
            rest -= set(boss.regions)
        for part in _parted(web, rest, bosses=len(rest) < len(component)):
            found = _recess_of(web, part)
            if found is not None:
                out.append(found)
    return out


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
    return Recess("slot", "ring", component, axis, _plane_axes(axis)[0])


def _is_curved_in(region: Region) -> bool:
    return region.inward and region.kind in ("cylinder", "cone", "torus", "sphere")


def _binds(web: Web, number: int, link: Link) -> bool:
    """The edge holds two regions together as parts of one recess."""
    if link.edge.convexity == "concave":
        return True
    either = _is_curved_in(web.regions[number]) or _is_curved_in(web.regions[link.other])
    return link.edge.convexity == "smooth" and either


def _components(web: Web, taken: set[int]) -> list[tuple[int, ...]]:
    left = {n for n in web.regions if n not in taken}
    out = []
    for start in sorted(left):
        if start not in left:
            continue
        left.discard(start)
        found, front = {start}, [start]
        while front:
            here = front.pop()
            for link in web.links[here]:
                if link.other in left and _binds(web, here, link):
                    left.discard(link.other)
                    found.add(link.other)
                    front.append(link.other)
        region = web.regions[start]
        if len(found) > 1 or (region.inward and region.kind in ("cylinder", "cone")):
            out.append(tuple(sorted(found)))
    return out


def _joined_by_mouths(web: Web, components: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Components that share one inner rim of a plane and run square to it are one window, outside corners or not."""
    home = {n: i for i, component in enumerate(components) for n in component}
    parent = list(range(len(components)))
    axes = [_common_axis(web, component) for component in components]

    def find(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for number, region in sorted(web.regions.items()):
        if region.kind != "plane":
            continue
        other_of = {k.edge.index: k.other for k in web.links[number]}
        rims = loops_of([k.edge for k in web.links[number]])
        sizes = [_rim_size_mm(web, [e.index for e in rim], region) for rim in rims]
        for rim, reach in zip(rims, sizes, strict=True):
            if reach >= max(sizes) or any(e.convexity != "convex" for e in rim):
                continue
            beside = {home.get(other_of[e.index], -1) for e in rim}
            if len(beside) < 2 or -1 in beside:
                continue
            if all((axis := axes[i]) is not None and is_parallel(axis, region.axis) for i in beside):
                first = min(find(i) for i in beside)
                for i in beside:
                    parent[find(i)] = first
    groups: dict[int, list[int]] = {}
    for i, component in enumerate(components):
        groups.setdefault(find(i), []).extend(component)
    return [tuple(sorted(groups[i])) for i in sorted(groups)]


def _parted(web: Web, rest: set[int], *, bosses: bool) -> list[tuple[int, ...]]:
    """What is left of a component beside its bosses, in parts that still hold together."""
    if not bosses:
        return [tuple(sorted(rest))]
    left, out = set(rest), []
    for start in sorted(rest):
        if start not in left:
            continue
        left.discard(start)
        found, front = {start}, [start]
        while front:
            here = front.pop()
            for link in web.links[here]:
                if link.other in left and _binds(web, here, link):
                    left.discard(link.other)
                    found.add(link.other)
                    front.append(link.other)
        if len(found) > 1:
            out.append(tuple(sorted(found)))
    return out


def _bosses(web: Web, component: tuple[int, ...]) -> list[Recess]:
    """What rises from inside a floor: walls on an inner rim of it that all meet it in inside edges."""
    out: list[Recess] = []
    members, used = set(component), set()
    for number in component:
        floor = web.regions[number]
        if floor.kind != "plane":
            continue
        links = [k for k in web.links[number]]
        rims = loops_of([k.edge for k in links])
        if len(rims) < 2:
            continue
        other_of = {k.edge.index: k.other for k in links}
        spans = [_rim_size_mm(web, [e.index for e in rim], floor) for rim in rims]
        outer = max(range(len(rims)), key=lambda i: spans[i])
        outside = {other_of[e.index] for e in rims[outer]}
        for i, rim in enumerate(rims):
            beside = {other_of[e.index] for e in rim}
            rises = all(
                e.convexity == "concave"
                or (e.convexity == "smooth" and _is_curved_in(web.regions[other_of[e.index]]))
                for e in rim
            )
            if i == outer or not rises or beside & used or not beside <= members:
                continue
            walls = _rising(web, beside, members - {number})
            if walls & outside or not walls:
                continue
            used |= walls
            along = _longest_way(web, walls, floor.axis)
            out.append(Recess("boss", "closed", tuple(sorted(walls)), floor.axis, along))
    return out


def _rim_size_mm(web: Web, indices: list[int], floor: Region) -> float:
    """Diagonal of a rim, by its points' farthest reach from their own middle: inner rims are smaller."""
    points = np.vstack([web.solid.edges[i].points_mm for i in indices])
    out = points - 0.5 * (points.min(axis=0) + points.max(axis=0))
    out = out - np.outer(out @ floor.axis, floor.axis)
    return float(np.linalg.norm(out, axis=1).max())


def _rising(web: Web, beside: set[int], allowed: set[int]) -> set[int]:
    found, front = set(beside), list(beside)
    while front:
        here = front.pop()
        for link in web.links[here]:
            if link.other in allowed and link.other not in found and _binds(web, here, link):
                found.add(link.other)
                front.append(link.other)
    return found


def _recess_of(web: Web, part: tuple[int, ...]) -> Recess | None:
    """The kind of one part by the sides it opens to; None where it opens to none that has a name."""
    axis = _common_axis(web, part)
    if axis is not None:
        found = _prism(web, part, axis)
        if found is not None:
            return found
    return _floored(web, part)


def _common_axis(web: Web, part: tuple[int, ...]) -> Vec | None:
    """The direction that every region runs along, when there is one."""
    regions = [web.regions[n] for n in part]
    axis: Vec | None = next((r.axis for r in regions if r.kind == "cylinder"), None)
    if axis is None:
        planes = [r.axis for r in regions if r.kind == "plane"]
        for i, a in enumerate(planes):
            other = next((b for b in planes[i + 1 :] if not is_parallel(a, b)), None)
            if other is not None:
                cross = np.cross(a, other)
                axis = cross / np.linalg.norm(cross)
                break
    if axis is None:
        return None
    for r in regions:
        if r.kind == "plane":
            if not is_square(r.axis, axis):
                return None
        elif r.kind != "cylinder" or not is_parallel(r.axis, axis):
            return None
    return axis


def _prism(web: Web, part: tuple[int, ...], axis: Vec) -> Recess | None:
    """A recess of one section all along an axis: a window, or a slot or step from end to end."""
    members = set(part)
    sides = [k for n in part for k in web.links[n] if k.other not in members and _is_generator(k, axis)]
    if not sides or all(_is_met_twice(web, n, members, axis) for n in part):
        if not _looks_inward(web, part, axis):
            return None
        form = "through"
        kind = "slot" if _is_obround(web, part) else "window"
        return Recess(kind, form, part, axis, _longest_way(web, part, axis), is_through=True)
    mouth = _mouth_normal(web, [k.other for k in sides])
    opens = mouth if mouth is not None else _best_floor(web, part)
    if opens is None:
        return None
    under = _under(web, part, opens)
    if under and mouth is None:
        opens = _towards_mouth(web, part, [k.edge.points_mm for k in sides])
        neck = {k.other for k in sides if web.regions[k.other].kind == "plane"}
        part = tuple(sorted({*part, *(n for n in neck if abs(float(web.regions[n].axis @ opens)) < WALL)}))
        under = _under(web, part, opens)
    planes = [n for n in part if web.regions[n].kind == "plane"]
    has_walls = facing_mm(web, part, opens) is not None
    if len(planes) == 0:
        return Recess("slot", "round", part, opens, axis)
    if has_walls or mouth is not None:
        has_floor = any(float(web.regions[n].axis @ opens) > FLOOR for n in planes)
        form = "ends" if has_floor or has_walls else "vee"
        return Recess("slot", form, part, opens, axis, under=under)
    return Recess("step", "open", part, opens, axis, under=under)


def _is_generator(link: Link, axis: Vec) -> bool:
    if link.edge.kind != "line":
        return False
    step = link.edge.points_mm[-1] - link.edge.points_mm[0]
    return is_parallel(step / np.linalg.norm(step), axis)


def _is_met_twice(web: Web, number: int, members: set[int], axis: Vec) -> bool:
    """A wall goes over into others of the part on two sides, as each wall of a closed ring does."""
    lines: list[Vec] = []
    for link in web.links[number]:
        if link.other in members and _is_generator(link, axis):
            foot = link.edge.points_mm[0] - axis * float(axis @ link.edge.points_mm[0])
            if all(float(np.linalg.norm(foot - other)) > SAME_PLANE_MM for other in lines):
                lines.append(foot)
    return len(lines) >= 2


def _mouth_normal(web: Web, others: list[int]) -> Vec | None:
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


def _towards_mouth(web: Web, part: tuple[int, ...], ends: list[Vec]) -> Vec:
    """Of the ways that its planes look, the one that leads most nearly from the middle of a channel to its mouth."""
    total = sum(web.regions[n].area_mm2 for n in part)
    middle = sum((np.array(f.centroid_mm) * f.area_mm2 for n in part for f in web.regions[n].faces), np.zeros(3))
    way = np.vstack(ends).mean(axis=0) - middle / total
    return max((d for d, _ in _directions(web, part)), key=lambda d: round(float(d @ way), 6))


def _looks_inward(web: Web, part: tuple[int, ...], axis: Vec) -> bool:
    """Walls of a closed ring look at its middle, not away from it."""
    points = np.vstack([e.points_mm for e in web.edges_of(part)])
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    total = 0.0
    for n in part:
        region = web.regions[n]
        if region.kind == "plane":
            out = np.array(region.faces[0].centroid_mm) - middle
            total += float(region.axis @ out) * region.area_mm2
        else:
            total += region.area_mm2 * region.surface.radius_mm * (-1.0 if region.inward else 1.0)
    return total < 0.0


def _is_obround(web: Web, part: tuple[int, ...]) -> bool:
    """Two parallel walls joined by half rounds."""
    ends = [r for n in part if (r := web.regions[n]).kind == "cylinder" and r.inward]
    walls = [r for n in part if (r := web.regions[n]).kind == "plane"]
    walls = [w for w in walls if not any(is_parallel(w.axis, e.axis) for e in ends)]
    if len(walls) != 2 or not is_parallel(walls[0].axis, walls[1].axis) or not ends:
        return False
    turn = sum(e.turn_rad for e in ends)
    width = _distance_mm(walls[0], walls[1])
    return abs(turn - 2.0 * math.pi) < 0.05 and all(abs(2.0 * e.surface.radius_mm - width) < 1e-3 for e in ends)


def _distance_mm(a: Region, b: Region) -> float:
    """Between two parallel planes, > 0 where they face each other across a gap."""
    return float((np.array(b.surface.origin_mm) - np.array(a.surface.origin_mm)) @ a.axis)


def facing_mm(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[float, Vec] | None:
    """Least gap between two parallel walls that face each other, and the direction across it."""
    walls = [r for n in part if (r := web.regions[n]).kind == "plane" and abs(float(r.axis @ opens)) < WALL]
    best: tuple[float, Vec] | None = None
    for i, a in enumerate(walls):
        for b in walls[i + 1 :]:
            if float(a.axis @ b.axis) > -1.0 + 1e-8 or (gap := _distance_mm(a, b)) <= 0.0:
                continue
            if best is None or gap < best[0] - 1e-9:
                best = (gap, a.axis)
    return best


def _under(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[int, ...]:
    """Regions of which more than a sliver leans under the opening."""
    return tuple(
        n
        for n in part
        if float(web.regions[n].areas_mm2[web.regions[n].normals @ opens < UNDER].sum())
        > 0.02 * web.regions[n].area_mm2
    )


def _best_floor(web: Web, part: tuple[int, ...]) -> Vec | None:
    """Normal of the plane that leaves least under itself, then encloses most, then is largest."""
    best: tuple[tuple[float, float, float], Vec] | None = None
    total = sum(web.regions[n].area_mm2 for n in part)
    for direction, area in _directions(web, part):
        hidden = sum(web.regions[n].area_mm2 for n in _under(web, part, direction)) / total
        gap, _ = _free_angle(web, part, direction)
        rank = (round(hidden, 3), round(gap / NEAR_RAD), -round(area / total, 6))
        if best is None or rank < best[0]:
            best = (rank, direction)
    return best[1] if best else None


def _directions(web: Web, part: tuple[int, ...]) -> list[tuple[Vec, float]]:
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


def _free_angle(web: Web, part: tuple[int, ...], opens: Vec) -> tuple[float, int]:
    """Widest angle about the opening that no wall looks to, and into how many clusters the walls' looks fall."""
    x, y = _plane_axes(opens)
    angles: list[float] = []
    for n in part:
        r = web.regions[n]
        rows = r.normals[:1] if r.kind == "plane" else r.normals
        level = rows - np.outer(rows @ opens, opens)
        size = np.linalg.norm(level, axis=1)
        keep = (size > 0.3) & (rows @ opens < 0.95)
        angles.extend(np.arctan2(level[keep] @ y, level[keep] @ x).tolist())
    if not angles:
        return 2.0 * math.pi, 0
    ordered = np.sort(np.array(angles))
    gaps = np.append(np.diff(ordered), ordered[0] + 2.0 * math.pi - ordered[-1])
    return float(gaps.max()), int((gaps > NEAR_RAD).sum())


def _plane_axes(normal: Vec) -> tuple[Vec, Vec]:
    helper = np.eye(3)[int(np.argmin(np.abs(normal)))]
    x = np.cross(helper, normal)
    x = x / np.linalg.norm(x)
    return x, np.cross(normal, x)


def _floored(web: Web, part: tuple[int, ...]) -> Recess | None:
    """A recess with a floor: a closed or open pocket, a slot, or a step."""
    opens = _best_floor(web, part)
    if opens is None:
        return _round_recess(web, part)
    under = _under(web, part, opens)
    gap, clusters = _free_angle(web, part, opens)
    along = _longest_way(web, part, opens)
    if clusters == 0:
        return None
    facing = facing_mm(web, part, opens)
    if gap < math.pi - NEAR_RAD:
        if _is_obround(web, part):
            return Recess("slot", "closed", part, opens, along, under=under)
        return Recess("pocket", "closed", part, opens, along, under=under)
    if gap <= math.pi + STEP_FROM_RAD and facing is not None:
        width, across = facing
        way = np.cross(opens, across)
        low, high = web.span_mm(part, way)
        if gap <= math.pi + NEAR_RAD and clusters <= 2:
            return Recess("slot", "ends", part, opens, way, under=under)
        if high - low >= width * (1.0 - 1e-6):
            return Recess("slot", "open", part, opens, way, under=under)
        return Recess("pocket", "open", part, opens, way, under=under)
    if gap < math.pi + STEP_FROM_RAD and not _is_back_to_back(web, part, opens):
        return Recess("pocket", "open", part, opens, along, under=under)
    return Recess("step", "closed" if clusters > 1 else "open", part, opens, along, under=under)


def _is_back_to_back(web: Web, part: tuple[int, ...], opens: Vec) -> bool:
    walls = [r for n in part if (r := web.regions[n]).kind == "plane" and abs(float(r.axis @ opens)) < WALL]
    return any(
        float(a.axis @ b.axis) < -1.0 + 1e-8 and _distance_mm(a, b) < 0.0
        for i, a in enumerate(walls)
        for b in walls[i + 1 :]
    )


def _round_recess(web: Web, part: tuple[int, ...]) -> Recess | None:
    """A recess without any plane: rings about one axis, else nothing that has a name."""
    regions = [web.regions[n] for n in part]
    axes = [r.axis for r in regions if r.kind in ("cylinder", "cone", "torus")]
    if len(regions) == 1 and regions[0].kind == "cone":
        return Recess("slot", "round", part, axes[0], axes[0])
    return None


def _longest_way(web: Web, part: tuple[int, ...] | set[int], opens: Vec) -> Vec:
    """Direction of the longest straight wall square to the opening; for none, any."""
    best: tuple[float, Vec] | None = None
    for n in sorted(part):
        r = web.regions[n]
        if r.kind != "plane" or abs(float(r.axis @ opens)) > 0.9:
            continue
        way = np.cross(opens, r.axis)
        way = way / np.linalg.norm(way)
        low, high = web.span_mm([n], way)
        if best is None or high - low > best[0] + 1e-6:
            best = (high - low, way)
    return best[1] if best else _plane_axes(opens)[0]
