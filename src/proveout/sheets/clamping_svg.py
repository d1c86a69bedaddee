"""The drawing of one clamping as an SVG file of its own."""

from __future__ import annotations

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.svg import picture_svg
from proveout.sheets.writer import Writer


def clamping_svg(*, plan: Plan, shop: Shop, clamping_id: str, drawings: ClampingDrawings) -> str:
    """The work as it lies in the vise, seen from where the operator stands. KeyError for an unknown clamping id.

    drawings: of the part, made along operator_view (and end_view, not used here).
    """
    index = {clamping.id: i for i, clamping in enumerate(plan.clampings)}[clamping_id]
    writer = Writer(plan=plan, shop=shop, drawings={clamping_id: drawings}, fingerprint="")
    operator, _ = writer.pictures(index)
    return picture_svg(operator, width_mm=180.0, height_mm=120.0, ids="o")
