"""Forces of a helical end mill as it turns, by cutting and edge coefficients."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero, between, zero_or_more

Floats = NDArray[np.float64]


class EdgeCoefficients(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Cutting coefficients (MPa) grow with the chip, edge coefficients (N/mm) do not; tangential, radial, axial."""

    tangential_mpa: float
    radial_mpa: float
    axial_mpa: float
    edge_tangential_n_per_mm: float
    edge_radial_n_per_mm: float
    edge_axial_n_per_mm: float


def mean_slot_forces_n(
    *, axial_depth_mm: float, feed_per_tooth_mm: float, teeth_count: int, coefficients: EdgeCoefficients
) -> tuple[float, float, float]:
    """Mean forces in a full slot along the feed, across it and along the axis.

    Formula:  F_x = -N a c K_rc / 4 - N a K_re / pi; F_y = N a c K_tc / 4 + N a K_te / pi; F_z = N a c K_ac / pi +
              N a K_ae / 2
    Args:     axial_depth_mm: a, >= 0.   feed_per_tooth_mm: c, > 0.   teeth_count: N, >= 1.   coefficients: of the pair
              of alloy and edge.
    Returns:  (x, y, z) in N, on the cutter.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    any helix; no run-out.
    Source:   linear_edge_forces, from memory.   Departs: nothing.
    Checked:  tests/published/test_linear_edge_forces.py
    """
    zero_or_more(axial_depth_mm=axial_depth_mm)
    above_zero(feed_per_tooth_mm=feed_per_tooth_mm, teeth_count=teeth_count)
    k, a, c, n = coefficients, axial_depth_mm, feed_per_tooth_mm, teeth_count
    return (
        -n * a * c * k.radial_mpa / 4.0 - n * a * k.edge_radial_n_per_mm / math.pi,
        n * a * c * k.tangential_mpa / 4.0 + n * a * k.edge_tangential_n_per_mm / math.pi,
        n * a * c * k.axial_mpa / math.pi + n * a * k.edge_axial_n_per_mm / 2.0,
    )


def turning_forces_n(
    *, axial_depth_mm: float, diameter_mm: float, feed_per_tooth_mm: float, teeth_count: int, start_rad: float,
    exit_rad: float, helix_rad: float, runout_mm: float, coefficients: EdgeCoefficients, angles_count: int = 360,
    heights_count: int = 60,
) -> Floats:  # fmt: skip
    """Forces over one turn along the feed, across it and along the axis, and the tangential sum.

    Formula:  dF = (K_c h + K_e) dz at every height, h = c sin p + what the tooth stands out by run-out, while p lies
              between start and exit; a tooth lags by z tan i / R at height z
    Args:     axial_depth_mm: a, > 0.   diameter_mm: > 0.   feed_per_tooth_mm: c, > 0.   teeth_count: N, >= 1.
              start_rad: 0..pi.   exit_rad: above start_rad, at most pi.   helix_rad: i, 0..1.2.   runout_mm: total
              indicated, >= 0: the first tooth cuts so much more than the one before it, the next so much less.
              coefficients: as above.   angles_count: places of the turn.   heights_count: slices of the depth.
    Returns:  N, (angles_count, 4) on the cutter: x, y, z and tangential.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    rigid tool and work; evenly spaced teeth.
    Source:   linear_edge_forces, from memory.   Departs: run-out as the chip of one tooth, not as an offset axis.
    Checked:  tests/published/test_linear_edge_forces.py
    """
    above_zero(
        axial_depth_mm=axial_depth_mm, diameter_mm=diameter_mm, feed_per_tooth_mm=feed_per_tooth_mm,
        teeth_count=teeth_count,
    )  # fmt: skip
    zero_or_more(runout_mm=runout_mm)
    between(low=0.0, high=math.pi, start_rad=start_rad)
    between(low=start_rad, high=math.pi, exit_rad=exit_rad)
    between(low=0.0, high=1.2, helix_rad=helix_rad)
    k = coefficients
    heights = (np.arange(heights_count) + 0.5) * axial_depth_mm / heights_count
    lag = heights * math.tan(helix_rad) / (diameter_mm / 2.0)
    turn = 2.0 * math.pi * (np.arange(angles_count) + 0.5) / angles_count
    out = np.zeros((angles_count, 4))
    slice_mm = axial_depth_mm / heights_count
    for tooth in range(teeth_count):
        p = np.mod(turn[:, None] + 2.0 * math.pi * tooth / teeth_count - lag[None, :], 2.0 * math.pi)
        cutting = (p >= start_rad) & (p <= exit_rad)
        more = runout_mm if tooth == 0 else (-runout_mm if tooth == 1 else 0.0)
        chip = np.maximum(feed_per_tooth_mm * np.sin(p) + more, 0.0)
        cutting &= chip > 0.0
        tangential = np.where(cutting, k.tangential_mpa * chip + k.edge_tangential_n_per_mm, 0.0) * slice_mm
        radial = np.where(cutting, k.radial_mpa * chip + k.edge_radial_n_per_mm, 0.0) * slice_mm
        axial = np.where(cutting, k.axial_mpa * chip + k.edge_axial_n_per_mm, 0.0) * slice_mm
        out[:, 0] += (-tangential * np.cos(p) - radial * np.sin(p)).sum(axis=1)
        out[:, 1] += (tangential * np.sin(p) - radial * np.cos(p)).sum(axis=1)
        out[:, 2] += axial.sum(axis=1)
        out[:, 3] += tangential.sum(axis=1)
    return out
