"""Finishing curved faces with a ball along level contours, by exact contact, checked against the whole target."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.geometry.mesh import face_samples
from proveout.geometry.nearest import Nearness
from proveout.model.shop import Cutter
from proveout.stages.passes.shadows import Memory
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.surfaces import DONE_RATIO, TOUCH_MM, over_ball_mm, step_mm
from proveout.stages.passes.task import Task
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import TiltView

Array = NDArray[np.float64]

LEVELS_MAX = 400
PUSH_MAX_MM = 0.03
"""How far a ball may be lifted off its contact to clear a neighbour and still count as finishing it."""
UNDER_RATIO = -0.05
"""A face whose normals fall below this along the cutter leans under in part."""
SAMPLES = 400
CHORD_MM = 1e-3
LEAST_EDGE_MM = 1e-3
BULGE_QUANTILE = 0.95
"""Of the curvatures along the mesh's edges: a sliver's normals say little."""
SHANK_MM = 5e-3
CONTOURS = Memory(500)
"""Shared by the rounds of one process: a face's contours do not depend on limits, grip or the work.

As many as a large part has curved faces, or the oldest would go before the next round asks for it; some 50 kB each.
"""


def finish_curved(task: Task, *, cutter: Cutter) -> None:
    """Finishes the promised curved faces that this ball reaches from above."""
    near = Nearness(task.view.points, task.view.triangles, radius_mm=cutter.diameter_mm / 2.0)
    for facet in task.open_facets("curved", "cone"):
        face_id = task.face_ids[facet.index]
        task.check(f"surface {face_id}")
        if facet.lean_low < UNDER_RATIO and _lowest_lean(task.view, facet) < UNDER_RATIO:
            task.reasons[face_id] = "the curved face leans under in part: no pass from this tilt reaches all of it"
            continue
        track = task.track()
        share, runs = _contours(task, track, facet, cutter, near)
        task.add(
            kind="finish surface",
            cutter=cutter,
            feature=face_id,
            face_ids=(face_id,),
            track=track,
            speeds=task.speeds(cutter),
            radial_mm=step_mm(cutter.diameter_mm / 2.0, task.view.cusp_mm),
            axial_mm=0.5,
        )
        if share < DONE_RATIO:
            share = max(share, _with_earlier(task, facet, runs, cutter))
        if share >= DONE_RATIO:
            task.done.add(facet.index)
            task.reasons.pop(face_id, None)
            _take(task, facet)
        else:
            task.reasons[face_id] = (
                f"Ø{cutter.diameter_mm:g} ball reaches {100.0 * share:.0f} % of the curved face: the rest lies against"
                " a neighbour, in a hollow too tight for it, or too near jaws or seat"
            )


@dataclass(frozen=True)
class _Contour:
    """A ball's way along one level of a face, whatever holds and cuts there.

    centres_mm (n, 3): of the ball in contact, lifted off what it would gouge.  good (n,): where that is a true finish.
    lengths_mm (n - 1,): along the face, from place to place.
    """

    centres_mm: Array
    good: NDArray[np.bool_]
    lengths_mm: Array


def _lowest_lean(view: TiltView, facet: Facet) -> float:
    """Least share along the cutter of the normals at the face's corners: slivers of its mesh lean more than it does."""
    rows = view.triangles[facet.rows]
    directions, known = _corner_normals(view.points, rows)
    used = np.unique(rows)
    return float(directions[used[known[used]], 2].min(initial=1.0))


def _with_earlier(task: Task, facet: Facet, runs: list[Array], cutter: Cutter) -> float:
    """Share of the face's sample points over which these runs or earlier tilts' leave no more than a cusp and a lift.

    runs (n, 3): centres of the ball in the tilt's frame.
    """
    view, face_id, radius = task.view, task.face_ids[facet.index], cutter.diameter_mm / 2.0
    own = np.zeros(len(facet.rows), dtype=np.int32)
    points, _, _ = face_samples(view.points, view.triangles[facet.rows], own, faces_count=1, per_face=SAMPLES)
    made = task.touched.setdefault(face_id, np.zeros(len(points), dtype=np.bool_))
    for run in runs:
        starts, ways = run[:-1], np.diff(run, axis=0)
        sizes = np.maximum((ways**2).sum(axis=1), 1e-18)
        left = np.flatnonzero(~made)
        rel = points[left, None, :] - starts[None]
        along = np.clip((rel * ways[None]).sum(axis=2) / sizes, 0.0, 1.0)
        off = np.linalg.norm(rel - along[:, :, None] * ways[None], axis=2).min(axis=1)
        made[left[off <= radius + view.cusp_mm + PUSH_MAX_MM]] = True
    return float(made.mean())


def _contours(
    task: Task, track: Track, facet: Facet, cutter: Cutter, near: Nearness
) -> tuple[float, list[Array]]:  # fmt: skip
    """Lays the contours from the top down; returns the share of the face that was reached, and the centres' runs."""
    view, radius = task.view, cutter.diameter_mm / 2.0
    speeds = task.speeds(cutter)
    wanted, reached = 0.0, 0.0
    runs: list[Array] = []
    for contour in CONTOURS.get(
        view.memory_key("contours", facet.rows, radius, view.cusp_mm), lambda: _all(view, facet, radius, near)
    ):
        good = _kept_clear(task, cutter, contour)
        wanted += float(contour.lengths_mm.sum())
        reached += float(contour.lengths_mm[good[1:] & good[:-1]].sum())
        for run in _runs(good):
            runs.append(contour.centres_mm[run])
            _lay(task, track, speeds, contour.centres_mm[run] - [0.0, 0.0, radius], radius)
    return (reached / wanted if wanted > 0.0 else 0.0), runs


def _all(view: TiltView, facet: Facet, radius: float, near: Nearness) -> list[_Contour]:
    """The contours of a face from the top down; none when it would take more than LEVELS_MAX levels."""
    rows = view.triangles[facet.rows]
    normals = _corner_normals(view.points, rows)
    # a cusp on a bulging face is as high as one on a flat face under a smaller ball
    step = step_mm(1.0 / (1.0 / radius + _bulge_per_mm(view.points, rows, normals)), view.cusp_mm)
    low, high = float(facet.low_mm[2]), float(facet.high_mm[2])
    least = min(0.004, (high - low) / 4.0)
    z = high - least / 2.0
    found: list[_Contour] = []
    for _ in range(LEVELS_MAX):
        is_last = z <= low + least
        level = low + 1e-4 if is_last else z
        flattest = 1.0
        for rough_places, mixed in _slices(view.points, rows, normals, level):
            unit = mixed / np.maximum(np.linalg.norm(mixed, axis=1), 1e-12)[:, None]
            flattest = min(flattest, float(np.sqrt(np.clip(1.0 - unit[:, 2] ** 2, 0.0, 1.0)).min()))
            places, directions = _refined(rough_places, unit, radius)
            centres, good = _in_contact(near, radius, places, directions)
            lengths = np.linalg.norm(np.diff(places, axis=0), axis=1)
            found.append(_Contour(centres_mm=centres, good=good, lengths_mm=lengths))
        if is_last:
            return found
        z = max(low, z - max(least, step * flattest))
    return []


def _corner_normals(points: Array, rows: NDArray[np.int32]) -> tuple[Array, NDArray[np.bool_]]:
    """Normals (v, 3) at the face's own vertices, weighted by angle from its triangles alone, and where known."""
    corners = points[rows]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(cross, axis=1)
    unit = cross / np.maximum(size, 1e-300)[:, None] * (size > 1e-12)[:, None]
    total = np.zeros_like(points)
    for k in range(3):
        p, q = corners[:, (k + 1) % 3] - corners[:, k], corners[:, (k + 2) % 3] - corners[:, k]
        angle = np.arctan2(np.linalg.norm(np.cross(p, q), axis=1), (p * q).sum(axis=1))
        np.add.at(total, rows[:, k], angle[:, None] * unit)
    length = np.linalg.norm(total, axis=1)
    return total / np.maximum(length, 1e-300)[:, None], length > 1e-9


def _bulge_per_mm(points: Array, rows: NDArray[np.int32], normals: tuple[Array, NDArray[np.bool_]]) -> float:
    """Sharpest curvature of the face where it bulges outward, from its corner normals along its edges; 0 when none."""
    directions, known = normals
    ends = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    way, turn = points[ends[:, 1]] - points[ends[:, 0]], directions[ends[:, 1]] - directions[ends[:, 0]]
    square = (way**2).sum(axis=1)
    fit = (square > LEAST_EDGE_MM**2) & known[ends].all(axis=1)
    if not fit.any():
        return 0.0
    return max(0.0, float(np.quantile((way * turn).sum(axis=1)[fit] / square[fit], BULGE_QUANTILE)))


def _slices(
    points: Array, rows: NDArray[np.int32], normals: tuple[Array, NDArray[np.bool_]], z: float
) -> list[tuple[Array, Array]]:
    """The face's contour at a height as chains of (places, normals), a closed one repeating its first place."""
    directions, known = normals
    heights = points[:, 2] - z
    heights = np.where(np.abs(heights) < 1e-7, 1e-7, heights)
    links: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for triangle in rows[(heights[rows].min(axis=1) < 0.0) & (heights[rows].max(axis=1) > 0.0)]:
        i, j, k = (int(v) for v in triangle)
        crossed = [(min(p, q), max(p, q)) for p, q in ((i, j), (j, k), (k, i)) if heights[p] * heights[q] < 0.0]
        if len(crossed) == 2 and all(known[v] for e in crossed for v in e):
            links.setdefault(crossed[0], []).append(crossed[1])
            links.setdefault(crossed[1], []).append(crossed[0])
    chains: list[tuple[Array, Array]] = []
    unused = set(links)
    ends = sorted(e for e in links if len(links[e]) == 1)
    for start in [*ends, *sorted(links)]:
        if start not in unused:
            continue
        chain, here = [start], start
        unused.discard(start)
        while True:
            ahead = [e for e in links[here] if e in unused]
            if not ahead:
                break
            here = min(ahead)
            unused.discard(here)
            chain.append(here)
        if len(chain) > 2 and start in links[here]:
            chain.append(start)
        if len(chain) >= 2:
            share = np.array([heights[p] / (heights[p] - heights[q]) for p, q in chain])[:, None]
            first, second = np.array([p for p, _ in chain]), np.array([q for _, q in chain])
            places = points[first] * (1.0 - share) + points[second] * share
            chains.append((places, directions[first] * (1.0 - share) + directions[second] * share))
    return chains


def _refined(places: Array, directions: Array, radius: float) -> tuple[Array, Array]:
    """More places where the normal turns, so that the ball's path stays within 1 µm of its arc."""
    turn_most = 2.0 * math.acos(1.0 - CHORD_MM / radius)
    out_places, out_directions = [places[:1]], [directions[:1]]
    for (a, n), (b, m) in pairwise(zip(places, directions, strict=True)):
        turn = math.acos(max(-1.0, min(1.0, float(n @ m))))
        count = min(60, max(1, math.ceil(turn / turn_most), math.ceil(float(np.linalg.norm(b - a)) / 2.0)))
        share = (np.arange(1, count + 1) / count)[:, None]
        mixed = n * (1.0 - share) + m * share
        out_places.append(a * (1.0 - share) + b * share)
        out_directions.append(mixed / np.maximum(np.linalg.norm(mixed, axis=1), 1e-12)[:, None])
    return np.vstack(out_places), np.vstack(out_directions)


def _in_contact(near: Nearness, radius: float, places: Array, directions: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Centres of the ball in contact, lifted off what it would gouge, and where that is a true finish."""
    centres = places + radius * directions
    pushed = np.zeros(len(places))
    for _ in range(4):
        short = np.maximum(0.0, radius - near.distances(centres))
        if short.max() <= TOUCH_MM:
            break
        pushed += short
        centres = centres + short[:, None] * directions
    return centres, (near.distances(centres) >= radius - 2.0 * TOUCH_MM) & (pushed <= PUSH_MAX_MM)


def _kept_clear(task: Task, cutter: Cutter, contour: _Contour) -> NDArray[np.bool_]:
    """Where a contour is a true finish and jaws, shank and holder keep clear too."""
    import shapely

    view, radius, centres = task.view, cutter.diameter_mm / 2.0, contour.centres_mm
    good = contour.good.copy()
    tip_mm = float(centres[:, 2].min()) - radius
    # the shank begins at each ball's own centre: along one contour the centres lie at many heights
    over = np.array([over_ball_mm(z) for z in centres[:, 2].tolist()])
    for height in np.unique(over[good]).tolist():
        zone = view.ball_zone(height, tip_mm, cutter=cutter, narrower_mm=SHANK_MM)
        if not zone.is_empty:
            here = good & (over == height)
            good[here] = ~shapely.contains_xy(zone, centres[here, 0], centres[here, 1])
    return good


def _runs(good: NDArray[np.bool_]) -> list[slice]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= 2]


def _lay(task: Task, track: Track, speeds: Speeds, tips: Array, radius: float) -> None:
    here = track.here
    if here is not None:
        if float(np.linalg.norm(tips[-1] - here)) < float(np.linalg.norm(tips[0] - here)):
            tips = tips[::-1]
        gap = float(np.linalg.norm(tips[0] - here))
        if gap < 3.0 * step_mm(radius, task.view.cusp_mm):
            over = max(here[2], float(tips[0, 2])) + 0.5 * gap + 0.2
            track.feed(here[0], here[1], over, speeds.air_mm_per_s)
            track.feed(float(tips[0, 0]), float(tips[0, 1]), over, speeds.air_mm_per_s)
            track.along(tips, z_mm=None, feed_mm_per_s=speeds.feed_mm_per_s)
            return
    x, y, z = (float(v) for v in tips[0])
    top = task.view.top_at(x_mm=x, y_mm=y, radius_mm=radius)
    start = max(z, top if math.isfinite(top) else z) + 0.5
    track.enter(x_mm=x, y_mm=y, z_mm=z, feed_mm_per_s=speeds.plunge_mm_per_s, from_mm=start)
    track.along(tips, z_mm=None, feed_mm_per_s=speeds.feed_mm_per_s)


def _take(task: Task, facet: Facet) -> None:
    """Takes what stands over the face away from the believed work, down to the target."""
    import manifold3d

    view = task.view
    area: Any = view.outline(facet)
    low = float(facet.low_mm[2])
    if not area.is_empty() and view.clear_mm > low:
        column = manifold3d.Manifold.extrude(area, view.clear_mm - low + 1.0).translate((0.0, 0.0, low))
        view.take(column - view.body)
