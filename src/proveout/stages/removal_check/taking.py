"""What each line of a program takes off, and how its cutter is engaged while it does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.checking import LineCut
from proveout.model.course import Motion
from proveout.model.shop import Cutter
from proveout.removal.engagement import Engagements


def line_cuts(
    motions: Sequence[Motion], owner: NDArray[np.int64], lengths_mm: NDArray[np.float64], engaged: Engagements,
    cutter: Cutter,
) -> list[LineCut]:  # fmt: skip
    """One for each motion that took metal, in order; of an arc's chords the sum of what they took and their most.

    owner: (n,) row of `motions` that each straight move belongs to.   lengths_mm: (n,) of the moves.
    """
    volumes = np.median(engaged.removed_mm3, axis=1)
    found: list[LineCut] = []
    for row in np.unique(owner[volumes > 0.0]).tolist():
        own = (owner == row) & (volumes > 0.0)
        motion = motions[row]
        feed_tooth = tooth_feed_mm(motion, cutter)
        ratio = float(engaged.chip_ratio[own].max())
        found.append(
            LineCut(
                line=motion.line, number=motion.modes.cutter or 0, cut_mm=round(float(lengths_mm[own].sum()), 3),
                removed_mm3=round(float(volumes[own].sum()), 3),
                radial_mm=round(float(engaged.radial_mm[own].max()), 3),
                axial_mm=round(float(engaged.axial_mm[own].max()), 3),
                chip_mm=None if feed_tooth is None else round(feed_tooth * ratio, 4),
            )
        )  # fmt: skip
    return found


def most_of(cuts: Sequence[LineCut]) -> dict[str, Any]:
    """The largest engagement among cuts, and the thickest chip with its first line, as a use of a cutter tells them."""
    if not cuts:
        return {}
    chips = [one for one in cuts if one.chip_mm is not None]
    thick = max(chips, key=lambda one: (one.chip_mm or 0.0, -one.line)) if chips else None
    return {
        "radial_mm": max(one.radial_mm for one in cuts), "axial_mm": max(one.axial_mm for one in cuts),
        "chip_mm": None if thick is None else thick.chip_mm, "chip_line": 0 if thick is None else thick.line,
    }  # fmt: skip


def tooth_feed_mm(motion: Motion, cutter: Cutter) -> float | None:
    """f_z of a motion, None where its feed, its speed or the number of edges is not known."""
    speed, feed = motion.modes.speed_rad_per_s, motion.feed_mm_per_s
    if not feed or not math.isfinite(feed) or speed <= 0.0 or cutter.flutes_count < 1:
        return None
    return 2.0 * math.pi * feed / (speed * cutter.flutes_count)
