"""How thick the chip is in side milling: mean and peak, and the feed that makes up for a thin one."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, between


def _engagement_share(radial_engagement_mm: float, diameter_mm: float) -> float:
    above_zero(diameter_mm=diameter_mm, radial_engagement_mm=radial_engagement_mm)
    between(low=0.0, high=diameter_mm, radial_engagement_mm=radial_engagement_mm)
    return radial_engagement_mm / diameter_mm


def engagement_angle_rad(*, radial_engagement_mm: float, diameter_mm: float) -> float:
    """Arc over which a tooth is in the cut.

    Formula:  theta = arccos(1 - 2 a_e / D)
    Args:     radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
    Returns:  rad, 0..pi; pi in a full slot.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    straight wall along a straight move; a corner engages more, and the caller gives that a_e.
    Source:   chip_geometry.   Departs: nothing.
    Checked:  tests/published/test_chip_geometry.py
    """
    share = _engagement_share(radial_engagement_mm, diameter_mm)
    return math.acos(1.0 - 2.0 * share)


def mean_chip_thickness_mm(
    *, feed_per_tooth_mm: float, radial_engagement_mm: float, diameter_mm: float, edge_angle_rad: float = math.pi / 2.0
) -> float:
    """Chip thickness averaged over the engaged arc.

    Formula:  h_m = f_z sin(kappa) 2 (a_e / D) / theta
    Args:     feed_per_tooth_mm: f_z, > 0.   radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
              edge_angle_rad: kappa, cutting edge angle, above 0, at most pi / 2.
    Returns:  mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    side milling; the mean, which power wants, and not the peak, which breaks edges.
    Source:   chip_geometry, formula from memory.   Departs: nothing.
    Checked:  tests/published/test_chip_geometry.py
    """
    above_zero(feed_per_tooth_mm=feed_per_tooth_mm, edge_angle_rad=edge_angle_rad)
    between(low=0.0, high=math.pi / 2.0, edge_angle_rad=edge_angle_rad)
    theta = engagement_angle_rad(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
    return feed_per_tooth_mm * math.sin(edge_angle_rad) * 2.0 * (radial_engagement_mm / diameter_mm) / theta


def light_cut_chip_thickness_mm(*, feed_per_tooth_mm: float, radial_engagement_mm: float, diameter_mm: float) -> float:
    """Mean chip thickness by the short form for a light side cut.

    Formula:  h_m = f_z sqrt(a_e / D)
    Args:     feed_per_tooth_mm: f_z, > 0.   radial_engagement_mm: a_e, above 0, below D / 2.   diameter_mm: D, > 0.
    Returns:  mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a_e below half of D.
    Source:   light_cut_catalogue p. 87, seen directly.   Departs: nothing.
    Checked:  tests/published/test_light_cut_catalogue.py
    """
    above_zero(feed_per_tooth_mm=feed_per_tooth_mm)
    share = _engagement_share(radial_engagement_mm, diameter_mm)
    between(low=0.0, high=0.5 * diameter_mm, radial_engagement_mm=radial_engagement_mm)
    return feed_per_tooth_mm * math.sqrt(share)


def radial_thinning_ratio(*, radial_engagement_mm: float, diameter_mm: float) -> float:
    """Feed for each unit of peak chip thickness.

    Formula:  f_z / h_peak = 1 / (2 sqrt(r - r^2)), r = a_e / D; 1 for r >= 1/2
    Args:     radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
    Returns:  >= 1.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    side milling with kappa = 90 deg.
    Source:   chip_geometry, h = f_z sin(phi).   Departs: nothing.
    Checked:  tests/published/test_chip_geometry.py
    """
    share = _engagement_share(radial_engagement_mm, diameter_mm)
    if share >= 0.5:
        return 1.0
    return 1.0 / (2.0 * math.sqrt(share - share * share))


def peak_chip_thickness_mm(*, feed_per_tooth_mm: float, radial_engagement_mm: float, diameter_mm: float) -> float:
    """Greatest chip thickness on the engaged arc.

    Formula:  h_peak = f_z 2 sqrt(r - r^2), r = a_e / D; f_z for r >= 1/2
    Args:     feed_per_tooth_mm: f_z, > 0.   radial_engagement_mm: a_e, above 0, at most D.   diameter_mm: D, > 0.
    Returns:  mm, > 0, at most f_z.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    side milling with kappa = 90 deg; without run-out.
    Source:   chip_geometry, h = f_z sin(phi).   Departs: nothing.
    Checked:  tests/published/test_chip_geometry.py
    """
    above_zero(feed_per_tooth_mm=feed_per_tooth_mm)
    return feed_per_tooth_mm / radial_thinning_ratio(radial_engagement_mm=radial_engagement_mm, diameter_mm=diameter_mm)
