"""Writing one event and everything that follows from it, inside a transaction that is the only one to write."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec
import sqlalchemy as sa

from proveout.books.corrections import corrigible, refolded
from proveout.books.folding import AnyBook, Key, batch_key, book_after, keys_of, stated
from proveout.books.rows import LOGS, TABLES, Placed, Row, log_rows, rows_of
from proveout.model.batch import Batch
from proveout.model.events import Corrected, Event, Stating
from proveout.quantities.canonical import canonical_bytes
from proveout.quantities.errors import Refused
from proveout.records.chain import body_of, event_of, hash_after, stating_of
from proveout.records.tables import BOOKS, EVENTS, HEAD, SHOWN, STANDING, TOUCHES

_BOOKS = msgspec.json.Decoder(AnyBook)
Changes = dict[Key, tuple[AnyBook | None, AnyBook | None]]


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What whoever posts an event is told: its number and hash. The same event posted again gets the same."""

    seq: int
    hash: str


def keep(connection: sa.Connection, event: Event) -> Answer:
    """Write an event once, with what follows from it; nothing is written before everything is known to be right.

    Raises:   Refused when it cannot follow, or another event has its id.
    """
    event = event_of(body_of(event))  # a whole number given for a length is a length from here on
    earlier = connection.execute(sa.select(EVENTS).where(EVENTS.c.id == event.id)).one_or_none()
    if earlier is not None:
        if event_of(earlier.body) != event:
            raise Refused("Another event was written under this id", where=event.id, do="give each event its own id")
        return Answer(seq=earlier.seq, hash=earlier.hash)
    last = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
    seq, body = last.seq + 1, body_of(event)
    if isinstance(event.of, Corrected):
        return _correct(connection, event, event.of, seq, body, last.hash)
    of = stated(event)
    keys = keys_of(event.batch, of)
    before = books(connection, keys)
    after = {key: book_after(key, before.get(key), event, of) for key in keys}
    answer = _append(connection, event, seq, body, last.hash)
    _touch(connection, keys, seq)
    put_books(connection, {key: (before.get(key), after[key]) for key in keys})
    batch = after.get(batch_key(event.batch))
    insert_rows(connection, log_rows(seq, event, of, batch if isinstance(batch, Batch) else None))
    return answer


def books(connection: sa.Connection, keys: Iterable[Key]) -> dict[Key, AnyBook]:
    """The books that there are of these keys."""
    wanted = tuple(keys)
    if not wanted:
        return {}
    found = connection.execute(sa.select(BOOKS.c.key, BOOKS.c.content).where(BOOKS.c.key.in_(wanted)))
    return {key: book_from(content) for key, content in found}


def book_from(content: bytes) -> AnyBook:
    """A book from its kept bytes."""
    return _BOOKS.decode(content)


def _append(connection: sa.Connection, event: Event, seq: int, body: bytes, previous: str) -> Answer:
    digest = hash_after(previous, body)
    connection.execute(
        sa.insert(EVENTS),
        {"seq": seq, "id": event.id, "kind": event.kind, "batch": event.batch, "body": body, "previous": previous,
         "hash": digest},
    )  # fmt: skip
    connection.execute(sa.update(HEAD), {"seq": seq, "hash": digest})
    return Answer(seq=seq, hash=digest)


def _touch(connection: sa.Connection, keys: Iterable[Key], seq: int) -> None:
    rows = [{"key": key, "seq": seq} for key in keys]
    if rows:
        connection.execute(sa.insert(TOUCHES), rows)


def _correct(
    connection: sa.Connection, event: Event, of: Corrected, seq: int, body: bytes, previous: str
) -> Answer:  # fmt: skip
    """Write a correction: every book that the wrong event stood in, or now stands in, is worked out anew."""
    found = connection.execute(sa.select(EVENTS.c.seq, EVENTS.c.body).where(EVENTS.c.id == of.event_id)).one_or_none()
    if found is None:
        raise Refused("There is no event of this id to correct", where=of.event_id)
    wrong = event_of(found.body)
    corrigible(event, wrong)
    earlier = connection.execute(sa.select(STANDING).where(STANDING.c.seq == found.seq)).one_or_none()
    stood = stated(wrong) if earlier is None else stating_of(earlier.content)
    gone = set(keys_of(wrong.batch, stood)) if stood is not None else set()
    come = set(keys_of(wrong.batch, of.instead)) if of.instead is not None else set()
    changes: Changes = {}
    before = books(connection, gone | come)
    for key in sorted(gone | come):
        history = _history(connection, key)
        history[found.seq] = (wrong, of.instead)
        changes[key] = (before.get(key), refolded(key, (history[number] for number in sorted(history))))
    answer = _append(connection, event, seq, body, previous)
    for key in sorted(gone - come):
        connection.execute(sa.delete(TOUCHES).where(TOUCHES.c.key == key, TOUCHES.c.seq == found.seq))
    _touch(connection, sorted(come - gone), found.seq)
    connection.execute(sa.delete(STANDING).where(STANDING.c.seq == found.seq))
    content = None if of.instead is None else canonical_bytes(of.instead)
    connection.execute(sa.insert(STANDING), {"seq": found.seq, "by_seq": seq, "content": content})
    put_books(connection, changes)
    for name in LOGS:
        connection.execute(sa.delete(SHOWN[name]).where(SHOWN[name].c.seq == found.seq))
    batch = changes.get(batch_key(wrong.batch), (None, None))[1]
    insert_rows(connection, log_rows(found.seq, wrong, of.instead, batch if isinstance(batch, Batch) else None))
    return answer


def _history(connection: sa.Connection, key: Key) -> dict[int, tuple[Event, Stating | None]]:
    """The events that stand in a book, by number, each with what it says as corrected."""
    rows = connection.execute(
        sa.select(EVENTS.c.seq, EVENTS.c.body, STANDING.c.by_seq, STANDING.c.content)
        .join(TOUCHES, TOUCHES.c.seq == EVENTS.c.seq)
        .outerjoin(STANDING, STANDING.c.seq == EVENTS.c.seq)
        .where(TOUCHES.c.key == key)
    )
    made: dict[int, tuple[Event, Stating | None]] = {}
    for row in rows:
        event = event_of(row.body)
        made[row.seq] = (event, stated(event) if row.by_seq is None else stating_of(row.content))
    return made


def put_books(connection: sa.Connection, changes: Changes) -> None:
    """Write books and the rows of theirs that changed."""
    for key, (before, after) in changes.items():
        if before == after:
            continue
        if after is None:
            connection.execute(sa.delete(BOOKS).where(BOOKS.c.key == key))
        elif before is None:
            connection.execute(sa.insert(BOOKS), {"key": key, "content": canonical_bytes(after)})
        else:
            connection.execute(sa.update(BOOKS).where(BOOKS.c.key == key).values(content=canonical_bytes(after)))
        _put_rows(connection, rows_of(before), rows_of(after))


def _put_rows(connection: sa.Connection, before: list[Placed], after: list[Placed]) -> None:
    old, new = ({(table, row[: TABLES[table][0]]): row for table, row in rows} for rows in (before, after))
    for place in old.keys() - new.keys():
        connection.execute(_delete(place[0]), _keyed(*place))
    for place in sorted(new.keys() & old.keys(), key=str):
        if old[place] != new[place]:
            connection.execute(_update(place[0]), _keyed(*place) | _valued(place[0], new[place]))
    insert_rows(connection, [(table, new[table, key]) for table, key in new if (table, key) not in old])


def insert_rows(connection: sa.Connection, rows: Iterable[Placed]) -> None:
    """Write rows that are new."""
    together: dict[str, list[dict[str, Any]]] = {}
    for table, row in rows:
        together.setdefault(table, []).append(dict(zip(TABLES[table][1], row, strict=True)))
    for table, values in together.items():
        connection.execute(sa.insert(SHOWN[table]), values)


def _delete(table: str) -> sa.Delete:
    return sa.delete(SHOWN[table]).where(*_same_key(table))


def _update(table: str) -> sa.Update:
    keys, columns = TABLES[table]
    return sa.update(SHOWN[table]).where(*_same_key(table)).values(
        {name: sa.bindparam(f"v_{name}") for name in list(columns)[keys:]}
    )  # fmt: skip


def _same_key(table: str) -> list[Any]:
    keys, columns = TABLES[table]
    return [SHOWN[table].c[name] == sa.bindparam(f"k_{name}") for name in list(columns)[:keys]]


def _keyed(table: str, key: Row) -> dict[str, Any]:
    return {f"k_{name}": value for name, value in zip(TABLES[table][1], key, strict=False)}


def _valued(table: str, row: Row) -> dict[str, Any]:
    keys, columns = TABLES[table]
    return {f"v_{name}": value for name, value in list(zip(columns, row, strict=True))[keys:]}
