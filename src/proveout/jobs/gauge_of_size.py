"""The gauge that a plan names for a size."""

from __future__ import annotations

from proveout.model.gauge import Gauge
from proveout.model.plan import Plan
from proveout.model.shop import Shop


def gauge_of(plan: Plan, shop: Shop, *, balloon: int, text: str) -> Gauge | None:
    """The gauge of the size so written at that balloon; None where the plan names none, or the shop has it no more."""
    line = next((one for one in plan.inspection if one.balloon == balloon and one.text == text), None)
    return next((one for one in shop.gauges if line is not None and (one.name or one.id) == line.gauge), None)
