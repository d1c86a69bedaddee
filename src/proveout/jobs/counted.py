"""What follows from the passes by counting: time, money, edges, inspection, bench, kit, purchases and more."""

from __future__ import annotations

import msgspec

from proveout.jobs.metal import without_figures
from proveout.jobs.request import Request
from proveout.jobs.slices import cutters_as_bodies, job_of_pieces
from proveout.jobs.store import Store
from proveout.model.bench import BenchPlan
from proveout.model.concerns import Concern
from proveout.model.finish_order import FinishOrder
from proveout.model.inspection import rule_of
from proveout.model.jaw_form import JawForm
from proveout.model.packing import Packing
from proveout.model.plan import BarsPlan, CostPlan, CutterUse, Finishing, InspectionLine, NoteGauge, TimePlan
from proveout.model.proof import Decision, Proof
from proveout.model.purchase import Purchase
from proveout.model.run import Run
from proveout.model.shop import Noun
from proveout.model.solid import Solid
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping, PassPlan, Survey


class Counted(Noun, frozen=True, kw_only=True):
    """All of it, with its proofs."""

    time: TimePlan
    cost: CostPlan
    cutter_uses: tuple[CutterUse, ...]
    inspection: tuple[InspectionLine, ...]
    note_gauges: tuple[NoteGauge, ...]
    bench: BenchPlan
    packing: Packing
    concerns: tuple[Concern, ...]
    finish_orders: tuple[FinishOrder, ...]
    purchases: tuple[Purchase, ...]
    proofs: tuple[Proof, ...]


def counted(
    request: Request, *, solid: Solid, survey: Survey, finishing: Finishing, blank: Blank,
    clampings: tuple[Clamping, ...], passes: PassPlan, bars: Decision[BarsPlan], loads: tuple[TableLoad, ...],
    forms: tuple[JawForm, ...], lack: str, store: Store, run: Run,
) -> Counted:  # fmt: skip
    """Count, time and price one part.

    Args:     lack: why the shop's figures are not for this alloy, empty when they are.
    """
    from proveout.stages.bench.decide import decide as decide_bench
    from proveout.stages.buying.decide import decide as decide_buying
    from proveout.stages.concerns.decide import decide as decide_concerns
    from proveout.stages.costing.bands import decide as decide_band
    from proveout.stages.costing.decide import chips_of
    from proveout.stages.costing.decide import decide as decide_cost
    from proveout.stages.inspection.decide import decide as decide_inspection
    from proveout.stages.inspection.frequency import Cutting
    from proveout.stages.inspection.making import making_proofs
    from proveout.stages.packing.decide import decide as decide_packing
    from proveout.stages.sending.decide import decide as decide_sending
    from proveout.stages.timing.decide import decide as decide_time
    from proveout.stages.timing.edge_life import decide_edges

    job, shop = request.job, request.shop
    pieces = job_of_pieces(job)
    timed = store.get(
        "timing", decide_time, passes=passes, clampings=clampings, machines=shop.machines, jaws=shop.jaws,
        bench=shop.bench, saw=shop.saw, blank=blank, bars_plan=bars.value, job=pieces, finishing=finishing, loads=loads,
        pockets_s={f.clamping_id: f.seconds for f in forms if f.seconds is not None},
    )  # fmt: skip
    chips = chips_of(
        blank=blank, part_mm3=solid.volume_mm3, density_kg_per_mm3=shop.density_kg_per_mm3,
        price_per_kg=shop.money.chip_price_per_kg,
    )  # fmt: skip
    priced = store.get(
        "costing", decide_cost, time=timed.value, bars_plan=bars.value, job=pieces, passes=passes, clampings=clampings,
        faces=survey.faces, machines=shop.machines, cutters=shop.cutters, jaws=shop.jaws, saw=shop.saw,
        bench=shop.bench, finishers=shop.finishers, scrap_ratio=shop.scrap_ratio, currency=shop.currency,
        prices="assumed" if shop.assumed else "owner's guess", loads=loads, plugs_count=len(finishing.plugs),
        chips=chips, riders=request.riders,
    )  # fmt: skip
    banded = None if lack else store.get(
        "cost band", decide_band, cost=priced.value, time=timed.value, bars_plan=bars.value, job=pieces, passes=passes,
        clampings=clampings, blank=blank, bars=shop.bars, machines=shop.machines, cutters=shop.cutters, jaws=shop.jaws,
        saw=shop.saw, bench=shop.bench, finishers=shop.finishers, scrap_ratio=shop.scrap_ratio, money=shop.money,
        density_kg_per_mm3=shop.density_kg_per_mm3, loads=loads, plugs_count=len(finishing.plugs), chips=chips,
        riders=request.riders,
    )  # fmt: skip
    worn = store.get(
        "edges", decide_edges, time=timed.value, passes=passes, clampings=clampings, cutters=shop.cutters,
        pieces_count=bars.value.blanks_count,
    )  # fmt: skip
    lines = store.get(
        "inspection", decide_inspection, finishing=finishing, survey=survey, gauges=shop.gauges,
        rule=rule_of(shop.inspection, job.inspection), lot_count=max(bars.value.pieces_count, job.order.quantity),
        cutting=Cutting(
            passes=passes.passes, machine_of={c.id: c.machine_id for c in clampings}, cutters=shop.cutters,
            uses=() if lack else worn.value,
        ),
    )  # fmt: skip
    edges = store.get(
        "bench", decide_bench, solid=solid, survey=survey, passes=passes.passes, clampings=clampings, bench=shop.bench,
        break_mm=job.edge_break_mm, show_faces=job.show_faces,
    )  # fmt: skip
    packed = store.get(
        "packing", decide_packing, kit=job.kit, bag=job.bag, scale_step_kg=shop.bench.scale_step_kg,
        quantity=job.order.quantity,
    )  # fmt: skip
    uses = () if lack else worn.value
    bought = store.get(
        "buying", decide_buying, bars_plan=bars.value, alloy=job.part.alloy, is_money_known=not lack, uses=uses,
        cutters=shop.cutters, clampings=clampings, forms=forms, packing=packed.value,
        supplies=shop.supplies, plugs_count=len(finishing.plugs) * bars.value.pieces_count,
        jaws=shop.jaws, loads=loads, gauges=lines.value.wanted,
    )  # fmt: skip
    noted = store.get(
        "concerns", decide_concerns, solid=solid, survey=survey, cutters=cutters_as_bodies(shop.cutters), coat=job.coat,
        coated=frozenset(finishing.coated_faces), edge_break_mm=job.edge_break_mm,
        passes=passes.passes, run=run,
        seconds_by_pass={} if lack else {x.pass_id: x.seconds.nominal for x in timed.value.lines if x.pass_id},
    )  # fmt: skip
    sent = store.get(
        "sending", decide_sending, job=job, survey=survey, finishing=finishing, bars_plan=bars.value,
        concerns=noted.value, finishers=shop.finishers, same_load=request.same_load,
        fit_marks=request.fit_marks,
    )  # fmt: skip
    of_metal = [
        proof
        for decision in (lines, bars, timed, priced, *([banded] if banded else []), worn, edges)
        for proof in without_figures(decision.proofs, lack)
    ]  # fmt: skip
    made = making_proofs(windows=finishing.windows, passes=passes.passes, holes=survey.holes)
    return Counted(
        time=timed.value,
        cost=msgspec.structs.replace(priced.value, band=None if banded is None else banded.value),
        cutter_uses=uses, inspection=lines.value.lines, note_gauges=lines.value.note_gauges,
        bench=edges.value, packing=packed.value, concerns=noted.value, finish_orders=sent.value,
        purchases=bought.value,
        proofs=(*of_metal, *packed.proofs, *noted.proofs, *sent.proofs, *made),
    )  # fmt: skip
