"""Bounds on the forces of a cutter over a turn, for many cuts at once, by two published laws of the edge."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.engaged_length import arcs_rad, edges_in_cut_mm
from proveout.cutting.mechanistic import EdgeCoefficients
from proveout.quantities.bounds import above_zero, between, zero_or_more

Floats = NDArray[np.float64]

THINNEST_CHIP_MM = 0.001
"""A thinner chip is taken as so thick; the force of an edge grows with it, so this only ever raises the force."""
CELLS_COUNT = 16
"""Steps into which the widths that a section may have are divided; more makes the bound closer, never less sure."""


class EdgeLaw(msgspec.Struct, frozen=True, kw_only=True):
    """Force on each mm of edge by the thickness of its chip: k h^(1 - m) + K h + E, all >= 0."""

    unit_force_mpa: float = 0.0
    exponent_ratio: float = 0.0
    chip_mpa: float = 0.0
    edge_n_per_mm: float = 0.0

    def at_n_per_mm(self, chip_mm: Floats) -> Floats:
        """N/mm at each thickness; it never falls as the chip grows."""
        power = self.unit_force_mpa * chip_mm ** (1.0 - self.exponent_ratio) if self.unit_force_mpa > 0.0 else 0.0
        return np.asarray(power + self.chip_mpa * chip_mm + self.edge_n_per_mm)


class EdgeModel(msgspec.Struct, frozen=True, kw_only=True):
    """The law of an edge along its speed, square to that across the axis, and along the axis."""

    tangential: EdgeLaw
    radial: EdgeLaw
    axial: EdgeLaw


class TurnForces(msgspec.Struct, frozen=True, kw_only=True):
    """Of k cuts (k,) N: most over a turn of the tangential and the radial sum, of the force across, and along."""

    tangential_n: Floats
    radial_n: Floats
    across_n: Floats
    axial_n: Floats

    def or_more(self, other: TurnForces) -> TurnForces:
        """The larger of both, cut by cut."""
        return TurnForces(**{n: np.maximum(getattr(self, n), getattr(other, n)) for n in self.__struct_fields__})


class TurnMeans(msgspec.Struct, frozen=True, kw_only=True):
    """Of k cuts (k,) N: means over a turn of the tangential sum, the radial one, and that along the axis."""

    tangential_n: Floats
    radial_n: Floats
    axial_n: Floats


def linear_edge_model(coefficients: EdgeCoefficients) -> EdgeModel:
    """Forces that grow evenly with the chip, from a rubbing edge on; source key linear_edge_forces."""
    k = coefficients
    return EdgeModel(
        tangential=EdgeLaw(chip_mpa=k.tangential_mpa, edge_n_per_mm=k.edge_tangential_n_per_mm),
        radial=EdgeLaw(chip_mpa=k.radial_mpa, edge_n_per_mm=k.edge_radial_n_per_mm),
        axial=EdgeLaw(chip_mpa=k.axial_mpa, edge_n_per_mm=k.edge_axial_n_per_mm),
    )


def power_law_model(
    *, unit_force_mpa: float, exponent_ratio: float, radial_ratio: float, axial_ratio: float
) -> EdgeModel:
    """Forces by the specific pressure on the chip, and shares of it; source key material_group_table.

    unit_force_mpa: k_c1.1.   exponent_ratio: m_c.   radial_ratio, axial_ratio: of the tangential force.
    """
    above_zero(unit_force_mpa=unit_force_mpa)
    between(low=0.0, high=0.5, exponent_ratio=exponent_ratio)
    zero_or_more(radial_ratio=radial_ratio, axial_ratio=axial_ratio)
    tangential, radial, axial = (
        EdgeLaw(unit_force_mpa=unit_force_mpa * share, exponent_ratio=exponent_ratio)
        for share in (1.0, radial_ratio, axial_ratio)
    )
    return EdgeModel(tangential=tangential, radial=radial, axial=axial)


def peak_chips_mm(
    *, tooth_feed_mm: Floats, radial_mm: Floats, diameter_mm: float, teeth_count: int, runout_mm: float
) -> Floats:
    """Thickest chip of any tooth, of many cuts; one tooth may stand out by the run-out and take that much more.

    Formula:  h = min(h_peak + e, z h_peak), h_peak = f_z 2 sqrt(r - r^2), r = a_e / D; f_z for r >= 1/2
    Args:     tooth_feed_mm: (k,) f_z, > 0.   radial_mm: (k,) a_e, taken as at most D.   diameter_mm: D, > 0.
              teeth_count: z, >= 1.   runout_mm: e, total indicated, >= 0.
    Returns:  mm, (k,) >= 0.
    Raises:   OutOfRange when diameter, teeth or run-out leave their bounds.
    Valid:    side milling with kappa = 90 deg; an edge laid back cuts thinner.
    Source:   chip_geometry, h = f_z sin(phi).   Departs: nothing.
    Checked:  tests/laws/test_turning.py
    """
    above_zero(diameter_mm=diameter_mm, teeth_count=teeth_count)
    zero_or_more(runout_mm=runout_mm)
    share = np.clip(radial_mm / diameter_mm, 0.0, 0.5)
    peak = tooth_feed_mm * 2.0 * np.sqrt(share - share * share)
    return np.minimum(peak + runout_mm, teeth_count * peak)


def turn_forces_n(
    *, model: EdgeModel, axial_mm: Floats, radial_mm: Floats, tooth_feed_mm: Floats, diameter_mm: float,
    teeth_count: int, runout_mm: float, helix_low_rad: float, helix_high_rad: float, edge_ratio: Floats,
) -> TurnForces:  # fmt: skip
    """Most forces over a turn, of many cuts.

    Formula:  F = B q(h): B edges_in_cut_mm at a_e + e times the length of edge for each of its depth, h
              peak_chips_mm, at least 1 micrometre, q the law of the edge; across sqrt(q_t^2 + q_r^2). As q never
              falls with h, and no sum of vectors is longer than the sum of their lengths, no turn has more at any
              helix between the ends. Mean: z a_p theta q_t(h_m) / (2 pi), h_m = 2 f_z a_e / (D theta)
    Args:     model: laws of the edge.   axial_mm: (k,) a_p, >= 0.   radial_mm: (k,) a_e, taken as at most D.
              tooth_feed_mm: (k,) f_z, > 0.   diameter_mm: D, > 0.   teeth_count: z, >= 1.   runout_mm: e, >= 0.
              helix_low_rad, helix_high_rad: ends of the helix, 0 up to 1.2.   edge_ratio: (k,) length of edge for each
              of depth.
    Returns:  N, TurnForces of (k,) each.
    Raises:   OutOfRange when diameter, teeth, run-out or helix leave their bounds.
    Valid:    evenly spaced teeth; a worn or built-up edge as far as the model holds it.
    Source:   linear_edge_forces, from memory; material_group_table p. 558, seen directly; chip_geometry.
              Departs: bounds in place of the forces turn by turn.
    Checked:  tests/laws/test_turning.py, tests/published/test_linear_edge_forces.py
    """
    # a tooth that stands out by the run-out is in the cut so much wider
    wider = np.where(np.asarray(radial_mm) > 0.0, radial_mm + runout_mm, 0.0)
    edges = edge_ratio * edges_in_cut_mm(
        axial_mm=axial_mm, radial_mm=wider, diameter_mm=diameter_mm, teeth_count=teeth_count,
        helix_low_rad=helix_low_rad, helix_high_rad=helix_high_rad,
    )  # fmt: skip
    chip = peak_chips_mm(
        tooth_feed_mm=tooth_feed_mm, radial_mm=radial_mm, diameter_mm=diameter_mm, teeth_count=teeth_count,
        runout_mm=runout_mm,
    )  # fmt: skip
    chip = np.maximum(chip, THINNEST_CHIP_MM)
    tangential, radial = model.tangential.at_n_per_mm(chip), model.radial.at_n_per_mm(chip)
    return TurnForces(
        tangential_n=edges * tangential, radial_n=edges * radial, across_n=edges * np.hypot(tangential, radial),
        axial_n=edges * model.axial.at_n_per_mm(chip),
    )  # fmt: skip


def turn_means_n(
    *, model: EdgeModel, axial_mm: Floats, radial_mm: Floats, tooth_feed_mm: Floats, diameter_mm: float,
    teeth_count: int, edge_ratio: Floats,
) -> TurnMeans:  # fmt: skip
    """Mean forces over a turn, of many cuts; the helix and the run-out only spread them over it.

    Formula:  F = z a_p theta q(h_m) / (2 pi) times the length of edge for each of its depth, h_m = 2 f_z a_e / (D
              theta)
    Args:     model: laws of the edge.   axial_mm: (k,) a_p, >= 0.   radial_mm: (k,) a_e, taken as at most D.
              tooth_feed_mm: (k,) f_z, > 0.   diameter_mm: D, > 0.   teeth_count: z, >= 1.   edge_ratio: (k,) length of
              edge for each of depth.
    Returns:  N, TurnMeans of (k,) each, >= 0; 0 where a_p or a_e is 0.
    Raises:   OutOfRange when diameter or teeth leave their bounds.
    Valid:    the mean itself of a law that is a straight line in h, on an edge along the axis; of one that bends down,
              and of edges laid back, no less than the mean. It never falls with a_p, a_e or f_z.
    Source:   linear_edge_forces, from memory; material_group_table p. 558, seen directly; chip_geometry.
              Departs: nothing.
    Checked:  tests/laws/test_turning.py, tests/published/test_linear_edge_forces.py
    """
    above_zero(diameter_mm=diameter_mm, teeth_count=teeth_count)
    theta = arcs_rad(radial_mm=radial_mm, diameter_mm=diameter_mm)
    wide = np.clip(radial_mm, 0.0, diameter_mm)
    chip = np.divide(2.0 * tooth_feed_mm * wide, diameter_mm * theta, out=np.zeros(np.shape(theta)), where=theta > 0.0)
    in_cut = teeth_count * axial_mm * edge_ratio * theta / (2.0 * math.pi)
    return TurnMeans(
        tangential_n=in_cut * model.tangential.at_n_per_mm(chip), radial_n=in_cut * model.radial.at_n_per_mm(chip),
        axial_n=in_cut * model.axial.at_n_per_mm(chip),
    )  # fmt: skip


def engagements_of_mm(*, section_mm2: Floats, axial_most_mm: Floats, radial_most_mm: Floats) -> tuple[Floats, Floats]:
    """Pairs of depth and width that between them are as deep and as wide as any rectangle of a section.

    Formula:  widths w_0 .. w_n in even steps of ratio from S / a_p,most to the least of a_e,most and w_0 n; of each
              step the depth S / w_j at its narrow end and the width w_j+1 at its wide end: a cut of section S, no
              deeper and no wider than the most, lies within one of them.
    Args:     section_mm2: (k,) S, >= 0.   axial_most_mm: (k,) > 0.   radial_most_mm: (k,) > 0.
    Returns:  mm, two (n, k): depth and width.
    Valid:    where a force never falls with either, the largest over the n pairs bounds it for every such cut.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/laws/test_turning.py
    """
    narrow = np.minimum(np.maximum(section_mm2 / axial_most_mm, 1e-9), radial_most_mm)
    steps = np.linspace(0.0, 1.0, CELLS_COUNT + 1)[:, None]
    widths = narrow * (radial_most_mm / narrow) ** steps
    depths = np.minimum(axial_most_mm, section_mm2 / widths[:-1])
    return depths, widths[1:]
