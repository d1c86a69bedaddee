"""The first look: what can be said of a part before any move is laid."""

from __future__ import annotations

import msgspec

from proveout.jobs.questions import REACHED, ask
from proveout.jobs.slices import blank_as_body, cutters_as_bodies, machines_as_bodies
from proveout.jobs.store import Store
from proveout.model.choice import CutterChoice
from proveout.model.job import Job
from proveout.model.outlook import rough_s
from proveout.model.part_summary import PartSummary
from proveout.model.plan import BarsPlan, Finishing, FirstLook
from proveout.model.pmi import PmiNote
from proveout.model.proof import Proof, weakest_first
from proveout.model.shop import Shop
from proveout.model.solid import ReadSolid
from proveout.model.target import Target
from proveout.model.work import BlankChoice, Clamping, PassPlan, Survey


def first_look(
    *,
    job: Job,
    shop: Shop,
    read: ReadSolid,
    part: PartSummary,
    survey: Survey,
    finishing: Finishing,
    target: Target,
    blank: BlankChoice,
    placed: tuple[Clamping, ...],
    choice: CutterChoice,
    bars_plan: BarsPlan,
    proofs: tuple[Proof, ...],
    lack: str,
    store: Store,
    pmi: tuple[PmiNote, ...] = (),
) -> FirstLook:
    """The first look at one part; proofs: those known so far.   lack: why the shop's figures are not for the metal.

    pmi: what became of what the STEP file writes.

    Its price has the lines of the plan's, with the outlook's seconds in the stead of those of moves.
    """
    from proveout.stages.clampings import without_idle_tilts
    from proveout.stages.costing.decide import chips_of
    from proveout.stages.costing.decide import decide as decide_cost
    from proveout.stages.outlook.decide import decide as decide_outlook
    from proveout.stages.timing.decide import foresee

    outlook = store.get(
        "outlook", decide_outlook, survey=survey, clampings=placed, target=target,
        blank=blank_as_body(blank.chosen), choice=choice, cutters=cutters_as_bodies(shop.cutters),
        machines=machines_as_bodies(shop.machines),
        pressure_mpa=shop.cutting_pressure_mpa, exponent_ratio=shop.cutting_exponent_ratio,
    ).value  # fmt: skip
    passes = PassPlan(passes=tuple(cut.work for cut in outlook.cuts), not_cut=(), moves={})
    time = foresee(
        outlook=outlook, clampings=placed, machines=shop.machines, jaws=shop.jaws, bench=shop.bench, saw=shop.saw,
        blank=blank.chosen, bars_plan=bars_plan, job=job, finishing=finishing,
    )  # fmt: skip
    cost = decide_cost(
        time=time, bars_plan=bars_plan, job=job, passes=passes, clampings=placed, faces=survey.faces,
        machines=shop.machines, cutters=shop.cutters, jaws=shop.jaws, saw=shop.saw, bench=shop.bench,
        finishers=shop.finishers, scrap_ratio=shop.scrap_ratio, currency=shop.currency,
        prices="assumed" if shop.assumed else "owner's guess", plugs_count=len(finishing.plugs),
        chips=chips_of(
            blank=blank.chosen, part_mm3=read.solid.volume_mm3, density_kg_per_mm3=shop.density_kg_per_mm3,
            price_per_kg=shop.money.chip_price_per_kg,
        ),
    ).value  # fmt: skip
    is_known = not lack and bool(outlook.cuts)
    questions = ask(
        job=job, read=read, survey=survey, cost=cost, time=time, proofs=proofs, finishers=shop.finishers,
    )  # fmt: skip
    failing = tuple(p for p in proofs if p.blocks_release and p.verdict == "fails")
    not_reached = (p for p in proofs if p.id == REACHED)
    return FirstLook(
        part=part, survey=survey, blank=blank, clampings=without_idle_tilts(placed, passes), passes=passes.passes,
        outlook=None if lack else msgspec.structs.replace(
            outlook, dear_faces=cost.dear_faces, cycle_s={id: rough_s(s) for id, s in time.cycle_s.items()}
        ),
        piece_s=time.piece_s if is_known else None, each=cost.each if is_known else None, currency=shop.currency,
        questions=questions, places={face.id: face.centroid_mm for face in read.solid.faces},
        left_out=tuple(sorted({*survey.unreached, *(f for n in choice.without for f in n.face_ids)})),
        assumed=(*job.assumed, *shop.assumed),
        failing=tuple(p for p in weakest_first(failing) if p.id != REACHED),
        not_held="" if placed else next((p.remedy for p in not_reached), ""), metal_unknown=lack,
        pmi=pmi,
    )  # fmt: skip
