"""The inspection of a plan: what is gauged with what and how often, by the wear that the cutters' minutes bring."""

from __future__ import annotations

from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.inspection import rule_of
from proveout.model.plan import BarsPlan, CutterUse, Finishing, InspectionLine
from proveout.model.proof import Decision
from proveout.model.work import Clamping, Pass, Survey


def inspected(
    request: Request, *, finishing: Finishing, survey: Survey, bars_plan: BarsPlan, passes: tuple[Pass, ...],
    clampings: tuple[Clamping, ...], uses: tuple[CutterUse, ...], store: Store,
) -> Decision[tuple[InspectionLine, ...]]:  # fmt: skip
    """The inspection lines. uses: minutes of the cutters, empty where seconds are not known.

    The job's own words on sampling go before the shop's; the lot is all that is sawn for the order.
    """
    from proveout.stages.inspection.decide import decide
    from proveout.stages.inspection.frequency import Cutting

    job, shop = request.job, request.shop
    return store.get(
        "inspection", decide, finishing=finishing, survey=survey, gauges=shop.gauges,
        rule=rule_of(shop.inspection, job.inspection), lot_count=max(bars_plan.pieces_count, job.order.quantity),
        cutting=Cutting(
            passes=passes, machine_of={c.id: c.machine_id for c in clampings}, cutters=shop.cutters, uses=uses
        ),
    )  # fmt: skip
