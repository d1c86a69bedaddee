"""Whether a cutter with a wide head on a thin neck reaches a ceiling, from the part between levels.

Head, neck and holder are discs about one axis, each between two levels; each must stay clear of all that the part has
between its own, seen from above, and the head must lie under the point. What is level counts like what is upright, so
that nothing stands inside the metal. The head gets there sideways: its axis must come, level and without leaving the
room that head, neck and holder have, from a place over which nothing stands that the head would meet going down.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Cutter

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
INTO_MM = 0.02
"""A face no farther than this inside the end of a band is touched, not met."""
EASE_MM = 2e-3
"""A head or neck exactly as wide as its way goes through."""
QUARTER_CHORDS = 32
OUTLINE_DIGITS = 5
DUST_MM2 = 1e-6
FLAT_MM2 = 1e-7
"""Triangles that cover less than this, seen from above, count as lines."""


def cut_off(corners: Floats, low: float) -> Floats:
    """(k, 3, 3) what of triangles (t, 3, 3) lies above a height."""
    over = corners[:, :, 2] > low
    count = over.sum(axis=1)
    found = [corners[count == 3]]
    for many in (1, 2):
        cut, up = corners[count == many], over[count == many]
        if not len(cut):
            continue
        alone = np.argmax(up, axis=1) if many == 1 else np.argmin(up, axis=1)
        rows = np.arange(len(cut))
        tip, one, two = cut[rows, alone], cut[rows, (alone + 1) % 3], cut[rows, (alone + 2) % 3]
        ends = [tip + ((low - tip[:, 2]) / (end[:, 2] - tip[:, 2]))[:, None] * (end - tip) for end in (one, two)]
        if many == 1:
            found.append(np.stack([tip, *ends], axis=1))
        else:
            found += [np.stack([one, two, ends[0]], axis=1), np.stack([ends[0], two, ends[1]], axis=1)]
    return np.concatenate(found)


def between(corners: Floats, low: float, high: float) -> Floats:
    """(k, 3, 3) what of triangles (t, 3, 3) lies between two heights."""
    turned = np.array([1.0, 1.0, -1.0])
    return cut_off(cut_off(corners, low) * turned, -high) * turned


def _seen(corners: Floats) -> Any:
    """Triangles (t, 3, 3) as plane shapes seen from above: areas, and lines where they are upright."""
    import shapely

    flat = np.round(corners[:, :, :2], OUTLINE_DIGITS) + 0.0
    first, second = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    covers = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) > FLAT_MM2
    lines = np.stack([flat[~covers], np.roll(flat[~covers], -1, axis=1)], axis=2).reshape(-1, 4)
    lines = lines[np.any(lines[:, :2] != lines[:, 2:], axis=1)]
    backward = (lines[:, 0] > lines[:, 2]) | ((lines[:, 0] == lines[:, 2]) & (lines[:, 1] > lines[:, 3]))
    lines = np.unique(np.where(backward[:, None], lines[:, [2, 3, 0, 1]], lines), axis=0)
    areas = shapely.union_all(shapely.polygons(flat[covers]))
    # joined to chains, so that fewer are grown
    upright = shapely.line_merge(shapely.union_all(shapely.linestrings(lines.reshape(-1, 2, 2))))
    return [shape for shape in (areas, upright) if not shape.is_empty]


def _bands(corners: Floats, top: float, cutter: Cutter, air_mm: float) -> list[tuple[Any, float]]:
    """What the part has at the heights of head, neck, shank and holder under a ceiling at `top`, with their radii."""
    bottom, collar = top - cutter.flute_length_mm, top - cutter.flute_length_mm + cutter.stick_out_mm
    behind = collar if cutter.neck_length_mm is None else bottom + cutter.shank_from_mm
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    heights = corners[:, :, 2]
    # floors at the ceiling's own height: what stands below them meets the head
    floors = (np.abs(heights - top).max(axis=1) <= INTO_MM) & (across[:, 2] > 0.0)
    head = np.concatenate([between(corners, bottom + INTO_MM, top - INTO_MM), corners[floors]])
    bands = [
        (head, cutter.diameter_mm / 2.0),
        (between(corners, top + INTO_MM, max(behind, top) + INTO_MM), cutter.neck_or_shank_mm / 2.0),
        (between(corners, max(behind, top) + INTO_MM, max(collar, top) + INTO_MM), cutter.shank_diameter_mm / 2.0),
        (cut_off(corners, max(collar, top) + INTO_MM), cutter.holder_diameter_mm / 2.0 + air_mm),
    ]
    return [(shape, radius) for part, radius in bands if len(part) for shape in _seen(part)]


def grown(shape: Any, by_mm: float) -> Any:
    """A plane shape with all that lies this near to it.

    Its parts are grown one by one and then joined: where many overlap, all at once takes fifty times as long.
    """
    import shapely

    return shapely.union_all(shapely.buffer(shapely.get_parts(shape), by_mm, quad_segs=QUARTER_CHORDS))


def ways_in(corners: Floats, top: float, cutter: Cutter, *, air_mm: float = 0.0) -> Any:
    """Where the axis of a T-slot cutter may be under a ceiling at a height so that it got there, as a plane shape.

    Of the places where head, neck and holder stand free, those joined to one where the head could come straight down.
    What holds the part is not looked at on the way.   air_mm: kept beside the holder.
    """
    import shapely

    bands = _bands(corners, top, cutter, air_mm)
    head = cutter.diameter_mm / 2.0
    wide = 2.0 * (head + max((radius for _, radius in bands), default=head)) + 1.0
    low, high = corners[:, :, :2].min(axis=(0, 1)) - wide, corners[:, :, :2].max(axis=(0, 1)) + wide
    near = [grown(shape, max(radius - EASE_MM, EASE_MM)) for shape, radius in bands]
    # what the head goes by in any case was grown for it already
    over = [
        own if head <= radius else grown(shape, head - EASE_MM)
        for own, (shape, radius) in zip(near, bands, strict=True)
    ]
    free = shapely.box(*low, *high).difference(shapely.union_all(near))
    blocked = shapely.union_all(over)
    return shapely.union_all([part for part in shapely.get_parts(free) if part.difference(blocked).area > DUST_MM2])


def floor_under(corners: Floats, points: Floats) -> float:
    """Height of the highest that triangles (t, 3, 3) have straight under points (n, 3); -inf where there is nothing."""
    best = -np.inf
    a, e, f = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    flat = np.abs(area) > FLAT_MM2
    a, e, f, area = a[flat], e[flat], f[flat], area[flat]
    for point in points:
        x, y = point[0] - a[:, 0], point[1] - a[:, 1]
        u = (x * f[:, 1] - y * f[:, 0]) / area
        v = (e[:, 0] * y - e[:, 1] * x) / area
        z = (a[:, 2] + u * e[:, 2] + v * f[:, 2])[(u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)]
        best = max(best, float(np.max(z[z < point[2] - INTO_MM], initial=-np.inf)))
    return best


def is_beside(inside: Any, points: Floats, cutter: Cutter) -> Bools:
    """(n,) whether the head touches points (n, 3) of upright walls with its axis somewhere in the ways in."""
    import shapely

    return np.asarray(shapely.dwithin(inside, shapely.points(points[:, :2]), cutter.diameter_mm / 2.0 + INTO_MM))


def is_under(inside: Any, points: Floats, cutter: Cutter) -> Bools:
    """(n,) whether the head covers ceiling points (n, 3) with its axis somewhere in the ways in."""
    import shapely

    return np.asarray(shapely.dwithin(inside, shapely.points(points[:, :2]), cutter.diameter_mm / 2.0))


def nearest_axes(inside: Any, points: Floats) -> Floats:
    """(n, 2) the place in the ways in that lies nearest to each point; the ways in must not be empty."""
    import shapely

    lines = shapely.shortest_line(inside, shapely.points(points[:, :2]))
    return np.asarray(shapely.get_coordinates(shapely.get_point(lines, 0)))
