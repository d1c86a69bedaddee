"""Roughing by levels, the large cutter first, then what it left by smaller ones."""

from __future__ import annotations

import math
from typing import Any

from proveout.cutting.easing import STAIRS
from proveout.model.pace import AS_PLANNED
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import COARSE_MM, grown, nothing, opened
from proveout.stages.passes.laying import take_level
from proveout.stages.passes.pacing import deepest_of
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.task import Task, is_empty
from proveout.stages.passes.track import LOOSE_FIT_MM, Track

AXIAL_RATIO = 0.5
RADIAL_RATIO = 0.4
CORNER_AXIAL_RATIO, CORNER_RADIAL_RATIO = 1.5, 0.2
"""The same for what a larger cutter left: deep and light, as it lies along walls and in narrow places."""
WALL_MM = 0.3
"""Left on walls by roughing."""
FLOOR_MM = 0.2
"""Left on floors by roughing."""
STAIR_MM = 0.8
"""Height of the stairs left on inclined faces, divided by how flat the face lies."""
STAIR_RATIO = 0.12
"""A stair takes no more than this share of the depth of a level, so that what eases levels eases stairs: it is what the
ball meets at each of its turns, and in a thin grip the ball may push least."""
STEP_MAX_MM = 2.0
OVERRUN_MM = 1.0
"""How far a wall pass runs into waste below the wall's lower end."""


def rough(task: Task, *, cutters: tuple[Cutter, ...], low_mm: float) -> None:
    """Roughs everything visible above a height with each cutter in turn, largest first."""
    for number, cutter in enumerate(cutters):
        task.check(f"rough with {cutter.id}")
        is_first = number == 0
        radial = radial_of(task, cutter, is_first=is_first)
        usual = (AXIAL_RATIO if is_first else CORNER_AXIAL_RATIO) * cutter.diameter_mm
        deepest, deepest_by = deepest_of(cutter, usual)
        axial = task.limit("axial_ratio", cutter, deepest / cutter.diameter_mm) * cutter.diameter_mm
        axial = min(axial, 0.9 * cutter.flute_length_mm)
        track = task.track(fit_mm=LOOSE_FIT_MM)
        by = deepest_by if axial >= deepest else AS_PLANNED
        speeds, axial = task.pacer(cutter).level(radial_mm=radial, most_mm=axial, deepest_by=by)
        thin = 0.05 if is_first else 0.15
        above = _top_mm(task, low_mm)
        for z in levels_mm(task, low_mm=low_mm, axial_mm=axial):
            _level(task, track, speeds, cutter, z, depth_mm=above - z, radial=radial, thin=thin)
            above = z
        task.add(
            kind="rough" if is_first else "rough corners",
            cutter=cutter,
            feature="levels",
            face_ids=(),
            track=track,
            speeds=speeds,
            radial_mm=radial,
            axial_mm=axial,
        )
    if cutters:
        _stairs(task, cutters[0], low_mm)


def radial_of(task: Task, cutter: Cutter, *, is_first: bool) -> float:
    """The width that a rougher is kept to: its widest where one is written, in corners never more than usual."""
    usual = (RADIAL_RATIO if is_first else CORNER_RADIAL_RATIO) * cutter.diameter_mm
    widest = usual if cutter.radial_max_mm is None else cutter.radial_max_mm
    widest = widest if is_first else min(widest, usual)
    return task.limit("radial_ratio", cutter, widest / cutter.diameter_mm) * cutter.diameter_mm


def _top_mm(task: Task, low_mm: float) -> float:
    work = task.view.work
    return low_mm if work.is_empty() else float(work.bounding_box()[5])


def levels_mm(task: Task, *, low_mm: float, axial_mm: float) -> list[float]:
    """Heights from the top of the work down: above every floor its allowance, equal steps of at most `axial_mm`."""
    view = task.view
    top = _top_mm(task, low_mm)
    fixed = {round(low_mm, 4)}
    for facet in view.facets:
        if facet.seen == "floor" and facet.area_mm2 > 0.5:
            z = float(facet.high_mm[2]) + FLOOR_MM
            if low_mm + 0.05 < z < top - 0.05:
                fixed.add(round(z, 4))
    levels: list[float] = []
    above = top
    for z in sorted(fixed, reverse=True):
        if z >= above - 1e-6:
            continue
        count = max(1, math.ceil((above - z) / axial_mm - 1e-6))
        levels.extend(above + (z - above) * (k + 1) / count for k in range(count))
        above = z
    return levels


def _level(
    task: Task,
    track: Track,
    speeds: Speeds,
    cutter: Cutter,
    z: float,
    *,
    depth_mm: float,
    radial: float,
    thin: float,
    within: Any | None = None,
) -> None:
    task.check(f"level {z:.2f}")
    if task.is_spent:
        return
    view, radius = task.view, cutter.diameter_mm / 2.0
    if within is not None and is_empty(view.metal(z) ^ within, 0.2):
        return
    obstacle = view.obstacle(z, cutter=cutter, allowance_mm=WALL_MM, chord_mm=COARSE_MM)
    obstacle = grown(grown(obstacle, 0.05 * radius, chord_mm=COARSE_MM), -0.05 * radius, chord_mm=COARSE_MM)
    standing = todo = view.removable(z, obstacle=obstacle, radius_mm=radius)
    if within is not None:
        todo = todo ^ within
    todo = opened(todo, thin)
    if is_empty(todo, 0.2):
        return
    take_level(
        view=view,
        track=track,
        speeds=speeds,
        z_mm=z,
        obstacle=obstacle,
        todo=todo,
        standing=standing,
        radius_mm=radius,
        engagement_mm=radial,
        depth_mm=depth_mm,
        thin_mm=thin,
    )


def stair_of(limit_ratio: float, *, diameter_mm: float) -> tuple[float, float]:
    """Height of a stair in mm, and the limit on a level's depth, in diameters, below which it gets lower."""
    stair = min(STAIR_MM, STAIR_RATIO * limit_ratio * diameter_mm)
    return stair, stair / (STAIR_RATIO * diameter_mm)


def _stairs(task: Task, cutter: Cutter, low_mm: float) -> None:
    """Finer levels over inclined faces, so that their finishing meets little metal; all that are met go together."""
    view = task.view
    sloping = task.open_facets("inclined", "cone", "curved")
    facets = [f for f in sloping if float(f.high_mm[2] - f.low_mm[2]) > 2.0 * STAIR_MM]
    if not facets:
        return
    stair, ratio = stair_of(task.limit("axial_ratio", cutter, AXIAL_RATIO), diameter_mm=cutter.diameter_mm)
    step = {f.index: min(STEP_MAX_MM, stair / max(float(f.lean_high), 0.05)) for f in facets}
    last = {f.index: float(f.high_mm[2]) for f in facets}
    foot = {f.index: max(float(f.low_mm[2]), low_mm) for f in facets}
    about = {f.index: grown(view.outline(f), 1.0, chord_mm=COARSE_MM) for f in facets}
    radial = radial_of(task, cutter, is_first=True)
    speeds = task.pacer(cutter).stage(radial_mm=radial, axial_mm=max(step.values()), axial_ratio=ratio)
    track = task.track(fit_mm=LOOSE_FIT_MM)
    top, most = max(last.values()), 0.0
    for k in range(1, math.ceil((top - min(foot.values())) / stair) + 1):
        z = top - k * stair
        met = [f for f in facets if foot[f.index] - 1e-6 <= z and last[f.index] - z >= step[f.index] - 1e-6]
        if not met:
            continue
        within, depth = nothing(), max(last[f.index] - z for f in met)
        for facet in met:
            within = within + about[facet.index]
            last[facet.index] = z
        most = max(most, depth)
        _level(task, track, speeds, cutter, z, depth_mm=depth, radial=radial, thin=0.05, within=within)
    task.add(
        kind="rough",
        cutter=cutter,
        feature=STAIRS,
        face_ids=task.ids(facets),
        track=track,
        speeds=speeds,
        radial_mm=radial,
        axial_mm=most,
    )
