"""Plan one part: run the stages, collect remedies, tighten, repeat; then join everything into a plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from proveout import __version__
from proveout.geometry.frames import triple
from proveout.intake.step import read_solid
from proveout.jobs.drawn import Drawn
from proveout.jobs.first_look import first_look
from proveout.jobs.jaw_forms import forms_of
from proveout.jobs.metal import lacking, metal_proofs, without_figures
from proveout.jobs.place_programs import load_programs
from proveout.jobs.programs import programs_of
from proveout.jobs.questions import ask
from proveout.jobs.store import Store
from proveout.jobs.table_loads import loads_of
from proveout.model.choice import CutterChoice
from proveout.model.choice_of_clampings import Sequence
from proveout.model.job import Job, Pin
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.plan import SCHEMA_VERSION, ClampForce, FirstLook, PartSummary, Plan, Round, Window
from proveout.model.proof import Decision, Proof, Tighten, is_ready, weakest_first
from proveout.model.run import Run
from proveout.model.shop import Jaws, Shop
from proveout.model.solid import ReadSolid, Solid
from proveout.model.target import Target
from proveout.model.work import Blank, BlankChoice, Clamping, PassPlan, RemovalCheck, Survey, Vector
from proveout.sheets.numbered import PartViews
from proveout.sheets.picture import ClampingDrawings

if TYPE_CHECKING:
    from proveout.stages.blank.decide import BlankDecision

ROUNDS_MAX = 10
EFFORT_MAX = 60_000_000
"""Triangles that the rounds of one plan may go through together: no round is begun that would go beyond."""
MOVED_LEAST = 0.005
"""Growth of a margin, in shares of its limit, that one of the last tightenings must bring to be worth another."""
PATIENCE = 3
"""Tightenings that may move nothing: a wall pass pushes no less until it is shorter than the edge in it at once."""
COARSE_RATIO = 3.0
# no further round begins once so many moves have been replayed: a long part stops with what fails named, not never
REPLAYED_MAX = 300_000
READING_LIMIT_S = 120.0


@dataclass(frozen=True)
class Request:
    """All that a plan depends on. step: path of the STEP file; job, shop: as read; start: ISO date or empty."""

    step: Path
    job: Job
    shop: Shop
    start: str
    inputs: dict[str, str]
    is_bare: bool


@dataclass(frozen=True)
class Planned:
    """A plan with what its papers need beside it: by clamping the drawings of the work, and the part's own.

    programs: their texts by file name.
    """

    plan: Plan
    read: ReadSolid
    target: Target
    moves: PassPlan
    drawings: dict[str, ClampingDrawings]
    part_views: PartViews | None
    programs: dict[str, str]


@dataclass(frozen=True)
class _Made:
    """The passes under one set of limits."""

    passes: PassPlan
    proofs: tuple[Proof, ...]


@dataclass(frozen=True)
class _Cut:
    """One turn of the loop from passes to holding."""

    passes: PassPlan
    removal: RemovalCheck
    loads: tuple[PassLoad, ...]
    clamp_forces: tuple[ClampForce, ...]
    proofs: tuple[Proof, ...]


def plan_job(
    request: Request, *, store: Store, run: Run, show: Callable[[FirstLook], None] | None = None
) -> Planned:  # fmt: skip
    """The plan of one part.

    Args:     show: receives the first look once, before any move is laid.
    Raises:   BadInput for a broken file or a pin that the shop does not know.   Interrupted, OutOfTime from `run`.
    """
    from proveout.stages import clampings, survey
    from proveout.stages.bars.decide import decide as decide_bars
    from proveout.stages.costing.decide import decide as decide_cost
    from proveout.stages.finishing.decide import decide as decide_finishing
    from proveout.stages.inspection.decide import decide as decide_inspection
    from proveout.stages.inspection.making import making_proofs
    from proveout.stages.timing.decide import decide as decide_time

    job, shop = request.job, request.shop
    lack = lacking(job.part.alloy, shop)
    run.check("reading", request.step.name)
    read = store.get(
        "intake", _read, path_digest=request.inputs.get("step", ""), solid_name=job.part.solid, path=request.step.name,
        run=_Held(request.step, run),
    )  # fmt: skip
    solid = read.solid
    surveyed = store.get("survey", survey.decide, solid=solid, run=run)
    surveyed = msgspec.structs.replace(surveyed, value=survey.numbered_as(surveyed.value, job.balloons))
    run.check("finishing")
    finished = store.get("finishing", decide_finishing, solid=solid, survey=surveyed.value, job=job)
    target = finished.value.target
    cutters = shop.cutters
    raw = next((j for p in job.pins if p.quantity == "jaws" for j in shop.jaws if j.id == p.value), None)
    openings = [v.opening_max_mm for v in shop.vises]
    blanks = tuple(
        (side, _money_each(_blank(request, solid, side, raw or _raw_jaws(shop, None), openings, store)))
        for side in surveyed.value.directions[:6]
    )
    choice = store.get(
        "clampings", clampings.decide, solid=solid, target=target, survey=surveyed.value, machines=shop.machines,
        vises=shop.vises, jaws=shop.jaws, cutters=cutters, quantity=job.order.quantity, load_s=shop.bench.load_s,
        pins=_pins(job.pins, ("machine", "machines", "vise", "jaws", "up", "ups", "tilts")), blanks=blanks, run=run,
    )  # fmt: skip
    proofs: list[Proof] = [*surveyed.proofs, *finished.proofs, *choice.proofs]
    sequence = choice.value.sequences[0] if choice.value.sequences else None
    run.check("blank")
    openings = [v.opening_max_mm for v in shop.vises if sequence is None or v.id == sequence.holds[0].vise_id]
    blanked = _blank(request, solid, _grip_side(sequence), _raw_jaws(shop, sequence), openings, store)
    proofs.extend(blanked.proofs)
    choice_of_bar = _without_prices(blanked.value.choice) if lack else blanked.value.choice
    chosen = choice_of_bar.chosen
    placed: tuple[Clamping, ...] = ()
    if sequence is not None:
        laid = store.get(
            "clampings place", clampings.place, sequence=sequence, blank=chosen, target=target, machines=shop.machines,
            vises=shop.vises, jaws=shop.jaws, bars=shop.bars,
        )  # fmt: skip
        placed = laid.value.clampings
        proofs.extend(laid.proofs)
    found_survey = msgspec.structs.replace(
        surveyed.value, access=choice.value.access,
        unreached=sequence.unreached if sequence else tuple(f.id for f in solid.faces),
    )  # fmt: skip
    sawn = store.get(
        "bars", decide_bars, blank=chosen, order=job.order, saw=shop.saw, bars=shop.bars, scrap_ratio=shop.scrap_ratio,
        density_kg_per_mm3=shop.density_kg_per_mm3,
    )  # fmt: skip
    picked = _choose(request, found_survey, target, placed, finished.value.finishing.windows, store)
    part = _summary(job, read)
    look = first_look(
        job=job, shop=shop, read=read, part=part, survey=found_survey, finishing=finished.value.finishing,
        target=target, blank=choice_of_bar, placed=placed, choice=picked.value, bars_plan=sawn.value,
        proofs=(*proofs, *metal_proofs(job.part.alloy, shop, lack)), lack=lack, is_bare=request.is_bare, store=store,
    )  # fmt: skip
    if show is not None:
        show(look)
    with Drawn(solid=solid, clampings=placed, store=store) as drawn:
        cut, rounds = _iterate(request, found_survey, target, chosen, placed, store, run, picked)
        proofs.extend(cut.proofs)
        placed = clampings.without_idle_tilts(placed, cut.passes)
        travelled = store.get(
            "clampings travels", clampings.travels, plan=cut.passes, clampings=placed, machines=shop.machines,
            vises=shop.vises, cutters=cutters, dry_run=job.tilts_dry_run, dry_run_mark=job.tilts_mark,
        )  # fmt: skip
        proofs.extend(travelled.proofs)
        loads, table_options, loaded = loads_of(
            job=job, shop=shop, passes=cut.passes, clampings=placed, blank=chosen, bars_plan=sawn.value,
            clamp_forces=cut.clamp_forces, lack=lack, store=store, run=run,
        )  # fmt: skip
        proofs.extend(loaded)
        programs = programs_of(
            number=job.part.number, revision=job.part.revision, blank=chosen, clampings=placed, passes=cut.passes,
            loads=loads, shop=shop, store=store, run=run,
        )  # fmt: skip
        together = load_programs(
            number=job.part.number, revision=job.part.revision, blank=chosen, clampings=placed, passes=cut.passes,
            loads=loads, shop=shop, store=store, run=run,
        )  # fmt: skip
        proofs.extend((*programs.proofs, *together.proofs))
        formed = forms_of(
            number=job.part.number, revision=job.part.revision, clampings=placed, target=target, passes=cut.passes,
            shop=shop, general_class=job.general_tolerance or "", store=store, run=run, loads=loads,
        )  # fmt: skip
        proofs.extend(formed.proofs)
        run.check("inspection, bars, time and cost")
        lines = store.get(
            "inspection", decide_inspection, finishing=finished.value.finishing, survey=surveyed.value,
            gauges=shop.gauges,
        )  # fmt: skip
        timed = store.get(
            "timing", decide_time, passes=cut.passes, clampings=placed, machines=shop.machines, jaws=shop.jaws,
            bench=shop.bench, saw=shop.saw, blank=chosen, bars_plan=sawn.value, job=job,
            finishing=finished.value.finishing, loads=loads,
        )  # fmt: skip
        priced = store.get(
            "costing", decide_cost, time=timed.value, bars_plan=sawn.value, job=job, passes=cut.passes,
            clampings=placed, faces=surveyed.value.faces, machines=shop.machines, cutters=shop.cutters,
            jaws=shop.jaws, saw=shop.saw, bench=shop.bench, finishers=shop.finishers, scrap_ratio=shop.scrap_ratio,
            currency=shop.currency, prices="assumed" if shop.assumed else "owner's guess", loads=loads,
        )  # fmt: skip
        for decision in (lines, sawn, timed, priced):
            proofs.extend(without_figures(decision.proofs, lack))
        proofs.extend(making_proofs(windows=finished.value.finishing.windows, passes=cut.passes.passes))
        proofs.extend(metal_proofs(job.part.alloy, shop, lack))
        ordered = weakest_first(tuple(proofs))
        plan = Plan(
            schema_version=SCHEMA_VERSION, ready=is_ready(ordered) and bool(placed), part=part,
            survey=found_survey,
            finishing=finished.value.finishing, blank=choice_of_bar, clampings=placed, passes=cut.passes.passes,
            not_cut=cut.passes.not_cut, removal=cut.removal, inspection=lines.value, bars=sawn.value, time=timed.value,
            cost=priced.value,
            questions=ask(
                job=job, read=read, survey=surveyed.value, cost=priced.value, time=timed.value, proofs=ordered,
                finishers=shop.finishers, is_bare=request.is_bare, table_options=table_options,
            ),
            proofs=ordered, rounds=rounds, warnings=read.warnings, assumed=(*job.assumed, *shop.assumed),
            start=request.start or job.order.start, program_version=__version__, inputs=request.inputs,
            clamp_forces=cut.clamp_forces, metal_unknown=lack, outlook=look.outlook,
            programs=(*programs.sheets, *together.sheets), jaw_forms=formed.forms, jaw_programs=formed.sheets,
            table_loads=loads, table_options=table_options,
        )  # fmt: skip
        run.check("papers", "drawing the clampings")
        drawings, part_views = drawn.result()
    return Planned(
        plan=plan, read=read, target=target, drawings=drawings, part_views=part_views,
        moves=msgspec.structs.replace(cut.passes, moves={**cut.passes.moves, **formed.moves}),
        programs={**programs.texts, **together.texts, **formed.texts},
    )  # fmt: skip


class _Held:
    """The path and the run ride along outside the key: the digest of the file stands for its content."""

    def __init__(self, path: Path, run: Run) -> None:
        self.path, self.run = path, run


def _read(*, path_digest: str, solid_name: str, path: str, run: _Held) -> ReadSolid:  # noqa: ARG001 - parts of the key
    return read_solid(run.path, solid_name=solid_name, time_limit_s=run.run.left_s(READING_LIMIT_S))


def _pins(pins: tuple[Pin, ...], quantities: tuple[str, ...]) -> tuple[Pin, ...]:
    return tuple(p for p in pins if p.quantity in quantities)


def _blank(
    request: Request, solid: Solid, side: Vector, jaws: Jaws, openings_mm: list[float], store: Store
) -> Decision[BlankDecision]:  # fmt: skip
    """The blank with its strip on one side."""
    from proveout.stages.blank.decide import decide as decide_blank

    job, shop = request.job, request.shop
    return store.get(
        "blank", decide_blank, solid=solid, bars=shop.bars, saw=shop.saw, jaws=jaws, order=job.order,
        alloy=job.part.alloy, scrap_ratio=shop.scrap_ratio, density_kg_per_mm3=shop.density_kg_per_mm3,
        machine_rate_per_h=min(m.rate_per_h for m in shop.machines), pins=_pins(job.pins, ("bar",)),
        grip_sides=(side,), opening_max_mm=max(openings_mm) if openings_mm else None,
    )  # fmt: skip


def _money_each(decided: Decision[BlankDecision]) -> float | None:
    """Metal, sawing and cutting it away, of the bar that would be taken; None where none fits."""
    chosen = decided.value.choice.chosen
    return next((c.money_each for c in decided.value.candidates if c.blank == chosen), None)


def _grip_side(sequence: Sequence | None) -> Vector:
    if sequence is None:
        return (0.0, 0.0, -1.0)
    x, y, z = sequence.holds[0].up
    return (0.0 - x, 0.0 - y, 0.0 - z)


def _raw_jaws(shop: Shop, sequence: Sequence | None) -> Jaws:
    if sequence is not None:
        return next(j for j in shop.jaws if j.id == sequence.holds[0].jaws_id)
    return min(shop.jaws, key=lambda j: (j.kind != "toothed", j.id))


def _without_prices(choice: BlankChoice) -> BlankChoice:
    """The choice without the money that its reasons tell, which rests on a density that nobody wrote."""
    if choice.chosen.is_ideal:
        return choice
    why = ("the cheapest of those that fit, if all weigh alike", *("not shown" for _ in choice.others))
    return BlankChoice(chosen=choice.chosen, others=choice.others, why=why)


def _summary(job: Job, read: ReadSolid) -> PartSummary:
    solid = read.solid
    return PartSummary(
        number=job.part.number, name=job.part.name, revision=job.part.revision, alloy=job.part.alloy,
        step=Path(job.part.step).name, solid_digest=solid.digest, low_mm=solid.low_mm, size_mm=solid.size_mm,
        volume_mm3=solid.volume_mm3, general_tolerance=job.general_tolerance or "",
        area_mm2=solid.area_mm2, faces_count=len(solid.faces), other_solids=tuple(o.name for o in read.other_solids),
        quantity=job.order.quantity,
    )  # fmt: skip


def _iterate(
    request: Request, survey: Survey, target: Target, blank: Blank, placed: tuple[Clamping, ...], store: Store,
    run: Run, picked: Decision[CutterChoice],
) -> tuple[_Cut, tuple[Round, ...]]:  # fmt: skip
    """Repeat passes, replay, loads and holding with tighter limits until all hold or nothing helps.

    Rounds that still tighten are replayed on a coarser grid; the plan that stands is always replayed on the fine one.
    """
    limits = Limits()
    rounds: list[Round] = []
    coarse = COARSE_RATIO
    made = _make(request, survey, target, blank, placed, limits, store, run, picked)
    replayed_count, effort_count = 0, 0
    history: dict[tuple[str, str, str], list[float]] = {}
    while True:
        cut = _judge(request, target, blank, placed, made, limits, coarse, store, run)
        replayed_count += sum(p.moves_count for p in cut.passes.passes)
        effort_count += made.passes.effort_count if coarse > 1.0 else 0
        failing = tuple(p for p in cut.proofs if p.blocks_release and p.verdict != "holds")
        remedies = _remedies(failing, history)
        tighter = limits.tightened(remedies)
        may_repeat = (
            len(rounds) < ROUNDS_MAX
            and replayed_count < REPLAYED_MAX
            and effort_count + made.passes.effort_count < EFFORT_MAX
        )
        helps = bool(remedies) and tighter != limits and may_repeat
        if not helps and coarse > 1.0:
            coarse = 1.0
            continue
        rounds.append(
            Round(
                number=len(rounds) + 1,
                tightened=remedies if helps else (),
                failing=tuple(sorted(p.id for p in failing)),
                piece_s=round(_feed_s(cut.passes), 3),
            )
        )
        if not helps:
            return cut, tuple(rounds)
        for proof in failing:
            if proof.tighten in remedies and proof.tighten is not None and proof.margin is not None:
                history.setdefault(_key(proof.claim, proof.tighten), []).append(proof.margin)
        limits = tighter
        run.check("passes", f"round {len(rounds) + 1}")
        made = _make(request, survey, target, blank, placed, limits, store, run, picked)


def _remedies(failing: tuple[Proof, ...], history: dict[tuple[str, str, str], list[float]]) -> tuple[Tighten, ...]:
    """What to tighten. Where data are missing (no margin) a measurement decides, and slower work helps nobody.

    history: margins at which each limit was tightened for each claim before. One that PATIENCE times in a row moved its
    proof by next to nothing is not the cause, and is left alone.
    """
    wanted = {p.tighten for p in failing if p.tighten is not None and _moves(p, history)}
    return tuple(sorted(wanted, key=lambda t: (t.subject, t.quantity, t.bound)))


def _key(claim: str, tighten: Tighten) -> tuple[str, str, str]:
    return claim, tighten.subject, tighten.quantity


def _moves(proof: Proof, history: dict[tuple[str, str, str], list[float]]) -> bool:
    if proof.tighten is None or proof.margin is None:
        return False
    seen = [*history.get(_key(proof.claim, proof.tighten), []), proof.margin]
    return len(seen) <= PATIENCE or any(b - a > MOVED_LEAST for a, b in pairwise(seen[-PATIENCE - 1 :]))


def _feed_s(plan: PassPlan) -> float:
    """Seconds at feed of all passes, to see what tightening costs."""
    total = 0.0
    for one in plan.passes:
        moves = plan.moves[one.moves_digest]
        feed = moves.feed_mm_per_s[1:]
        lengths = moves.lengths_mm
        total += float((lengths[feed > 0.0] / feed[feed > 0.0]).sum())
    return total


def _make(
    request: Request, survey: Survey, target: Target, blank: Blank, placed: tuple[Clamping, ...], limits: Limits,
    store: Store, run: Run, picked: Decision[CutterChoice],
) -> _Made:  # fmt: skip
    from proveout.stages.passes.decide import decide as decide_passes

    shop = request.shop
    made = store.get(
        "passes", decide_passes, target=target, survey=survey, blank=blank, clampings=placed, choice=picked.value,
        cutters=shop.cutters, machines={m.id: m for m in shop.machines}, limits=limits, run=run,
    )  # fmt: skip
    return _Made(passes=made.value, proofs=(*picked.proofs, *made.proofs))


def _choose(
    request: Request, survey: Survey, target: Target, placed: tuple[Clamping, ...], windows: tuple[Window, ...],
    store: Store,
) -> Decision[CutterChoice]:  # fmt: skip
    from proveout.stages.cutters.decide import decide as decide_cutters

    threads: dict[int, str] = {}
    for size in request.job.sizes:
        if size.text.strip().upper().startswith("M") and size.text.strip()[1:2].isdigit():
            threads[size.balloon] = "; ".join([*filter(None, [threads.get(size.balloon)]), size.text])
    threads_by_hole = {h.id: threads[h.balloon] for h in survey.holes if h.balloon in threads}
    return store.get(
        "cutters", decide_cutters, survey=survey, clampings=placed, target=target, cutters=request.shop.cutters,
        threads=threads_by_hole, widths_mm=_narrowest_mm(survey, windows),
    )  # fmt: skip


def _narrowest_mm(survey: Survey, windows: tuple[Window, ...]) -> dict[str, float]:
    """Hole id to the width of its narrowest window before the coat, of holes that have one."""
    found: dict[str, float] = {}
    for hole in survey.holes:
        faces = {f for step in hole.steps for f in step.face_ids}
        widths = [w.width_mm for w in windows if w.kind == "hole" and faces & set(w.face_ids)]
        if widths:
            found[hole.id] = min(widths)
    return found


def _judge(
    request: Request, target: Target, blank: Blank, placed: tuple[Clamping, ...], made: _Made, limits: Limits,
    coarse: float, store: Store, run: Run,
) -> _Cut:  # fmt: skip
    from proveout.stages import holding, loads, removal_check

    shop = request.shop
    replayed = store.get(
        "removal check", removal_check.decide, blank=blank, target=target, clampings=placed, plan=made.passes,
        cutters=shop.cutters, vises=shop.vises, machines=shop.machines, coarse_ratio=coarse, run=run,
    )  # fmt: skip
    loaded = store.get(
        "loads", loads.decide, plan=made.passes, cuts=replayed.value.passes, clampings=placed, cutters=shop.cutters,
        machines=shop.machines, pressure_mpa=shop.cutting_pressure_mpa, exponent_ratio=shop.cutting_exponent_ratio,
        blank=blank, limits=limits, run=run,
    )  # fmt: skip
    corners = target.vertices_mm
    work = holding.Work(
        blank_low_mm=blank.low_mm, blank_high_mm=blank.high_mm, part_low_mm=triple(corners.min(axis=0)),
        part_high_mm=triple(corners.max(axis=0)), elastic_mpa=shop.elastic_mpa,
    )  # fmt: skip
    held = store.get(
        "holding", holding.decide, plan=made.passes, loads=loaded.value, clampings=placed, vises=shop.vises,
        jaws=shop.jaws, machines=shop.machines, cutters=shop.cutters, yield_mpa=shop.yield_mpa,
        pressure_mpa=shop.cutting_pressure_mpa, limits=limits, work=work, run=run,
    )  # fmt: skip
    lack = lacking(request.job.part.alloy, shop)
    proofs = (*made.proofs, *replayed.proofs, *without_figures((*loaded.proofs, *held.proofs), lack))
    forces = holding.clamp_forces(clampings=placed, vises=shop.vises, limits=limits)
    return _Cut(
        passes=made.passes, removal=replayed.value, loads=loaded.value, clamp_forces=forces, proofs=proofs
    )  # fmt: skip
