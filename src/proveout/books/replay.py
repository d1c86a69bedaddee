"""Everything that is kept up to date, worked out anew from the events alone."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

from proveout.books.folding import AnyBook, Key, batch_key, book_after, keys_of, stated
from proveout.books.rows import Placed, log_rows, rows_of
from proveout.model.batch import Batch
from proveout.model.events import Corrected, Event, Stating
from proveout.quantities.errors import Refused, Unreadable

Standing = dict[int, tuple[int, Stating | None]]
"""By number of a corrected event: the number of the last correction, and what stands in its place."""


class Replayed(msgspec.Struct, frozen=True, kw_only=True):
    """books: by key.   touches: key and number of every event written there.   standing: what corrections left."""

    books: dict[Key, AnyBook]
    touches: set[tuple[Key, int]]
    standing: Standing
    rows: list[Placed]


def standing_after(events: Iterable[tuple[int, Event]]) -> Standing:
    """What stands in the place of each event that was corrected, the last correction before earlier ones.

    Raises:   Unreadable when one corrects an event that is not before it.
    """
    numbers: dict[str, int] = {}
    standing: Standing = {}
    for seq, event in events:
        numbers[event.id] = seq
        if isinstance(event.of, Corrected):
            if event.of.event_id not in numbers:
                raise Unreadable("An event corrects one that is not there", where=f"event {seq}",
                                 value=event.of.event_id, do="restore the last backup")  # fmt: skip
            standing[numbers[event.of.event_id]] = (seq, event.of.instead)
    return standing


def replayed(events: list[tuple[int, Event]]) -> Replayed:
    """All books and rows from the events in their order, corrected ones as they stand.

    Raises:   Unreadable when they could not have happened so.
    """
    standing = standing_after(events)
    books: dict[Key, AnyBook] = {}
    touches: set[tuple[Key, int]] = set()
    rows: list[Placed] = []
    for seq, event in events:
        if isinstance(event.of, Corrected):
            continue
        of = standing[seq][1] if seq in standing else stated(event)
        if of is None:
            continue
        try:
            for key in keys_of(event.batch, of):
                books[key] = book_after(key, books.get(key), event, of)
                touches.add((key, seq))
        except Refused as fault:
            raise Unreadable(
                "The events could not have happened in this order", where=f"event {seq}", value=fault.message,
                do="restore the last backup",
            ) from fault  # fmt: skip
        batch = books.get(batch_key(event.batch))
        rows += log_rows(seq, event, of, batch if isinstance(batch, Batch) else None)
    for key in sorted(books):
        rows += rows_of(books[key])
    return Replayed(books=books, touches=touches, standing=standing, rows=rows)
