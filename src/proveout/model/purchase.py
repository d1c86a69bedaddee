"""What is bought for a batch, line by line."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun


class Purchase(Noun, frozen=True, kw_only=True):
    """One line of what a batch needs beside what is there.

    what: id of the bar, with its length, of the cutter or of the jaws, or the name of the kit's item.   count: of what
    `unit` names, None where it is not known.   packs_count: to buy, None where no pack is written.   supplier: empty
    where nobody wrote one.   price_total: money of the whole line in the shop's currency, None where it is not known
    or stands on another line.   why: in words.   pack_count: how many a pack holds.   days_low, days_high: working
    days until it is here, None where nobody wrote them.
    """

    kind: Literal["bar", "cutter", "jaws", "kit", "plug"]
    what: str
    count: int | None
    unit: str
    packs_count: int | None = None
    supplier: str = ""
    price_total: float | None = None
    why: str
    pack_count: int | None = None
    days_low: int | None = None
    days_high: int | None = None
