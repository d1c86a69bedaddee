"""How a cutter's edges push: two published laws side by side, of dull and of sharp edges, and the forces they make."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_coefficients import CoefficientRange
from proveout.cutting.engaged_length import HELIX_HIGH_RAD, HELIX_LOW_RAD
from proveout.cutting.mechanistic import EdgeCoefficients
from proveout.cutting.turning import (
    EdgeLaw,
    EdgeModel,
    TurnForces,
    TurnMeans,
    linear_edge_model,
    power_law_model,
    turn_forces_n,
    turn_means_n,
)
from proveout.model.cutter import SQUARE_KINDS
from proveout.model.fact import Fact
from proveout.model.shop import Cutter

Floats = NDArray[np.float64]
# common practice, no source: run-out of a cutter in its holder
RUNOUT_MM = 0.02
NO_MM = 1e-3
# common practice, no source: radial to tangential force by the specific pressure
RADIAL_RATIO = 0.6


class EdgeEnds(msgspec.Struct, frozen=True, kw_only=True):
    """Models of one cutter's edges: of a dull one, the hardest that each can push, and of a sharp one, the least.

    pressure_share: least over greatest specific pressure, 0..1.
    """

    dull: tuple[EdgeModel, ...]
    sharp: tuple[EdgeModel, ...]
    pressure_share: float

    def share(self, chip_mm: float) -> float:
        """Least over greatest tangential force at a thickness of chip, 0..1."""
        chip = np.array([chip_mm])
        least = min(float(model.tangential.at_n_per_mm(chip)[0]) for model in self.sharp)
        most = max(float(model.tangential.at_n_per_mm(chip)[0]) for model in self.dull)
        return min(1.0, least / most)


def is_square(cutter: Cutter) -> bool:
    """Whether its edges push round and off a wall, and along the axis by their lean alone."""
    return cutter.kind in SQUARE_KINDS and cutter.corner_radius_mm <= 0.0


def edge_ends(
    cutter: Cutter, *, pressure_mpa: Fact, exponent_ratio: float, coefficients: CoefficientRange | None
) -> EdgeEnds:
    """Both models of a cutter's edges; of a metal without coefficients the one by specific pressure alone.

    pressure_mpa: k_c1.1; its high end is that of a dull edge.
    """
    lean = math.tan(HELIX_HIGH_RAD)
    pushed = 0.0 if is_square(cutter) else RADIAL_RATIO
    by_pressure = [
        power_law_model(
            unit_force_mpa=end, exponent_ratio=exponent_ratio, radial_ratio=RADIAL_RATIO, axial_ratio=lean + pushed
        )
        for end in (pressure_mpa.high, pressure_mpa.low)
    ]
    share = pressure_mpa.low / pressure_mpa.high
    if coefficients is None:
        return EdgeEnds(dull=(by_pressure[0],), sharp=(by_pressure[1],), pressure_share=share)
    by_edge = [_linear(ends, lean, is_laid_back=pushed > 0.0) for ends in (coefficients.dull, coefficients.sharp)]
    return EdgeEnds(
        dull=(by_pressure[0], by_edge[0]), sharp=(by_pressure[1], by_edge[1]), pressure_share=share
    )  # fmt: skip


def _linear(coefficients: EdgeCoefficients, lean: float, *, is_laid_back: bool) -> EdgeModel:
    """By cutting and edge coefficients; along the axis what the steepest lean makes, if that is more than their own.

    An edge laid back, rounded or on a ball turns its push off the surface towards the axis.
    """
    k, model = coefficients, linear_edge_model(coefficients)
    aside = 1.0 if is_laid_back else 0.0
    axial = EdgeLaw(
        chip_mpa=max(k.axial_mpa, lean * k.tangential_mpa) + aside * k.radial_mpa,
        edge_n_per_mm=max(k.edge_axial_n_per_mm, lean * k.edge_tangential_n_per_mm) + aside * k.edge_radial_n_per_mm,
    )
    return EdgeModel(tangential=model.tangential, radial=model.radial, axial=axial)


def edge_ratio(cutter: Cutter, *, axial_mm: Floats) -> Floats:
    """Length of cutting edge for each unit of depth: 1 along a cylinder, more on a slant or a ball.

    Formula:  l / a = 1 / cos(k) on a slant of half angle k; (R arccos(1 - min(a, R) / R) + max(a - R, 0)) / a on a ball
              of radius R   (l length of edge, a depth)
    Args:     cutter: its form, and its angle where it has one.   axial_mm: a (k,), from above.
    Returns:  (k,) l / a, >= 1.
    Raises:   nothing.
    Valid:    the whole depth in the metal, helix counted elsewhere; the edge angle of a face mill, which no shop file
              says, as 45 degrees: the flattest that is usual.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/loads/test_loads.py
    """
    radius, axial = cutter.diameter_mm / 2.0, np.asarray(axial_mm, dtype=np.float64)
    if cutter.kind == "ball":
        depth = np.maximum(axial, NO_MM)
        rounded = radius * np.arccos(1.0 - np.minimum(depth, radius) / radius)
        return (rounded + np.maximum(depth - radius, 0.0)) / depth
    ratio = 1.0
    if cutter.kind in ("edge break", "spot", "drill"):
        ratio = 1.0 / max(math.cos(cutter.tip_angle_rad / 2.0), 0.1)
    elif cutter.kind == "undercut":
        ratio = 1.0 / max(math.cos(cutter.tip_angle_rad), 0.1)
    elif cutter.kind == "thread mill":  # flanks of 60 degrees have twice the length of the profile that they stand on
        ratio = 2.0
    elif cutter.kind == "face mill":
        # the edge angle of a face mill is not in the shop file: 45 degrees is the flattest that is usual
        ratio = math.sqrt(2.0)
    return np.full(axial.shape, ratio)


def forces_by_law(
    cutter: Cutter, models: tuple[EdgeModel, ...], *, axial_mm: Floats, radial_mm: Floats, tooth_feed_mm: Floats
) -> tuple[TurnForces, ...]:
    """(k,) of each cut the most over a turn by each of the models, at any lean of the edges that is usual."""
    ratio = edge_ratio(cutter, axial_mm=axial_mm)
    low, high = (HELIX_LOW_RAD, HELIX_HIGH_RAD) if cutter.kind == "end mill" else (0.0, 0.0)
    return tuple(
        turn_forces_n(
            model=model, axial_mm=axial_mm, radial_mm=radial_mm, tooth_feed_mm=tooth_feed_mm,
            diameter_mm=cutter.diameter_mm, teeth_count=max(cutter.flutes_count, 1), runout_mm=RUNOUT_MM,
            helix_low_rad=low, helix_high_rad=high, edge_ratio=ratio,
        )
        for model in models
    )  # fmt: skip


def side_forces(
    cutter: Cutter, models: tuple[EdgeModel, ...], *, axial_mm: Floats, radial_mm: Floats, tooth_feed_mm: Floats
) -> TurnForces:
    """(k,) of each cut the most over a turn of all models, at any lean of the edges that is usual."""
    return most_of(
        forces_by_law(cutter, models, axial_mm=axial_mm, radial_mm=radial_mm, tooth_feed_mm=tooth_feed_mm)
    )  # fmt: skip


def most_of(found: tuple[TurnForces, ...]) -> TurnForces:
    """The larger of all, cut by cut."""
    most = found[0]
    for other in found[1:]:
        most = most.or_more(other)
    return most


def side_means(
    cutter: Cutter, models: tuple[EdgeModel, ...], *, axial_mm: Floats, radial_mm: Floats, tooth_feed_mm: Floats
) -> TurnMeans:
    """(k,) of each cut the means over a turn, of each the larger of all models."""
    ratio = edge_ratio(cutter, axial_mm=axial_mm)
    found = [
        turn_means_n(
            model=model, axial_mm=axial_mm, radial_mm=radial_mm, tooth_feed_mm=tooth_feed_mm,
            diameter_mm=cutter.diameter_mm, teeth_count=max(cutter.flutes_count, 1), edge_ratio=ratio,
        )
        for model in models
    ]  # fmt: skip
    names = TurnMeans.__struct_fields__
    return TurnMeans(**{n: np.max([getattr(one, n) for one in found], axis=0) for n in names})
