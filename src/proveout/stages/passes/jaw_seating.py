"""Whether work as large and as small as its limits allow still goes into a pocket in soft jaws."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.jaw_form import JawForm
from proveout.model.proof import Basis, Proof, prove
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_deviation_mm
from proveout.stages.passes.areas import area_of, shape_of
from proveout.stages.passes.jaw_proofs import STAGE
from proveout.stages.passes.jaw_reliefs import with_reliefs
from proveout.stages.passes.jaw_shape import area_of_form

Array = NDArray[np.float64]

PRESSED_MM = 0.02
"""Soft jaws give way so far where the work bears on them. Common practice, no source."""
SQUARE_JOIN = 2.0


def pressed_mm(form: JawForm, outline: tuple[Array, ...], grown_mm: float) -> float:
    """How deep work whose every side stands out by grown_mm more bears into the jaws where it should not.

    The work lies against the stop and the fixed jaw, and the moving jaw closes until it touches; with no stop its
    middle stays where it was. Negative grown_mm is smaller work.
    """
    import shapely

    area = area_of_form(form)
    if form.reliefs:
        area = area + with_reliefs(area, form.reliefs, radius_mm=form.cutter_radius_mm, within_mm=0.0)
    pocket = shape_of(area)
    right = shape_of(area_of(list(outline)))
    work = shapely.buffer(right, grown_mm, join_style="mitre", mitre_limit=SQUARE_JOIN)
    (x_low, y_low, _, y_high), (own_x, own_y, _, own_top) = right.bounds, work.bounds
    work = shapely.affinity.translate(work, xoff=x_low - own_x if form.stop else 0.0, yoff=y_high - own_top)
    closes = own_y + y_high - own_top - y_low
    found = 0.0
    for number, bounds in enumerate(form.jaw_bounds_mm):
        metal = shapely.box(*bounds).difference(pocket)
        if number == 1:
            metal = shapely.affinity.translate(metal, yoff=closes)
        for bit in shapely.get_parts(metal.intersection(work)):
            if bit.area > 0.0:
                found = max(found, 2.0 * float(shapely.maximum_inscribed_circle(bit).length))
    return found


def seating_proof(form: JawForm, outline: tuple[Array, ...], general_class: str) -> Proof:
    """Both ends of the work's size, by the general tolerance of its longer side."""
    spread = _spread_mm(outline, general_class)
    found = None if spread is None else max(pressed_mm(form, outline, spread), pressed_mm(form, outline, -spread))
    half = "not known" if spread is None else f"{spread:.3f} mm"
    return prove(
        id=f"{STAGE}:{form.clamping_id}:both ends", stage=STAGE,
        subject=f"clamping {form.clamping.number}, jaws",
        claim="the largest and the smallest work within its limits goes into the pocket", sense="at most",
        found_low=None if found is None else round(found, 4), found_high=None if found is None else round(found, 4),
        limit=PRESSED_MM, unit="mm", blocks_release=False,
        basis=Basis(
            formula=f"outline moved out and in by half the general tolerance ({half} a side), laid against stop and "
            "fixed jaw, the moving jaw closed on it; deepest that it bears into the metal of a jaw. Limit: common "
            "practice, no source",
            source="iso_2768_table",
        ),
        decides="a general tolerance in the job file",
        remedy="cut the pocket to the first piece as measured, with room at the walls that it bears on",
    )  # fmt: skip


def _spread_mm(outline: tuple[Array, ...], general_class: str) -> float | None:
    points = np.vstack(outline)
    longest = float((points.max(axis=0) - points.min(axis=0)).max())
    try:
        return general_deviation_mm(size_mm=longest, general_class=general_class) / 2.0
    except OutOfRange:
        return None
