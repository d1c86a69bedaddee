"""What is known of a batch at its machines: its own events, edges changed there, and what else was started there."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.books.folding import edge_key
from proveout.books.stretches import Told, standing_events
from proveout.model.batch import Batch
from proveout.model.batch_events import Released, Started
from proveout.model.events import Event, Stating
from proveout.model.floor_events import SetUpMeasured
from proveout.model.stock_events import EdgeChanged
from proveout.records.records import Records

EDGES, STARTS = ((str(kind.__struct_config__.tag),) for kind in (EdgeChanged, Started))
Row = tuple[int, Event, Stating]


def standing(records: Records, batch: str) -> Told:
    """What happened to a batch, in order, corrected as it stands."""
    return standing_events(records.events(batch=batch))


def told_at_machines(records: Records, batch: Batch, *, starting: str = "") -> Told:
    """The same with every edge that was changed at the machines of its clampings since it was released, in one order.

    starting: a step; then also with what was started on those machines since its set-up was measured, or since it was
    started where that was before.
    """
    events = records.events(batch=batch.batch)
    numbers = {event.id: seq for seq, event in events}
    own = [(numbers[event.id], event, of) for event, of in standing_events(events)]
    mills = {step.station for step in batch.steps if step.kind == "mill"}
    released = next((seq for seq, _, of in own if isinstance(of, Released)), 0)
    rows = [*own, *_edges(records, mills, released)]
    last = [max((seq for seq, _, of in own if isinstance(of, kind) and of.step == starting), default=0)
            for kind in (SetUpMeasured, Started)]  # fmt: skip
    if any(last):
        found = records.standing_after(min(seq for seq in last if seq), STARTS)
        rows += [row for row in found if isinstance(row[2], Started) and row[1].station in mills]
    once = {seq: (event, of) for seq, event, of in rows}
    return tuple(once[seq] for seq in sorted(once))


def _edges(records: Records, mills: set[str], since: int) -> Iterator[Row]:
    """Edges changed at these machines after a number; only of cutters whose edge was ever changed."""
    keys = [edge_key(row["machine"], row["cutter"]) for machine in sorted(mills)
            for row in records.rows("cutters", machine=machine) if row["changes_count"]]  # fmt: skip
    if keys:
        yield from records.standing_after(since, EDGES, books=keys)
