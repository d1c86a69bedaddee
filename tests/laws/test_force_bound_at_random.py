"""The bound on forces under random cuts: never below a turning cutter that is summed, and it scales as forces do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.cutting.force_bound import CutterForces, milling_force_bound


@dataclass(frozen=True)
class Cut:
    """A side cut. share: of the diameter that is engaged."""

    diameter_mm: float
    teeth: int
    depth_mm: float
    share: float
    feed_mm: float
    runout_mm: float
    helix_rad: float
    pressure_mpa: float
    exponent: float
    radial: float

    def bound(self, *, scale: float = 1.0, harder: float = 1.0) -> CutterForces:
        """scale: of all lengths; harder: of the pressure."""
        return milling_force_bound(
            unit_force_mpa=harder * self.pressure_mpa, exponent_ratio=self.exponent,
            axial_depth_mm=scale * self.depth_mm, radial_engagement_mm=scale * self.share * self.diameter_mm,
            feed_per_tooth_mm=scale * self.feed_mm, diameter_mm=scale * self.diameter_mm, teeth_count=self.teeth,
            runout_mm=scale * self.runout_mm, radial_ratio=self.radial, helix_low_rad=self.helix_rad,
            helix_high_rad=self.helix_rad,
        )  # fmt: skip

    def summed_n(self, *, turns: int = 72, discs: int = 200) -> tuple[float, float, float]:
        """Most of the tangential sum, of its push across the axis and along it, over a turn, thin disc by thin disc.

        A disc that is not wholly in the cut counts as nothing, and its chip as the thinner of those at its two ends, so
        that no disc pushes harder than that of the turning cutter.
        """
        theta = math.acos(1.0 - 2.0 * self.share)
        thin = self.depth_mm / discs
        half = thin * math.tan(self.helix_rad) / self.diameter_mm
        lag = 2.0 * (np.arange(discs) + 0.5) * half
        tooth = 2.0 * math.pi * np.arange(self.teeth) / self.teeth
        turn = 2.0 * math.pi * np.arange(turns) / turns
        angle = (turn[:, None, None] + tooth[None, :, None] - lag[None, None, :]) % (2.0 * math.pi)
        # total indicated run-out is twice the eccentricity
        wobble = 0.5 * self.runout_mm * (np.cos(tooth) - np.cos(tooth - 2.0 * math.pi / self.teeth))
        ends = np.minimum(np.sin(angle - half), np.sin(angle + half))
        # where the edges before it stand back a tooth takes what they left, all since its own last pass at the most
        chip = np.minimum(self.feed_mm * ends + wobble[None, :, None], self.teeth * self.feed_mm * ends)
        chip = np.where((angle - half > 0.0) & (angle + half < theta) & (chip > 0.0), chip, 0.0)
        force = self.pressure_mpa * chip ** (1.0 - self.exponent) * thin
        x = (force * (np.cos(angle) - self.radial * np.sin(angle))).sum(axis=(1, 2))
        y = (force * (np.sin(angle) + self.radial * np.cos(angle))).sum(axis=(1, 2))
        total = force.sum(axis=(1, 2))
        return float(total.max()), float(np.hypot(x, y).max()), float(total.max() * math.tan(self.helix_rad))


cuts = st.builds(
    lambda depth_ratio, **own: Cut(depth_mm=depth_ratio * own["diameter_mm"], **own),
    depth_ratio=st.floats(0.02, 4.0), diameter_mm=st.floats(2.0, 50.0), teeth=st.integers(1, 6),
    share=st.floats(0.05, 1.0), feed_mm=st.floats(0.02, 0.3), runout_mm=st.floats(0.0, 0.05),
    helix_rad=st.floats(0.0, 0.9), pressure_mpa=st.floats(300.0, 2500.0), exponent=st.floats(0.0, 0.4),
    radial=st.floats(0.0, 1.0),
)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(cuts)
def test_no_random_cut_pushes_harder_than_its_bound(cut: Cut) -> None:
    tangential, across, along = cut.summed_n()
    bound = cut.bound()
    assert tangential <= bound.tangential_n * (1.0 + 1e-9)
    assert across <= bound.resultant_n * (1.0 + 1e-9)
    assert along <= bound.axial_n * (1.0 + 1e-9)


@settings(max_examples=50, deadline=None)
@given(cuts, st.floats(0.2, 5.0))
def test_forces_scale_with_pressure_and_with_the_square_of_a_like_cut(cut: Cut, scale: float) -> None:
    """Worked: b h p goes with p; of lengths s times as large, with p times s^m so that p(h) stays, with s squared.

    Chips of a micrometre and thinner count as such, so none of these is.
    """
    plain = np.array(parts(cut.bound()))
    assert np.allclose(parts(cut.bound(harder=scale)), scale * plain, rtol=1e-9)
    like = cut.bound(scale=scale, harder=scale**cut.exponent)
    assert np.allclose(parts(like), scale**2 * plain, rtol=1e-9)


def parts(bound: Any) -> tuple[float, float, float]:
    return bound.tangential_n, bound.resultant_n, bound.axial_n
