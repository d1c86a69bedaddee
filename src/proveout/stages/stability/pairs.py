"""The widths and depths of cut of one pass that must be free of chatter together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.work import Pass

STEPS_COUNT = 10
"""The widths from nothing to a slot are taken in so many steps, each at its widest and deepest."""
NO_MM = 1e-6


@dataclass(frozen=True)
class Pair:
    """A width and a depth of cut. is_met: the pass is known to cut so, rather than no wider and no deeper."""

    radial_mm: float
    axial_mm: float
    is_met: bool


def pairs_of(one: Pass, load: PassLoad, moves: MoveLoads | None, *, diameter_mm: float) -> tuple[Pair, ...]:
    """Every move is no wider and no deeper than one of the pairs at once; the narrowest first.

    Without moves the one pair is the largest width, planned or found, with the largest depth.
    """
    if moves is None or not (moves.axial_mm > NO_MM).any():
        widest = min(max(load.radial_mm, one.radial_mm), diameter_mm)
        return (Pair(widest, load.axial_mm, is_met=widest <= load.radial_mm),)
    cuts = moves.axial_mm > NO_MM
    # of a move, width and depth are those that push hardest: it may be wider, up to what is planned, or deeper, up to
    # the greatest of the pass
    wide = np.minimum(np.append(moves.radial_mm[cuts], [load.radial_mm, one.radial_mm]), diameter_mm)
    deep = np.append(moves.axial_mm[cuts], [load.axial_mm, load.axial_mm])
    steps = np.minimum((STEPS_COUNT * wide / diameter_mm).astype(int), STEPS_COUNT - 1)
    found: list[Pair] = []
    for step in sorted(set(steps.tolist()), reverse=True):
        own = np.flatnonzero(steps == step)
        widest, deepest = float(wide[own].max()), float(deep[own].max())
        if found and deepest <= found[-1].axial_mm:
            continue  # a wider cut is as deep
        is_met = bool(((wide[own] >= widest) & (deep[own] >= deepest) & (own < cuts.sum())).any())
        found.append(Pair(round(widest, 4), round(deepest, 4), is_met=is_met))
    return tuple(reversed(found))
