"""A twist drill by the shear plane of a single edge: a textbook's estimate, to set beside the drill maker's formula."""

from __future__ import annotations

import math
from typing import NamedTuple

from proveout.quantities.bounds import above_zero, between

TORQUE_SHARE_RATIO = 0.6
"""Of edge force times diameter: half of it for the lips at a quarter of the diameter, the rest for the chisel edge."""
THRUST_SHARE_RATIO = 5.0
"""Edge forces along the axis that both lips and the chisel edge make together."""
HELIX_DEFAULT_RAD = math.radians(30.0)
POINT_DEFAULT_RAD = math.radians(118.0)


class _Edge(NamedTuple):
    along_n: float
    off_n: float
    half_point_rad: float


def shear_plane_drill_torque_n_mm(
    *, shear_mpa: float, diameter_mm: float, feed_per_turn_mm: float, friction_ratio: float,
    helix_rad: float = HELIX_DEFAULT_RAD, point_rad: float = POINT_DEFAULT_RAD,
) -> float:  # fmt: skip
    """Torque of a twist drill from the shear strength of the metal.

    Formula:  M = 0.6 F_c D, F_c = w t tau cos(lambda - alpha) / (sin phi cos(phi + lambda - alpha)), phi = 45 deg +
              alpha - lambda, lambda = atan mu, tan alpha = tan psi / (2 sin beta), w = D / (2 sin beta), t = f / 2
    Args:     shear_mpa: tau, > 0.   diameter_mm: D, > 0.   feed_per_turn_mm: f, > 0.   friction_ratio: mu of chip and
              drill, 0..1.   helix_rad: psi, 0..1.   point_rad: 2 beta, 0.8..3.1.
    Returns:  N mm, > 0.
    Raises:   OutOfRange when an argument leaves the bounds above, or the metal could not be sheared so.
    Valid:    continuous chips, a point in solid metal; plans use the drill maker's formula, not this.
    Source:   shear_plane_drill, as quoted.   Departs: as the companion reckons, t = f / 2 and not (f / 2) sin beta,
              which it works out first and then overwrites; only so do its answers come near those of the book.
    Checked:  tests/published/test_shear_plane_drill.py
    """
    edge = _edge(shear_mpa, diameter_mm, feed_per_turn_mm, friction_ratio, helix_rad, point_rad)
    return TORQUE_SHARE_RATIO * edge.along_n * diameter_mm


def shear_plane_drill_thrust_n(
    *, shear_mpa: float, diameter_mm: float, feed_per_turn_mm: float, friction_ratio: float,
    helix_rad: float = HELIX_DEFAULT_RAD, point_rad: float = POINT_DEFAULT_RAD,
) -> float:  # fmt: skip
    """Thrust of a twist drill from the shear strength of the metal.

    Formula:  F = 5 F_t sin beta, F_t = F_c tan(lambda - alpha), F_c as in shear_plane_drill_torque_n_mm
    Args:     shear_mpa: tau, > 0.   diameter_mm: D, > 0.   feed_per_turn_mm: f, > 0.   friction_ratio: mu of chip and
              drill, 0..1.   helix_rad: psi, 0..1.   point_rad: 2 beta, 0.8..3.1.
    Returns:  N; below 0 where so little friction would draw the drill in.
    Raises:   OutOfRange when an argument leaves the bounds above, or the metal could not be sheared so.
    Valid:    as shear_plane_drill_torque_n_mm.
    Source:   shear_plane_drill, as quoted.   Departs: as shear_plane_drill_torque_n_mm.
    Checked:  tests/published/test_shear_plane_drill.py
    """
    edge = _edge(shear_mpa, diameter_mm, feed_per_turn_mm, friction_ratio, helix_rad, point_rad)
    return THRUST_SHARE_RATIO * edge.off_n * math.sin(edge.half_point_rad)


def _edge(shear: float, diameter: float, feed: float, friction: float, helix: float, point: float) -> _Edge:
    """Forces of one lip along its speed and square to it."""
    above_zero(shear_mpa=shear, diameter_mm=diameter, feed_per_turn_mm=feed)
    between(low=0.0, high=1.0, friction_ratio=friction, helix_rad=helix)
    between(low=0.8, high=3.1, point_rad=point)
    half = point / 2.0
    rake = math.atan(0.5 * math.tan(helix) / math.sin(half))
    tilt = math.atan(friction) - rake
    plane = math.pi / 4.0 - tilt
    above_zero(shear_plane_rad=plane)
    size = shear * (diameter / (2.0 * math.sin(half))) * (feed / 2.0) / (math.sin(plane) * math.cos(plane + tilt))
    return _Edge(along_n=size * math.cos(tilt), off_n=size * math.sin(tilt), half_point_rad=half)
