"""The metal of the job against the one that the shop's figures are for: what rests on other figures is not shown."""

from __future__ import annotations

import re

import msgspec

from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Shop

# proofs of these stages that speak of speeds, ratings and lots alone, whatever the metal is
WITHOUT_METAL = (":rated speed", ":vise rating", ":lot-reaches-the-minimum", ":price-is-known")
CYCLE_WORDS = r"its share of \d+ s in a cycle of \d+ s|the cycle of \d+ s"
MONEY = "money"
METAL_STAGES = ("loads", "stability", "holding", "timing", "costing", "bench")


def lacking(alloy: str, shop: Shop) -> str:
    """What the owner has to write when the shop's figures are not for this alloy; empty when they are.

    Figures for 6061-T6 serve 6061-T6511, which is the same temper stretched and straightened.
    """
    wanted = alloy.strip().casefold()
    for name in shop.alloys:
        known = name.strip().casefold()
        if wanted == known or (known and re.fullmatch(re.escape(known) + r"\d+", wanted)):
            return ""
    there = f"for {', '.join(shop.alloys)}" if shop.alloys else "for no alloy that is named"
    return (
        f"the figures of [material] in the shop file are {there}, not for {alloy}: write density, yield, "
        f'cutting_pressure and cutting_exponent of {alloy} there, put "{alloy}" into its alloys, and give the cutters '
        "speeds and feeds for it"
    )


def without_figures(proofs: tuple[Proof, ...], lack: str) -> tuple[Proof, ...]:
    """The same proofs, with those that rest on the figures of another metal *not shown* and blocking release.

    What only weighs money blocks no more than before: a blank's share of it is reckoned by weight.
    """
    if not lack:
        return proofs
    return tuple(_without(p, lack) for p in proofs)


def _without(proof: Proof, lack: str) -> Proof:
    if proof.id.endswith(WITHOUT_METAL):
        return proof
    if proof.stage in METAL_STAGES:
        return _not_shown(proof, lack, blocks_release=True)
    if proof.unit.startswith(MONEY):
        return _not_shown(proof, lack, blocks_release=proof.blocks_release)
    return proof


def _not_shown(proof: Proof, lack: str, *, blocks_release: bool) -> Proof:
    """Neither what was found nor a limit reckoned from the metal is kept; what else is missing is still asked for."""
    decides = f"{lack}; {proof.decides}" if proof.verdict == "not shown" else lack
    return msgspec.structs.replace(
        proof, claim=re.sub(CYCLE_WORDS, "the cycle reckoned", proof.claim), found_low=None, found_high=None,
        limit=None, margin=None, verdict="not shown", blocks_release=blocks_release, decides=decides, remedy="",
        tighten=None, basis=msgspec.structs.replace(proof.basis, inputs={}),
    )  # fmt: skip


def metal_proofs(alloy: str, shop: Shop, lack: str) -> tuple[Proof, ...]:
    """That speeds and price are those of the job's alloy; none while the shop's figures are for it."""
    if not lack:
        return ()
    there = ", ".join(shop.alloys) or "no alloy named"
    basis = Basis(formula=f"{alloy} among the alloys of [material]: {there}", source="shop-file")
    claims = (
        ("passes:metal:speeds are for it", "passes", f"cutting speeds and feeds are those of {alloy}"),
        ("costing:metal:price is known", "costing", f"metal, minutes and money of {alloy} are known"),
    )
    return tuple(
        prove(
            id=id,
            stage=stage,
            subject=alloy,
            claim=claim,
            sense="at least",
            found_low=None,
            found_high=None,
            limit=1.0,
            unit="yes = 1",
            blocks_release=True,
            basis=basis,
            decides=lack,
        )
        for id, stage, claim in claims
    )
