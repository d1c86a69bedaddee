"""How much edge of a helical cutter can be in the cut at one moment."""

from __future__ import annotations

import math

from proveout.cutting.chip_thickness import engagement_angle_rad
from proveout.quantities.bounds import above_zero, between, zero_or_more

HELIX_LOW_RAD, HELIX_HIGH_RAD = math.radians(30.0), math.radians(45.0)
"""Common practice, no source: between these lies the helix of an end mill that nobody measured."""


def engaged_height_mm(*, radial_engagement_mm: float, diameter_mm: float, helix_rad: float) -> float:
    """Height over which one helical tooth can lie in the cut at one moment, however deep the cut.

    Formula:  b = R theta / tan i: over that height the tooth lags by the whole arc of the cut.
    Args:     radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.   helix_rad: i, above 0 up to 1.2.
    Returns:  mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a cylinder; theta from chip_thickness.py.
    Source:   chip_geometry.   Departs: nothing.
    Checked:  tests/laws/test_engaged_length.py
    """
    above_zero(helix_rad=helix_rad)
    between(low=0.0, high=1.2, helix_rad=helix_rad)
    theta = engagement_angle_rad(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    return diameter_mm / 2.0 * theta / math.tan(helix_rad)


def engaged_edge_length_mm(
    *, axial_depth_mm: float, radial_engagement_mm: float, diameter_mm: float, teeth_count: int, helix_rad: float
) -> float:
    """Bound on the axial length of edge in the cut at one moment, all teeth together.

    Formula:  B = min(n_e a_p, n_s min(a_p, R theta / tan i)); n_e = min(z, floor(theta z / 2 pi) + 1) teeth at one
              height; n_s = floor((theta + a_p tan i / R) z / 2 pi) + 1 passes through the arc at any height (a tooth
              that winds round more than once counts again). A tooth lags
              by z tan i / R along its height, so it lies within the arc theta over at most R theta / tan i.
    Args:     axial_depth_mm: a_p, >= 0.   radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   helix_rad: i, the least the helix can be, 0 up to 1.2; 0 gives n_e a_p.
    Returns:  mm, 0 up to z a_p.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    evenly spaced teeth on a cylinder.
    Source:   chip_geometry.   Departs: a bound in place of the value turn by turn.
    Checked:  tests/laws/test_engaged_length.py
    """
    zero_or_more(axial_depth_mm=axial_depth_mm)
    above_zero(teeth_count=teeth_count)
    between(low=0.0, high=1.2, helix_rad=helix_rad)
    theta = engagement_angle_rad(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    at_one_height = min(teeth_count, math.floor(theta * teeth_count / (2.0 * math.pi) + 1e-9) + 1)
    straight = at_one_height * axial_depth_mm
    if helix_rad <= 0.0:
        return straight
    radius = diameter_mm / 2.0
    lag = axial_depth_mm * math.tan(helix_rad) / radius
    at_any = math.floor((theta + lag) * teeth_count / (2.0 * math.pi) + 1e-9) + 1
    height = engaged_height_mm(
        radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm, helix_rad=helix_rad
    )  # fmt: skip
    return min(straight, at_any * min(axial_depth_mm, height))
