"""Whether a piece that nobody cuts along one of its sides measures there what the part may."""

from __future__ import annotations

from proveout.model.fact import exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Bar
from proveout.model.target import AsBought
from proveout.stages.blank.stack import Side, Stack

STAGE = "blank"


def bought_proof(name: str, side: Side, has_mm: float, bar_id: str, bought: AsBought) -> Proof:
    """Both sides along an axis stay as bought: bar or saw at the worst end of its tolerance lies within the limits."""
    low, high = bought.low_mm[side.axis], bought.high_mm[side.axis]
    off: float | None = None
    half: float | None = None
    inputs = {
        "as it comes": exact_fact(has_mm, "mm", "shop-file", "owner's guess"),
        "tolerance": exact_fact(round(side.spread_mm, 6), "mm", "shop-file", "owner's guess"),
    }
    if low is not None and high is not None:
        off, half = round(abs(has_mm - (low + high) / 2.0), 6), round((high - low) / 2.0, 6)
        inputs["least before the coat"] = exact_fact(round(low, 6), "mm", "own-algorithm", "assumed")
        inputs["most before the coat"] = exact_fact(round(high, 6), "mm", "own-algorithm", "assumed")
    return prove(
        id=f"{STAGE}:{bar_id}:{name}-as-bought", stage=STAGE, subject=bar_id,
        claim=f"the blank's {name.replace('-', ' ')} of {has_mm:g} mm, which nobody cuts, keeps to the part's limits",
        sense="at most", found_low=off,
        found_high=None if off is None else round(off + side.spread_mm, 6), limit=half, unit="mm", blocks_release=True,
        basis=Basis(
            formula="|as it comes - middle of the limits before the coat| + tolerance of bar or saw, against half the "
            "width of the limits", source="own-algorithm", inputs=inputs,
        ),
        decides="measure what comes off bar and saw and write its tolerance in the shop file"
        if half is not None
        else f"write limits for the part's {'xyz'[side.axis]}, or a general tolerance for the job, "
        "and say what the finisher takes off and puts on",
        remedy="have this side cut, loosen the size, or buy a bar drawn closer",
    )  # fmt: skip


def hanging_proofs(stack: Stack, bar_id: str, bought: AsBought) -> tuple[Proof, ...]:
    """Where both sides along an axis stay, sizes from the one that the work is not located by take the whole spread."""
    found = []
    for side in (stack.width, stack.height, stack.length):
        half, letter = bought.half_mm[side.axis], "xyz"[side.axis]
        if not side.is_exact or half is None:
            continue
        found.append(
            prove(
                id=f"{STAGE}:{bar_id}:sizes-from-sides-along-{letter}",
                stage=STAGE,
                subject=bar_id,
                claim=f"written sizes that begin at a side as bought along {letter} bear what bar or saw vary",
                sense="at most",
                found_low=0.0,
                found_high=round(side.spread_mm, 6),
                limit=round(half, 6),
                unit="mm",
                blocks_release=True,
                basis=Basis(
                    formula="tolerance of bar or saw, which such a size takes whole when the work is located by the "
                    "opposite side, against half the width of the narrowest one",
                    source="own-algorithm",
                ),
                decides="by which side the work is located, and what comes off bar and saw: measure it",
                remedy="measure the size from the other side, or have one of the two sides cut",
            )
        )  # fmt: skip
    return tuple(found)


def rounded_proofs(stack: Stack, bar: Bar, bought: AsBought) -> tuple[Proof, ...]:
    """Where two sides as bought meet along the bar, its rounded edge stays on the part."""
    if not (any(stack.width.bought) and any(stack.height.bought)) or bar.corner_radius_mm <= 0.0:
        return ()
    return (
        prove(
            id=f"{STAGE}:{bar.id}:rounded-edge-as-bought", stage=STAGE, subject=bar.id,
            claim="the bar's rounded edge, which stays where two sides as bought meet, is no more than edges may be "
            "broken by",
            sense="at most", found_low=0.0, found_high=bar.corner_radius_mm, limit=bought.edge_mm, unit="mm",
            blocks_release=True,
            basis=Basis(formula="corner radius of the bar against the edge break of the job", source="shop-file"),
            decides="measure the bar's edges, or write edge_break_mm for the job",
            remedy="a bar with sharper edges, a larger edge break, or have one of the two sides cut",
        ),
    )  # fmt: skip
