"""Along which direction a part is long, told by its own geometry and so the same however the solid lies."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely

from proveout.recognition.looks import FLOOR, SAME_PLANE_MM, plane_axes
from proveout.recognition.web import Vec, Web

Part = tuple[int, ...] | set[int]
SAME_SIDE_MM = 1e-6


def longest_way(web: Web, part: Part, opens: Vec) -> Vec:
    """The first of the longest ways: all give boxes of one size."""
    return longest_ways(web, part, opens)[0]


def longest_ways(web: Web, part: Part, opens: Vec) -> list[Vec]:
    """Directions square to the opening along which a part is long.

    Those of its longest straight walls; where no wall is straight, of its longest straight edges; where none is, of
    the least rectangle about its rims.  Of several as long those along which the whole part is longest, then least
    wide: more than one is left only where the boxes of all have the same sides, as in a triangle with equal sides.
    """
    sized = _walls(web, part, opens) or straight_edges(web, part, opens)
    if not sized:
        return [least_rectangle_way(web, part, opens)]
    return longest_of(web, part, opens, sized)


def longest_of(web: Web, part: Part, opens: Vec, sized: list[tuple[float, Vec]]) -> list[Vec]:
    """Of directions with their lengths the longest; of those the ones of the longest box, then of the least wide."""
    least = max(length for length, _ in sized) - SAME_PLANE_MM
    boxed = [(*box_mm(web, part, opens, way), way) for length, way in sized if length > least]
    boxed = _kept(boxed, lambda row: -row[0])
    return [way for _, _, way in _kept(boxed, lambda row: row[1])]


def _kept(
    boxed: list[tuple[float, float, Vec]], measure: Callable[[tuple[float, float, Vec]], float]
) -> list[tuple[float, float, Vec]]:
    """Rows whose measure is the least."""
    least = min(measure(row) for row in boxed)
    return [row for row in boxed if measure(row) < least + SAME_SIDE_MM]


def _walls(web: Web, part: Part, opens: Vec) -> list[tuple[float, Vec]]:
    """Length and direction of every flat wall."""
    found: list[tuple[float, Vec]] = []
    for n in sorted(part):
        r = web.regions[n]
        if r.kind != "plane" or abs(float(r.axis @ opens)) > 0.9:
            continue
        way = np.cross(opens, r.axis)
        way = way / np.linalg.norm(way)
        low, high = web.span_mm([n], way)
        found.append((high - low, way))
    return found


def straight_edges(web: Web, part: Part, opens: Vec) -> list[tuple[float, Vec]]:
    """Length and direction of every straight edge square to the opening on the rims of a part."""
    found: list[tuple[float, Vec]] = []
    for edge in web.edges_of(part):
        step = edge.points_mm[-1] - edge.points_mm[0]
        level = step - opens * float(step @ opens)
        length = float(np.linalg.norm(level))
        if edge.kind == "line" and length > FLOOR * float(np.linalg.norm(step)):
            found.append((length, level / length))
    return found


def least_rectangle_way(web: Web, part: Part, opens: Vec) -> Vec:
    """Direction of the longer side of the least rectangle about the rims of a part, seen along the opening."""
    x, y = plane_axes(opens)
    points = np.vstack([edge.points_mm for edge in web.edges_of(part)])
    around = shapely.oriented_envelope(shapely.MultiPoint(np.column_stack([points @ x, points @ y])))
    if around.geom_type != "Polygon":
        return x
    steps = np.diff(shapely.get_coordinates(around), axis=0)[:2]
    along = max(steps, key=lambda step: float(np.hypot(*step)))
    along = along / np.linalg.norm(along)
    way = x * float(along[0]) + y * float(along[1])
    return way / np.linalg.norm(way)


def box_mm(web: Web, part: Part, opens: Vec, way: Vec) -> tuple[float, float]:
    """Extent of a part along a direction, and square to that and to the opening."""
    (low, high), (left, right) = (web.span_mm(part, d) for d in (way, np.cross(opens, way)))
    return high - low, right - left
