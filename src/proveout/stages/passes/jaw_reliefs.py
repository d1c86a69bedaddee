"""Inside corners of a pocket in jaws that a cutter does not enter, and how far it dips past them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.jaw_form import Relief
from proveout.stages.passes.areas import area_from, grown, shape_of

Array = NDArray[np.float64]

LEAST_MM = 0.02
"""Metal that a corner keeps, no higher than this, is let stand: less than half of what a pocket may have left."""
CLEAR_MM = 0.1
"""How far the cutter goes past the corner of the work: it must not touch there."""
DIP_MOST_RATIO = 2.0
"""A longer dip, in radii, would be a slot of its own."""
RELIEFS_MOST = 60
RIM_COUNT = 96
QUARTER_SEGMENTS = 48


def reliefs_of(*, outline: Any, jaws: Any, radius_mm: float) -> tuple[Relief, ...] | None:
    """Dips past all corners of the outline in which the cutter would leave metal of the jaws.

    From the place where the cutter fits the corner, towards the farthest metal that it leaves, until that is passed.

    Args:     outline: area of the work.   jaws: shapely area of both jaws.
    Returns:  None where what is left is no corner but a place too narrow for the cutter.
    """
    import shapely

    inset = grown(outline, -radius_mm)
    if inset.is_empty():
        return None
    room, whole = shape_of(inset), shape_of(outline)
    covered, axis = shape_of(grown(inset, radius_mm)), room
    found: list[Relief] = []
    for _ in range(RELIEFS_MOST):
        rest = shapely.get_parts(whole.intersection(jaws).difference(covered))
        spots: list[tuple[tuple[float, float], float]] = [_farthest(piece, axis) for piece in rest if piece.area > 0.0]
        standing = [s for s in spots if s[1] > radius_mm + LEAST_MM]
        standing.sort(key=lambda s: (-round(s[1], 6), s[0]))
        if not standing:
            return tuple(sorted(found, key=lambda one: one.to_mm))
        spot = np.array(standing[0][0])
        start = np.asarray(shapely.shortest_line(room, shapely.Point(spot)).coords[0])
        length = float(np.linalg.norm(spot - start))
        dip = length - (radius_mm - CLEAR_MM)
        if dip > DIP_MOST_RATIO * radius_mm:
            return None
        end = start + dip * (spot - start) / length
        line = shapely.LineString([start, end])
        covered = covered.union(line.buffer(radius_mm, quad_segs=QUARTER_SEGMENTS))
        axis = axis.union(line)
        found.append(
            Relief(from_mm=_pair(start), to_mm=_pair(end), beyond_mm=round(_beyond_mm(end, radius_mm, whole), 4))
        )
    return None


def with_reliefs(outline: Any, reliefs: tuple[Relief, ...], *, radius_mm: float, within_mm: float) -> Any:
    """The area that the cutter makes in the end; ways into the reliefs are wider than it by `within_mm` each side."""
    import shapely

    area = grown(grown(outline, -radius_mm), radius_mm)
    lines = [shapely.LineString([one.from_mm, one.to_mm]) for one in reliefs]
    if not lines:
        return area
    dips = shapely.union_all(shapely.buffer(lines, radius_mm + within_mm, quad_segs=QUARTER_SEGMENTS))
    return area + area_from(dips)


def _farthest(piece: Any, axis: Any) -> tuple[tuple[float, float], float]:
    """The corner of a piece of metal that lies farthest from all places of the axis, and how far."""
    import shapely

    places = shapely.get_coordinates(piece)
    away = shapely.distance(axis, shapely.points(places))
    most = float(away.max())
    chosen = places[away > most - 1e-6]
    spot = min((float(x), float(y)) for x, y in chosen)
    return spot, most


def _beyond_mm(end: Array, radius_mm: float, outline: Any) -> float:
    import shapely

    turns = 2.0 * math.pi * np.arange(RIM_COUNT) / RIM_COUNT
    rim = end + radius_mm * np.column_stack([np.cos(turns), np.sin(turns)])
    return float(shapely.distance(outline, shapely.points(rim)).max())


def _pair(spot: Array) -> tuple[float, float]:
    return round(float(spot[0]), 6) + 0.0, round(float(spot[1]), 6) + 0.0
