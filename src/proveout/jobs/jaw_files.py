"""The cut soft jaws of a plan as files: a STEP solid and a drawing for every form."""

from __future__ import annotations

from pathlib import Path

from proveout.model.jaw_form import JawForm
from proveout.model.plan import Plan

ROUND_SEGMENTS = 64
ABOVE_MM = 1.0


def write_jaw_files(folder: Path, plan: Plan) -> None:
    """jaws-N.step and jaws-N.svg beside the plan, N the number of the clamping that they hold the work in."""
    from proveout.sheets.jaw_drawing import jaw_drawing

    for form in plan.jaw_forms:
        if not form.passes:
            continue
        # the kernel is loaded for those that need it only: half loaded it cannot be interrupted cleanly
        from proveout.solids.step import write_step

        number = form.clamping.number
        title = f"{plan.part.number} clamping {number}: soft jaws"
        (folder / f"jaws-{number}.svg").write_text(jaw_drawing(form, title=title), encoding="utf-8", newline="")
        write_step(jaws_solid(form), folder / f"jaws-{number}.step", name=f"{plan.part.number} jaws {number}")


def jaws_solid(form: JawForm):  # noqa: ANN201 - the kernel's type would import it
    """Both jaws less the outline of the work and the reliefs, in the frame of the clamping, closed on the slug."""
    import numpy as np
    import shapely

    from proveout.solids.prisms import boxes_less_prisms

    low, high = -form.below_mm, form.depth_mm
    boxes = [((a, b, low), (c, d, high)) for a, b, c, d in form.jaw_bounds_mm]
    rings = [np.array(ring) for ring in form.outline_mm]
    for one in form.reliefs:
        swept = shapely.buffer(
            shapely.LineString([one.from_mm, one.to_mm]), form.cutter_radius_mm, quad_segs=ROUND_SEGMENTS
        )
        rings.append(np.array(swept.exterior.coords)[:-1])
    return boxes_less_prisms(boxes, rings, low_mm=0.0, high_mm=high + ABOVE_MM)
