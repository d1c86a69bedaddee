"""Finishing floors: every horizontal face at its exact height."""

from __future__ import annotations

from proveout.model.shop import Cutter
from proveout.stages.passes.areas import FINE_MM, grown, nothing, opened
from proveout.stages.passes.clearing import clear
from proveout.stages.passes.roughing import FLOOR_MM
from proveout.stages.passes.task import Task, feature_of, is_empty

STEP_RATIO = 0.6
WALL_MM = 0.1
"""Left on walls by the floor pass; the wall pass takes it down to the floor."""
DONE_RATIO = 0.98


def finish_floors(task: Task, *, cutter: Cutter) -> None:
    """Finishes what this cutter reaches of the promised floors, highest first; marks the faces that are done."""
    view, radius = task.view, cutter.diameter_mm / 2.0
    facets = task.open_facets("floor")
    heights = sorted({round(float(f.high_mm[2]), 3) for f in facets}, reverse=True)
    speeds, track = task.speeds(cutter), task.track()
    cut: list = []
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
