"""Decide the kit: what to pick and buy, what a full bag may read, and which missing item no scale can see."""

from __future__ import annotations

import math

from proveout.model.fact import Fact, exact_fact
from proveout.model.packing import Bag, KitItem, KitLine, Packing
from proveout.model.proof import Basis, Decision, Proof, prove

STAGE = "packing"


def decide(
    *, kit: tuple[KitItem, ...], bag: Bag, scale_step_kg: float | None, quantity: int
) -> Decision[Packing]:  # fmt: skip
    """The kit of every piece.

    Formula:  a full bag reads  b_low + sum n m_low - e  to  b_high + sum n m_high + e;  one that lacks a piece of an
              item reads at most  b_high + sum n m_high - m_high + e  (n pieces of an item, m mass of one, b of the bag,
              e one step of the scale)
    Args:     kit: items of one piece, in the owner's order.   bag: of one kit.   scale_step_kg: what the scale shows at
              the finest, > 0, None when nobody wrote it.   quantity: good pieces ordered, >= 1.
    Returns:  the packing, and for each item a proof that a bag without one of it is lighter than any full one.
    Raises:   nothing.
    Valid:    masses of pieces from one lot; all at the same end of their intervals at once, which is worse than chance.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/packing/test_packing.py
    """
    low, high = _window(kit, bag, scale_step_kg)
    lines = tuple(
        _line(item, low=low, high=high, step_kg=scale_step_kg or 0.0, quantity=quantity) for item in kit
    )  # fmt: skip
    boxes = None if bag.pieces_a_box is None else math.ceil(quantity / bag.pieces_a_box)
    proofs = tuple(_proof(line, low=low, kit=kit, bag=bag, scale_step_kg=scale_step_kg) for line in lines)
    return Decision(
        value=Packing(lines=lines, low_kg=low, high_kg=high, bag=bag, boxes_count=boxes), proofs=proofs
    )  # fmt: skip


def _window(kit: tuple[KitItem, ...], bag: Bag, scale_step_kg: float | None) -> tuple[float | None, float | None]:
    """What a full bag can read, kg; nothing where a mass or the scale is not known."""
    masses = [(item.count, item.mass_kg) for item in kit]
    if bag.mass_kg is None or scale_step_kg is None or not masses:
        return None, None
    low, high = bag.mass_kg.low - scale_step_kg, bag.mass_kg.high + scale_step_kg
    for count, mass in masses:
        if mass is None:
            return None, None
        low, high = low + count * mass.low, high + count * mass.high
    return round(low, 9), round(high, 9)


def _line(item: KitItem, *, low: float | None, high: float | None, step_kg: float, quantity: int) -> KitLine:
    pieces = item.count * quantity
    short = None if high is None or item.mass_kg is None else round(high - item.mass_kg.high, 9)
    return KitLine(
        item=item, pieces_count=pieces,
        packs_count=None if item.pack_count is None else math.ceil(pieces / item.pack_count),
        short_kg=short, is_seen=None if short is None or low is None else low - short >= step_kg,
    )  # fmt: skip


def _proof(
    line: KitLine, *, low: float | None, kit: tuple[KitItem, ...], bag: Bag, scale_step_kg: float | None
) -> Proof:
    item = line.item
    # by how much the lightest full bag outweighs the heaviest that lacks one
    gap = None if line.short_kg is None or low is None else round(low - line.short_kg, 9)
    inputs: dict[str, Fact] = {f"mass of {one.name}": one.mass_kg for one in kit if one.mass_kg is not None}
    if bag.mass_kg is not None:
        inputs["mass of the bag"] = bag.mass_kg
    if scale_step_kg is not None:
        inputs["step of the scale"] = exact_fact(scale_step_kg, "kg", "shop-file", "owner's guess")
    unknown = [f"the mass of {one.name}" for one in kit if one.mass_kg is None]
    unknown += ["the mass of the bag"] if bag.mass_kg is None else []
    unknown += ["the step of the scale"] if scale_step_kg is None else []
    return prove(
        id=f"{STAGE}:{item.name}:missing-one-is-seen",
        stage=STAGE,
        subject=item.name,
        claim=f"a bag that lacks one {item.name} is lighter on the scale than any full bag",
        sense="at least",
        found_low=gap,
        found_high=gap,
        # the scale must show a whole step between the two
        limit=scale_step_kg,
        unit="kg",
        blocks_release=False,
        basis=Basis(
            formula="lightest full bag - (heaviest full bag - m_high); both as the scale may read them",
            source="own-algorithm",
            inputs=inputs,
        ),
        decides=f"weigh {' and '.join(unknown)}" if unknown else "",
        remedy=f"count {item.name} by hand: it is too light, or the rest spreads too much, to be seen on this scale",
    )
