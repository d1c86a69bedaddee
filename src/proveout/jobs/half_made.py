"""Half-made pieces of a revision that ends: where they are by the records, and what can become of them."""

from __future__ import annotations

from dataclasses import dataclass

from proveout.books.stretches import standing_events
from proveout.jobs.batch_route import step_of
from proveout.jobs.place import Place
from proveout.jobs.same_so_far import differing
from proveout.jobs.tied_up import TiedUp, tied_up
from proveout.model.batch import Batch, StepCount
from proveout.model.change_events import GO_ON, KEPT, PiecesSettled
from proveout.model.half_made import HalfMade, Settling, Stage, Way
from proveout.model.plan import Plan
from proveout.model.revision import Revision
from proveout.model.revision_book import Ending
from proveout.records.records import Records

DIFFERENCES_TOLD = 4


@dataclass(frozen=True)
class Beside:
    """What the pieces of a batch are held against.

    place: its packet.   revision: the new solid against its plan, None where nobody held it against that.   new: a plan
    of the new revision, None where there is none;  into: open batches of that very plan.
    """

    place: Place
    ending: Ending
    revision: Revision | None
    new: Place | None
    into: tuple[Batch, ...] = ()


def half_made(records: Records, batch: Batch, beside: Beside) -> HalfMade:
    """The pieces of a batch, stage by stage."""
    place, revision = beside.place, beside.revision
    touched = touched_steps(place.plan, revision)
    stages: list[Stage] = []
    for number, step in enumerate(batch.steps):
        if not step.waiting_count and not step.away_count:
            continue
        behind = tuple(one.id for one in batch.steps[:number])
        held = tied_up(batch, place.plan, place.shop, behind)
        cut = tuple(one for one in behind if one in touched)
        stages.append(_stage(batch, step, behind, cut, held, _ways(step, behind, cut, beside)))
    return HalfMade(
        batch=batch.batch, state=batch.state, place=batch.place, plan=batch.plan, currency=place.plan.cost.currency,
        revision=revision, touched=touched, papers=papers_touched(place.plan, revision), stages=tuple(stages),
        settled=settled_of(records, batch.batch), finished_count=batch.steps[-1].good_count if batch.steps else 0,
    )  # fmt: skip


def unread(records: Records, batch: Batch, why: str) -> HalfMade:
    """The same of a batch whose packet cannot be read: where its pieces are, and no more."""
    stages = [
        _stage(batch, step, tuple(one.id for one in batch.steps[:number]), (), TiedUp(None, None, (why,)), ())
        for number, step in enumerate(batch.steps) if step.waiting_count or step.away_count
    ]  # fmt: skip
    return HalfMade(
        batch=batch.batch, state=batch.state, place=batch.place, plan=batch.plan, currency="", revision=None,
        touched=(), papers=(), stages=tuple(stages), settled=settled_of(records, batch.batch),
        finished_count=batch.steps[-1].good_count if batch.steps else 0, lost=why,
    )  # fmt: skip


def _stage(
    batch: Batch, step: StepCount, behind: tuple[str, ...], cut: tuple[str, ...], held: TiedUp, ways: tuple[Way, ...]
) -> Stage:  # fmt: skip
    lots = [f"lot {lot.lot} at {lot.finisher}" for lot in batch.lots if lot.step == step.id and lot.away_count]
    here = [batch.place or f"at {step.station}"] if step.waiting_count else []
    return Stage(
        step=step.id, station=step.station, kind=step.kind, at=", ".join([*here, *lots]),
        waiting_count=step.waiting_count, away_count=step.away_count, kept_count=step.kept_count, behind=behind,
        cut=cut, each_s=held.each_s, each_money=held.each_money, lacks=held.lacks, ways=ways,
    )  # fmt: skip


def touched_steps(plan: Plan, revision: Revision | None) -> tuple[str, ...]:
    """Steps whose passes make, or whose jaws meet, what changed, in their order."""
    if revision is None:
        return ()
    named = {one.clamping_id for one in revision.passes} | {one.clamping.id for one in revision.jaws}
    return tuple(step_of(one) for one in sorted(plan.clampings, key=lambda c: c.number) if one.id in named)


def papers_touched(plan: Plan, revision: Revision | None) -> tuple[str, ...]:
    """Papers and programs of the old packet on which something stands that changed; all others carry its revision."""
    if revision is None or not (touched := revision.solid.touched):
        return ()
    steps, cut = set(touched_steps(plan, revision)), {one.clamping.id for one in revision.jaws if one.is_cut}
    found: list[str] = []
    for clamping in plan.clampings:
        if step_of(clamping) in steps:
            found.append(f"setup sheet and loading card of {step_of(clamping)}")
            found += [f"program {one.file}" for one in plan.programs if one.clamping_id == clamping.id]
        if clamping.id in cut:
            found.append(f"soft jaws of {step_of(clamping)}, with their drawing")
    if revision.sizes or revision.gauges:
        found.append("inspection sheet")
    if any(touched & set(one.face_ids) for one in plan.bench.edges):
        found.append("edge map")
    if touched & set(plan.finishing.coated_faces):
        found += [f"order to {one.finisher_id}" for one in plan.finish_orders if one.thickness_mm is not None]
    return tuple(dict.fromkeys(found))


def _ways(step: StepCount, behind: tuple[str, ...], cut: tuple[str, ...], beside: Beside) -> tuple[Way, ...]:
    stay = f"They are finished as revision {beside.ending.ends}: whoever uses them says whether they may be."
    if not behind:
        nothing = "Nothing of them is made: say at the saw that it is done, and the bars stay where they are. Or: "
        return (Way(fate=KEPT, verdict=None, why=nothing + stay),)
    ways = [_go_on(step, behind, cut, beside), Way(fate=KEPT, verdict=None, why=stay)]
    if step.waiting_count:
        aside = "No plan is proved on what they are by now: what is to be cut on them is planned on its own."
        ways.append(Way(fate="set aside", verdict="not shown", why=aside))
        ways.append(Way(fate="scrap", verdict=None, why="All that is in them is lost."))
    return tuple(ways)


def _go_on(step: StepCount, behind: tuple[str, ...], cut: tuple[str, ...], beside: Beside) -> Way:
    """Whether they can go on by the plan of the new revision.

    The solids alone show nothing: metal that the new one has and the old one lacks may be cut away by any pass, also by
    one that makes no face that changed.
    """
    begins, by_solid = beside.ending.begins, solid_words(beside.place.plan, cut, beside.revision)
    if beside.new is None:
        said = f"Revision {begins} is not planned yet; its plan tells. {by_solid}"
        return Way(fate=GO_ON, verdict="not shown", why=said)
    differs = differing(beside.place, beside.new, behind)
    if differs:
        more = len(differs) - DIFFERENCES_TOLD
        told = "; ".join(differs[:DIFFERENCES_TOLD]) + (f"; and {more} more" if more > 0 else "")
        said = f"The plan of revision {begins} does otherwise up to here: {told}. {by_solid}"
        return Way(fate=GO_ON, verdict="not shown", why=said)
    same = "The plan of revision {} has the same up to here: blank, moves, cutters, limits. They go on with {}."
    back = "" if step.waiting_count else " They are away: first they are counted in."
    return Way(fate=GO_ON, verdict="holds", why=same.format(begins, step.id) + back,
               batches=tuple(one.batch for one in beside.into) if step.waiting_count else ())  # fmt: skip


def solid_words(plan: Plan, cut: tuple[str, ...], revision: Revision | None) -> str:
    """What the solids alone say of pieces.   cut: steps behind them that make or grip what changed."""
    if revision is None:
        return "Nobody has held the new solid against this batch's plan."
    solid = revision.solid
    if solid.why_other:
        return f"By the solid it is another part: {solid.why_other}."
    if solid.choices_count > 1:
        return "The solid is alike in several ways: which face is which is a guess."
    if solid.is_same:
        return "By the solid the shape is the same."
    if cut:
        return f"By the solid: {', '.join(cut)} made or gripped what changed."
    touched = touched_steps(plan, revision)
    first = f"first {touched[0]} makes or grips it" if touched else "no clamping makes or grips it"
    return f"By the solid: up to here nothing that changed was made or gripped, {first}."


def settled_of(records: Records, batch: str) -> tuple[Settling, ...]:
    """What was said of the pieces of a batch, as it stands."""
    return tuple(
        Settling(id=event.id, step=of.step, count=of.count, fate=of.fate, why=of.why, to_batch=of.to_batch,
                 person=event.person)
        for event, of in standing_events(records.events(batch=batch)) if isinstance(of, PiecesSettled)
    )  # fmt: skip
