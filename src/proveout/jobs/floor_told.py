"""What is known of a batch at its machines: its own events, edges changed there, and what else was started there."""

from __future__ import annotations

from proveout.books.stretches import Told, standing_events
from proveout.model.batch import Batch
from proveout.model.batch_events import Released, Started
from proveout.model.stock_events import EdgeChanged
from proveout.records.records import Records

BESIDE = tuple(str(kind.__struct_config__.tag) for kind in (EdgeChanged, Started))


def standing(records: Records, batch: str) -> Told:
    """What happened to a batch, in order, corrected as it stands."""
    return standing_events(records.events(batch=batch))


def told_at_machines(records: Records, batch: Batch) -> Told:
    """The same with what happened beside it at the machines of its clampings since it was released, in one order."""
    events = records.events(batch=batch.batch)
    numbers = {event.id: seq for seq, event in events}
    mills = {step.station for step in batch.steps if step.kind == "mill"}
    since = next((seq for seq, event in events if isinstance(event.of, Released)), 0)
    beside = [
        (seq, event, of)
        for seq, event, of in records.standing_after(since, BESIDE)
        if event.id not in numbers
        and ((isinstance(of, EdgeChanged) and of.machine in mills)
             or (isinstance(of, Started) and event.station in mills))
    ]  # fmt: skip
    own = [(numbers[event.id], event, of) for event, of in standing_events(events)]
    return tuple((event, of) for _, event, of in sorted([*own, *beside], key=lambda row: row[0]))
