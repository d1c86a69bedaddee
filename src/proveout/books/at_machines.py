"""What is noted at a machine beside counts: it changes no count, and it must belong to the step."""

from __future__ import annotations

from proveout.books.steps import at_its_station, begun, index_of
from proveout.model.batch import Batch
from proveout.model.events import Event
from proveout.model.floor_events import FloorHappening, OffsetAnswered, PhotoTaken, SetUpAgreed, SpindleMeterRead
from proveout.quantities.errors import Refused


def noted(batch: Batch, event: Event, of: FloorHappening) -> Batch:
    """The same batch.

    Raises:   Refused for a step of another kind or station, one that is done, and a reading of one that never began.
    """
    number = index_of(batch, of.step)
    step = batch.steps[number]
    where = f"{batch.batch}, step {of.step}"
    if isinstance(of, PhotoTaken):
        return batch
    if step.kind != "mill":
        raise Refused("Only a mill has a set-up, offsets and a spindle", where=where, value=step.kind)
    # whoever answers may do so anywhere
    if not isinstance(of, SetUpAgreed | OffsetAnswered):
        at_its_station(batch, number, event.station)
    if isinstance(of, SpindleMeterRead):  # of a cut that was made, written down when there was time
        begun(batch, number)
        return batch
    if step.is_done:
        raise Refused("This step is done", where=where)
    return batch
