"""The cost of a piece by quantity as a table."""

from __future__ import annotations

from proveout.model.plan import Plan
from proveout.sheets.csv_text import csv_text

HEAD = ("quantity", "each_p10", "each_p50", "each_p90", "batch_p50", "currency", "cliff", "cliff_jump")


def curve_csv(plan: Plan) -> str:
    """The head, then a row for each quantity that was drawn; the head alone where no band is known."""
    band = plan.cost.band
    if band is None:
        return csv_text([HEAD])
    cliffs = {cliff.quantity: cliff for cliff in band.cliffs}
    rows = [
        (
            point.quantity, point.each.p10, point.each.p50, point.each.p90,
            round(point.each.p50 * point.quantity, 2), plan.cost.currency,
            *((cliff.text, cliff.jump) if (cliff := cliffs.get(point.quantity)) else (None, None)),
        )
        for point in band.curve
    ]  # fmt: skip
    return csv_text([HEAD, *rows])
