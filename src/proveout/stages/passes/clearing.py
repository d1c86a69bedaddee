"""Clearing an area at one height by loops, farthest from the part first."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.stages.passes.areas import (
    COARSE_MM,
    clipped,
    grown,
    is_ring,
    length_of,
    opened,
    rings_of,
    shape_of,
    turned_to,
)
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import TiltView

Array = NDArray[np.float64]

RAMP_TAN = math.tan(math.radians(3.0))
MARGIN_MM = 0.5
BESIDE_MM = 0.03
"""A rapid move keeps this much from standing metal at its side."""
GRAZED_MM = 0.15
"""Metal no wider than this at a ramp's side does not make the ramp begin higher."""
LOOPS_MAX = 400
DUST_MM = 0.005
"""Strips narrower than twice this between two loops are not worth one more."""
WIDE_RATIO = 0.7
"""A loop that meets metal over more of the cutter's width than this is a slot: it goes in two half depths."""
LEADS_COUNT = 16
ACROSS = np.linspace(-0.96, 0.96, 13)
"""Places across the cutter's leading edge, in radii, at which the metal ahead is looked for."""


class Level(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """One zone at one height. Shapely: metal is where the axis would stand in metal, blocked where it must not go.

    depth_mm: thickness of the metal taken here, 0 for a skim whose width does not matter.
    """

    view: TiltView
    track: Track
    speeds: Speeds
    z_mm: float
    radius_mm: float
    step_mm: float
    depth_mm: float
    todo: Any
    metal: Any
    blocked: Any

    def width_mm(self, line: Array, outer: Any) -> float:
        """Greatest width of metal met along a line; `outer`: the lines that have gone before, as one geometry."""
        import shapely

        spots, ways = sampled(line, self.radius_mm / 2.0)
        left = np.column_stack([-ways[:, 1], ways[:, 0]])
        ahead = np.sqrt(1.0 - ACROSS**2)
        edge = spots[:, None] + self.radius_mm * (ACROSS[:, None] * left[:, None] + ahead[:, None] * ways[:, None])
        met = shapely.contains_xy(self.todo, edge[..., 0].ravel(), edge[..., 1].ravel())
        if outer is not None and met.any():
            met[met] = ~shapely.dwithin(outer, shapely.points(edge.reshape(-1, 2)[met]), self.radius_mm)
        return 2.0 * self.radius_mm * float(met.reshape(edge.shape[:2]).mean(axis=1).max())


def clear(
    *,
    view: TiltView,
    track: Track,
    speeds: Speeds,
    z_mm: float,
    obstacle: Any,
    todo: Any,
    radius_mm: float,
    step_mm: float,
    depth_mm: float = 0.0,
    chord_mm: float = COARSE_MM,
) -> Any:
    """Lays loops that clear `todo` at a height with the tip kept out of `obstacle`.

    Args:     obstacle, todo: areas; todo must be reachable past the obstacle.   step_mm: between loops.
              depth_mm: thickness of the metal, 0 for a skim.
    Returns:  the area really cleared, inside todo.
    """
    import shapely

    zone = grown(todo, radius_mm + MARGIN_MM, chord_mm=COARSE_MM)
    blocked = shape_of(grown(obstacle, -0.02, chord_mm=COARSE_MM))
    shapely.prepare(blocked)
    cleared = todo
    obstacle = obstacle.simplify(chord_mm / 4.0)
    edges: dict[int, Any] = {}
    swept: dict[int, Any] = {}
    pieces = sorted(zone.decompose(), key=lambda p: tuple(round(v, 6) for v in p.bounds()))
    for piece in pieces:
        shape = shape_of(piece)
        local = todo ^ piece
        if local.is_empty():
            continue
        loops: list[list[Array]] = []
        for k in range(LOOPS_MAX):
            if k not in edges:
                edges[k] = rings_of(grown(obstacle, k * step_mm, chord_mm=chord_mm), within_mm=chord_mm / 2.0)
                swept[k] = grown(obstacle, k * step_mm + radius_mm, chord_mm=COARSE_MM)
            if k and step_mm > radius_mm:
                loops.extend(_between(obstacle, local, shape, k=k, step_mm=step_mm, radius_mm=radius_mm))
            loops.append(clipped(edges[k], shape, least_mm=0.05))
            if (local - swept[k]).is_empty():
                break
        level = Level(
            view=view,
            track=track,
            speeds=speeds,
            z_mm=z_mm,
            radius_mm=radius_mm,
            step_mm=step_mm,
            depth_mm=depth_mm,
            todo=shape_of(local),
            metal=shape_of(grown(local, radius_mm - 0.05, chord_mm=COARSE_MM)),
            blocked=blocked,
        )
        for ring in _lay(level, loops):
            cleared = cleared - grown(_inside(ring), radius_mm, chord_mm=COARSE_MM)
    return cleared


def _between(obstacle: Any, local: Any, shape: Any, *, k: int, step_mm: float, radius_mm: float) -> list[list[Array]]:
    """A loop half a step out from loop k - 1 where loop k is not there to take what that one left."""
    missed = local - grown(obstacle, (k - 1) * step_mm + radius_mm, chord_mm=COARSE_MM)
    if missed.is_empty():
        return []
    whole = grown(local, step_mm + radius_mm, chord_mm=COARSE_MM)
    taken = grown(whole - grown(obstacle, k * step_mm, chord_mm=COARSE_MM), radius_mm, chord_mm=COARSE_MM)
    missed = opened(missed - taken, DUST_MM)
    if missed.is_empty():
        return []
    ring = rings_of(grown(obstacle, (k - 0.5) * step_mm, chord_mm=COARSE_MM))
    near = shape_of(grown(missed, radius_mm, chord_mm=COARSE_MM)).intersection(shape)
    return [clipped(ring, near, least_mm=0.05)]


def _inside(ring: Array) -> Any:
    from proveout.stages.passes.areas import area_of

    return area_of([ring[:-1]]) + area_of([ring[:-1][::-1]])


def _lay(level: Level, loops: list[list[Array]]) -> list[Array]:
    """Lays the loops of one connected zone; returns the rings too small to go down in."""
    import shapely

    shapely.prepare(level.metal)
    shapely.prepare(level.todo)
    missed: list[Array] = []
    is_first = True
    outer = None
    for k in range(len(loops) - 1, -1, -1):
        left = list(loops[k])
        while left:
            here = level.track.here
            spot = np.array(here[:2]) if here is not None else np.zeros(2)
            pick = min(range(len(left)), key=lambda i: _gap(left[i], spot))
            line = left.pop(pick)
            if level.todo.distance(shapely.LineString(line)) > level.radius_mm:
                continue
            if is_ring(line):
                line = turned_to(line, spot)
                if length_of(line) < 0.6 * level.radius_mm and not _is_outside(level, line):
                    if k == 0 or len(loops[k - 1]) == 0:
                        missed.append(line)
                    continue
            _run(level, line, outer, may_link=not is_first)
            is_first = False
        if loops[k]:
            outer = shapely.MultiLineString([line for line in loops[k] if len(line) > 1])
            shapely.prepare(outer)
    return missed


def _run(level: Level, line: Array, outer: Any, *, may_link: bool) -> None:
    """Lays one loop at its height, a slot in two half depths."""
    track, speeds, z = level.track, level.speeds, level.z_mm
    wide = level.depth_mm > 0.0 and level.width_mm(line, outer) > WIDE_RATIO * 2.0 * level.radius_mm
    if not wide:
        line = _enter(level, line, z, may_link=may_link, drop_mm=math.inf)
        track.along(line, z_mm=z, feed_mm_per_s=speeds.feed_mm_per_s)
        return
    half = level.depth_mm / 2.0
    line = _enter(level, line, z + half, may_link=False, drop_mm=half)
    track.along(line, z_mm=z + half, feed_mm_per_s=speeds.slot_mm_per_s)
    if is_ring(line):
        _ramp(track, line, z, speeds.ramp_mm_per_s, half)
    else:
        line = _enter(level, line[::-1], z, may_link=False, drop_mm=half)
    track.along(line, z_mm=z, feed_mm_per_s=speeds.slot_mm_per_s)


def _enter(level: Level, line: Array, z: float, *, may_link: bool, drop_mm: float) -> Array:
    """Brings the tip to a line's start at a height, out of the air where it can; returns the line as it must be run."""
    track, speeds, here = level.track, level.speeds, level.track.here
    if may_link and here is not None and abs(here[2] - z) < 1e-3:
        spot = np.array(here[:2])
        if _may_link(spot, line[0], level.step_mm, level.metal, level.blocked):
            track.feed(float(line[0, 0]), float(line[0, 1]), z, speeds.feed_mm_per_s)
            return line
    if _is_outside(level, line):
        beside(view=level.view, track=track, speeds=speeds, z_mm=z, spot=line[0], radius_mm=level.radius_mm)
        return line
    if is_ring(line):
        led = _lead(level, line)
        if led is not None:
            arc, ring = led
            beside(view=level.view, track=track, speeds=speeds, z_mm=z, spot=arc[0], radius_mm=level.radius_mm)
            track.along(arc, z_mm=z, feed_mm_per_s=speeds.feed_mm_per_s)
            return ring
    down(view=level.view, track=track, speeds=speeds, z_mm=z, line=line, radius_mm=level.radius_mm, drop_mm=drop_mm)
    return line


def _is_outside(level: Level, line: Array) -> bool:
    """The line's start is clear of the metal to be cut."""
    import shapely

    return bool(level.metal.distance(shapely.Point(line[0])) > 0.0)


def _lead(level: Level, ring: Array) -> tuple[Array, Array] | None:
    """A quarter circle out of the air onto a ring, and the ring begun where it meets it; None when there is no air."""
    import shapely

    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    for share in np.arange(LEADS_COUNT) / LEADS_COUNT:
        k = int(np.searchsorted(gone, share * gone[-1], side="right")) - 1
        way = ring[k + 1] - ring[k]
        start = ring[k] + way * (share * gone[-1] - gone[k]) / max(gone[k + 1] - gone[k], 1e-12)
        for reach in (1.5, 1.0, 0.6):
            lead = arc(start, way, reach * level.radius_mm, into=True)
            line = shapely.LineString(lead)
            if level.metal.distance(shapely.Point(lead[0])) > 0.0 and not level.blocked.intersects(line):
                return lead, np.vstack([start, ring[k + 1 : -1], ring[: k + 1], start])
    return None


def arc(point: Array, direction: Array, reach: float, *, into: bool) -> Array:
    """A quarter circle that meets a line at a point tangentially, on the line's left."""
    along = direction / max(float(np.linalg.norm(direction)), 1e-12)
    left = np.array([-along[1], along[0]])
    centre = point + reach * left
    turns = np.linspace(math.pi / 2.0, 0.0, 7) if into else np.linspace(0.0, math.pi / 2.0, 7)
    sense = -1.0 if into else 1.0
    return np.array([centre - reach * math.cos(t) * left + sense * reach * math.sin(t) * along for t in turns])


def sampled(line: Array, apart_mm: float) -> tuple[Array, Array]:
    """Places (n, 2) along a line at most that far apart, ends included, and the unit directions there."""
    way = np.diff(line, axis=0)
    length = np.linalg.norm(way, axis=1)
    gone = np.concatenate([[0.0], np.cumsum(length)])
    count = max(2, math.ceil(float(gone[-1]) / apart_mm) + 1)
    at = np.linspace(0.0, float(gone[-1]), count)
    k = np.clip(np.searchsorted(gone, at, side="right") - 1, 0, len(way) - 1)
    unit = way / np.maximum(length, 1e-12)[:, None]
    return line[k] + (at - gone[k])[:, None] * unit[k], unit[k]


def _gap(line: Array, spot: Array) -> float:
    if is_ring(line):
        return float(((line - spot) ** 2).sum(axis=1).min())
    return float(((line[0] - spot) ** 2).sum())


def _may_link(start: Array, end: Array, step_mm: float, metal: Any, blocked: Any) -> bool:
    import shapely

    length = float(np.linalg.norm(end - start))
    if length < 1e-6:
        return True
    line = shapely.LineString([start, end])
    if blocked.intersects(line):
        return False
    return length <= 1.7 * step_mm + 0.2 or not metal.intersects(line)


def beside(*, view: TiltView, track: Track, speeds: Speeds, z_mm: float, spot: Array, radius_mm: float) -> None:
    """Goes down at a place that is clear of what is to be cut: by rapid in open air, by feed beside standing metal."""
    x, y = float(spot[0]), float(spot[1])
    top = view.top_at(x_mm=x, y_mm=y, radius_mm=radius_mm + BESIDE_MM)
    if top <= z_mm + 1e-6:
        track.enter(x_mm=x, y_mm=y, z_mm=z_mm, feed_mm_per_s=speeds.air_mm_per_s)
        return
    touches = view.top_at(x_mm=x, y_mm=y, radius_mm=radius_mm - BESIDE_MM) > z_mm + 1e-6
    feed = speeds.plunge_mm_per_s if touches else speeds.ramp_mm_per_s
    track.enter(x_mm=x, y_mm=y, z_mm=z_mm, feed_mm_per_s=feed, from_mm=top + 0.5)


def down(
    *,
    view: TiltView,
    track: Track,
    speeds: Speeds,
    z_mm: float,
    line: Array,
    radius_mm: float,
    drop_mm: float = math.inf,
) -> None:
    """Ramps down along a line at no more than 3 degrees, from just above the metal, ending at the line's start.

    drop_mm: most that one lap falls.  A skin of metal at the cutter's side is passed by feed, before the ramp.
    """
    part = line if is_ring(line) else _first(line, 30.0)
    top = view.top_along(part, radius_mm=max(radius_mm - GRAZED_MM, radius_mm / 2.0))
    start = max(z_mm, (top if math.isfinite(top) else z_mm) + 0.2)
    beside_top = view.top_at(x_mm=float(part[0, 0]), y_mm=float(part[0, 1]), radius_mm=radius_mm + BESIDE_MM)
    track.enter(
        x_mm=float(part[0, 0]),
        y_mm=float(part[0, 1]),
        z_mm=start,
        feed_mm_per_s=speeds.plunge_mm_per_s,
        from_mm=max(start, beside_top) + 0.5,
    )
    _ramp(track, part, z_mm, speeds.ramp_mm_per_s, drop_mm)
    here = track.here
    if here is not None and np.hypot(here[0] - line[0, 0], here[1] - line[0, 1]) > 1e-6:
        track.feed(float(line[0, 0]), float(line[0, 1]), z_mm, speeds.ramp_mm_per_s)


def _ramp(track: Track, part: Array, z_mm: float, feed_mm_per_s: float, drop_mm: float) -> None:
    """Falls along a ring, or to and fro along a line, from where the tip stands down to a height."""
    lap = part if is_ring(part) else np.vstack([part, part[::-1][1:]])
    slope = min(RAMP_TAN, drop_mm / max(length_of(lap), 1e-6))
    here = track.here
    height = z_mm if here is None else here[2]
    while height > z_mm + 1e-9:
        for a, b in pairwise(lap):
            height = max(z_mm, height - slope * float(np.linalg.norm(b - a)))
            track.feed(float(b[0]), float(b[1]), height, feed_mm_per_s)


def _first(line: Array, length_mm: float) -> Array:
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    gone = np.concatenate([[0.0], np.cumsum(steps)])
    if gone[-1] <= length_mm:
        return line
    k = int(np.searchsorted(gone, length_mm))
    share = (length_mm - gone[k - 1]) / steps[k - 1]
    return np.vstack([line[:k], line[k - 1] + share * (line[k] - line[k - 1])])
