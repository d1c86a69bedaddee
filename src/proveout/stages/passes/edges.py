"""Breaking edges: flat and round chamfers whose slope is the edge-break cutter's own."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import around, clipped_beside, is_ring, rings_of, shape_of, without
from proveout.stages.passes.clearing import arc
from proveout.stages.passes.task import Task, feature_of
from proveout.stages.passes.view import TiltView

Array = NDArray[np.float64]

UNDER_MM = (0.5, 0.3, 0.15, 0.08)
"""How far the tip stands below the chamfer's lower edge: the first that fits is taken."""
GOUGE_MM = 0.004
STEP_MM = 0.008
"""Growth of the cutter's radius from one look at the target to the next, where it cuts."""
SLOPE_RATIO = 0.004
DONE_RATIO = 0.97


def matches(facet: Facet, cutter: Cutter) -> bool:
    """The facet lies at the cutter's flank angle and is no longer than its flank."""
    half = cutter.tip_angle_rad / 2.0
    tall = float(facet.high_mm[2] - facet.low_mm[2])
    flank = (cutter.diameter_mm - cutter.tip_diameter_mm) / 2.0 / math.tan(half)
    loose = SLOPE_RATIO if facet.is_flat else 0.02
    fits = facet.seen in ("inclined", "cone") and tall + UNDER_MM[-1] < flank
    return fits and abs(facet.lean_middle - math.sin(half)) < loose


def break_edges(task: Task, *, cutter: Cutter) -> None:
    """Cuts the promised chamfers that match this cutter; marks those whose whole lower edge is run along."""
    import shapely

    facets = [f for f in task.open_facets("inclined", "cone") if matches(f, cutter)]
    groups: dict[tuple[float, float], list[Facet]] = {}
    for facet in facets:
        groups.setdefault((round(float(facet.low_mm[2]), 3), round(float(facet.high_mm[2]), 3)), []).append(facet)
    speeds = task.speeds(cutter)
    for (low, high), group in sorted(groups.items(), reverse=True):
        task.check(f"edges at {high:.2f}")
        foot = {f.index: _lower_edge(task.view, f) for f in group}
        left = dict(foot)
        track = task.track()
        for under in UNDER_MM:
            rest = shapely.union_all(list(left.values()))
            if rest.is_empty:
                break
            swept = _run(task, track, cutter, speeds.feed_mm_per_s, low, high, under, rest)
            left = {k: line.difference(swept) for k, line in left.items()}
        cut: list[Facet] = []
        for facet in group:
            whole, missing = float(foot[facet.index].length), float(left[facet.index].length)
            if whole > 0.0 and 1.0 - missing / whole >= DONE_RATIO:
                task.done.add(facet.index)
                task.reasons.pop(task.face_ids[facet.index], None)
                cut.append(facet)
            else:
                task.reasons[task.face_ids[facet.index]] = (
                    f"{missing:.1f} mm of the edge's {whole:.1f} mm are not free for {cutter.id}"
                )
        ids = task.ids(cut)
        task.add(
            kind="break edge",
            cutter=cutter,
            feature=feature_of(ids, f"edges {high:.3f}"),
            face_ids=ids,
            track=track,
            speeds=speeds,
            radial_mm=(high - low) * math.tan(cutter.tip_angle_rad / 2.0),
            axial_mm=high - low,
        )


def _lower_edge(view: TiltView, facet: Facet) -> Any:
    import shapely

    low = float(facet.low_mm[2])
    lines = []
    for triangle in view.points[view.triangles[facet.rows]]:
        at = triangle[triangle[:, 2] < low + 2e-3]
        if len(at) == 2 and float(((at[0] - at[1]) ** 2).sum()) > 1e-10:
            lines.append(shapely.LineString(sorted([tuple(np.round(at[0, :2], 5)), tuple(np.round(at[1, :2], 5))])))
    return shapely.union_all(lines) if lines else shapely.LineString()


def _run(task: Task, track: Any, cutter: Cutter, feed: float, low: float, high: float, under: float, edges: Any) -> Any:
    """Runs along what it can of the edges with the tip `under` below them; returns the area it served."""
    import shapely

    view = task.view
    half = cutter.tip_angle_rad / 2.0
    slope, tip = math.tan(half), cutter.tip_diameter_mm / 2.0
    flank = (cutter.diameter_mm / 2.0 - tip) / slope
    z, radius = low - under, tip + under * slope
    nothing = shapely.Polygon()
    if flank < under + high - low or (view.is_upright and z < view.lowest_mm):
        return nothing
    rings = rings_of(view.grown_shadow(low, radius))
    pieces = clipped_beside(rings, edges, radius + 0.02, least_mm=0.05)
    blocked = _blocked(view, cutter, z, first=under, last=under + high - low)
    pieces = without(pieces, blocked, least_mm=0.05)
    if not pieces:
        return nothing
    shapely.prepare(blocked)
    speeds = task.speeds(cutter)
    for line in pieces:
        path = line
        if is_ring(line):
            longest = int(np.argmax(np.linalg.norm(np.diff(line, axis=0), axis=1)))
            middle = (line[longest] + line[longest + 1]) / 2.0
            path = np.vstack([middle, line[longest + 1 : -1], line[: longest + 1], middle])
        lead = path[:1]
        for reach in (2.0, 1.0, 0.5):
            curve = arc(path[0], path[1] - path[0], reach, into=True)
            if not blocked.intersects(shapely.LineString(curve)):
                lead = curve
                break
        spot = lead[0]
        top = view.top_at(x_mm=float(spot[0]), y_mm=float(spot[1]), radius_mm=cutter.diameter_mm / 2.0)
        start = max(z, top if math.isfinite(top) else z) + 1.0
        track.enter(
            x_mm=float(spot[0]), y_mm=float(spot[1]), z_mm=z, feed_mm_per_s=speeds.plunge_mm_per_s, from_mm=start
        )
        track.along(lead, z_mm=z, feed_mm_per_s=speeds.ramp_mm_per_s)
        track.along(path, z_mm=z, feed_mm_per_s=feed)
    return shapely.union_all([around(shapely.LineString(p), radius + 0.03) for p in pieces])


def _blocked(view: TiltView, cutter: Cutter, z: float, *, first: float, last: float) -> Any:
    """Where the tip may not stand at a height. first, last: heights above the tip between which it cuts the chamfer.

    There the target has the flank's own slope and is looked at in steps so fine that what lies between two of them is
    gouged by less than a hundredth; below and above, each step counts with the radius at its upper end.
    """
    half = cutter.tip_angle_rad / 2.0
    slope, tip = math.tan(half), cutter.tip_diameter_mm / 2.0
    flank = (cutter.diameter_mm / 2.0 - tip) / slope

    def radius_mm(height: float) -> float:
        return min(tip + height * slope, cutter.diameter_mm / 2.0)

    count = math.ceil((last - first) * slope / STEP_MM)
    fine = [first + (last - first) * k / count for k in range(count)]
    rough = [0.0, first / 2.0, first]
    over = [last, *(v for k in range(1, 9) if (v := flank * k / 8.0) > last + 1e-6)]
    over += [flank, max(flank, cutter.flute_length_mm)]
    looks = [(h, radius_mm(h)) for h in fine]
    looks += [(a, radius_mm(b)) for a, b in [*pairwise(rough), *pairwise(over)] if b > a + 1e-9]
    looks.append((over[-1], radius_mm(over[-1])))
    area = view.held_off(z, cutter=cutter, radius_mm=cutter.diameter_mm / 2.0)
    for height, radius in looks:
        area = area + view.grown_shadow(z + height, max(radius - GOUGE_MM, 0.0))
    return shape_of(area)
