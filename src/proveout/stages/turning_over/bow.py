"""How far the work bows once one side is faced, from what the shop measured on a piece of the same bar."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from proveout.model.fact import Fact
from proveout.model.shop import Bar
from proveout.model.target import Target
from proveout.model.turned import Bow
from proveout.model.work import Clamping

CHECK = (
    "two minutes on one blank: face one side, open the vise, lay it on a flat plate and try feelers under its middle, "
    "both ways up; write faced_bow_mm with faced_bow_length_mm and faced_bow_thickness_mm at {bar} in the shop file"
)
TEMPER = (
    "; bar bought as plain -T6 was not stretched after quenching and moves more than -T6511 as metal is taken off one "
    "side (temper_designations, from memory)"
)


def bow_mm(*, bar: Bar | None, length_mm: float, thickness_mm: float) -> Fact | None:
    """Bow of a piece as an arc of the measured piece's roundness: h = h_m (L / L_m)^2.

    None where the bar was not measured, or where the piece is longer or thinner than the one that was: more stress may
    be let go there than anybody saw. A thicker piece bows less, nobody knows how much, so that the low end is 0 then.
    """
    if bar is None or bar.faced_bow_mm is None or not bar.faced_bow_length_mm or not bar.faced_bow_thickness_mm:
        return None
    share = length_mm / bar.faced_bow_length_mm
    if share > 1.0 + 1e-9 or thickness_mm < bar.faced_bow_thickness_mm - 1e-9:
        return None
    seen, square = bar.faced_bow_mm, share * share
    low = seen.low * square if thickness_mm <= bar.faced_bow_thickness_mm + 1e-9 else 0.0
    return Fact(
        low=math.floor(low * 1e3 + 1e-6) / 1e3, nominal=round(seen.nominal * square, 6),
        high=math.ceil(seen.high * square * 1e3 - 1e-6) / 1e3, unit="mm", source=seen.source, strength=seen.strength,
    )  # fmt: skip


@dataclass(frozen=True)
class BowOf:
    """The bow of the finished work along an axis of a clamping."""

    bar: Bar | None
    bar_id: str
    target: Target

    def of(self, clamping: Clamping, axis: int) -> Bow:
        """Bow out of the plane that is square to an axis of the clamping."""
        spans = np.ptp(clamping.frame.into(self.target.vertices_mm), axis=0)
        length = float(max(spans[k] for k in range(3) if k != axis))
        thick = float(spans[axis])
        return Bow(
            clamping_id=clamping.id, length_mm=round(length, 6), thickness_mm=round(thick, 6),
            bow_mm=bow_mm(bar=self.bar, length_mm=length, thickness_mm=thick),
        )  # fmt: skip

    def ask(self, alloy: str = "") -> str:
        """What would show the bow, with a word on the temper."""
        if self.bar is None:
            return CHECK.format(bar="the bar that is bought")
        told = CHECK.format(bar=self.bar_id)
        seen = self.bar.faced_bow_length_mm, self.bar.faced_bow_thickness_mm
        if self.bar.faced_bow_mm is not None:
            told += (
                f" (what is written there was seen on a piece {seen[0]:g} mm long, {seen[1]:g} mm thick: this one is "
            )
            told += "longer or thinner)"
        plain = alloy.strip().upper().endswith("-T6") and self.bar.condition == "extruded"
        return told + (TEMPER if plain else "")
