"""Plane figures for moves along one direction: where metal stands in a cutter's way, and paths round it.

A solid is given by its mesh. What stands above a height, seen along the direction, is the union of its upward
triangles there: above every point of metal there is one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry, BaseMultipartGeometry

from proveout.solids.mesh import Mesh

ABOVE_MM = 1e-5  # a floor does not stand above itself
ON_CIRCLE_MM = 0.003  # the mesh lies within 0.0005 mm of its circle; offsets of its chords a little farther
CORNER_RAD = math.radians(4.0)
ARC_LEAST_COUNT = 3
STRAIGHT = -1
Circle = tuple[float, float, float]  # centre u, v and radius


def frame_along(direction: np.ndarray) -> np.ndarray:
    """Rows u, v, w, right-handed, w the direction; u lies along an axis of the part where it can."""
    c = int(np.argmax(np.abs(direction)))
    u = np.zeros(3)
    u[(c + 1) % 3] = 1.0
    u -= (u @ direction) * direction
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(direction, u), direction])


def upward_triangles(triangles_mm: np.ndarray, frame: np.ndarray) -> np.ndarray:
    """(t, 3, 3) corners in u, v, w of the triangles that look along w."""
    own = triangles_mm @ frame.T
    rise = np.cross(own[:, 1] - own[:, 0], own[:, 2] - own[:, 0])[:, 2]
    return own[rise > 1e-9]


def projected(triangles: np.ndarray) -> BaseGeometry:
    """The union of triangles (t, 3, 3) in u, v, w, seen along w."""
    return shapely.union_all(shapely.polygons(triangles[:, :, :2])) if len(triangles) else Polygon()


def shadow(
    meshes: Sequence[Mesh], frame: np.ndarray, *, above_mm: float, low: np.ndarray, high: np.ndarray
) -> BaseGeometry:
    """What stands above a height along w, within the window low..high of u, v."""
    found = []
    for mesh in meshes:
        own = upward_triangles(mesh.vertices_mm[mesh.triangles], frame)
        least, most = own.min(axis=1), own.max(axis=1)
        near = np.all((least[:, :2] < high) & (most[:, :2] > low), axis=1) & (most[:, 2] > above_mm + ABOVE_MM)
        whole = near & (least[:, 2] >= above_mm + ABOVE_MM)
        found += [Polygon(one[:, :2]) for one in own[whole]]
        found += [_clipped(one, above_mm + ABOVE_MM) for one in own[near & ~whole]]
    return shapely.intersection(shapely.union_all(found), shapely.box(*low, *high)) if found else Polygon()


def _clipped(triangle: np.ndarray, above: float) -> Polygon:
    """The part of a triangle above a height, seen along w."""
    points = []
    for here, there in zip(triangle, np.roll(triangle, -1, axis=0), strict=True):
        if here[2] >= above:
            points.append(here[:2])
        if (here[2] >= above) != (there[2] >= above):
            share = (above - here[2]) / (there[2] - here[2])
            points.append(here[:2] + share * (there[:2] - here[:2]))
    return Polygon(points) if len(points) > 2 else Polygon()


def parts_of(figure: BaseGeometry) -> list[Polygon]:
    """The polygons of a figure."""
    if isinstance(figure, Polygon):
        return [] if figure.is_empty else [figure]
    if isinstance(figure, BaseMultipartGeometry):
        return [part for one in figure.geoms for part in parts_of(one)]
    return []


def corners_of(figure: BaseGeometry) -> list[Circle]:
    """The corners of a figure that turn by more than a chord of its circles does, as circles of no radius."""
    found = []
    for ring in rings_of(figure):
        points = ring[:-1]
        along = np.roll(points, -1, axis=0) - points
        before = np.roll(along, 1, axis=0)
        turn = np.arctan2(
            before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0], (before * along).sum(axis=1)
        )  # fmt: skip
        found += [(float(p[0]), float(p[1]), 0.0) for p in points[np.abs(turn) > CORNER_RAD]]
    return found


def rings_of(figure: BaseGeometry) -> list[np.ndarray]:
    """Every ring of a figure, (n, 2), its first point again at its end."""
    return [
        np.asarray(ring.coords)[:, :2] for part in parts_of(figure) for ring in (part.exterior, *part.interiors)
    ]  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Path:
    """Moves in u, v: starts, ends and centres (n, 2), turns (n,) 1 left, -1 right, 0 straight."""

    starts: np.ndarray
    ends: np.ndarray
    centres: np.ndarray
    turns: np.ndarray


def path_along(ring: np.ndarray, circles: Sequence[Circle]) -> Path:
    """Straight moves along a ring, and an arc wherever at least three of its chords lie on one circle.

    Points on a circle are put exactly on it, so that a mesh's chords leave no trace.
    """
    count = len(ring) - 1
    points = ring[:-1].copy()
    owner = np.full(count, STRAIGHT)  # of the chord from a point to the next
    for number, (u, v, radius) in enumerate(circles):
        on = np.abs(np.hypot(points[:, 0] - u, points[:, 1] - v) - radius) < ON_CIRCLE_MM
        chord = on & np.roll(on, -1)
        middle = 0.5 * (points + np.roll(points, -1, axis=0))
        chord &= np.abs(np.hypot(middle[:, 0] - u, middle[:, 1] - v) - radius) < ON_CIRCLE_MM + 0.02 * radius
        owner[chord & (owner == STRAIGHT)] = number
    first = next((at for at in range(count) if owner[at] != owner[at - 1]), 0)
    points, owner = np.roll(points, -first, axis=0), np.roll(owner, -first)
    moves: list[tuple[np.ndarray, np.ndarray, np.ndarray, int]] = []
    runs = []
    at = 0
    while at < count:
        end = at + 1
        while end < count and owner[end] == owner[at]:
            end += 1
        runs.append((at, end, int(owner[at])))
        at = end
    runs = [
        (begin, end, number if _is_arc(points, begin, end, circles, number) else STRAIGHT)
        for begin, end, number in runs
    ]  # fmt: skip
    for begin, end, number in runs:
        if number == STRAIGHT:
            continue
        u, v, radius = circles[number]
        stops = np.arange(begin, end + 1) % count
        away = points[stops] - (u, v)
        points[stops] = (u, v) + away * (radius / np.linalg.norm(away, axis=1))[:, None]
    nowhere = np.zeros(2)
    for begin, end, number in runs:
        if number == STRAIGHT:
            moves += [(points[k], points[(k + 1) % count], nowhere, 0) for k in range(begin, end)]
            continue
        centre = np.array(circles[number][:2])
        moves.append(
            (points[begin], points[end % count], centre, 1 if _turns(points, begin, end, centre).sum() > 0.0 else -1)
        )
    return Path(
        starts=np.array([m[0] for m in moves]), ends=np.array([m[1] for m in moves]),
        centres=np.array([m[2] for m in moves]), turns=np.array([m[3] for m in moves], dtype=np.int64),
    )  # fmt: skip


def _turns(points: np.ndarray, begin: int, end: int, centre: np.ndarray) -> np.ndarray:
    """The angles about a centre from point to point of a run, left positive."""
    away = points[np.arange(begin, end + 1) % len(points)] - centre
    here, there = away[:-1], away[1:]
    return np.arctan2(here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0], (here * there).sum(axis=1))


def _is_arc(points: np.ndarray, begin: int, end: int, circles: Sequence[Circle], number: int) -> bool:
    """Chords enough of one circle, all turning the same way: one that went back would sweep the rest of the circle."""
    if number == STRAIGHT or end - begin < ARC_LEAST_COUNT:
        return False
    turns = _turns(points, begin, end, np.array(circles[number][:2]))
    return bool(np.all(turns > 0.0) or np.all(turns < 0.0))
