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
    *, axial_depth_mm: float, radial_engagement_mm: float, diameter_mm: float, teeth_count: int,
    helix_low_rad: float, helix_high_rad: float,
) -> float:  # fmt: skip
    """Most axial length of edge in the cut at one moment, all teeth together, whatever the helix within its range.

    Formula:  B = a_p (n + max over i of g(u) / u), u = a_p tan i / R the lag of an edge along the depth, p = 2 pi / z,
              n = floor(theta / p) teeth in the arc at every moment, r = theta - n p for which there is one more;
              g(u) = m r + min(u - m p, r), m = floor(u / p), the most of a stretch u that falls on arcs r one pitch
              apart. g(u) / u is 1 up to u = r, then has a peak at each r + m p, every one lower than that before it;
              so the most lies at the least lag, at the first peak past it or, short of that, at the greatest lag.
    Args:     axial_depth_mm: a_p, >= 0.   radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   helix_low_rad, helix_high_rad: ends of i, 0 up to 1.2; a low end of 0 gives
              (n + 1) a_p, at most z a_p.
    Returns:  mm, 0 up to z a_p.
    Raises:   OutOfRange when an argument leaves the bounds above, or the low end is above the high one.
    Valid:    evenly spaced teeth on a cylinder, all of one helix.
    Source:   chip_geometry.   Departs: the most over a turn and over the helix in place of the value turn by turn.
    Checked:  tests/laws/test_engaged_length.py
    """
    zero_or_more(axial_depth_mm=axial_depth_mm)
    above_zero(teeth_count=teeth_count)
    between(low=0.0, high=1.2, helix_high_rad=helix_high_rad)
    between(low=0.0, high=helix_high_rad, helix_low_rad=helix_low_rad)
    theta = engagement_angle_rad(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    pitch = 2.0 * math.pi / teeth_count
    always = math.floor(theta / pitch + 1e-9)
    if helix_low_rad <= 0.0 or axial_depth_mm <= 0.0:
        return min(teeth_count, always + 1) * axial_depth_mm
    rest = max(0.0, theta - always * pitch)
    least, most = (axial_depth_mm * math.tan(i) / (diameter_mm / 2.0) for i in (helix_low_rad, helix_high_rad))
    peak = rest + math.floor(least / pitch) * pitch
    peak = peak if peak >= least else peak + pitch
    share = max(_share_in_cut(lag_rad=u, pitch_rad=pitch, rest_rad=rest) for u in (least, min(peak, most)))
    return axial_depth_mm * (always + share)


def _share_in_cut(*, lag_rad: float, pitch_rad: float, rest_rad: float) -> float:
    """The most of a stretch, as a share of it, that falls on arcs one pitch apart."""
    whole = math.floor(lag_rad / pitch_rad)
    return (whole * rest_rad + min(lag_rad - whole * pitch_rad, rest_rad)) / lag_rad
