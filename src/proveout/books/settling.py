"""Half-made pieces whose revision ends: kept as they are, taken out of their batch, or brought into another."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.books.steps import index_of, reopened, with_step
from proveout.model.batch import Batch
from proveout.model.change_events import KEPT, PiecesSettled
from proveout.quantities.errors import Refused


def settled(batch: Batch, of: PiecesSettled) -> Batch:
    """The batch once somebody said what becomes of pieces at a step.

    Those that are used as they are stay, and work on them goes on; they may also be away. All others leave the batch.
    Raises:   Refused when fewer are there, somebody said so of them already, or nothing was made yet.
    """
    number = index_of(batch, of.step)
    step = batch.steps[number]
    where = f"{batch.batch}, step {of.step}"
    left = step.waiting_count + step.away_count - step.kept_count
    most = left if of.fate == KEPT else min(left, step.waiting_count)
    if of.fate != KEPT and number == 0:
        raise Refused("Blanks that nobody made cannot leave a batch", where=where, do="say that the saw is done")
    if of.count > most:
        raise Refused("More pieces than wait here undecided", where=where, value=str(of.count), limit=f"at most {most}",
                      do="count again, or correct what was said of them")  # fmt: skip
    if of.fate == KEPT:
        return with_step(batch, number, replace(step, kept_count=step.kept_count + of.count))
    return with_step(batch, number, replace(step, taken_count=step.taken_count + of.count))


def brought(batch: Batch | None, of: PiecesSettled) -> Batch:
    """The other batch, into whose step such pieces come.

    Raises:   Refused when it is not released, is closed, its route has no such step after the first, or they are of
              another heat than all others must be of.
    """
    if batch is None:
        raise Refused("There is no such batch to go on in", where=of.to_batch, do="release it first")
    where = f"{batch.batch}, step {of.step}"
    if not batch.is_released or batch.is_closed:
        raise Refused("Pieces go on only in a batch that is released and open", where=where, value=batch.state)
    number = index_of(batch, of.step)
    if number == 0:
        raise Refused("Pieces go on behind the first step", where=where)
    heats = tuple(sorted({*batch.heats, *of.heats}))
    if batch.is_one_heat and len(heats) > 1:
        raise Refused("Pieces of this batch must all be of one heat", where=where, value=", ".join(heats),
                      do="let them go on in a batch of their own heat")  # fmt: skip
    step = batch.steps[number]
    batch = with_step(
        replace(batch, heats=heats), number,
        replace(step, in_count=step.in_count + of.count, brought_count=step.brought_count + of.count),
    )  # fmt: skip
    return reopened(batch, number)
