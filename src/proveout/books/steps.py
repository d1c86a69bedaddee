"""Pieces on their way through the steps of a route.

At every step: in = good + bad + sent back + taken out + waiting + away, and what one step calls good has come in at the
next, beside what was sent back to it and brought from another batch.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from proveout.books.first_piece import is_first_piece_due, is_first_piece_step
from proveout.model.batch import BadCount, Batch, StepCount
from proveout.model.batch_events import Bad, Done, Resumed, Rework, Started, Stopped
from proveout.quantities.errors import Refused


def index_of(batch: Batch, step: str) -> int:
    """Which step of the route it is.

    Raises:   Refused when the route has none of that name.
    """
    for number, one in enumerate(batch.steps):
        if one.id == step:
            return number
    raise Refused("The route has no such step", where=batch.batch, value=step,
                  limit=", ".join(one.id for one in batch.steps))  # fmt: skip


def at_its_station(batch: Batch, number: int, station: str) -> None:
    """Refuse another station than the one that a step is planned for."""
    step = batch.steps[number]
    if step.station != station:
        raise Refused("This step is planned for another station", where=f"{batch.batch}, step {step.id}",
                      value=station, limit=step.station,
                      do="write it at that station, or plan the batch anew")  # fmt: skip


def begun(batch: Batch, number: int) -> None:
    """Refuse a step that nobody started."""
    step = batch.steps[number]
    if not step.is_started:
        raise Refused("This step is not started", where=f"{batch.batch}, step {step.id}", do="start it")


def at_work(batch: Batch, step: str, *, station: str) -> int:
    """Which step it is, when work on it may go on.

    Raises:   Refused when it belongs to another station, is not started, stands still or is done.
    """
    number = index_of(batch, step)
    found = batch.steps[number]
    where = f"{batch.batch}, step {step}"
    at_its_station(batch, number, station)
    if found.stopped:
        raise Refused("Work at this step stands still", where=where, value=found.stopped, do="say what was done first")
    if found.is_done:
        raise Refused("This step is done", where=where, do="correct what was written before")
    begun(batch, number)
    return number


def with_step(batch: Batch, number: int, step: StepCount) -> Batch:
    """The batch with one step replaced; no more of its pieces are used as they are than are there."""
    step = replace(step, kept_count=min(step.kept_count, step.waiting_count + step.away_count))
    return replace(batch, steps=(*batch.steps[:number], step, *batch.steps[number + 1 :]))


def started(batch: Batch, of: Started, *, station: str) -> Batch:
    """Work begins at a step; some piece must be there for it. A clamping may be started again.

    Raises:   Refused when it is started and no clamping, belongs to another station or has nothing to work on.
    """
    number = index_of(batch, of.step)
    found = batch.steps[number]
    where = f"{batch.batch}, step {of.step}"
    at_its_station(batch, number, station)
    if found.is_started and found.kind != "mill":
        raise Refused("This step is started already", where=where)
    if found.waiting_count == 0:
        raise Refused("No piece waits at this step", where=where, do="count what the step before it made")
    return with_step(batch, number, replace(found, is_started=True, is_first_out=False))


def passed_on(
    batch: Batch, number: int, *, good_count: int, bad: Sequence[Bad] = (), rework: Sequence[Rework] = ()
) -> Batch:  # fmt: skip
    """Pieces that wait at a step counted on: good ones to the next, bad ones for ever, others back for rework.

    Raises:   Refused when more are counted than wait, or rework goes to a later step or to the first.
    """
    step = batch.steps[number]
    where = f"{batch.batch}, step {step.id}"
    total = good_count + sum(one.count for one in bad) + sum(one.count for one in rework)
    if total > step.waiting_count:
        raise Refused("More pieces are counted than wait at this step", where=where, value=str(total),
                      limit=f"at most {step.waiting_count}", do="count again, or correct an earlier count")  # fmt: skip
    back = [(index_of(batch, one.to_step), one.count) for one in rework]
    if any(not 0 < to <= number for to, _ in back):
        raise Refused("Rework goes to this step or an earlier one, never to the first, where blanks are made",
                      where=where, value=", ".join(one.to_step for one in rework), do="count it bad")  # fmt: skip
    lost = sum(one.count for one in bad)
    kept = min(step.kept_count, good_count)
    is_out = step.is_first_out or (
        good_count > 0 and is_first_piece_due(batch) and is_first_piece_step(batch, step.id)
    )  # fmt: skip
    batch = with_step(
        batch, number,
        replace(step, good_count=step.good_count + good_count, bad_count=step.bad_count + lost,
                kept_count=step.kept_count - kept, is_first_out=is_out,
                rework_count=step.rework_count + sum(count for _, count in back)),
    )  # fmt: skip
    if number + 1 < len(batch.steps) and good_count:
        after = batch.steps[number + 1]
        after = replace(after, in_count=after.in_count + good_count, kept_count=after.kept_count + kept)
        batch = with_step(batch, number + 1, after)
        batch = reopened(batch, number + 1)
    for to, count in back:
        earlier = batch.steps[to]
        batch = with_step(
            batch, to,
            replace(earlier, in_count=earlier.in_count + count, returned_count=earlier.returned_count + count),
        )  # fmt: skip
        batch = reopened(batch, to)
    return with_bad(batch, step.id, bad)


def reopened(batch: Batch, number: int) -> Batch:
    """The batch with that step and all later ones not done, as pieces will come to them again."""
    later = (replace(step, is_done=False) for step in batch.steps[number:])
    return replace(batch, steps=(*batch.steps[:number], *later))


def with_bad(batch: Batch, step: str, bad: Sequence[Bad]) -> Batch:
    """The batch with bad pieces added to their reasons."""
    counts = {(one.step, one.reason): one.count for one in batch.bad}
    for one in bad:
        counts[step, one.reason] = counts.get((step, one.reason), 0) + one.count
    kept = [BadCount(step=at, reason=reason, count=count) for (at, reason), count in sorted(counts.items())]
    return replace(batch, bad=tuple(kept))


def stopped(batch: Batch, of: Stopped, *, station: str) -> Batch:
    """Work at a step stands still.

    Raises:   Refused when it does not go on there.
    """
    number = at_work(batch, of.step, station=station)
    return with_step(batch, number, replace(batch.steps[number], stopped=of.why))


def resumed(batch: Batch, of: Resumed) -> Batch:
    """Work at a step goes on again; whoever was told may write that anywhere.

    Raises:   Refused when it does not stand still.
    """
    number = index_of(batch, of.step)
    if not batch.steps[number].stopped:
        raise Refused("Work at this step does not stand still", where=f"{batch.batch}, step {of.step}")
    return with_step(batch, number, replace(batch.steps[number], stopped=""))


def done(batch: Batch, of: Done, *, station: str) -> Batch:
    """Nothing more is done at a step. At the first one blanks that were not made will not be made.

    Raises:   Refused while pieces wait or are away there, or an earlier step is not done.
    """
    number = at_work(batch, of.step, station=station)
    step = batch.steps[number]
    where = f"{batch.batch}, step {of.step}"
    before = next((one.id for one in batch.steps[:number] if not one.is_done), None)
    if before is not None:
        raise Refused("An earlier step is not done", where=where, value=before)
    if step.away_count:
        raise Refused("Pieces of this step are away", where=where, value=str(step.away_count),
                      do="count them in or give them up")  # fmt: skip
    waiting = step.waiting_count
    if number == 0:
        step = replace(step, in_count=step.in_count - waiting, unmade_count=waiting)
        waiting = 0
    if waiting:
        raise Refused("Pieces wait at this step", where=where, value=str(waiting), do="count them first")
    return with_step(batch, number, replace(step, is_done=True))
