"""From a wish to a released batch: what may stand open, and who may answer for it."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.books.first_piece import FIRST_PIECE, is_first_piece_due, is_first_piece_freed
from proveout.books.never_waived import NEVER_STAGES, NEVER_WORDS, may_waive_by_name
from proveout.model.batch import Batch, StepCount, Waiver
from proveout.model.batch_events import Asked, OpenProof, Planned, Released, Waived, waiver_words
from proveout.model.proof import Proof, open_proofs
from proveout.quantities.errors import Refused


def may_waive(proof: Proof) -> bool:
    """Whether a named person may answer for a proof that does not hold: not where somebody can get hurt."""
    return proof.stage not in NEVER_STAGES and may_waive_by_name(proof.id)


def opens_of(proofs: tuple[Proof, ...]) -> tuple[OpenProof, ...]:
    """What stands between a plan and its release."""
    return tuple(
        OpenProof(id=one.id, claim=one.claim, verdict=one.verdict, may_waive=may_waive(one))
        for one in open_proofs(proofs)
    )


def asked(batch: Batch | None, name: str, of: Asked) -> Batch:
    """A batch that somebody wants.

    Raises:   Refused when there is one of that name.
    """
    if batch is not None:
        raise Refused("There is a batch of this name already", where=name, do="give this one another name")
    return Batch(batch=name, part=of.part, revision=of.revision, wanted_count=of.wanted_count, due=of.due)


def planned(batch: Batch, of: Planned) -> Batch:
    """The batch with a plan, or another one; waivers of an earlier plan fall.

    Raises:   Refused when it is released.
    """
    _not_released(batch, "A released batch keeps its plan")
    return replace(batch, plan=of.plan, opens=of.opens, waivers=())


def waived(batch: Batch, person: str, of: Waived) -> Batch:
    """The batch with one open proof answered for, or with the first piece's way through all clampings.

    Raises:   Refused when nobody may answer for it, somebody does already, or it is not open.
    """
    if of.proof_id == FIRST_PIECE:
        return _first_piece_waived(batch, person, of)
    _not_released(batch, "What blocks release is waived before it")
    proof = next((one for one in batch.opens if one.id == of.proof_id), None)
    if proof is None:
        raise Refused("This proof is not among those that block release", where=batch.batch, value=of.proof_id)
    if not (proof.may_waive and may_waive_by_name(proof.id)):
        raise Refused(f"Nobody can waive {NEVER_WORDS}", where=batch.batch, value=proof.id,
                      do="measure what it lacks, or plan it otherwise")  # fmt: skip
    if any(one.proof_id == proof.id for one in batch.waivers):
        raise Refused("Somebody answers for this proof already", where=batch.batch, value=proof.id)
    return _with_waiver(batch, person, of, waiver_words(person=person, waived=of, claim=proof.claim))


def _first_piece_waived(batch: Batch, person: str, of: Waived) -> Batch:
    """The batch of which pieces are cut before the first one went through all clampings; also once it is released.

    Raises:   Refused without a plan, when somebody answers for it, or when it is asked of this batch no more.
    """
    if is_first_piece_freed(batch):
        raise Refused("Somebody answers for this already", where=batch.batch, value=of.proof_id)
    if not batch.plan or (batch.is_released and not is_first_piece_due(batch)):
        raise Refused("Nobody waits here for a first piece to go through all clampings", where=batch.batch,
                      value=batch.state)  # fmt: skip
    words = f"Pieces may be cut before the first one went through all clampings. {person}: {of.reason.strip()}"
    return _with_waiver(batch, person, of, words)


def _with_waiver(batch: Batch, person: str, of: Waived, words: str) -> Batch:
    waiver = Waiver(proof_id=of.proof_id, person=person, reason=of.reason.strip(), words=words)
    return replace(batch, waivers=(*batch.waivers, waiver))


def released(batch: Batch, of: Released) -> Batch:
    """The batch frozen, all blanks waiting at its first step.

    Raises:   Refused when it is not ready, or the plan or revision is another one.
    """
    _not_released(batch, "This batch is released already")
    if batch.state != "ready":
        open_words = ", ".join(one.id for one in batch.unwaived) or "it has no plan"
        raise Refused("Only a ready batch is released", where=batch.batch, value=f"open: {open_words}")
    if of.plan != batch.plan:
        raise Refused("This is not the plan that the batch was found ready with", where=batch.batch, value=of.plan,
                      limit=batch.plan)  # fmt: skip
    if of.revision != batch.revision:
        raise Refused("The batch was asked for at another revision", where=batch.batch, value=of.revision,
                      limit=batch.revision)  # fmt: skip
    if of.blanks_count < batch.wanted_count:
        raise Refused("There are fewer blanks than pieces wanted", where=batch.batch, value=str(of.blanks_count),
                      limit=f"at least {batch.wanted_count}")  # fmt: skip
    first, *rest = (StepCount(id=step.id, station=step.station, kind=step.kind) for step in of.route)
    return replace(
        batch, blanks_count=of.blanks_count, steps=(replace(first, in_count=of.blanks_count), *rest),
        checks=of.checks, papers=dict(sorted(of.papers.items())), alloy=of.alloy, sections=of.sections,
        is_one_heat=of.is_one_heat, first_through=of.first_through, is_measured_daily=of.is_measured_daily,
    )  # fmt: skip


def _not_released(batch: Batch, words: str) -> None:
    if batch.is_released:
        raise Refused(words, where=batch.batch, value=batch.state, do="ask for another batch")
