"""The cost of a piece by quantity as a table."""

from __future__ import annotations

import csv
import io

from proveout.model.plan import Plan
from proveout.sheets.bars_csv import plain_words

HEAD = ("quantity", "each_p10", "each_p50", "each_p90", "batch_p50", "currency", "cliff", "cliff_jump")


def curve_csv(plan: Plan) -> str:
    """The head, then a row for each quantity that was drawn; the head alone where no band is known."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(HEAD)
    band = plan.cost.band
    if band is None:
        return out.getvalue()
    cliffs = {cliff.quantity: cliff for cliff in band.cliffs}
    for point in band.curve:
        cliff = cliffs.get(point.quantity)
        sheet.writerow(
            [
                point.quantity, point.each.p10, point.each.p50, point.each.p90,
                round(point.each.p50 * point.quantity, 2), plain_words(plan.cost.currency),
                "" if cliff is None else plain_words(cliff.text), "" if cliff is None else cliff.jump,
            ]
        )  # fmt: skip
    return out.getvalue()
