"""The laws by which a cutter's edges push: two published ones side by side, at the dull end and at the sharp one."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.cutting.edge_coefficients import CoefficientRange
from proveout.cutting.engaged_length import HELIX_HIGH_RAD
from proveout.cutting.mechanistic import EdgeCoefficients
from proveout.cutting.turning import EdgeLaw, EdgeModel, linear_edge_model, power_law_model
from proveout.model.cutter import SQUARE_KINDS
from proveout.model.fact import Fact
from proveout.model.shop import Cutter

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
