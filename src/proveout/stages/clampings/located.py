"""From which side each clamping locates the work where bar or saw made both sides: opposite ones do not agree."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.model.proof import Basis, Proof, prove
from proveout.model.target import AsBought
from proveout.model.work import Clamping

SQUARE = 1.0 - 1e-9


def located_proofs(clampings: Sequence[Clamping], bought: AsBought) -> tuple[Proof, ...]:
    """One proof for each axis along which both sides stay as bought and more than one clamping locates the work."""
    return tuple(
        _proof(letter, {c.number: _side(c, axis) for c in clampings})
        for axis, letter in enumerate("xyz")
        if all(bought.has(axis)) and len(clampings) > 1
    )


def _side(clamping: Clamping, axis: int) -> str:
    """The part's side that lies at the stop, the fixed jaw or the seat, as "-x"; empty where none lies square."""
    frame = clamping.frame
    for along, towards in ((frame.x, -1.0), (frame.y, 1.0), (frame.z, -1.0)):
        share = float(np.array(along)[axis])
        if abs(share) > SQUARE:
            return ("+" if share * towards > 0.0 else "-") + "xyz"[axis]
    return ""


def _proof(letter: str, sides: dict[int, str]) -> Proof:
    alike = len(set(sides.values())) == 1 and "" not in sides.values()
    told = ", ".join(f"clamping {number} by {side or 'no side'}" for number, side in sorted(sides.items()))
    return prove(
        id=f"clampings:part:located along {letter}", stage="clampings", subject="all clampings",
        claim=f"along the part's {letter}, where both sides stay as bought, every clamping locates the work by the "
        f"same one ({told})",
        sense="at least", found_low=1.0 if alike else None, found_high=1.0 if alike else None, limit=1.0,
        unit="yes = 1", blocks_release=True,
        basis=Basis(
            formula="the side at the stop, the fixed jaw or the seat of each clamping; else what one clamping makes "
            "lies off what another makes by as much as bar or saw vary", source="own-algorithm",
        ),
        decides="how far the pieces differ along it: measure each one and shift the zero by it, or have one side cut",
        remedy="have one of the two sides cut",
    )  # fmt: skip
