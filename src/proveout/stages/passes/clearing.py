"""Clearing an area at one height by loops, farthest from the part first."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.stages.passes.areas import COARSE_MM, clipped, grown, is_ring, length_of, rings_of, shape_of, turned_to
from proveout.stages.passes.speeds import SLOT_RATIO, Speeds
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import TiltView

Array = NDArray[np.float64]

RAMP_TAN = math.tan(math.radians(3.0))
MARGIN_MM = 0.5
BESIDE_MM = 0.03
"""A rapid move keeps this much from standing metal at its side."""
LOOPS_MAX = 400


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
    chord_mm: float = COARSE_MM,
) -> Any:
    """Lays loops that clear `todo` at a height with the tip kept out of `obstacle`.

    Args:     obstacle, todo: areas; todo must be reachable past the obstacle.   step_mm: between loops.
    Returns:  the area really cleared, inside todo.
    """
    zone = grown(todo, radius_mm + MARGIN_MM, chord_mm=COARSE_MM)
    blocked = shape_of(grown(obstacle, -0.02, chord_mm=COARSE_MM))
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
            loops.append(clipped(edges[k], shape, least_mm=0.05))
            if (local - swept[k]).is_empty():
                break
        missed = _lay(view, track, speeds, z_mm, loops, blocked, local, radius_mm, step_mm)
        for ring in missed:
            cleared = cleared - grown(_inside(ring), radius_mm, chord_mm=COARSE_MM)
    return cleared


def _inside(ring: Array) -> Any:
    from proveout.stages.passes.areas import area_of

    return area_of([ring[:-1]]) + area_of([ring[:-1][::-1]])


def _lay(
    view: TiltView,
    track: Track,
    speeds: Speeds,
    z_mm: float,
    loops: list[list[Array]],
    blocked: Any,
    todo: Any,
    radius_mm: float,
    step_mm: float,
) -> list[Array]:
    """Lays the loops of one connected zone; returns the rings too small to go down in."""
    import shapely

    metal = shape_of(grown(todo, radius_mm - 0.05, chord_mm=COARSE_MM))
    shapely.prepare(metal)
    shapely.prepare(blocked)
    missed: list[Array] = []
    is_first = True
    last = len(loops) - 1
    for k in range(last, -1, -1):
        left = list(loops[k])
        while left:
            here = track.here
            spot = np.array(here[:2]) if here is not None else np.zeros(2)
            pick = min(range(len(left)), key=lambda i: _gap(left[i], spot))
            line = left.pop(pick)
            ring = is_ring(line)
            if ring:
                line = turned_to(line, spot)
            at_level = here is not None and abs(here[2] - z_mm) < 1e-3 and not is_first
            if at_level and _may_link(spot, line[0], step_mm, metal, blocked):
                track.feed(float(line[0, 0]), float(line[0, 1]), z_mm, speeds.feed_mm_per_s)
            elif metal.distance(shapely.Point(line[0])) > 0.0:
                beside(view=view, track=track, speeds=speeds, z_mm=z_mm, spot=line[0], radius_mm=radius_mm)
            else:
                if ring and length_of(line) < 0.6 * radius_mm:
                    if k == 0 or len(loops[k - 1]) == 0:
                        missed.append(line)
                    continue
                down(view=view, track=track, speeds=speeds, z_mm=z_mm, line=line, radius_mm=radius_mm)
            slot = SLOT_RATIO if (is_first and ring) else 1.0
            track.along(line, z_mm=z_mm, feed_mm_per_s=slot * speeds.feed_mm_per_s)
            is_first = False
    return missed


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


def down(*, view: TiltView, track: Track, speeds: Speeds, z_mm: float, line: Array, radius_mm: float) -> None:
    """Ramps down along a line at no more than 3 degrees, from just above the metal, ending at the line's start."""
    reach = max(length_of(line), 1e-6)
    part = line if is_ring(line) else _first(line, min(reach, 30.0))
    top = view.top_along(part, radius_mm=radius_mm)
    start = max(z_mm, (top if math.isfinite(top) else z_mm) + 0.2)
    track.enter(
        x_mm=float(part[0, 0]),
        y_mm=float(part[0, 1]),
        z_mm=start,
        feed_mm_per_s=speeds.plunge_mm_per_s,
        from_mm=start + 1.0,
    )
    height = start
    lap = part if is_ring(part) else np.vstack([part, part[::-1][1:]])
    while height > z_mm + 1e-9:
        for a, b in pairwise(lap):
            height = max(z_mm, height - RAMP_TAN * float(np.linalg.norm(b - a)))
            track.feed(float(b[0]), float(b[1]), height, speeds.ramp_mm_per_s)
    here = track.here
    if here is not None and np.hypot(here[0] - line[0, 0], here[1] - line[0, 1]) > 1e-6:
        track.feed(float(line[0, 0]), float(line[0, 1]), z_mm, speeds.ramp_mm_per_s)


def _first(line: Array, length_mm: float) -> Array:
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    gone = np.concatenate([[0.0], np.cumsum(steps)])
    if gone[-1] <= length_mm:
        return line
    k = int(np.searchsorted(gone, length_mm))
    share = (length_mm - gone[k - 1]) / steps[k - 1]
    return np.vstack([line[:k], line[k - 1] + share * (line[k] - line[k - 1])])
