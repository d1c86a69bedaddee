"""How the parts of an order are sawn together, from their plans."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from proveout.model.plan import Plan
from proveout.model.proof import Proof, weakest_first
from proveout.model.sawing import Lot, OrderSawing
from proveout.model.shop import Shop
from proveout.quantities.names_apart import names_apart


def sawn_together(plans: Sequence[Plan], shop: Shop) -> tuple[OrderSawing, tuple[Proof, ...]]:
    """One saw plan a section for all parts, and their blanks chosen together, with the proofs of both.

    A part without a bar, or of metal that the shop's figures are not for, is left out.  One that is ordered again goes
    by its number with a count.
    """
    from proveout.stages.bars.blanks_together import PartBlanks, choose_together
    from proveout.stages.bars.together import saw_together

    named = zip(plans, names_apart(plan.part.number for plan in plans), strict=True)
    usable = [(plan, name) for plan, name in named if plan.bars.status != "cannot" and not plan.metal_unknown]
    lots = tuple(
        Lot(
            part=name, bar_id=plan.blank.chosen.bar_id, cut_length_mm=plan.bars.cut_length_mm,
            pieces_count=plan.bars.blanks_count, spare_count=plan.bars.spare_count, alloy=plan.part.alloy,
        )
        for plan, name in usable
    )  # fmt: skip
    sawing = saw_together(
        lots=lots, bars=shop.bars, saw=shop.saw, remnants=shop.remnants, density_kg_per_mm3=shop.density_kg_per_mm3
    )
    parts = tuple(
        PartBlanks(
            part=name, quantity=plan.part.quantity, pieces_count=plan.bars.blanks_count,
            blanks=(plan.blank.chosen, *plan.blank.others),
        )
        for plan, name in usable
    )  # fmt: skip
    blanks = choose_together(parts=parts, bars=shop.bars, saw=shop.saw, density_kg_per_mm3=shop.density_kg_per_mm3)
    proofs = weakest_first((*sawing.proofs, *blanks.proofs))
    return msgspec.structs.replace(sawing.value, blanks=blanks.value), proofs
