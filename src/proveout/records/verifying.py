"""Whether the records are what was written, and everything that follows from them worked out anew."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

import msgspec
import sqlalchemy as sa

from proveout.books.replay import Replayed, replayed
from proveout.books.rows import TABLES, Row
from proveout.model.events import Event
from proveout.quantities.canonical import canonical_bytes
from proveout.quantities.errors import ProveoutError, Unreadable
from proveout.records.chain import BEGIN, event_of, hash_after
from proveout.records.tables import BOOKS, EVENTS, FOLLOWING, HEAD, SHOWN, STANDING, TOUCHES
from proveout.records.writing import Answer, insert_rows

AT_ONCE = 2000
FAULTS_TOLD = 20


class Verified(msgspec.Struct, frozen=True, kw_only=True):
    """What was found. head: the last event.   faults: sentences, none when everything is right."""

    head: Answer
    faults: tuple[str, ...]


def verify(connection: sa.Connection, *, noted: Answer | None = None) -> Verified:
    """Follow the chain, then work out anew what follows from it and compare. noted: an event somebody wrote down."""
    faults: list[str] = []
    events: list[tuple[int, Event]] = []
    last, last_seq, found = BEGIN, 0, noted is None
    for row in rows_of_events(connection):
        if row.seq != last_seq + 1:
            faults.append(f"event {last_seq + 1} is missing: {row.seq} comes after {last_seq}")
        if row.previous != last:
            faults.append(f"event {row.seq} does not follow the one before it")
        if not _is_as_written(row):
            faults.append(f"event {row.seq} is not what was written")
        try:
            event = event_of(row.body)
            if (event.id, event.kind, event.batch) != (row.id, row.kind, row.batch):
                faults.append(f"event {row.seq} is filed as something else than it says")
            events.append((row.seq, event))
        except ProveoutError as fault:
            faults.append(f"event {row.seq}: {fault.message}")
        if noted is not None and noted.seq == row.seq:
            found = noted.hash == row.hash
        last, last_seq = row.hash, row.seq
    head = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one_or_none()
    if head is None or (head.seq, head.hash) != (last_seq, last):
        told = "nothing" if head is None else f"event {head.seq}"
        faults.append(f"the last event is {last_seq}, and {told} was written down as the last")
    if not found and noted is not None:
        faults.append(f"event {noted.seq} is not the one that was noted")
    if not faults:
        try:
            faults += _differences(connection, replayed(events))
        except Unreadable as fault:
            faults.append(fault.message)
    return Verified(head=Answer(seq=last_seq, hash=last), faults=tuple(faults[:FAULTS_TOLD]))


def _is_as_written(row: Any) -> bool:
    try:
        return hash_after(row.previous, row.body) == row.hash
    except ValueError:  # what stands there for a hash is none
        return False


def rows_of_events(connection: sa.Connection) -> Iterator[Any]:
    """All events in order, some at a time."""
    query = sa.select(EVENTS).order_by(EVENTS.c.seq)
    yield from connection.execute(query, execution_options={"yield_per": AT_ONCE})


def _differences(connection: sa.Connection, anew: Replayed) -> list[str]:
    """What is kept and does not follow from the events."""
    faults = [f"{name} does not follow from the events" for name in _differing(connection, anew)]
    return [*faults, "do: proveout records rebuild"] if faults else []


def _differing(connection: sa.Connection, anew: Replayed) -> Iterator[str]:
    kept = dict(tuple(row) for row in connection.execute(sa.select(BOOKS.c.key, BOOKS.c.content)))
    made = {key: canonical_bytes(book) for key, book in anew.books.items()}
    yield from sorted(f"book {key!r}" for key in kept.keys() | made.keys() if kept.get(key) != made.get(key))
    if {tuple(row) for row in connection.execute(sa.select(TOUCHES))} != anew.touches:
        yield "which event stands in which book"
    standing = {row.seq: (row.by_seq, row.content) for row in connection.execute(sa.select(STANDING))}
    if standing != {seq: (by, None if of is None else canonical_bytes(of)) for seq, (by, of) in anew.standing.items()}:
        yield "what stands in the place of corrected events"
    for table in TABLES:
        if table_rows(connection, table) != sorted_rows(table, (row for name, row in anew.rows if name == table)):
            yield f"table {table}"


def table_rows(connection: sa.Connection, table: str) -> list[Row]:
    """All rows of a table in order of their key, whatever order the database has for words."""
    return sorted_rows(table, (tuple(row) for row in connection.execute(sa.select(SHOWN[table]))))


def sorted_rows(table: str, rows: Iterable[Row]) -> list[Row]:
    """Rows in order of their key."""
    keys = TABLES[table][0]
    return sorted(rows, key=lambda row: row[:keys])


def rebuild(connection: sa.Connection) -> int:
    """Throw away everything that follows from the events and work it out anew; the number of events.

    Raises:   Unreadable when the events could not have happened so.
    """
    events = [(row.seq, event_of(row.body)) for row in rows_of_events(connection)]
    write_following(connection, replayed(events))
    return len(events)


def write_following(connection: sa.Connection, anew: Replayed) -> None:
    """Write what was worked out anew in the place of what there was."""
    for table in FOLLOWING:
        connection.execute(sa.delete(table))
    many(connection, TOUCHES, ({"key": key, "seq": seq} for key, seq in sorted(anew.touches)))
    many(connection, BOOKS, ({"key": key, "content": canonical_bytes(anew.books[key])} for key in sorted(anew.books)))
    many(
        connection, STANDING,
        ({"seq": seq, "by_seq": by, "content": None if of is None else canonical_bytes(of)}
         for seq, (by, of) in sorted(anew.standing.items())),
    )  # fmt: skip
    rows = iter(anew.rows)
    while some := list(islice(rows, AT_ONCE)):
        insert_rows(connection, some)


def many(connection: sa.Connection, table: sa.Table, rows: Iterable[dict[str, Any]]) -> None:
    """Write many rows, some at a time."""
    left = iter(rows)
    while some := list(islice(left, AT_ONCE)):
        connection.execute(sa.insert(table), some)


def unlike(fault: str) -> Unreadable:
    """The error for a file that is not what was written."""
    return Unreadable("This is no whole backup of records", value=fault, do="take another copy of it")
