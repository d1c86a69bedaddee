"""How far the readings of touches from the side lie off between two exact bodies, tried at every place.

The ball's middle keeps off a body's section at each height by what the ball is wide there. All places together that it
cannot take at a level are a plane shape; a touch ends where its line first enters that shape.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from loading_shop import JAW_TOP_MM, PROBE
from numpy.typing import NDArray

Floats = NDArray[np.float64]
ALONG = ((0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0))
ABOVE_JAWS_MM, FREE_MM, BEYOND_MM, UNSURE_MM = 1.0, 0.5, 3.0, 0.5
START_MM = (1.0, 3.0)
"""It begins so far from where it ends on the right body, in a place where the ball comes down with room about it."""
PLACES_MM = 0.5
LEVELS, LAYERS = 3, 9
FAR_MM = 1e3
NEAR_MM = 0.15
"""A wall this near to the end of the body's box was perhaps never cut."""


def best_beside_mm(right: Any, posed: Any, *, slops_mm: Sequence[tuple[float, float]], raw_more_mm: float) -> float:
    """The most that a touch from the side tells, at its worst place aside; 0 where none does.

    slops_mm: places aside of the touch, across its line in the plane and up.   raw_more_mm: taken off for each of the
    two walls that was perhaps never cut.
    """
    box, radius = np.array(right.bounding_box()), PROBE.ball_mm / 2.0
    best = 0.0
    for level in np.linspace(JAW_TOP_MM + ABOVE_JAWS_MM + radius, box[5] - radius / 2.0, LEVELS):
        kept_clear = shapely.buffer(_over(right, float(level) - radius), radius + FREE_MM)
        shapely.prepare(kept_clear)
        ups = sorted({up for _, up in slops_mm})
        edges = [[_edges(_taken(body, float(level) + up)) for up in ups] for body in (right, posed)]
        level_edges = _edges(_taken(right, float(level)))
        for axis, sense in ALONG:
            along, across = _starts(box, axis, kept_clear)
            ahead = _hits(level_edges, axis, sense, along, across)
            near = (ahead >= START_MM[0]) & (ahead <= START_MM[1])
            along, across = along[near], across[near]
            read = [
                np.array([_hits(own[ups.index(up)], axis, sense, along, across + aside) for aside, up in slops_mm])
                for own in edges
            ]
            best = max(best, _most_mm(read, (right, posed), axis, sense, along, raw_more_mm))
    return best


def _most_mm(
    read: Sequence[Floats], bodies: Sequence[Any], axis: int, sense: float, along: Floats, raw_more: float
) -> float:
    """The most of all starts. read: (slops, n) of the right body and of the posed one."""
    own = read[0]
    is_good = own.max(axis=0, initial=-FAR_MM) - own.min(axis=0, initial=FAR_MM) <= UNSURE_MM
    if not is_good.any():
        return 0.0
    own, other, along = own[:, is_good], read[1][:, is_good], along[is_good]
    other = np.clip(other, 0.0, own.max(axis=0) + BEYOND_MM)
    off = np.maximum(other.min(axis=0) - own.max(axis=0), own.min(axis=0) - other.max(axis=0))
    for hits, body in zip((own, other), bodies, strict=True):
        ends = np.array(body.bounding_box())[[axis, axis + 3]]
        walls = along + sense * (hits + PROBE.ball_mm / 2.0)
        off -= raw_more * (np.abs(walls[..., None] - ends) < NEAR_MM).any(axis=(0, 2))
    return max(0.0, float(off.max()))


def _starts(box: Floats, axis: int, kept_clear: Any) -> tuple[Floats, Floats]:
    """(n,) places along and across the lines where the ball may come down."""
    beyond = START_MM[1] + PROBE.ball_mm
    ways = [np.arange(box[k] - beyond, box[k + 3] + beyond, PLACES_MM) for k in (axis, 1 - axis)]
    along, across = (one.reshape(-1) for one in np.meshgrid(*ways, indexing="ij"))
    x, y = (along, across) if axis == 0 else (across, along)
    free = ~np.asarray(shapely.intersects_xy(kept_clear, x, y))
    return along[free], across[free]


def _hits(edges: Floats, axis: int, sense: float, along: Floats, across: Floats) -> Floats:
    """(n,) how far each start may go; 0 where it stands in the shape, FAR_MM where nothing is ahead.

    edges: (m, 2, 2) of the shape.
    """
    a, b = edges[:, 0], edges[:, 1]
    first, second = a[:, 1 - axis], b[:, 1 - axis]
    met = (np.minimum(first, second) <= across[:, None]) & (across[:, None] < np.maximum(first, second))
    rise = np.where(second == first, 1.0, second - first)
    places = a[:, axis] + (across[:, None] - first) / rise * (b[:, axis] - a[:, axis])
    ahead = np.where(met, sense * (places - along[:, None]), -1.0)
    is_inside = (ahead > 0.0).sum(axis=1) % 2 == 1
    return np.where(is_inside, 0.0, np.where(ahead > 0.0, ahead, FAR_MM).min(axis=1, initial=FAR_MM))


def _taken(body: Any, level: float) -> Any:
    """Where the ball's middle cannot be at a level."""
    radius = PROBE.ball_mm / 2.0
    widest: dict[bytes, tuple[Any, float]] = {}
    for turn in np.linspace(-0.48 * math.pi, 0.48 * math.pi, LAYERS):
        section = _plane(body.slice(level + radius * math.sin(turn)))
        key, wide = shapely.to_wkb(shapely.normalize(section)), radius * math.cos(turn)
        if key not in widest or widest[key][1] < wide:
            widest[key] = section, wide
    return shapely.union_all([shapely.buffer(section, wide, quad_segs=16) for section, wide in widest.values()])


def _over(body: Any, level: float) -> Any:
    """What stands above a level, seen from above."""
    return _plane(body.trim_by_plane((0.0, 0.0, 1.0), level).project())


def _plane(section: Any) -> Any:
    found = []
    for part in section.decompose():
        rings = [shapely.Polygon(ring) for ring in part.to_polygons()]
        if not rings:
            continue
        outer = max(rings, key=lambda ring: ring.area)
        found.append(outer.difference(shapely.union_all([ring for ring in rings if ring is not outer])))
    return shapely.union_all(found)


def _edges(shape: Any) -> Floats:
    """(m, 2, 2) of all its rings."""
    rings = [
        np.asarray(shapely.get_coordinates(ring))
        for part in shapely.get_parts(shape)
        for ring in (part.exterior, *part.interiors)
    ]
    pairs = [np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings]
    return np.concatenate(pairs) if pairs else np.zeros((0, 2, 2))
