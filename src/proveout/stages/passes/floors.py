"""Finishing floors: every horizontal face at its exact height."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from proveout.geometry.facets import Facet
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import FINE_MM, grown, nothing, opened
from proveout.stages.passes.clearing import clear
from proveout.stages.passes.roughing import FLOOR_MM
from proveout.stages.passes.task import Task, feature_of, is_empty

STEP_RATIO = 0.6
WALL_MM = 0.1
"""Left on walls by the floor pass; the wall pass takes it down to the floor."""
DONE_RATIO = 0.98
STRIP_HIGH_MM = 2.0 * FLOOR_MM
STRIP_MM, STRIP_MM2 = 0.01, 0.02
"""Strips no wider than twice the first, and pieces smaller than the second, are the believed work's own blur."""


def finish_floors(task: Task, *, cutter: Cutter) -> list[Facet]:
    """Finishes what this cutter reaches of the promised floors, highest first; returns the faces that are done."""
    view, radius = task.view, cutter.diameter_mm / 2.0
    facets = task.open_facets("floor")
    heights = sorted({round(float(f.high_mm[2]), 3) for f in facets}, reverse=True)
    track = task.track()
    speeds = task.pacer(cutter).stage(
        radial_mm=STEP_RATIO * cutter.diameter_mm, axial_mm=FLOOR_MM, axial_ratio=0.0, limit="feed_ratio"
    )  # fmt: skip
    cut: list[Facet] = []
    for height in heights:
        task.check(f"floor {height:.2f}")
        group = [f for f in facets if abs(float(f.high_mm[2]) - height) < 1.5e-3]
        z = float(group[0].high_mm[2])
        wanted = nothing()
        for facet in group:
            wanted = wanted + view.outline(facet)
        obstacle = view.obstacle(z, cutter=cutter, allowance_mm=WALL_MM)
        todo = view.removable(z, obstacle=obstacle, radius_mm=radius) ^ grown(wanted, WALL_MM + 0.05)
        todo = opened(todo, 0.02)
        if not is_empty(todo, 0.02):
            cleared = clear(
                view=view,
                track=track,
                speeds=speeds,
                z_mm=z,
                obstacle=obstacle,
                todo=todo,
                radius_mm=radius,
                step_mm=STEP_RATIO * cutter.diameter_mm,
                chord_mm=FINE_MM,
            )
            view.cut(cleared, above_mm=z)
        unreached = grown(view.obstacle(z, cutter=cutter, allowance_mm=0.0), -radius)
        metal = view.metal(z)
        for facet in group:
            outline = view.outline(facet)
            size = float(outline.area())
            left = float(((outline ^ unreached) ^ metal).area())
            if size <= 0.0 or 1.0 - left / size >= DONE_RATIO:
                task.done.add(facet.index)
                task.reasons.pop(task.face_ids[facet.index], None)
                cut.append(facet)
            else:
                task.reasons[task.face_ids[facet.index]] = (
                    f"{left:.1f} mm2 of the floor's {size:.1f} mm2 lie in corners or gaps that Ø{cutter.diameter_mm:g}"
                    " does not enter"
                )
    ids = task.ids(cut)
    task.add(
        kind="finish floor",
        cutter=cutter,
        feature=feature_of(ids, "floors"),
        face_ids=ids,
        track=track,
        speeds=speeds,
        radial_mm=STEP_RATIO * cutter.diameter_mm,
        axial_mm=FLOOR_MM,
    )
    return cut


def finish_strips(task: Task, *, cutter: Cutter, facets: Sequence[Facet]) -> None:
    """Takes what still stands on finished floors where this cutter can come: along walls that no pass here runs by.

    The floor pass keeps off every wall, so that the wall pass takes the strip between. A wall that another tilt or
    clamping finishes, and a face that is no wall, leave it standing.
    """
    view, radius = task.view, cutter.diameter_mm / 2.0
    speeds, track = task.speeds(cutter), task.track()
    cut: list[Facet] = []
    for height in sorted({round(float(f.high_mm[2]), 3) for f in facets}, reverse=True):
        group = [f for f in facets if abs(float(f.high_mm[2]) - height) < 1.5e-3]
        z = float(group[0].high_mm[2])
        high = view.metal(z + STRIP_HIGH_MM) - view.shadow(z + STRIP_HIGH_MM)
        standing: list[tuple[Facet, Any]] = []
        for facet in group:
            outline = view.outline(facet)
            # what stands high and wide is metal of a wall that was never roughed here: no matter of the floor's
            low = (outline ^ view.metal(z)) - opened(outline ^ high, WALL_MM)
            standing.append((facet, opened(low, STRIP_MM)))
        if all(is_empty(area) for _, area in standing):
            continue
        task.check(f"strips on the floor {height:.2f}")
        obstacle = view.obstacle(z, cutter=cutter, allowance_mm=0.0)
        unreached = grown(obstacle, -radius)
        standing = [(f, opened(area - unreached, STRIP_MM)) for f, area in standing]
        strips = [(f, area) for f, area in standing if not is_empty(area, STRIP_MM2)]
        todo = nothing()
        for facet, area in strips:
            todo = todo + area
            cut.append(facet)
        if strips:
            cleared = clear(
                view=view, track=track, speeds=speeds, z_mm=z, obstacle=obstacle, todo=todo, radius_mm=radius,
                step_mm=STEP_RATIO * cutter.diameter_mm, chord_mm=FINE_MM,
            )  # fmt: skip
            view.cut(cleared, above_mm=z)
    ids = task.ids(cut)
    task.add(
        kind="finish floor",
        cutter=cutter,
        feature=f"strips on {feature_of(ids, 'floors')}",
        face_ids=ids,
        track=track,
        speeds=speeds,
        radial_mm=WALL_MM,
        axial_mm=FLOOR_MM,
    )
