"""The bound on what a milling cutter pushes with by the specific pressure, for one cut."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.cutting.turning import power_law_model, turn_forces_n
from proveout.quantities.bounds import above_zero, between, zero_or_more


class CutterForces(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Bounds on the forces of one cutter: tangential, resultant in the plane across its axis, and along its axis."""

    tangential_n: float
    resultant_n: float
    axial_n: float


def milling_force_bound(
    *,
    unit_force_mpa: float,
    exponent_ratio: float,
    axial_depth_mm: float,
    radial_engagement_mm: float,
    feed_per_tooth_mm: float,
    diameter_mm: float,
    teeth_count: int,
    runout_mm: float,
    radial_ratio: float,
    helix_low_rad: float,
    helix_high_rad: float,
) -> CutterForces:
    """Bounds on tangential, resultant and axial force of one cutter; pass the worst end of every interval.

    Formula:  F_t = B k_c1.1 h^(1 - m_c), B as engaged_edge_length_mm at a_e + e, h = min(h_peak + e, z h_peak);
              F = F_t sqrt(1 + k_r^2); F_a = F_t tan i at the steepest helix: chip friction only takes away from it
    Args:     unit_force_mpa: k_c1.1, > 0.   exponent_ratio: m_c, 0..0.5.   axial_depth_mm: a_p, >= 0.
              radial_engagement_mm: a_e, above 0, at most D.   feed_per_tooth_mm: f_z, > 0.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   runout_mm: e, total indicated run-out of the edges, >= 0; one tooth can then cut
              that much thicker and wider, though never more than all teeth together.   radial_ratio: k_r, 0..2.
              helix_low_rad, helix_high_rad: ends of the helix i, 0 up to 1.2.
    Returns:  N, each >= 0; 0 when a_p is 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    square ends, even teeth; a worn or built-up edge and rubbing only as far as k_c1.1 has been raised for
              them.
    Source:   material_group_table p. 558, seen directly; oblique_cutting; chip_geometry.   Departs: bounds in place of
              means.
    Checked:  tests/laws/test_cutting_laws.py
    """
    zero_or_more(axial_depth_mm=axial_depth_mm, runout_mm=runout_mm)
    above_zero(
        radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm, feed_per_tooth_mm=feed_per_tooth_mm,
        teeth_count=teeth_count,
    )  # fmt: skip
    between(low=0.0, high=diameter_mm, radial_engagement_mm=radial_engagement_mm)
    between(low=0.0, high=2.0, radial_ratio=radial_ratio)
    between(low=0.0, high=1.2, helix_high_rad=helix_high_rad)
    model = power_law_model(
        unit_force_mpa=unit_force_mpa, exponent_ratio=exponent_ratio, radial_ratio=radial_ratio,
        axial_ratio=math.tan(helix_high_rad),
    )  # fmt: skip
    found = turn_forces_n(
        model=model, axial_mm=np.array([axial_depth_mm]), radial_mm=np.array([radial_engagement_mm]),
        tooth_feed_mm=np.array([feed_per_tooth_mm]), diameter_mm=diameter_mm, teeth_count=teeth_count,
        runout_mm=runout_mm, helix_low_rad=helix_low_rad, helix_high_rad=helix_high_rad, edge_ratio=np.ones(1),
    )  # fmt: skip
    return CutterForces(
        tangential_n=float(found.tangential_n[0]), resultant_n=float(found.across_n[0]),
        axial_n=float(found.axial_n[0]),
    )  # fmt: skip
