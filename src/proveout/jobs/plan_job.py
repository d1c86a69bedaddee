"""Plan one part: run the stages, collect remedies, tighten, repeat; then join everything into a plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import msgspec

from proveout import __version__
from proveout.jobs.closing import pin_proofs, with_pinned_torque
from proveout.jobs.counted import counted
from proveout.jobs.design import design_of, read_part
from proveout.jobs.drawn import Drawn, wrong_drawings
from proveout.jobs.first_look import first_look
from proveout.jobs.holding import hold
from proveout.jobs.jaw_forms import forms_of
from proveout.jobs.metal import lacking, metal_proofs, without_figures
from proveout.jobs.place_programs import load_programs
from proveout.jobs.pressure import with_readings
from proveout.jobs.program_lines import with_lines
from proveout.jobs.programs import programs_of
from proveout.jobs.questions import ask
from proveout.jobs.request import Request
from proveout.jobs.rounds import choose_cutters, iterate
from proveout.jobs.slices import blank_as_body, job_of_design, order_of_pieces, shop_of_bodies
from proveout.jobs.store import Store
from proveout.jobs.table_loads import loads_of
from proveout.jobs.wrong_loads import InJaws, wrong_loads
from proveout.model.coat_way import coat_prices
from proveout.model.job import Job
from proveout.model.loading import Sister
from proveout.model.loads import Loads
from proveout.model.part_summary import PartSummary
from proveout.model.plan import SCHEMA_VERSION, FirstLook, Plan, Question
from proveout.model.proof import Decision, Proof, is_ready, weakest_first
from proveout.model.run import Run
from proveout.model.solid import ReadSolid
from proveout.model.target import Target
from proveout.model.work import PassPlan
from proveout.sheets.numbered import PartViews
from proveout.sheets.picture import ClampingDrawings


@dataclass(frozen=True)
class Planned:
    """A plan with what its papers need beside it: by clamping the drawings of the work, and the part's own.

    programs: their texts by file name.   loads: of every move; empty where the figures of the metal are not known.
    in_jaws: what its wrong loads depend on.   asks: its questions, from proofs.
    """

    plan: Plan
    read: ReadSolid
    target: Target
    moves: PassPlan
    drawings: dict[str, ClampingDrawings]
    part_views: PartViews | None
    programs: dict[str, str]
    loads: Loads
    in_jaws: InJaws | None = None
    asks: Callable[..., tuple[Question, ...]] | None = None


def plan_job(
    request: Request, *, store: Store, run: Run, show: Callable[[FirstLook], None] | None = None
) -> Planned:  # fmt: skip
    """The plan of one part.

    Args:     show: receives the first look once, before any move is laid.
    Raises:   BadInput for a broken file or a pin that the shop does not know.   Interrupted, OutOfTime from `run`.
    """
    from proveout.jobs.binding import pass_limits
    from proveout.stages import clampings
    from proveout.stages.bars.decide import decide as decide_bars
    from proveout.stages.cutters.places import place_proofs
    from proveout.stages.finishing.decide import decide as decide_finishing
    from proveout.stages.loads.marks import mark_proofs
    from proveout.stages.turning_over.decide import decide as decide_turned

    lack = lacking(request.job.part.alloy, request.shop)
    request, read_off = with_readings(request, lack=lack, store=store)
    run.check("reading", request.step.name)
    design = design_of(request, store=store, run=run)
    request, read, surveyed = design.request, design.read, design.survey
    request = with_pinned_torque(request)
    job, shop, solid = request.job, request.shop, read.solid
    bodies = shop_of_bodies(shop)
    run.check("finishing")
    finished = store.get("finishing", decide_finishing, solid=solid, survey=surveyed, job=job_of_design(job),
        prices=coat_prices(coat=job.coat, finishers=shop.finishers, bench=shop.bench, currency=shop.currency),
    )  # fmt: skip
    target = finished.value.target
    cutters = shop.cutters
    held = hold(
        request, solid=solid, target=target, survey=surveyed, lack=lack, store=store, run=run,
        bought=finished.value.bought,
    )  # fmt: skip
    proofs: list[Proof] = [*design.proofs, *finished.proofs, *without_figures(held.proofs, lack), *read_off]
    sequence, placed, chosen = held.sequence, held.clampings, blank_as_body(held.blanks.chosen)
    found_survey = msgspec.structs.replace(
        surveyed, access=held.choice.access,
        unreached=sequence.unreached if sequence else tuple(f.id for f in solid.faces), reach=held.choice.reach,
    )  # fmt: skip
    sawn = store.get(
        "bars", decide_bars, blank=held.blanks.chosen, order=order_of_pieces(job.order), saw=shop.saw, bars=shop.bars,
        scrap_ratio=shop.scrap_ratio, density_kg_per_mm3=shop.density_kg_per_mm3, remnants=shop.remnants,
        is_of_order=request.is_of_order,
    )  # fmt: skip
    windows = finished.value.finishing.windows
    picked = choose_cutters(request, found_survey, target, placed, windows, store)
    part = _summary(job, read)
    look = first_look(
        job=job, shop=shop, read=read, part=part, survey=found_survey, finishing=finished.value.finishing,
        target=target, blank=held.blanks, placed=placed, choice=picked.value, bars_plan=sawn.value,
        proofs=(*proofs, *metal_proofs(job.part.alloy, shop, lack)), lack=lack, store=store,
        pmi=design.notes,
    )  # fmt: skip
    if show is not None:
        show(look)
    with Drawn(solid=solid, clampings=placed, store=store, is_wanted=request.is_drawn) as drawn:
        cut, rounds = iterate(request, found_survey, target, chosen, placed, store, run, picked, windows)
        proofs.extend((*cut.proofs, *pin_proofs(request, held.clampings, cut.clamp_forces)))
        proofs.extend(mark_proofs(passes=cut.passes.passes, cutters=cutters, notes=finished.value.finishing.notes))
        placed = clampings.without_idle_tilts(placed, cut.passes)
        travelled = store.get(
            "clampings travels", clampings.travels, plan=cut.passes, clampings=placed, machines=bodies.machines,
            vises=bodies.vises, cutters=bodies.cutters, dry_run=job.tilts_dry_run, dry_run_mark=job.tilts_mark,
        )  # fmt: skip
        proofs.extend(travelled.proofs)
        loads, table_options, loaded = loads_of(
            job=job, shop=shop, passes=cut.passes, clampings=placed, blank=chosen, bars_plan=sawn.value,
            clamp_forces=cut.clamp_forces, lack=lack, store=store, run=run,
        )  # fmt: skip
        proofs.extend(loaded)
        programs = programs_of(
            number=job.part.number, revision=job.part.revision, survey=found_survey, blank=chosen, clampings=placed,
            passes=cut.passes, loads=loads, shop=bodies, store=store, run=run,
        )  # fmt: skip
        together = load_programs(
            number=job.part.number, revision=job.part.revision, survey=found_survey, blank=chosen, clampings=placed,
            passes=cut.passes, loads=loads, shop=bodies, store=store, run=run,
        )  # fmt: skip
        proofs.extend((*programs.proofs, *together.proofs))
        formed = forms_of(
            number=job.part.number, revision=job.part.revision, clampings=placed, target=target, passes=cut.passes,
            shop=bodies, general_class=job.general_tolerance or "", store=store, run=run, loads=loads,
        )  # fmt: skip
        proofs.extend(formed.proofs)
        in_jaws = InJaws(
            blank=chosen, clampings=placed, passes=cut.passes, forms=formed.forms, shop=bodies,
            sisters=_sisters(request, store, run), marks=job.marks, general_tolerance=job.general_tolerance,
            is_of_order=request.is_of_order,
        )  # fmt: skip
        wrong = Decision(value=(), proofs=()) if request.is_loaded_later else wrong_loads(in_jaws, store=store, run=run)
        proofs.extend(wrong.proofs)
        turned = store.get(
            "turning over", decide_turned, solid=solid, target=target, finishing=finished.value.finishing,
            job=job_of_design(job), plan=cut.passes, clampings=placed, blank=chosen, machines=bodies.machines,
            vises=shop.vises, bars=shop.bars, forms=formed.forms, clamp_forces=cut.clamp_forces,
            elastic_mpa=None if lack else shop.elastic_mpa, run=run,
        )  # fmt: skip
        proofs.extend(turned.proofs)
        proofs.extend(place_proofs(passes=cut.passes.passes, clampings=placed, machines=shop.machines))
        run.check("inspection, bars, time and cost")
        rest = counted(
            request, solid=solid, survey=surveyed, finishing=finished.value.finishing, blank=held.blanks.chosen,
            clampings=placed, passes=cut.passes, bars=sawn, loads=loads, forms=formed.forms, lack=lack,
            store=store, run=run,
        )  # fmt: skip
        proofs.extend(rest.proofs)
        proofs.extend(metal_proofs(job.part.alloy, shop, lack))
        asks = partial(
            ask, job=job, read=read, survey=surveyed, cost=rest.cost, time=rest.time, finishers=shop.finishers,
            table_options=table_options,
        )  # fmt: skip
        ordered = weakest_first(with_lines(proofs, {**programs.lines, **together.lines}))
        plan = Plan(
            schema_version=SCHEMA_VERSION, ready=is_ready(ordered) and bool(placed), part=part,
            survey=found_survey,
            finishing=finished.value.finishing, blank=held.blanks, clampings=placed, passes=cut.passes.passes,
            not_cut=cut.passes.not_cut, removal=cut.removal, inspection=rest.inspection, bars=sawn.value,
            time=rest.time, cost=rest.cost, note_gauges=rest.note_gauges,
            questions=asks(proofs=ordered), proofs=ordered, rounds=rounds, warnings=(*read.warnings, *design.warnings),
            assumed=(*job.assumed, *shop.assumed),
            start=request.start or job.order.start, program_version=__version__, inputs=request.inputs,
            clamp_forces=cut.clamp_forces, metal_unknown=lack, outlook=look.outlook,
            programs=(*programs.sheets, *together.sheets), jaw_forms=formed.forms, jaw_programs=formed.sheets,
            concerns=rest.concerns, ways=clampings.ways_of(held.choice.sequences),
            cutter_uses=rest.cutter_uses, loading=wrong.value, table_loads=loads,
            table_options=table_options, trial_cuts=cut.trial_cuts, turned=turned.value, pmi=design.notes,
            bench=rest.bench, packing=rest.packing, due=job.order.due, finish_orders=rest.finish_orders,
            purchases=rest.purchases, is_of_order=request.is_of_order,
            pass_pushes=() if lack else cut.loads.pushes,
            pass_limits=pass_limits(
                passes=cut.passes.passes, clampings=placed, machines=shop.machines, cutters=cutters, rounds=rounds,
                loads=cut.loads.passes, reserves=cut.reserves, lack=lack, vises=shop.vises,
            ),
        )  # fmt: skip
        run.check("papers", "drawing the clampings")
        drawings, part_views = drawn.result()
        if drawn.why_not:
            run.check("papers", f"without hidden lines: {drawn.why_not}")
        if drawings:
            drawings |= wrong_drawings(solid=solid, clampings=placed, loading=wrong.value, store=store)
    return Planned(
        plan=plan, read=read, target=target, drawings=drawings, part_views=part_views,
        moves=msgspec.structs.replace(cut.passes, moves={**cut.passes.moves, **formed.moves}),
        programs={**programs.texts, **together.texts, **formed.texts}, loads=Loads(passes=()) if lack else cut.loads,
        in_jaws=in_jaws, asks=asks,
    )  # fmt: skip


def _sisters(request: Request, store: Store, run: Run) -> tuple[Sister, ...]:
    """The other parts of the order as read."""
    found = []
    for file in request.sisters:
        read = read_part(file.step, digest=file.digest, solid_name=file.solid_name, store=store, run=run)
        found.append(Sister(number=file.number, vertices_mm=read.solid.vertices_mm, triangles=read.solid.triangles))
    return tuple(found)


def _summary(job: Job, read: ReadSolid) -> PartSummary:
    solid = read.solid
    return PartSummary(
        number=job.part.number, name=job.part.name, revision=job.part.revision, alloy=job.part.alloy,
        step=Path(job.part.step).name, solid_digest=solid.digest, low_mm=solid.low_mm, size_mm=solid.size_mm,
        volume_mm3=solid.volume_mm3, general_tolerance=job.general_tolerance or "",
        area_mm2=solid.area_mm2, faces_count=len(solid.faces), other_solids=tuple(o.name for o in read.other_solids),
        quantity=job.order.quantity,
    )  # fmt: skip
