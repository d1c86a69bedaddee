"""How far the raw faces of a plan's blank may lie off where the nominal piece has them."""

from __future__ import annotations

from proveout.model.shop import Shop
from proveout.model.work import Blank


def raw_varies_mm(blank: Blank, shop: Shop) -> float:
    """By the tolerances of the bar that it is sawn from, and of the saw."""
    from proveout.stages.blank import raw_spread_mm

    bar = next((one for one in shop.bars if one.id == blank.bar_id), None)
    return raw_spread_mm(bar=bar, saw=shop.saw, cut_length_mm=blank.cut_length_mm)
