"""What goes into the bag with a piece, and what a scale can tell of it."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.shop import Noun


class KitItem(Noun, frozen=True, kw_only=True):
    """Hardware that goes with one piece. mass_kg: of one, None when nobody weighed it.

    pack_count: how many a pack holds;  pack_price: money a pack; None where the owner wrote none.
    """

    name: str
    count: int
    mass_kg: Fact | None = None
    bin: str = ""
    supplier: str = ""
    pack_count: int | None = None
    pack_price: float | None = None


class Bag(Noun, frozen=True, kw_only=True):
    """The bag of one kit: its own mass, and what the paper in it weighs, with what is written on the label."""

    mass_kg: Fact | None = None
    pieces_a_box: int | None = None
    box: str = ""


class KitLine(Noun, frozen=True, kw_only=True):
    """One item over the whole batch.

    packs_count: to buy, None where no pack is written.  short_kg: the heaviest that a bag can read which lacks one of
    it; None where a mass is not known.  is_seen: whether that is below every full bag; None where it cannot be told.
    """

    item: KitItem
    pieces_count: int
    packs_count: int | None
    short_kg: float | None
    is_seen: bool | None


class Packing(Noun, frozen=True, kw_only=True):
    """The kit of one piece. low_kg, high_kg: what a full bag can read on the scale; None where a mass is not known.

    boxes_count: for the pieces ordered, None where nobody wrote how many a box holds.
    """

    lines: tuple[KitLine, ...] = ()
    low_kg: float | None = None
    high_kg: float | None = None
    bag: Bag = Bag()
    boxes_count: int | None = None
