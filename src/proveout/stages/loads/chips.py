"""How thick the chips of a cutter are: too thin to be cut, or thicker than its row allows."""

from __future__ import annotations

import numpy as np

from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter
from proveout.stages.loads.found import FoundPass, Told, move_at

WALL_KINDS = ("finish wall", "finish surface")
FINISH_KINDS = (*WALL_KINDS, "finish floor", "undercut")
EDGE_RADIUS_MM = 0.005
"""Common practice, no source: the edge of a sharp cutter for aluminium is rounded about so much; a thinner chip is
pushed aside, not cut, and clouds the face."""
MAIN_SECTION_RATIO = 0.5
"""Moves with less than this share of the pass's largest section are on their way in or out; what they rub is cut over
by the ones that follow, or is the way out in the air."""


def chip_proofs(told: Told, machine_id: str, mine: list[FoundPass]) -> list[Proof]:
    """Of one cutter on one machine: the thinnest chip on finished faces, and the thickest where its row has two ends.

    mine: its passes.
    """
    return [*_thinnest(told, machine_id, mine), *_thickest(told, machine_id, mine)]


def _limit(cutter: Cutter) -> tuple[str, float, dict[str, Fact]]:
    """Below which the edge rubs: what the owner wrote, else how round a sharp edge is."""
    if cutter.chip_low_mm is None:
        fact = exact_fact(EDGE_RADIUS_MM, "mm", "workshop-practice", "common practice")
        return "the cutter's edge is round", EDGE_RADIUS_MM, {"edge radius": fact}
    fact = exact_fact(cutter.chip_low_mm, "mm", "shop-file", "owner's guess")
    return "the thinnest that its row allows", cutter.chip_low_mm, {"thinnest chip": fact}


def _thinnest(told: Told, machine_id: str, mine: list[FoundPass]) -> list[Proof]:
    tried: list[tuple[float, int, FoundPass]] = []
    for found in mine:
        if found.one.kind not in FINISH_KINDS or found.moves is None or found.milled is None:
            continue
        chips, section = found.milled.chip_low_mm, found.milled.radial_mm * found.milled.axial_mm
        main = np.flatnonzero((section > MAIN_SECTION_RATIO * section.max(initial=0.0)) & (chips > 0.0))
        if len(main):
            at = int(main[np.argmin(chips[main])])
            tried.append((float(chips[at]), at, found))
    if not tried:
        return []
    least, at, worst = min(tried, key=lambda t: (t[0], t[2].load.pass_id))
    assert worst.moves is not None
    assert worst.milled is not None
    than, limit, limit_fact = _limit(told.cutters[worst.one.cutter_id])
    cutter, move = told.cutters[worst.one.cutter_id], int(worst.moves.loads.rows[at])
    feed = round(float(worst.milled.tooth_feed_mm[at]), 6)
    return [
        prove(
            id=f"loads:{machine_id}:{cutter.id}:thinnest chip", stage="loads", subject=worst.load.pass_id,
            claim=f"the thickest chip of a turn is thicker than {than}, so that the edge cuts and does not rub; "
            f"thinnest is move {move} of this pass", sense="at least", found_low=round(least, 6),
            found_high=round(float(worst.milled.chip_high_mm[at]), 6), limit=limit, unit="mm", blocks_release=False,
            basis=Basis(
                formula="h = f_z 2 sqrt(r - r^2), r = a_e / D, f_z from r = 1/2 on; a_e from the section over the "
                "deepest that the cut can be, up to the widest", source="chip_geometry",
                inputs={
                    "f_z": exact_fact(feed, "mm", "own-algorithm", "assumed"),
                    "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
                    **limit_fact,
                },
                move=move_at(worst, at),
            ),
            decides="look at the face of the first piece: a cloudy streak is a rubbing edge",
            remedy="a faster feed a tooth, or more left for this pass",
        )
    ]  # fmt: skip


def _thickest(told: Told, machine_id: str, mine: list[FoundPass]) -> list[Proof]:
    """The thickest chip of any move against the thickest that the cutter's row allows, where that has two ends."""
    tried: list[tuple[float, int, FoundPass]] = []
    for found in mine:
        if found.milled is None or found.moves is None or not len(found.milled.chip_high_mm):
            continue
        at = int(np.argmax(found.milled.chip_high_mm))
        tried.append((float(found.milled.chip_high_mm[at]), at, found))
    if not tried or told.cutters[tried[0][2].one.cutter_id].chip_low_mm is None:
        return []
    most, at, worst = max(tried, key=lambda t: (t[0], t[2].load.pass_id))
    assert worst.milled is not None
    assert worst.moves is not None
    cutter, move = told.cutters[worst.one.cutter_id], int(worst.moves.loads.rows[at])
    limit = cutter.tooth_feed_mm
    feed = round(float(worst.milled.tooth_feed_mm[at]), 6)
    return [
        prove(
            id=f"loads:{machine_id}:{cutter.id}:thickest chip", stage="loads", subject=worst.load.pass_id,
            claim=f"no chip is thicker than the cutter's row allows; thickest is move {move} of this pass",
            sense="at most", found_low=round(float(worst.milled.chip_low_mm[at]), 6), found_high=round(most, 6),
            limit=limit, unit="mm", blocks_release=False,
            basis=Basis(
                formula="h = f_z 2 sqrt(r - r^2), r = a_e / D, f_z from r = 1/2 on; a_e the widest that the section "
                "can be", source="chip_geometry",
                inputs={
                    "f_z": exact_fact(feed, "mm", "own-algorithm", "assumed"),
                    "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
                    "thickest chip": exact_fact(limit, "mm", "shop-file", "owner's guess"),
                },
                move=move_at(worst, at),
            ),
            decides="a narrower cut there, or a thicker chip that its maker allows",
            remedy="a slower feed a tooth, or less left for this pass",
        )
    ]  # fmt: skip
