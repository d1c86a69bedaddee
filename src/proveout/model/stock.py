"""What lies in the rack already, and who sells what."""

from __future__ import annotations

import msgspec


class Remnant(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A piece of bar in the rack: tag on it, bar it was sawn from, whole length, heat; heat empty where none is known.

    Its first end is trimmed anew, as that of a whole bar.
    """

    id: str
    bar_id: str
    length_mm: float
    heat: str = ""


class Supply(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who sells something, by the pack, and how many working days it takes.

    what: id of a bar, a cutter or jaws, name of a kit's item, or "plug".   pack_price: None where nobody asked; where
    pack_count is None the supplier sells single pieces.
    """

    what: str
    supplier: str
    pack_count: int | None = None
    pack_price: float | None = None
    days_low: int | None = None
    days_high: int | None = None
