"""Which regions hold together as parts of one recess: those that meet in inside edges."""

from __future__ import annotations

import numpy as np

from proveout.recognition.web import Link, Region, Vec, Web, is_parallel, is_square, loops_of


def is_curved_in(region: Region) -> bool:
    """A hollow round: a corner, a dish, the wall of a bore."""
    return region.inward and region.kind in ("cylinder", "cone", "torus", "sphere")


def binds(web: Web, number: int, link: Link) -> bool:
    """The edge holds two regions together as parts of one recess."""
    if link.edge.convexity == "concave":
        return True
    either = is_curved_in(web.regions[number]) or is_curved_in(web.regions[link.other])
    return link.edge.convexity == "smooth" and either


def components_of(web: Web, taken: set[int]) -> list[tuple[int, ...]]:
    """Regions not taken that hold together, and hollow rounds that stand alone."""

    def is_kept(run: tuple[int, ...]) -> bool:
        region = web.regions[run[0]]
        return len(run) > 1 or (region.inward and region.kind in ("cylinder", "cone", "sphere"))

    left = {n for n in web.regions if n not in taken}
    return [run for run in web.runs(left, lambda here, link: binds(web, here, link)) if is_kept(run)]


def joined_by_mouths(web: Web, components: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Components that share one inner rim of a plane and run square to it are one window, outside corners or not."""
    home = {n: i for i, component in enumerate(components) for n in component}
    parent = list(range(len(components)))
    axes = [common_axis(web, component) for component in components]

    def find(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for number, region in sorted(web.regions.items()):
        if region.kind != "plane":
            continue
        other_of = {k.edge.index: k.other for k in web.links[number]}
        rims = loops_of([k.edge for k in web.links[number]])
        sizes = [rim_size_mm(web, [e.index for e in rim], region) for rim in rims]
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


def parted(web: Web, rest: set[int], *, bosses: bool) -> list[tuple[int, ...]]:
    """What is left of a component beside its bosses, in parts that still hold together."""
    if not bosses:
        return [tuple(sorted(rest))]
    return [run for run in web.runs(rest, lambda here, link: binds(web, here, link)) if len(run) > 1]


def rim_size_mm(web: Web, indices: list[int], floor: Region) -> float:
    """Diagonal of a rim, by its points' farthest reach from their own middle: inner rims are smaller."""
    points = np.vstack([web.solid.edges[i].points_mm for i in indices])
    out = points - 0.5 * (points.min(axis=0) + points.max(axis=0))
    out = out - np.outer(out @ floor.axis, floor.axis)
    return float(np.linalg.norm(out, axis=1).max())


def common_axis(web: Web, part: tuple[int, ...]) -> Vec | None:
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


def is_generator(link: Link, axis: Vec) -> bool:
    """A straight edge along the axis."""
    if link.edge.kind != "line":
        return False
    step = link.edge.points_mm[-1] - link.edge.points_mm[0]
    return is_parallel(step / np.linalg.norm(step), axis)
