"""A level's metal taken with limited engagement: the way through it laid on a track, and what it leaves."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.stages.passes.areas import COARSE_MM, area_from, area_of, grown, length_of, nothing, opened
from proveout.stages.passes.clearing import BESIDE_MM, GRAZED_MM, RAMP_TAN, beside, clear
from proveout.stages.passes.engaging import Way, engaged_way
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.task import is_empty
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import TiltView

Array = NDArray[np.float64]

LIFT_MM = 0.3
"""How far the tip is lifted off the floor on its way through what is cleared."""
LIFT_FROM_MM = 4.0
"""Shorter ways are gone at the level."""
OVER_MM = 0.2
"""A helix begins this far above the metal."""
THIN_MM = 0.1
LEAST_RATIO = 0.02
"""Strips narrower than twice the first, and pieces smaller than the second, in squares of the radius, are let stand."""
QUARTER_SEGMENTS = 16
RUN_COUNT = 12


def take_level(
    *,
    view: TiltView,
    track: Track,
    speeds: Speeds,
    z_mm: float,
    obstacle: Any,
    todo: Any,
    standing: Any,
    radius_mm: float,
    engagement_mm: float,
    depth_mm: float,
    thin_mm: float,
) -> None:
    """Lays what takes `todo` away above a height, and takes it from the believed work.

    First the way of limited engagement, then one loop along each strip no wider than the target; where the cutter has
    no room beside its own width, loops in layers so thin that a slot asks for no more.

    standing: all metal above the height that the cutter can reach.
    thin_mm: strips narrower than twice this are let stand.
    """
    pieces = todo.decompose()
    thick = [p for p in pieces if not _is_thin(p, engagement_mm)]
    thin = [p for p in pieces if _is_thin(p, engagement_mm)]
    layers: list[Any] = []
    lap_mm = engagement_mm * depth_mm / (2.0 * radius_mm)
    if thick:
        bulk, here = _joined(thick), track.here
        way = engaged_way(
            obstacle=obstacle, todo=bulk, standing=standing, radius_mm=radius_mm, engagement_mm=engagement_mm,
            here=None if here is None else np.array(here[:2]),
        )  # fmt: skip
        view.effort_count += way.effort_count
        lay(way, view=view, track=track, speeds=speeds, z_mm=z_mm, radius_mm=radius_mm, lap_mm=lap_mm)
        left = left_by(way, todo=bulk, radius_mm=radius_mm)
        view.cut(bulk - left, above_mm=z_mm)
        # tails too narrow for the nodes, and what is more than a ridge along a wall
        tails = opened(left - opened(bulk, 0.75 * way.pitch_mm), thin_mm)
        left = opened(left, max(thin_mm, THIN_MM)) + tails
        for piece in left.decompose():
            if not is_empty(piece, LEAST_RATIO * radius_mm**2):
                (thin if _is_thin(piece, engagement_mm) else layers).append(piece)
    if thin:
        cleared = clear(
            view=view, track=track, speeds=speeds, z_mm=z_mm, obstacle=obstacle, todo=_joined(thin),
            radius_mm=radius_mm, step_mm=engagement_mm,
        )  # fmt: skip
        view.cut(cleared, above_mm=z_mm)
    count = max(1, math.ceil(depth_mm / max(2.0 * lap_mm, 0.1) - 1e-6))
    for piece in sorted(layers, key=lambda p: tuple(round(v, 6) for v in p.bounds())):
        for k in range(count):
            z = z_mm + depth_mm * (count - 1 - k) / count
            cleared = clear(
                view=view, track=track, speeds=speeds, z_mm=z, obstacle=obstacle, todo=piece, radius_mm=radius_mm,
                step_mm=engagement_mm, depth_mm=depth_mm / count,
            )  # fmt: skip
            view.cut(cleared, above_mm=z)


def _is_thin(piece: Any, engagement_mm: float) -> bool:
    """No wider anywhere than the target: one loop along its wall is engaged no wider."""
    return grown(piece, -0.5 * engagement_mm, chord_mm=COARSE_MM).is_empty()


def _joined(pieces: list[Any]) -> Any:
    whole = nothing()
    for piece in pieces:
        whole = whole + piece
    return whole


def lay(
    way: Way, *, view: TiltView, track: Track, speeds: Speeds, z_mm: float, radius_mm: float, lap_mm: float
) -> None:  # fmt: skip
    """Puts a way's stretches on a track at a height, with the entries and the lifts between them.

    lap_mm: most that a ring goes down in a lap.
    """
    for one in way.stretches:
        if one.kind == "cut":
            track.along(one.line, z_mm=z_mm, feed_mm_per_s=speeds.feed_mm_per_s)
        elif one.kind == "helix":
            _wind_down(
                one.line, view=view, track=track, speeds=speeds, z_mm=z_mm, radius_mm=radius_mm, lap_mm=lap_mm
            )  # fmt: skip
        elif one.kind == "jump":
            beside(view=view, track=track, speeds=speeds, z_mm=z_mm, spot=one.line[0], radius_mm=radius_mm)
        else:
            z = z_mm + LIFT_MM if length_of(one.line) > LIFT_FROM_MM else z_mm
            track.along(one.line[:1], z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
            track.along(one.line, z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
            track.along(one.line[-1:], z_mm=z_mm, feed_mm_per_s=speeds.air_mm_per_s)


def _wind_down(
    ring: Array, *, view: TiltView, track: Track, speeds: Speeds, z_mm: float, radius_mm: float, lap_mm: float
) -> None:  # fmt: skip
    """Down along a ring from above the metal, then once round at the height."""
    top = view.top_along(ring, radius_mm=max(radius_mm - GRAZED_MM, radius_mm / 2.0))
    start = max(z_mm, (top if math.isfinite(top) else z_mm) + OVER_MM)
    x, y = (float(v) for v in ring[0])
    beside_top = view.top_at(x_mm=x, y_mm=y, radius_mm=radius_mm + BESIDE_MM)
    track.enter(
        x_mm=x, y_mm=y, z_mm=start, feed_mm_per_s=speeds.plunge_mm_per_s, from_mm=max(start, beside_top) + 0.5,
    )  # fmt: skip
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    drop = min(RAMP_TAN * float(gone[-1]), lap_mm)
    laps = max(1, math.ceil((start - z_mm) / drop - 1e-9))
    for lap in range(laps):
        for place, share in zip(ring[1:], gone[1:] / gone[-1], strict=True):
            height = start + (z_mm - start) * (lap + float(share)) / laps
            track.feed(float(place[0]), float(place[1]), height, speeds.ramp_mm_per_s)
    track.along(ring, z_mm=z_mm, feed_mm_per_s=speeds.feed_mm_per_s)


def left_by(way: Way, *, todo: Any, radius_mm: float) -> Any:
    """What of `todo` the way does not cover, as an area."""
    import shapely

    if not len(way.doubtful):
        return nothing()
    near = shapely.MultiPoint(way.doubtful)
    shapely.prepare(near)
    reach = radius_mm + way.pitch_mm
    shapes = []
    for one in way.stretches:
        if one.kind in ("cut", "helix") and len(one.line) > 1:
            runs = [one.line[k : k + RUN_COUNT + 1] for k in range(0, len(one.line) - 1, RUN_COUNT)]
            shapes.extend(shapely.LineString(r) for r in runs)
    lines = np.array(shapes, dtype=object)
    if len(lines):
        lines = lines[shapely.dwithin(lines, near, reach)]
    covered = area_from(shapely.union_all(shapely.buffer(lines, radius_mm, quad_segs=QUARTER_SEGMENTS)))
    return (_cells(way.doubtful, way.pitch_mm) ^ todo) - grown(covered, 1e-3, chord_mm=COARSE_MM)


def _cells(nodes: Array, pitch_mm: float) -> Any:
    """The squares round nodes of a grid, in runs along y."""
    order = np.lexsort((nodes[:, 1], nodes[:, 0]))
    rows = nodes[order]
    breaks = np.flatnonzero(
        (np.abs(np.diff(rows[:, 0])) > 0.5 * pitch_mm) | (np.diff(rows[:, 1]) > 1.5 * pitch_mm)
    )  # fmt: skip
    first = np.concatenate([[0], breaks + 1])
    last = np.concatenate([breaks, [len(rows) - 1]])
    half = 0.5 * pitch_mm + 1e-4
    low, high = rows[first] - half, rows[last] + half
    return area_of([np.array([[a, b], [c, b], [c, d], [a, d]]) for (a, b), (c, d) in zip(low, high, strict=True)])
