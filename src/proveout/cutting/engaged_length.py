"""How much edge of a helical cutter can be in the cut at one moment."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.chip_thickness import engagement_angle_rad
from proveout.quantities.bounds import above_zero, between, zero_or_more

Floats = NDArray[np.float64]
STRAIGHT_RAD = 1e-3
"""An edge that leans less is taken as straight: all of it may be in the cut at once."""
NO_LAG_RAD = 1e-12
"""A lag no smaller than that is divided by; a cut so shallow has no edge in it."""
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
    above_zero(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    between(low=0.0, high=diameter_mm, radial_engagement_mm=radial_engagement_mm)
    found = edges_in_cut_mm(
        axial_mm=np.array([axial_depth_mm]), radial_mm=np.array([radial_engagement_mm]), diameter_mm=diameter_mm,
        teeth_count=teeth_count, helix_low_rad=helix_low_rad, helix_high_rad=helix_high_rad,
    )  # fmt: skip
    return float(found[0])


def arcs_rad(*, radial_mm: Floats, diameter_mm: float) -> Floats:
    """Arc over which a tooth is in the cut, of many cuts.

    Formula:  theta = arccos(1 - 2 a_e / D), as engagement_angle_rad
    Args:     radial_mm: (k,) a_e, taken as at most D.   diameter_mm: D, > 0.
    Returns:  rad, (k,) 0..pi.
    Raises:   OutOfRange when the diameter leaves its bounds.
    Valid:    straight wall along a straight move.
    Source:   chip_geometry.   Departs: nothing.
    Checked:  tests/laws/test_engaged_length.py
    """
    above_zero(diameter_mm=diameter_mm)
    return np.arccos(1.0 - 2.0 * np.clip(radial_mm / diameter_mm, 0.0, 1.0))


def edges_in_cut_mm(
    *, axial_mm: Floats, radial_mm: Floats, diameter_mm: float, teeth_count: int,
    helix_low_rad: float, helix_high_rad: float,
) -> Floats:  # fmt: skip
    """Most axial length of edge in the cut at one moment, all teeth together, of many cuts, for every helix between.

    Formula:  as engaged_edge_length_mm
    Args:     axial_mm: (k,) a_p, >= 0.   radial_mm: (k,) a_e, taken as at most D.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   helix_low_rad, helix_high_rad: ends of i, 0 up to 1.2.
    Returns:  mm, (k,) 0 up to z a_p; never less for more depth, width or range of helix.
    Raises:   OutOfRange when diameter, teeth or helix leave their bounds, or the low end is above the high one.
    Valid:    evenly spaced teeth on a cylinder, all of one helix.
    Source:   chip_geometry.   Departs: the most over a turn and over the helix in place of the value turn by turn.
    Checked:  tests/laws/test_engaged_length.py
    """
    above_zero(teeth_count=teeth_count)
    between(low=0.0, high=1.2, helix_high_rad=helix_high_rad)
    between(low=0.0, high=helix_high_rad, helix_low_rad=helix_low_rad)
    theta = arcs_rad(radial_mm=radial_mm, diameter_mm=diameter_mm)
    pitch = 2.0 * math.pi / teeth_count
    always = np.floor(theta / pitch + 1e-9)
    if helix_low_rad < STRAIGHT_RAD:
        return np.minimum(teeth_count, always + 1.0) * axial_mm
    rest = np.maximum(theta - always * pitch, 0.0)
    least, most = (
        np.maximum(axial_mm * math.tan(i) / (diameter_mm / 2.0), NO_LAG_RAD) for i in (helix_low_rad, helix_high_rad)
    )
    peak = rest + np.floor(least / pitch) * pitch
    peak = np.where(peak >= least, peak, peak + pitch)
    share = np.maximum(*(_shares_in_cut(lags, pitch, rest) for lags in (least, np.minimum(peak, most))))
    return axial_mm * (always + share)


def _shares_in_cut(lags_rad: Floats, pitch_rad: float, rest_rad: Floats) -> Floats:
    """The most of a stretch, as a share of it, that falls on arcs one pitch apart."""
    whole = np.floor(lags_rad / pitch_rad)
    return (whole * rest_rad + np.minimum(lags_rad - whole * pitch_rad, rest_rad)) / lags_rad
