"""The shape of a pocket in soft jaws: what of the work it is cut to, its bite, its stop and its open end."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.jaw_form import JawForm
from proveout.model.shop import Jaws, Vise
from proveout.model.work import Clamping, Tilt
from proveout.stages.passes.areas import area_from, area_of, nothing, shape_of
from proveout.stages.passes.jaw_outline import foot_of_work, formed_jaws

Array = NDArray[np.float64]

OPEN_END_MM = 0.5
"""Common practice, no source: room at the end away from the stop, so that work of any length within its size goes in.

Along the jaws' closing no room is made: the moving jaw closes on the work until both walls touch it.
"""
STOP_MM, STOP_WIDE_MM = 0.02, 1.0
"""An end wall is a stop where the work's end lies in one line within the first, over at least the second."""
TOUCH_MM = 0.05
"""Work this near to the step counts as touching it."""
SLUG_BELOW_MM = 1.0
"""The slug's top stays this far below the step, so that no cutter meets it."""
FAR_MM = 1e4


def shape_of_form(clamping: Clamping, outline: tuple[Array, ...], body: Any, jaws: Jaws, vise: Vise) -> JawForm:
    """Everything of the form but its cutter."""
    import shapely

    assert jaws.blank_thickness_mm is not None
    assert jaws.blank_height_mm is not None
    formed = formed_jaws(outline, clamping)
    half = vise.jaw_length_mm / 2.0
    form = JawForm(
        clamping_id=clamping.id, clamping=_own_clamping(clamping), thickness_mm=jaws.blank_thickness_mm,
        slug_below_mm=SLUG_BELOW_MM,
        slug_width_mm=round(clamping.gap_mm - 2.0 * formed.bite_mm, 6), bite_mm=formed.bite_mm,
        depth_mm=clamping.jaw_top_mm, below_mm=round(jaws.blank_height_mm - clamping.jaw_top_mm, 6),
        low_mm=round(clamping.jaw_middle_mm - half, 6), high_mm=round(clamping.jaw_middle_mm + half, 6),
        outline_mm=_rings(formed.outline), stop="", contact_mm=0.0, length_mm=0.0, cutter_id="",
        cutter_radius_mm=0.0, reliefs=(), passes=(),
    )  # fmt: skip
    solid = shapely.union_all([shapely.box(*bounds) for bounds in form.jaw_bounds_mm])
    x_low, _, x_high, _ = formed.outline.bounds()
    foot = shape_of(foot_of_work(target=body, clamping=clamping, high_mm=TOUCH_MM)).intersection(solid)
    contact = 0.0 if foot.is_empty else foot.bounds[2] - foot.bounds[0]
    stop, area = "", formed.outline
    if _ends_flat(shape_of(area).intersection(solid), x_low):
        stop = "the left end wall of the pocket"
        if _ends_flat(shape_of(area).intersection(solid), x_high):
            area = _opened_to_the_right(area)
    return msgspec.structs.replace(
        form, outline_mm=_rings(area), stop=stop, contact_mm=round(contact, 4), length_mm=round(x_high - x_low, 6)
    )


def _own_clamping(clamping: Clamping) -> Clamping:
    upright = Tilt(id="a0-c0", frame=clamping.frame, a_rad=0.0, c_rad=0.0)
    return msgspec.structs.replace(
        clamping,
        id=f"{clamping.id}-jaws",
        tilts=(upright,),
        makes_faces=(),
        makes_holes=(),
        grip_faces=(),
        removes_grip=False,
        needs_form=False,
        seat_text="",
        zero_text="",
    )


def _ends_flat(held: Any, x_mm: float) -> bool:
    """Whether the work's end at an x is one line across, somewhere in the jaws."""
    import shapely

    near = held.boundary.intersection(shapely.box(x_mm - STOP_MM, -FAR_MM, x_mm + STOP_MM, FAR_MM))
    return bool(near.length >= STOP_WIDE_MM)


def _opened_to_the_right(area: Any) -> Any:
    """The area swept to the right by the room at the open end."""
    import shapely

    shape, aside = shape_of(area), np.array([OPEN_END_MM, 0.0])
    swept = [shape, shapely.affinity.translate(shape, xoff=OPEN_END_MM)]
    for ring in shapely.get_parts(shapely.get_rings(shapely.get_parts(shape))):
        corners = shapely.get_coordinates(ring)
        sides = (shapely.Polygon([a, b, b + aside, a + aside]) for a, b in pairwise(corners) if a[1] != b[1])
        swept.extend(side for side in sides if side.is_valid)
    return area_from(shapely.union_all(swept))


def _rings(area: Any) -> tuple[tuple[tuple[float, float], ...], ...]:
    rings = [[(round(float(x), 6) + 0.0, round(float(y), 6) + 0.0) for x, y in ring] for ring in area.to_polygons()]
    return tuple(sorted(tuple(ring) for ring in rings if len(ring) >= 3))


def area_of_form(form: JawForm) -> Any:
    """The outline as an area."""
    return area_of([np.array(ring) for ring in form.outline_mm]) if form.outline_mm else nothing()
