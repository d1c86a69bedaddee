"""Upper bounds on what a milling cutter pushes with: tangential, in the plane, and along its axis."""

from __future__ import annotations

import math

import msgspec

from proveout.cutting.chip_thickness import engagement_angle_rad, peak_chip_thickness_mm
from proveout.cutting.specific_force import specific_force_mpa
from proveout.quantities.bounds import above_zero, between, zero_or_more

# the power law is taken at 1 micrometre below that; k_c h grows with h, so this only ever raises the force
THINNEST_CHIP_MM = 0.001


class CutterForces(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Bounds on the forces of one cutter: tangential, resultant in the plane across its axis, and along its axis."""

    tangential_n: float
    resultant_n: float
    axial_n: float


def engaged_teeth_count(*, radial_engagement_mm: float, diameter_mm: float, teeth_count: int) -> int:
    """Most teeth that can be in the cut at one height at one moment.

    Formula:  min(z, floor(theta z / (2 pi)) + 1)
    Args:     radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.   teeth_count: z, >= 1.
    Returns:  1..z.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    evenly spaced teeth; helix changes which heights are cut, never the count at one height.
    Source:   chip_geometry.   Departs: an arc of exactly so many pitches counts the tooth at both of its ends.
    Checked:  tests/laws/test_cutting_laws.py
    """
    above_zero(teeth_count=teeth_count)
    theta = engagement_angle_rad(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    return min(teeth_count, math.floor(theta * teeth_count / (2.0 * math.pi) + 1e-9) + 1)


def peak_tangential_force_n(
    *,
    unit_force_mpa: float,
    exponent_ratio: float,
    axial_depth_mm: float,
    radial_engagement_mm: float,
    feed_per_tooth_mm: float,
    diameter_mm: float,
    teeth_count: int,
    runout_mm: float,
) -> float:
    """Bound on the sum of the tangential forces of all teeth in the cut.

    Formula:  F_t <= n_e a_p k_c1.1 h^(1 - m_c), h = min(h_peak + e, z h_peak), n_e the most teeth at one
              height. At every height each engaged tooth carries k_c(h) h <= that of the peak, because
              h^(1 - m_c) grows with h; summing over heights gives the bound for any helix.
    Args:     unit_force_mpa: k_c1.1, > 0.   exponent_ratio: m_c, 0..0.5.   axial_depth_mm: a_p, >= 0.
              radial_engagement_mm: a_e, above 0, at most D.   feed_per_tooth_mm: f_z, > 0.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   runout_mm: e, total indicated run-out of the edges, >= 0; one tooth can then cut
              that much thicker at any place of its arc, though never more than all teeth together.
    Returns:  N, >= 0; 0 when a_p is 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    chips up to 3 mm; a worn or built-up edge and rubbing only as far as k_c1.1 has been raised for them.
    Source:   material_group_table p. 558 for k_c, seen directly; chip_geometry.   Departs: a bound in place of a mean.
    Checked:  tests/laws/test_cutting_laws.py
    """
    zero_or_more(axial_depth_mm=axial_depth_mm, runout_mm=runout_mm)
    teeth = engaged_teeth_count(
        radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm, teeth_count=teeth_count
    )
    peak_mm = peak_chip_thickness_mm(
        feed_per_tooth_mm=feed_per_tooth_mm, radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm
    )
    thickness_mm = max(THINNEST_CHIP_MM, min(peak_mm + runout_mm, teeth_count * peak_mm))
    pressure_mpa = specific_force_mpa(
        unit_force_mpa=unit_force_mpa, exponent_ratio=exponent_ratio, chip_thickness_mm=thickness_mm
    )
    return teeth * axial_depth_mm * thickness_mm * pressure_mpa


def resultant_force_n(*, tangential_n: float, radial_ratio: float) -> float:
    """Bound on the force across the cutter's axis, in whatever direction.

    Formula:  F <= F_t sqrt(1 + k_r^2): each tooth pushes with at most that, and a sum of vectors is no longer than the
              sum of their lengths
    Args:     tangential_n: bound on the sum of tangential forces, >= 0.   radial_ratio: k_r, radial to tangential
              force on a tooth, 0..2.
    Returns:  N, at least tangential_n.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere within the bounds.
    Source:   chip_geometry.   Departs: nothing.
    Checked:  tests/laws/test_cutting_laws.py
    """
    zero_or_more(tangential_n=tangential_n)
    between(low=0.0, high=2.0, radial_ratio=radial_ratio)
    return tangential_n * math.sqrt(1.0 + radial_ratio * radial_ratio)


def axial_force_n(*, tangential_n: float, helix_rad: float) -> float:
    """Bound on the force along the axis; with a right-hand helix it lifts the work.

    Formula:  F_a <= F_t tan(i), i the helix angle. Across an oblique edge the normal load splits as cos i and sin i;
              chip friction, for a chip that flows to its own side of the edge normal, only takes away from F_a and
              adds to F_t.
    Args:     tangential_n: bound on the sum of tangential forces, >= 0.   helix_rad: i, 0 up to 1.2.
    Returns:  N, >= 0; 0 for a straight edge.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    sharp edges; a face mill with its edge laid back pushes down as well, and that is not in it.
    Source:   oblique_cutting.   Departs: the friction term is dropped, which raises the bound.
    Checked:  tests/laws/test_cutting_laws.py
    """
    zero_or_more(tangential_n=tangential_n)
    between(low=0.0, high=1.2, helix_rad=helix_rad)
    return tangential_n * math.tan(helix_rad)


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
    helix_rad: float,
) -> CutterForces:
    """Bounds on tangential, resultant and axial force of one cutter; pass the worst end of every interval.

    Formula:  peak_tangential_force_n, resultant_force_n and axial_force_n, one after the other
    Args:     unit_force_mpa: k_c1.1, > 0.   exponent_ratio: m_c, 0..0.5.   axial_depth_mm: a_p, >= 0.
              radial_engagement_mm: a_e, above 0, at most D.   feed_per_tooth_mm: f_z, > 0.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   runout_mm: e, >= 0.   radial_ratio: k_r, 0..2.   helix_rad: i, 0..1.2.
    Returns:  N, each >= 0; each grows with k_c1.1, a_p, a_e, f_z, e, k_r and i.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as the three formulas.
    Source:   material_group_table p. 558, seen directly; oblique_cutting.   Departs: bounds in place of means.
    Checked:  tests/laws/test_cutting_laws.py
    """
    tangential_n = peak_tangential_force_n(
        unit_force_mpa=unit_force_mpa,
        exponent_ratio=exponent_ratio,
        axial_depth_mm=axial_depth_mm,
        radial_engagement_mm=radial_engagement_mm,
        feed_per_tooth_mm=feed_per_tooth_mm,
        diameter_mm=diameter_mm,
        teeth_count=teeth_count,
        runout_mm=runout_mm,
    )
    return CutterForces(
        tangential_n=tangential_n,
        resultant_n=resultant_force_n(tangential_n=tangential_n, radial_ratio=radial_ratio),
        axial_n=axial_force_n(tangential_n=tangential_n, helix_rad=helix_rad),
    )
