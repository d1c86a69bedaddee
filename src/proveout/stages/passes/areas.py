"""Plane areas: exact offsets by the boolean library, clipping of paths by shapely."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FINE_MM = 5e-4
"""Largest distance between a round corner and its chords on finishing paths."""
COARSE_MM = 0.01
"""The same for roughing, inside its allowance."""
DUST_MM = 2e-4
"""Projected outlines are freed of points nearer than this to the line between their neighbours."""
STRETCH_COUNT = 12
PATH_MM = 0.004
"""What paths may be straightened by where only their neighbourhood is asked for."""


def area_of(contours: Any) -> Any:
    """Contours (k, 2) each, counter-clockwise outside, as one area without overlaps."""
    import manifold3d

    return manifold3d.CrossSection([np.asarray(c, dtype=np.float64) for c in contours], manifold3d.FillRule.Positive)


def nothing() -> Any:
    """The empty area."""
    import manifold3d

    return manifold3d.CrossSection()


def disc(*, x_mm: float, y_mm: float, radius_mm: float) -> Any:
    """A round area, 96 chords around it."""
    import manifold3d

    return manifold3d.CrossSection.circle(radius_mm, 96).translate((x_mm, y_mm))


def grown(area: Any, by_mm: float, *, chord_mm: float = FINE_MM) -> Any:
    """The area grown (or shrunk, when negative) by a round distance; an arc's chords lie within `chord_mm` of it."""
    import manifold3d

    if area.is_empty() or by_mm == 0.0:
        return area
    size = abs(by_mm)
    if chord_mm >= COARSE_MM:
        area = area.simplify(chord_mm / 2.0)
    turn = math.acos(max(-1.0, 1.0 - min(chord_mm / size, 1.0)))
    segments = int(min(720, max(24, 4 * math.ceil(math.pi / max(turn, 1e-3) / 4))))
    return area.offset(by_mm, manifold3d.JoinType.Round, 2.0, segments)


def opened(area: Any, by_mm: float) -> Any:
    """The area without its parts thinner than twice `by_mm`."""
    return grown(grown(area, -by_mm, chord_mm=COARSE_MM), by_mm, chord_mm=COARSE_MM) ^ area


def shape_of(area: Any) -> Any:
    """The area as a shapely geometry."""
    import shapely

    polygons = []
    for piece in area.decompose():
        rings = [r for r in piece.to_polygons() if len(r) >= 3]
        if not rings:
            continue
        sizes = [_signed(r) for r in rings]
        outer = int(np.argmax(sizes))
        holes = [r for k, r in enumerate(rings) if k != outer and sizes[k] < 0.0]
        polygon = shapely.Polygon(rings[outer], holes)
        polygons.append(polygon if polygon.is_valid else polygon.buffer(0.0))
    return shapely.union_all(polygons) if polygons else shapely.Polygon()


def area_from(shape: Any) -> Any:
    """A shapely geometry's polygons as an area."""
    import shapely

    rings: list[Array] = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and not part.is_empty:
            whole = shapely.geometry.polygon.orient(part, 1.0)
            rings.append(np.asarray(whole.exterior.coords)[:-1])
            rings.extend(np.asarray(r.coords)[:-1] for r in whole.interiors)
    return area_of(rings) if rings else nothing()


def swath_of(lines: list[Array], radius_mm: float) -> Any:
    """What a disc covers whose centre runs along polylines, as an area."""
    import shapely

    if not lines:
        return nothing()
    shapes = [_buffered(shapely.LineString(line[:, :2]).simplify(PATH_MM), radius_mm) for line in lines]
    return area_from(shapely.union_all(shapes))


def around(line: Any, radius_mm: float) -> Any:
    """The neighbourhood of shapely lines, straightened a little first."""
    return _buffered(_straight(line), radius_mm)


def clipped_beside(rings: list[Array], line: Any, radius_mm: float, *, least_mm: float) -> list[Array]:
    """The parts of closed rings in the neighbourhood of shapely lines, as `clipped` gives them.

    Stretches of the lines that lie too far from every ring are left out first: to join their neighbourhoods to the
    others takes most of the time and changes nothing.
    """
    import shapely

    if not rings:
        return []
    parts = shapely.get_parts(_straight(line))
    near = shapely.dwithin(parts, shapely.MultiLineString(rings), radius_mm + PATH_MM)
    return clipped(rings, _buffered(shapely.MultiLineString(list(parts[near])), radius_mm), least_mm=least_mm)


def _straight(line: Any) -> Any:
    import shapely

    merged = shapely.line_merge(line) if line.geom_type == "MultiLineString" else line
    return merged.simplify(PATH_MM)


def _buffered(lines: Any, radius_mm: float) -> Any:
    """The neighbourhood of lines, made in short stretches: a long winding one meets itself too often to be quick."""
    import shapely

    stretches = []
    for part in shapely.get_parts(lines):
        places = np.asarray(part.coords)
        stretches.extend(places[k : k + STRETCH_COUNT + 1] for k in range(0, max(1, len(places) - 1), STRETCH_COUNT))
    shapes = shapely.buffer([shapely.LineString(s) for s in stretches if len(s) > 1], radius_mm, quad_segs=16)
    return shapely.union_all(shapes)


def rings_of(area: Any, *, within_mm: float = 1e-4) -> list[Array]:
    """The boundary as closed rings (k, 2), first point repeated, with the area on the right of the travel."""
    rings: list[Array] = []
    for contour in area.simplify(within_mm).to_polygons():
        if len(contour) >= 3:
            back = np.asarray(contour, dtype=np.float64)[::-1]
            rings.append(np.vstack([back, back[:1]]))
    rings.sort(key=lambda r: (round(float(r[:, 0].min()), 6), round(float(r[:, 1].min()), 6), len(r)))
    return rings


def clipped(rings: list[Array], zone: Any, *, least_mm: float = 1e-3) -> list[Array]:
    """The parts of closed rings inside a shapely zone; a ring wholly inside stays closed, order and sense kept."""
    import shapely

    pieces: list[Array] = []
    if zone.is_empty:
        return pieces
    shapely.prepare(zone)
    for ring in rings:
        line = shapely.LineString(ring)
        if zone.covers(line):
            pieces.append(ring)
            continue
        if not zone.intersects(line):
            continue
        pieces.extend(_joined(ring, [np.asarray(g.coords) for g in _lines(line.intersection(zone))]))
    return [p for p in pieces if _length(p) > least_mm]


def without(lines: list[Array], zone: Any, *, least_mm: float = 1e-3) -> list[Array]:
    """The parts of open or closed lines outside a shapely zone."""
    import shapely

    pieces: list[Array] = []
    for line in lines:
        cut = shapely.LineString(line).difference(zone)
        found = [np.asarray(g.coords) for g in _lines(cut)]
        pieces.extend(_joined(line, found) if _is_closed(line) else found)
    return [p for p in pieces if _length(p) > least_mm]


def _lines(shape: Any) -> list[Any]:
    if shape.is_empty:
        return []
    if shape.geom_type == "LineString":
        return [shape]
    return [g for part in getattr(shape, "geoms", []) for g in _lines(part)]


def _joined(ring: Array, pieces: list[Array]) -> list[Array]:
    """Pieces of a ring with the two that meet at its first point made one."""
    start = ring[0]
    heads = [k for k, p in enumerate(pieces) if np.allclose(p[0], start, atol=1e-9)]
    tails = [k for k, p in enumerate(pieces) if np.allclose(p[-1], start, atol=1e-9)]
    if heads and tails and heads[0] != tails[0]:
        head, tail = heads[0], tails[0]
        joined = np.vstack([pieces[tail], pieces[head][1:]])
        return [joined, *(p for k, p in enumerate(pieces) if k not in {head, tail})]
    return pieces


def _is_closed(line: Array) -> bool:
    return len(line) > 3 and bool(np.allclose(line[0], line[-1], atol=1e-9))


def is_ring(line: Array) -> bool:
    """True when the line ends where it starts."""
    return _is_closed(line)


def _length(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def length_of(line: Array) -> float:
    """Length of a polyline (n, 2) or (n, 3), mm."""
    return _length(line)


def _signed(ring: Any) -> float:
    x, y = np.asarray(ring)[:, 0], np.asarray(ring)[:, 1]
    return 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def turned_to(ring: Array, near: Array) -> Array:
    """A closed ring begun at its vertex nearest to a point."""
    first = int(np.argmin(((ring[:-1] - near) ** 2).sum(axis=1)))
    body = np.roll(ring[:-1], -first, axis=0)
    return np.vstack([body, body[:1]])
