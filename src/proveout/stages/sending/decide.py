"""Decide what goes to each outside finisher, and whether pieces and order are ready for it."""

from __future__ import annotations

import msgspec

from proveout.model.coat_growth import growth_of
from proveout.model.concerns import Concern
from proveout.model.fact import Fact, weaker_of
from proveout.model.finish_order import FinishOrder, PieceReading
from proveout.model.job import Coat, Job
from proveout.model.marking import Marking, is_marking
from proveout.model.plan import BarsPlan, Finishing
from proveout.model.proof import Decision, Proof
from proveout.model.shop import Finisher, Noun
from proveout.model.work import Survey
from proveout.stages.sending.places import blind_holes, rack_faces, shown_faces, thin_places
from proveout.stages.sending.proofs import (
    alloy_proofs,
    heat_proof,
    holes_proof,
    order_proof,
    rack_proof,
    walls_proof,
)

# a size narrower than this before its coat is measured before and after. Common practice, no source
CLOSE_WIDTH_MM = 0.100
SPEC = "which specification, type and class (spec in [coat])"
COLOUR = "which colour (colour in [coat])"
SEAL = "whether and how it is sealed (seal in [coat])"


RINSE = "acid stays in it, rinse it out and blow it dry"
MARKING = "what is marked, on which face and how high ([[outside.marking]])"


class _Made(Noun, frozen=True, kw_only=True):
    """What all orders of one part share."""

    watch: tuple[str, ...]
    rack_may: tuple[str, ...]
    rack_not: tuple[str, ...]
    show: tuple[str, ...]
    readings: tuple[PieceReading, ...]


def decide(
    *, job: Job, survey: Survey, finishing: Finishing, bars_plan: BarsPlan, concerns: tuple[Concern, ...],
    finishers: tuple[Finisher, ...], same_load: tuple[str, ...] = (), fit_marks: tuple[str, ...] = (),
) -> Decision[tuple[FinishOrder, ...]]:  # fmt: skip
    """One order for each finisher that the job names and the shop knows, in their order, with proofs.

    same_load: numbers of the parts that ride in one coat load with this one.   fit_marks: what fits of the order name.
    """
    by_id = {finisher.id: finisher for finisher in finishers}
    known = [by_id[name] for name in job.finisher_ids if name in by_id]
    masked = frozenset(note.face_id for note in survey.faces) - set(finishing.coated_faces)
    holes = blind_holes(survey, masked=masked)
    thin = thin_places(concerns) if job.coat is not None and job.coat.blast else ()
    may, must_not = rack_faces(job, finishing, survey, masked=masked, fit_marks=fit_marks)
    made = _Made(
        watch=(*(f"{one.words}: {RINSE}" for one in holes), *(f"{one.subject}: {one.text}" for one in thin)),
        rack_may=may, rack_not=must_not, show=shown_faces(job, survey), readings=_readings(finishing),
    )  # fmt: skip
    orders = tuple(
        _order(
            finisher, known[place + 1 :], job, finishing, bars_plan, made, survey=survey,
            coat=job.coat if job.coat is not None and place == 0 and finisher.id == job.coat.finisher else None,
            same_load=same_load,
        )
        for place, finisher in enumerate(known)
    )  # fmt: skip
    proofs: list[Proof] = []
    if job.coat is not None:
        if "hard" in job.coat.process.lower():
            proofs.extend(alloy_proofs(job.part.alloy))
        proofs += [heat_proof(bars_plan), holes_proof(holes)]
        if job.coat.blast:
            proofs.append(walls_proof(len(thin)))
        proofs.append(rack_proof(len(may), is_show_said=bool(made.show)))
    proofs += [order_proof(order) for order in orders]
    return Decision(value=orders, proofs=tuple(proofs))


def _order(
    finisher: Finisher, later: list[Finisher], job: Job, finishing: Finishing, bars: BarsPlan, made: _Made, *,
    survey: Survey, coat: Coat | None, same_load: tuple[str, ...],
) -> FinishOrder:  # fmt: skip
    lacks = [] if job.order.due else ["the day on which it is wanted"]
    if coat is not None:
        if coat.certificate is None:
            lacks.append("whether a certificate is wanted (certificate in [coat])")
        if not made.show:
            lacks.append("which faces show ([show])")
        if coat.etch_mm is None:
            lacks.append("how much the etch takes off (etch_mm in [coat])")
        lacks += [words for said, words in ((coat.spec, SPEC), (coat.colour, COLOUR), (coat.seal, SEAL)) if not said]
    markings = () if coat is not None else tuple(one for one in job.markings if one.finisher == finisher.id)
    if coat is None and not markings and is_marking(finisher.process):
        lacks.append(MARKING)
    lacks += _not_said(markings, survey)
    return FinishOrder(
        finisher_id=finisher.id,
        process=coat.process if coat is not None else finisher.process,
        part=job.part.number,
        name=job.part.name,
        revision=job.part.revision,
        pieces_count=bars.pieces_count,
        alloy=job.part.alloy,
        prior=_prior(job, coat),
        thickness_mm=None if coat is None else coat.thickness_mm,
        build_up_mm=None if coat is None else _build_up(coat),
        coated_area_mm2=0.0 if coat is None else finishing.coated_area_mm2,
        masks=() if coat is None else finishing.plugs,
        watch=() if coat is None else made.watch,
        rack_may=() if coat is None else made.rack_may,
        rack_not=() if coat is None else made.rack_not,
        show=made.show,
        readings=() if coat is None else made.readings,
        certificate=None if coat is None else coat.certificate,
        due=job.order.due,
        days_low=finisher.days_low,
        days_high=finisher.days_high,
        after=tuple(one.process for one in later),
        same_load=() if coat is None else same_load,
        lacks=tuple(lacks),
        markings=markings,
        spec="" if coat is None else coat.spec,
        colour="" if coat is None else coat.colour,
        seal="" if coat is None else coat.seal,
    )


def _not_said(markings: tuple[Marking, ...], survey: Survey) -> list[str]:
    """What a marking leaves open: a face that is there, a place on it, a height."""
    faces = {note.face_id for note in survey.faces}
    found: list[str] = []
    for one in markings:
        gone = [id for id in one.face_ids if id not in faces]
        missing = [
            *([] if one.face_ids else ["on which face (faces)"]),
            *([f"on which face: {', '.join(gone)} is not in the STEP file"] if gone else []),
            *([] if one.where else ["where on it and which way it reads (where)"]),
            *([] if one.height_mm is not None else ["how high (height_mm)"]),
        ]
        if missing:
            found.append(f"of the marking {one.text}: {', '.join(missing)}")
    return found


def _prior(job: Job, coat: Coat | None) -> str:
    """How the pieces are when they come."""
    if coat is None:
        return f"milled, {job.coat.process}" if job.coat is not None else "milled, edges broken, washed"
    return "milled, edges broken, blasted with beads, washed" if coat.blast else "milled, edges broken, washed"


def _build_up(coat: Coat) -> Fact:
    """Growth of a surface, known no better than the worst of what it is reckoned from; an etch unsaid is assumed."""
    growth = growth_of(coat, depth_ratio=0.0)
    if coat.grown_mm is not None:
        return coat.grown_mm
    low, high = growth.build_up_mm
    middle = growth.middle_mm
    weakest = coat.build_up_ratio
    etch = growth.etch_mm if growth.is_etch_said else msgspec.structs.replace(growth.etch_mm, strength="assumed")
    for one in (coat.comes_mm, etch):
        if weaker_of(weakest.strength, one.strength) != weakest.strength:
            weakest = one
    return Fact(
        low=round(low, 6), nominal=round(min(max(middle, low), high), 6), high=round(high, 6), unit="mm",
        source=weakest.source, strength=weakest.strength,
    )  # fmt: skip


def _readings(finishing: Finishing) -> tuple[PieceReading, ...]:
    """Coated sizes that are close or critical, and every coated thread."""
    return tuple(
        PieceReading(
            balloon=w.balloon, mark=w.mark, text=w.text, before_low_mm=w.before_low_mm,
            before_high_mm=w.before_high_mm, finished_low_mm=w.finished_low_mm, finished_high_mm=w.finished_high_mm,
            is_decided=w.is_decided,
        )
        for w in finishing.windows
        if not w.is_masked and (w.is_critical or w.kind == "thread" or not w.is_decided or w.width_mm < CLOSE_WIDTH_MM)
    )  # fmt: skip
