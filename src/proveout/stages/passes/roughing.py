"""Roughing by levels, the large cutter first, then what it left by smaller ones."""

from __future__ import annotations

import math

from proveout.model.shop import Cutter
from proveout.stages.passes.areas import COARSE_MM, grown, opened
from proveout.stages.passes.clearing import clear
from proveout.stages.passes.task import Task, is_empty

AXIAL_RATIO = 0.5
RADIAL_RATIO = 0.3
WALL_MM = 0.3
"""Left on walls by roughing."""
FLOOR_MM = 0.2
"""Left on floors by roughing."""
STAIR_MM = 0.5
"""Height of the stairs left on inclined faces, divided by how flat the face lies."""
OVERRUN_MM = 1.0
"""How far a wall pass runs into waste below the wall's lower end."""


def rough(task: Task, *, cutters: tuple[Cutter, ...], low_mm: float) -> None:
    """Roughs everything visible above a height with each cutter in turn, largest first."""
    for number, cutter in enumerate(cutters):
        task.check(f"rough with {cutter.id}")
        speeds, track = task.speeds(cutter), task.track()
        axial = task.limits.of("axial_ratio", task.clamping_id, AXIAL_RATIO) * cutter.diameter_mm
        axial = min(axial, 0.9 * cutter.flute_length_mm)
        radial = task.limits.of("radial_ratio", task.clamping_id, RADIAL_RATIO) * cutter.diameter_mm
        thin = 0.05 if number == 0 else 0.15
        for z in levels_mm(task, low_mm=low_mm, axial_mm=axial):
            _level(task, track, cutter, z, radial, thin)
        task.add(
            kind="rough" if number == 0 else "rough corners",
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


def levels_mm(task: Task, *, low_mm: float, axial_mm: float) -> list[float]:
    """Heights from the top of the work down: above every floor its allowance, equal steps of at most `axial_mm`."""
    view = task.view
    top = float(view.work.bounding_box()[5]) if not view.work.is_empty() else low_mm
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


def _level(task: Task, track, cutter: Cutter, z: float, radial: float, thin: float, within=None) -> None:  # noqa: ANN001
    task.check(f"level {z:.2f}")
    view, radius = task.view, cutter.diameter_mm / 2.0
    obstacle = view.obstacle(z, cutter=cutter, allowance_mm=WALL_MM, chord_mm=COARSE_MM)
    obstacle = grown(grown(obstacle, 0.05 * radius, chord_mm=COARSE_MM), -0.05 * radius, chord_mm=COARSE_MM)
    todo = opened(view.removable(z, obstacle=obstacle, radius_mm=radius), thin)
    if within is not None:
        todo = todo ^ within
    if is_empty(todo, 0.2):
        return
    cleared = clear(
        view=view,
        track=track,
        speeds=task.speeds(cutter),
        z_mm=z,
        obstacle=obstacle,
        todo=todo,
        radius_mm=radius,
        step_mm=radial,
    )
    view.cut(cleared, above_mm=z)


def _stairs(task: Task, cutter: Cutter, low_mm: float) -> None:
    """Finer levels over the inclined faces, so that their finishing meets little metal."""
    view = task.view
    sloping = task.open_facets("inclined", "cone", "curved")
    facets = [f for f in sloping if float(f.high_mm[2] - f.low_mm[2]) > 2.0 * STAIR_MM]
    if not facets:
        return
    track = task.track()
    radial = task.limits.of("radial_ratio", task.clamping_id, RADIAL_RATIO) * cutter.diameter_mm
    for facet in facets:
        lean = max(float(facet.lean_high), 0.05)
        step = min(2.0, STAIR_MM / lean)
        low, high = max(float(facet.low_mm[2]), low_mm), float(facet.high_mm[2])
        count = max(1, math.ceil((high - low) / step))
        within = grown(view.outline(facet), 1.0, chord_mm=COARSE_MM)
        for k in range(1, count + 1):
            z = high + (low - high) * k / count
            _level(task, track, cutter, z, radial, 0.05, within)
    task.add(
        kind="rough",
        cutter=cutter,
        feature="stairs",
        face_ids=task.ids(facets),
        track=track,
        speeds=task.speeds(cutter),
        radial_mm=radial,
        axial_mm=2.0,
    )
