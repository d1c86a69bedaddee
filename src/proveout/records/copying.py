"""Records as plain text: a backup that any database can be restored from, and lines for anyone to read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator

import msgspec
import sqlalchemy as sa

from proveout.books.replay import replayed
from proveout.model.events import Event
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.records.chain import BEGIN, event_of, hash_after
from proveout.records.tables import EVENTS, HEAD
from proveout.records.verifying import many, rows_of_events, unlike, write_following
from proveout.records.writing import Answer

FORM = 1


class _First(msgspec.Struct, forbid_unknown_fields=True):
    proveout_records: int
    events_count: int
    head: str


class _Last(msgspec.Struct, forbid_unknown_fields=True):
    sha256: str


def backup_lines(connection: sa.Connection) -> Iterator[bytes]:
    """A backup, line by line: a heading, each event's own bytes, and the sha256 of all lines before."""
    head = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
    whole = hashlib.sha256()

    def line(content: bytes) -> bytes:
        made = content + b"\n"
        whole.update(made)
        return made

    yield line(msgspec.json.encode(_First(proveout_records=FORM, events_count=head.seq, head=head.hash)))
    for row in rows_of_events(connection):
        yield line(row.body)
    yield msgspec.json.encode(_Last(sha256=whole.hexdigest())) + b"\n"


def restore_lines(connection: sa.Connection, lines: Iterable[bytes]) -> Answer:
    """Write a backup into records that hold no event yet, and work out what follows; the last event.

    Raises:   BadInput when there are events already; Unreadable when the backup is not whole.
    """
    if connection.execute(sa.select(HEAD.c.seq)).scalar():
        raise BadInput("There are events already", where="records", do="restore into a new file or an empty database")
    first, events = _read(lines)
    last = BEGIN
    rows = []
    for seq, (body, event) in enumerate(events, start=1):
        digest = hash_after(last, body)
        rows.append({"seq": seq, "id": event.id, "kind": event.kind, "batch": event.batch, "body": body,
                     "previous": last, "hash": digest})  # fmt: skip
        last = digest
    if (len(rows), last) != (first.events_count, first.head):
        raise unlike("its events do not lead to the last one that it names")
    many(connection, EVENTS, rows)
    connection.execute(sa.update(HEAD), {"seq": len(rows), "hash": last})
    write_following(connection, replayed([(seq, event) for seq, (_, event) in enumerate(events, start=1)]))
    return Answer(seq=len(rows), hash=last)


def _read(lines: Iterable[bytes]) -> tuple[_First, list[tuple[bytes, Event]]]:
    whole = hashlib.sha256()
    bodies: list[bytes] = []
    held: bytes | None = None
    for line in lines:
        if held is not None:
            whole.update(held)
            bodies.append(held.removesuffix(b"\n"))
        held = line
    try:
        first = msgspec.json.decode(bodies[0] if bodies else b"", type=_First)
        last = msgspec.json.decode(held or b"", type=_Last)
    except msgspec.MsgspecError as fault:
        raise unlike("its first or last line is missing") from fault
    if first.proveout_records != FORM:
        raise unlike(f"it is of form {first.proveout_records}, and this version reads form {FORM}")
    if last.sha256 != whole.hexdigest():
        raise unlike("its sha256 is another one")
    try:
        return first, [(body, event_of(body)) for body in bodies[1:]]
    except ProveoutError as fault:
        raise unlike(fault.message) from fault


def event_lines(connection: sa.Connection) -> Iterator[bytes]:
    """Every event on a line of its own, with its number and both hashes, for anyone to read."""
    for row in rows_of_events(connection):
        head = msgspec.json.encode({"seq": row.seq, "previous": row.previous, "hash": row.hash})
        yield head.removesuffix(b"}") + b',"event":' + row.body + b"}\n"
