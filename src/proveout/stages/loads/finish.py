"""What the loads mean for finished faces: the error a bent cutter leaves on walls; and the chips of every cutter."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.cutting.deflection import (
    ELASTIC_ENDS_MPA,
    FLUTED_DIAMETER_RATIO,
    GIVING_WAY_RATIO,
)
from proveout.cutting.easing import tighten_cut
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.work import Vector
from proveout.stages.loads.chips import WALL_KINDS, chip_proofs
from proveout.stages.loads.found import FoundPass, Told, move_at
from proveout.stages.loads.heads import head_proofs


def finish_proofs(
    told: Told, widths_mm: dict[str, float], normals: dict[str, Vector] | None = None
) -> tuple[Proof, ...]:
    """Of each cutter on a machine that finishes faces, at its worst move.

    What a cutter bends off sized walls blocks release: by its moves as they are, and where even its thinnest chip
    bends it too far, so that nothing is left to choose.

    widths_mm: of the narrowest size on a face.   normals: of flat faces, in the part's frame.
    """
    proofs: list[Proof] = []
    for machine_id, cutter_id in sorted({(told.machine_of(f.one).id, f.one.cutter_id) for f in told.found}):
        mine = [f for f in told.found if f.one.cutter_id == cutter_id and told.machine_of(f.one).id == machine_id]
        proofs.extend(_bent_over(told, machine_id, mine, widths_mm))
        proofs.extend(head_proofs(told, machine_id, mine, widths_mm, normals or {}))
        mine = [f for f in mine if f.moves is not None]
        proofs.extend(_wall(told, machine_id, mine, widths_mm))
        proofs.extend(chip_proofs(told, machine_id, mine))
    return tuple(proofs)


def _wall(told: Told, machine_id: str, mine: list[FoundPass], widths_mm: dict[str, float]) -> list[Proof]:
    tried: list[tuple[float, FoundPass, float]] = []
    for found in mine:
        widths = [widths_mm[f] for f in found.one.face_ids if f in widths_mm]
        if found.one.kind not in WALL_KINDS or not widths or found.moves is None:
            continue
        bent = found.moves.loads.deflection_mm
        if len(bent) and not np.isnan(bent).any():
            tried.append((float(bent.max()) / (min(widths) / 2.0), found, min(widths) / 2.0))
    if not tried:
        return []
    _, worst, limit = max(tried, key=lambda t: (t[0], t[1].load.pass_id))
    assert worst.moves is not None
    bent = worst.moves.loads.deflection_mm
    at, cutter = int(np.argmax(bent)), told.cutters[worst.one.cutter_id]
    loads = worst.moves.loads
    move = int(loads.rows[at])
    eased = worst.load
    if loads.radial_mm[at] > 0.0 and loads.axial_mm[at] > 0.0:
        eased = msgspec.structs.replace(eased, radial_mm=float(loads.radial_mm[at]), axial_mm=float(loads.axial_mm[at]))
    reserve = limit / float(bent[at]) if bent[at] > 0.0 else math.inf
    return [
        prove(
            id=f"loads:{machine_id}:{cutter.id}:wall error", stage="loads", subject=worst.load.pass_id,
            claim="bent by its hardest cut the cutter leaves no wall farther off than half the narrowest size on it "
            f"allows; worst is move {move} of this pass", sense="at most",
            found_low=round(float(worst.moves.bent_low_mm[at]), 6), found_high=round(float(bent[at]), 6),
            limit=round(limit, 6), unit="mm", blocks_release=True,
            basis=_basis(told, worst),
            decides="measure this wall on the first piece at its top and its bottom, or how far this cutter bends in "
            "its holder and spindle under a known push",
            remedy="a shorter stick-out, a thicker or a carbide cutter, or less left for this pass",
            tighten=tighten_cut(eased, reserve, worst.one, cutter.diameter_mm, told.limits),
        )
    ]  # fmt: skip


def _bent_over(told: Told, machine_id: str, mine: list[FoundPass], widths_mm: dict[str, float]) -> list[Proof]:
    """Walls off which the cutter bends too far however it is fed: by its measured moves, at the worst of them.

    Of walls without a size nobody asks for more than that what was left on them comes off: they block nothing.
    """

    def bent_mm(found: FoundPass) -> tuple[float, float] | None:
        if found.moves is None or not len(found.moves.bent_low_mm):
            return None
        bent = found.moves.loads.deflection_mm
        at = int(np.argmax(bent))
        return None if np.isnan(bent).any() else (float(found.moves.bent_low_mm[at]), float(bent[at]))

    tried = [
        (
            any(f in widths_mm for f in found.one.face_ids),
            math.inf if ends is None else ends[1] / pace.bent_over_mm,
            found.load.pass_id,
            found,
            ends,
            pace.bent_over_mm,
        )
        for found in mine
        if (pace := found.one.pace) is not None and pace.bent_over_mm is not None
        for ends in (bent_mm(found),)
    ]
    if not tried:
        return []
    is_sized, _, subject, worst, ends, limit = max(tried, key=lambda t: t[:3])
    cutter = told.cutters[worst.one.cutter_id]
    return [
        prove(
            id=f"loads:{machine_id}:{cutter.id}:bends at the thinnest chip", stage="loads", subject=subject,
            claim="even at its thinnest chip the cutter bends no farther off its walls than "
            "what is left on them and half the narrowest size on them", sense="at most",
            found_low=None if ends is None else round(ends[0], 6),
            found_high=None if ends is None else round(ends[1], 6), limit=round(limit, 6), unit="mm",
            blocks_release=is_sized, basis=_basis(told, worst),
            decides="how far this cutter bends in its holder and spindle under a known push: the bending that was "
            "reckoned with is up to three times that of the cutter alone",
            remedy="a shorter stick-out, a thicker or a carbide cutter, or less left on this wall",
        )
    ]  # fmt: skip


def _basis(told: Told, worst: FoundPass) -> Basis:
    """Of the bending of a pass's cutter, at the move that bends it most."""
    cutter = told.cutters[worst.one.cutter_id]
    soft, stiff = ELASTIC_ENDS_MPA[cutter.made_of]
    bent, least_n = None, 0.0
    if worst.moves is not None and worst.milled is not None and len(worst.moves.loads.rows):
        bent = worst.moves.loads.deflection_mm
        at = int(np.argmax(bent))
        least_n = float(worst.moves.loads.shares[at] * worst.milled.across_n[at])
    return Basis(
        move=None if bent is None or not len(bent) else move_at(worst, int(np.argmax(bent))),
        formula="delta = F (a^3 / I_f + (L^3 - a^3) / I_s) / (3 E), I_f = pi (c D)^4 / 64, I_s = pi d^4 / 64, "
        "a at most L, and up to three times that, as holder and spindle give way too",
        source="end_mill_compliance",
        inputs={
            "F, across": Fact(
                low=least_n, nominal=(least_n + worst.load.plane_n) / 2.0, high=worst.load.plane_n, unit="N",
                source="load-bound", strength="assumed",
            ),
            "L, out of the holder": exact_fact(cutter.stick_out_mm, "mm", "shop-file", "owner's guess"),
            "a, of the flutes": exact_fact(cutter.flute_length_mm, "mm", "shop-file", "owner's guess"),
            "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
            "c, bar as stiff as the flutes": exact_fact(
                FLUTED_DIAMETER_RATIO, "ratio", "end_mill_compliance", "published and seen"
            ),
            "d, of the shank": exact_fact(
                cutter.shank_diameter_mm or cutter.diameter_mm, "mm", "shop-file", "owner's guess"
            ),
            "E": Fact(
                low=soft, nominal=(soft + stiff) / 2.0, high=stiff,
                unit="MPa", source="carbide_elasticity", strength="from memory",
            ),
            "giving way": Fact(
                low=1.0, nominal=2.0, high=GIVING_WAY_RATIO, unit="ratio", source="workshop-practice",
                strength="common practice",
            ),
        },
    )  # fmt: skip
