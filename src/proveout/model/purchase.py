"""What is bought for a batch, line by line."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun


class Purchase(Noun, frozen=True, kw_only=True):
    """One line of what a batch needs beside what is there.

    what: id of the bar, with its length, of the cutter or of the jaws, the name of the kit's item, or
    what a gauge must tell.   count: of what
    `unit` names, None where it is not known.   packs_count: to buy, None where no pack is written;
    pack_price: money a pack, None where nobody wrote it.   supplier: empty
    where nobody wrote one.   price_total: money of the whole line in the shop's currency, None where it is not known
    or stands on another line.   why: in words.   pack_count: how many a pack holds.   days_low, days_high: working
    days until it is here, None where nobody wrote them.
    """

    kind: Literal["bar", "cutter", "jaws", "kit", "plug", "gauge"]
    what: str
    count: int | None
    unit: str
    packs_count: int | None = None
    supplier: str = ""
    price_total: float | None = None
    why: str
    pack_count: int | None = None
    pack_price: float | None = None
    days_low: int | None = None
    days_high: int | None = None


class PartShare(Noun, frozen=True, kw_only=True):
    """How much of a line one part of an order asks for by itself; count is None where it shares in the whole line."""

    part: str
    count: int | None = None


class OrderPurchase(Purchase, frozen=True, kw_only=True):
    """One line of what a whole order needs.   shares: of each part that asks for it, in the order of the parts."""

    shares: tuple[PartShare, ...]

    @property
    def names_its_parts(self) -> bool:
        """Whether `why` already says which part asks for what."""
        return len(self.shares) > 1 and self.why.startswith(f"{self.shares[0].part}: ")


class SupplierSum(Noun, frozen=True, kw_only=True):
    """What is bought of one supplier. supplier: empty for lines of which nobody wrote one.

    price_total: of the lines whose price is known;  unpriced_count: of the others.   days_high: working days until all
    is here at the latest, None where nobody wrote the days of one of the lines.
    """

    supplier: str
    lines_count: int
    price_total: float
    unpriced_count: int
    days_high: int | None


class OrderBuying(Noun, frozen=True, kw_only=True):
    """The purchase list of an order, every thing once for all parts: lines by supplier, and sums.

    price_total: of the lines whose price is known;  unpriced_count: of the others.
    """

    lines: tuple[OrderPurchase, ...]
    suppliers: tuple[SupplierSum, ...]
    price_total: float
    unpriced_count: int
