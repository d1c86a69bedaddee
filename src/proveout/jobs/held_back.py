"""What the floor holds back: the second piece before the first is through, work that moved, a first piece again.

Each answer is in words of whoever stands at the machine, with the way on; empty where nothing is in the way. All of it
follows from what was written down, so that it is the same after a restart, on another tablet and on the next day.
"""

from __future__ import annotations

from proveout.books.first_piece import (
    is_first_piece_due,
    is_first_piece_freed,
    is_first_piece_step,
    pieces_ahead,
)
from proveout.books.renewed import must_be_measured
from proveout.books.stretches import Told
from proveout.jobs.first_off import was_right_once
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Resumed, Started, Stopped
from proveout.model.floor_events import SetUpMeasured
from proveout.quantities.errors import Refused

NEXT_HELD = "The next piece waits for the first one"
FIRST_THROUGH = "The first piece is through: the next ones need a start of their own"


def is_held(batch: Batch, step: StepCount) -> bool:
    """Whether the first piece left this clamping and the next ones need a start of their own."""
    return step.is_first_out and not is_first_piece_freed(batch)


def first_piece_way(batch: Batch, step: str, told: Told) -> str:
    """What is in the way of cutting the next piece of a clamping while the first one is on its way; empty for nothing.

    A piece that is counted bad on its way leaves it free for another first one.
    """
    if step not in batch.first_through or is_first_piece_freed(batch):
        return ""
    if is_first_piece_due(batch):
        ahead = pieces_ahead(batch, step)
        if not ahead:
            return ""
        stations = {one.id: one.station for one in batch.steps}
        many = sum(count for _, count in ahead) > 1
        where = " and ".join(f"{f'{count} ' if many else ''}at {id} ({stations[id]})" for id, count in ahead)
        return (
            f"The first piece goes through all clampings before the next one is cut: it waits {where}. "
            "Make it there, read it and count it"
        )
    wrong = [one for one in batch.first_through if not was_right_once(batch, one, told)]
    if wrong and is_first_piece_step(batch, step):
        return f"No piece was ever found right at {' and '.join(wrong)}. Read the first one there"
    return ""


def is_one_only(batch: Batch, step: StepCount) -> bool:
    """Whether one piece and no more is made at a step now: the first one, that is not through yet."""
    return step.id in batch.first_through and is_first_piece_due(batch)


def refuse_next_piece(batch: Batch, step: StepCount, told: Told, *, good_count: int) -> None:
    """Refuse to count good pieces that were not to be cut yet.   good_count: 0 for a start.

    Raises:   Refused, with the way on.
    """
    where = f"{batch.batch}, step {step.id}"
    way_on = "count a piece that is no good as bad; else the owner answers for it on the page of the batch"
    if words := first_piece_way(batch, step.id, told):
        raise Refused(NEXT_HELD, where=where, value=words, do=way_on)
    if not good_count:
        return
    if is_held(batch, step):
        raise Refused(FIRST_THROUGH, where=where, do="start this step")
    if good_count > 1 and is_one_only(batch, step):
        raise Refused("Only the first piece is made before it went through all clampings", where=where,
                      value=f"{good_count} good", limit="1", do=way_on)  # fmt: skip


def moved_words(batch: Batch, step: StepCount, told: Told) -> str:
    """Why zero and set-up are measured anew before work goes on; empty where nothing asks for it."""
    stop = must_be_measured(batch, step.id, told)
    if step.kind != "mill" or stop is None:
        return ""
    return f"Something may stand elsewhere since the stop ({stop.why}): measure zero and the whole set-up anew"


def is_measured_since_stop(batch: Batch, step: StepCount, told: Told) -> bool:
    """Whether somebody measured the set-up of a step while it stands still."""
    found = False
    for event, of in told:
        if event.batch == batch.batch and getattr(of, "step", "") == step.id:
            found = isinstance(of, SetUpMeasured) or (found and not isinstance(of, Stopped))
    return found


def other_work_since(
    batch: Batch, step: StepCount, told: Told, *, together: frozenset[str],
    since: tuple[type[SetUpMeasured | Started | Resumed], ...] = (SetUpMeasured,),
) -> str:  # fmt: skip
    """What was started on the machine since the set-up of a step was measured there; empty for nothing.

    together: steps of this batch that lie on the table in one cycle, which are set up together.   since: what of the
    step itself ends that.
    """
    found = ""
    for event, of in told:
        is_own = event.batch == batch.batch
        if isinstance(of, since) and is_own and of.step == step.id:
            found = ""
        elif isinstance(of, Started) and event.station == step.station and not (is_own and of.step in together):
            found = f"batch {event.batch}, {of.step}"
    return found
