"""The sum of shares against displacements of the whole work: no seating within the figures goes beyond it."""

from __future__ import annotations

import numpy as np
from shapes import target_of
from stages.turning_over.turned import BAR, BLOCK, FIRST, MEASURED_MILL, MEASURED_VISE, SECOND, TURNED, plain_passes

from proveout.model.work import Clamping
from proveout.stages.turning_over.bow import BowOf
from proveout.stages.turning_over.chain import Chain
from proveout.stages.turning_over.meets import CutAt, cuts_by_face

DRAWS = 4000
SPANS = np.array([80.0, 40.0, 20.0])
BOW_MM = 0.027
# high ends of the figures, each written here anew, in the frame of the second clamping: x, y, z
SHIFT_MM = np.array([0.010 + 0.015, 0.010 + 0.015, 0.010 + 0.015])  # zero with seating, and zero with lift
DATUM_MM = np.array([0.015, 0.015 + BOW_MM, 0.012 + BOW_MM])  # how the faces lie that it is located by
TURN_RAD = np.array([0.2e-3, 0.1e-3, 0.2e-3])


def chain() -> Chain:
    target = target_of(BLOCK)
    return Chain(
        machines={"mill": MEASURED_MILL}, vises={"vise": MEASURED_VISE}, forms={}, target=target,
        cuts=cuts_by_face(plain_passes(), (FIRST, SECOND)), bow_of=BowOf(bar=BAR, bar_id="bar", target=target),
    )  # fmt: skip


def at(clamping: Clamping) -> CutAt:
    return CutAt(clamping, clamping.tilts[0])


def test_no_displacement_within_the_figures_goes_beyond_the_sum() -> None:
    """The work is turned by a small vector about any point of itself, shifted, and both cuts lie off along the heading.

    All at their ends, signs at random, any two corners as the place looked at and the point turned about; the farthest
    of the draws lies below the sum for every heading, and comes near it, so that the sum is no mere large number.
    """
    draw = np.random.default_rng(20260105)
    own = chain()
    for _ in range(60):
        normal = draw.normal(size=3)
        normal /= np.linalg.norm(normal)
        found = own.between(at(FIRST), at(SECOND), normal).sum_mm
        assert found is not None
        n = TURNED.turn @ normal
        signs = draw.choice([-1.0, 1.0], size=(5, DRAWS, 3))
        lever = SPANS * signs[0]
        moved = np.cross(TURN_RAD * signs[1], lever) + SHIFT_MM * signs[2] + DATUM_MM * signs[3]
        across = np.sqrt(1.0 - n[2] ** 2)
        cuts = 2.0 * (0.012 * abs(n[2]) + 0.015 * across) * signs[4, :, 0]
        farthest = float(np.abs(moved @ n + cuts).max())
        assert farthest <= found.high
        assert farthest >= 0.8 * found.high
