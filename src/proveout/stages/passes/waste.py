"""Holes through the part end in the strip that the next clamping faces off: past the finished back, above the seat."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from proveout.model.moves import Moves
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Clamping, Hole, Pass

STAGE = "passes"
PAST_MM = 0.2
"""So far past the finished back a hole has its whole width, or a skin may stay. Common practice, no source."""
BACK_MM = 0.05
MAKING = ("drill", "peck", "counterbore", "bore", "ream")


def through_proof(
    clamping: Clamping, *, holes: Sequence[Hole], target: Target, passes: Sequence[Pass], moves: Mapping[str, Moves],
    cutters: Mapping[str, Cutter],
) -> Proof | None:  # fmt: skip
    """For a clamping that holds the raw bar: the hole through to the back that ends least far past it.

    Args:     passes, moves: of the whole plan.
    Returns:  None for a clamping on finished faces, or where no hole made here opens on the back.
    """
    if not clamping.holds_strip:
        return None
    back = float(clamping.frame.into(target.vertices_mm)[:, 2].min())
    past: list[tuple[float, str]] = []
    lowest = math.inf
    for hole in holes:
        own = [p for p in passes if p.clamping_id == clamping.id and p.feature == hole.id and p.kind in MAKING]
        if not own or not _opens_on(hole, clamping, back):
            continue
        ends = [_end_mm(p, moves[p.moves_digest], clamping, cutters[p.cutter_id]) for p in own]
        past.append((back - min(full for full, _ in ends), hole.id))
        lowest = min(lowest, *(tip for _, tip in ends))
    if not past:
        return None
    least, name = min(past)
    return prove(
        id=f"passes/{clamping.id}/through-holes", stage=STAGE, subject=name,
        claim="holes through to the back end in the waste: their whole diameter past the finished back",
        sense="at least", found_low=round(least, 6), found_high=round(least, 6), limit=PAST_MM, unit="mm",
        blocks_release=False,
        basis=Basis(
            formula=f"finished back less the lowest place of the whole diameter, of {len(past)} holes; the deepest tip "
            f"ends {lowest:.2f} mm above the seat. Limit: common practice, no source",
            source="own-algorithm",
        ),
        remedy="drill deeper where strip and jaws allow it, or grip a higher strip",
    )  # fmt: skip


def _opens_on(hole: Hole, clamping: Clamping, back_mm: float) -> bool:
    """Whether the hole goes through, runs upright, and its lower end lies on the finished back."""
    entry, outward = np.array(hole.entry_mm), np.array(hole.outward)
    ends = clamping.frame.into(np.array([entry, entry - outward * hole.depth_mm]))[:, 2]
    upright = abs(float(clamping.frame.turn[2] @ outward)) > 1.0 - 1e-6
    return hole.is_through and upright and abs(float(ends.min()) - back_mm) <= BACK_MM


def _end_mm(one: Pass, moves: Moves, clamping: Clamping, cutter: Cutter) -> tuple[float, float]:
    """Lowest place of the cutter's whole diameter and of its tip, heights above the seat."""
    frame = next(t.frame for t in clamping.tilts if t.id == one.tilt_id)
    tip = float(clamping.frame.into(frame.out_of(moves.points))[:, 2].min())
    cone = 0.0
    if cutter.kind == "drill":
        cone = (cutter.diameter_mm - cutter.tip_diameter_mm) / 2.0 / math.tan(max(cutter.tip_angle_rad, 0.1) / 2.0)
    return tip + cone, tip
