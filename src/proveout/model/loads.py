"""Bounds on what each pass asks of cutter, spindle and grip."""

from __future__ import annotations

from proveout.model.shop import Noun


class PassLoad(Noun, frozen=True, kw_only=True):
    """One pass at its worst, in the clamping's frame.

    plane_n: bound on the force across the cutter axis, in any direction.  axial_n: along the axis, either way.
    torque_n_mm: about the cutter axis.  power_mw: at the spindle.  height_mm: highest point of the cut above the seat.
    along_mm, across_mm: farthest from the middle between the jaws.  is_tilted: the axis is not the clamping's z.
    radial_mm, axial_mm: the engagement the bound was taken at.
    """

    pass_id: str
    clamping_id: str
    is_tilted: bool
    tangential_n: float
    plane_n: float
    axial_n: float
    torque_n_mm: float
    power_mw: float
    height_mm: float
    along_mm: float
    across_mm: float
    radial_mm: float
    axial_mm: float
