"""Finishing walls: loops along the target's shadow, down to each wall's lower end."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import (
    COARSE_MM,
    around,
    clipped_beside,
    grown,
    is_ring,
    length_of,
    nothing,
    rings_of,
    shape_of,
    swath_of,
)
from proveout.stages.passes.clearing import arc, beside, down
from proveout.stages.passes.pacing import bent_most_mm
from proveout.stages.passes.roughing import OVERRUN_MM, WALL_MM
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.swift import run_swiftly
from proveout.stages.passes.task import SPENT, Task, feature_of
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import OVERLAP_MM, TiltView

Array = NDArray[np.float64]

NEAR_MM = 0.03
EFFORT_A_POINT = 30
"""What a point of a wall's outline costs here, in triangles of the work gone through."""
DONE_RATIO = 0.98
WALL_RATIO = 4.0
"""Diameters of wall taken in one step when nothing limits it; the flute length usually does."""
LEAD_MOST_MM = 6.0
LEADS_MM = (2.0, 1.0, 0.6)
"""Radii of the arc that leads in, tried in this order: a short one meets more metal than the pass behind it."""
WIDER_MM = 0.1
"""Metal so much wider than what roughing leaves is still met swiftly: ridges and the cutter's own path."""
BETWEEN_MM = 1.5
"""Height between extra loops where a wall's lower end is not level."""


def finish_walls(task: Task, *, cutter: Cutter) -> None:
    """Finishes what this cutter reaches of the promised walls; marks the faces whose whole length is cut."""
    import shapely

    view, radius = task.view, cutter.diameter_mm / 2.0
    facets = task.open_facets("wall")
    if not facets:
        return
    foot = {f.index: foot_of(view, f) for f in facets}
    left = dict(foot)
    loops: list[tuple[float, Array, float]] = []
    for is_extra, height in _heights(view, facets):
        task.check(f"walls at {height:.2f}")
        group = [f for f in facets if float(f.low_mm[2]) > height - 2e-3 or (is_extra and float(f.high_mm[2]) > height)]
        group = [f for f in group if not left[f.index].is_empty]
        if not group or task.is_spent:
            continue
        lines = shapely.union_all([left[f.index] for f in group])
        rings = rings_of(view.obstacle(height, cutter=cutter, allowance_mm=0.0))
        view.effort_count += EFFORT_A_POINT * (sum(len(r) for r in rings) + int(shapely.get_num_coordinates(lines)))
        pieces = clipped_beside(rings, lines, radius + NEAR_MM, least_mm=0.02)
        pieces = _standing_free(view, cutter, height, pieces)
        if not pieces:
            continue
        swept = shapely.union_all([around(shapely.LineString(p), radius + NEAR_MM) for p in pieces])
        top = max(float(f.high_mm[2]) for f in group)
        loops.extend((height, piece, top) for piece in pieces)
        for facet in group:
            if not is_extra:
                left[facet.index] = left[facet.index].difference(swept)
    step = 0.95 * cutter.flute_length_mm
    step = min(step, task.limit("wall_ratio", cutter, WALL_RATIO) * cutter.diameter_mm)
    tallest = max((t - h for h, _, t in loops), default=0.0)
    track, speeds = task.track(), task.speeds(cutter, limit="wall_feed_ratio")
    if tallest > 0.0:
        bent, is_sized = bent_most_mm(task.ids(facets), task.widths_mm, left_mm=WALL_MM)
        speeds, step = task.pacer(cutter).wall(
            tall_mm=tallest, step_mm=step, radial_mm=WALL_MM, wide_mm=WALL_MM + WIDER_MM, bent_most_mm=bent,
            may_divide=is_sized,
        )  # fmt: skip
    gone = Gone()
    for height, line, top in sorted(loops, key=lambda entry: -entry[0]):
        if task.is_spent:
            break
        for z in _steps(height, top, step):
            _lay(view, track, speeds, cutter, z, line)
        swath = swath_of([line], radius)
        view.cut(swath, above_mm=height, below_mm=gone.above(swath, height))
    cut = []
    for facet in facets:
        whole, rest = float(foot[facet.index].length), float(left[facet.index].length)
        if task.is_spent:
            task.reasons[task.face_ids[facet.index]] = SPENT
        elif whole <= 0.0 or 1.0 - rest / whole >= DONE_RATIO or rest < 0.05:
            task.done.add(facet.index)
            task.reasons.pop(task.face_ids[facet.index], None)
            cut.append(facet)
        else:
            task.reasons[task.face_ids[facet.index]] = (
                f"{rest:.1f} mm of the wall's {whole:.1f} mm not reached by Ø{cutter.diameter_mm:g}"
                f" down to its lower end (stick-out {cutter.stick_out_mm:g} mm)"
            )
    ids = task.ids(cut)
    task.add(
        kind="finish wall",
        cutter=cutter,
        feature=feature_of(ids, "walls"),
        face_ids=ids,
        track=track,
        speeds=speeds,
        radial_mm=WALL_MM,
        axial_mm=min(tallest, step),
    )


class Gone:
    """What loops have cleared of the believed work, the higher ones first.

    A loop under another runs along it but for micrometres. Where it would take away the air that the higher one left
    once more, the two nearly equal walls would cut each other, and the triangles of the work grow by half each time.
    """

    def __init__(self) -> None:
        self._height, self._area = math.inf, nothing()
        self._over_height, self._over_area = math.inf, nothing()

    def above(self, swath: Any, height_mm: float) -> float | None:
        """The height above which nothing is left over a loop's swath, None when that is not known."""
        if height_mm < self._height:
            self._over_height, self._over_area = self._height, self._area
            self._height, self._area = height_mm, nothing()
        self._area = self._area + swath
        if (grown(swath, -NEAR_MM, chord_mm=COARSE_MM) - self._over_area).is_empty():
            return self._over_height + OVERLAP_MM
        return None


def foot_of(view: TiltView, facet: Facet) -> Any:
    """A wall seen along the cutter: its line."""
    import shapely

    corners = view.points[view.triangles[facet.rows]][:, :, :2]
    lines = []
    for triangle in corners:
        pairs = [(0, 1), (1, 2), (2, 0)]
        a, b = max(pairs, key=lambda p: float(((triangle[p[0]] - triangle[p[1]]) ** 2).sum()))
        if float(((triangle[a] - triangle[b]) ** 2).sum()) > 1e-8:
            ends = sorted([tuple(np.round(triangle[a], 5)), tuple(np.round(triangle[b], 5))])
            lines.append(shapely.LineString(ends))
    return shapely.union_all(lines) if lines else shapely.LineString()


def lowest_of(view: TiltView, low_mm: float) -> float:
    """How deep a pass may run below a lower end: into waste, but never to jaws or seat."""
    floor = max(view.lowest_mm, view.jaw_low_mm) if view.is_upright else low_mm - OVERRUN_MM
    return max(low_mm - OVERRUN_MM, min(low_mm, floor))


def _heights(view: TiltView, facets: list[Facet]) -> list[tuple[bool, float]]:
    """Heights to try, deepest first: below each lower end, at it, then extra ones up the wall."""
    plain: set[float] = set()
    extra: set[float] = set()
    for facet in facets:
        low, high = float(facet.low_mm[2]), float(facet.high_mm[2])
        plain.add(round(lowest_of(view, low), 5))
        plain.add(round(low, 5))
        count = min(20, math.ceil((high - low) / BETWEEN_MM))
        extra.update(round(low + (high - low) * k / count, 5) for k in range(1, count))
    return [(False, z) for z in sorted(plain)] + [(True, z) for z in sorted(extra - plain)]


def _steps(height: float, top: float, step: float) -> list[float]:
    count = max(1, math.ceil((top - height) / step - 1e-9))
    return [height + (top - height) * (count - 1 - k) / count for k in range(count)]


def _standing_free(view: TiltView, cutter: Cutter, height: float, pieces: list[Array]) -> list[Array]:
    """Drops pieces of boundary that jaws or holder made, not the target."""
    import shapely

    held = view.held_off(height, cutter=cutter, radius_mm=cutter.diameter_mm / 2.0)
    if held.is_empty():
        return pieces
    zone = shape_of(grown(held, 0.01))
    found: list[Array] = []
    for piece in pieces:
        line = shapely.LineString(piece)
        if not zone.intersects(line):
            found.append(piece)
            continue
        rest = line.difference(zone)
        found.extend(np.asarray(g.coords) for g in shapely.get_parts(rest) if g.length > 0.02)
    return found


def _lay(view: TiltView, track: Track, speeds: Speeds, cutter: Cutter, z: float, line: Array) -> None:
    import shapely

    radius = cutter.diameter_mm / 2.0
    blocked = shape_of(grown(view.obstacle(z, cutter=cutter, allowance_mm=0.0), -0.02))
    shapely.prepare(blocked)
    metal = shape_of(grown(view.metal(z), radius - 0.03))
    shapely.prepare(metal)
    ring = is_ring(line)
    starts = [0]
    if ring:
        gone = np.linalg.norm(np.diff(line, axis=0), axis=1)
        starts = [int(k) for k in np.argsort(-gone, kind="stable")[:6]]
    for first in starts:
        path = line
        if ring:
            middle = (line[first] + line[first + 1]) / 2.0
            path = np.vstack([middle, line[first + 1 : -1], line[: first + 1], middle])
        for reach in (min(radius, LEAD_MOST_MM), *LEADS_MM):
            lead = arc(path[0], path[1] - path[0], reach, into=True)
            if blocked.intersects(shapely.LineString(lead)) or metal.contains(shapely.Point(lead[0])):
                continue
            _enter_by(view, track, speeds, z, lead, path, blocked, reach, radius)
            return
    if ring or length_of(line) > 1.0:
        down(view=view, track=track, speeds=speeds, z_mm=z, line=line, radius_mm=radius)
        _run(view, track, speeds, z, line, radius)
        end = arc(line[-1], line[-1] - line[-2], 0.6, into=False)
        if not blocked.intersects(shapely.LineString(end)):
            track.along(end, z_mm=z, feed_mm_per_s=speeds.feed_mm_per_s)
    elif not metal.contains(shapely.Point(line[0])):
        beside(view=view, track=track, speeds=speeds, z_mm=z, spot=line[0], radius_mm=radius)
        _run(view, track, speeds, z, line, radius)
    else:
        down(view=view, track=track, speeds=speeds, z_mm=z, line=line, radius_mm=radius)
        _run(view, track, speeds, z, line, radius)


def _run(view: TiltView, track: Track, speeds: Speeds, z: float, line: Array, radius: float) -> None:
    run_swiftly(
        track, speeds, line, z_mm=z, metal=view.metal(z), radius_mm=radius, wide_mm=WALL_MM + WIDER_MM
    )  # fmt: skip


def _enter_by(
    view: TiltView,
    track: Track,
    speeds: Speeds,
    z: float,
    lead: Array,
    path: Array,
    blocked: Any,
    reach: float,
    radius: float,
) -> None:
    import shapely

    beside(view=view, track=track, speeds=speeds, z_mm=z, spot=lead[0], radius_mm=radius)
    track.along(lead, z_mm=z, feed_mm_per_s=speeds.ramp_mm_per_s)
    _run(view, track, speeds, z, path, radius)
    end = arc(path[-1], path[-1] - path[-2], reach, into=False)
    if not blocked.intersects(shapely.LineString(end)):
        track.along(end, z_mm=z, feed_mm_per_s=speeds.feed_mm_per_s)
