"""Writing events and everything that follows from it, inside a transaction that is the only one to write."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

import msgspec
import sqlalchemy as sa
from msgspec.structs import replace

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
    """Write one event, as Writing does.

    Raises:   Refused when it cannot follow, or another event has its id.
    """
    writing = Writing(connection, [event])
    answer = writing.keep(event)
    writing.flush()
    return answer


class Writing:
    """Events of one transaction, each looked at by itself and all written together.

    What was looked at stands in memory until `flush`, so that ten events cost hardly more statements than one.

    Args:     connection: the only one that writes.   events: those that will come, so that all that they need is read
              at once.
    """

    def __init__(self, connection: sa.Connection, events: Iterable[Event]) -> None:
        self._connection = connection
        coming = list(events)
        self._begin()
        earlier = sa.select(EVENTS).where(EVENTS.c.id.in_([event.id for event in coming]))
        for row in connection.execute(earlier):
            self._kept[row.id] = (event_of(row.body), Answer(seq=row.seq, hash=row.hash))
        self._read(key for event in coming for key in _keys_if_any(event))

    def _begin(self) -> None:
        last = self._connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
        self._last = Answer(seq=last.seq, hash=last.hash)
        self._kept: dict[str, tuple[Event, Answer]] = {}
        self._before: dict[Key, AnyBook | None] = {}
        self._books: dict[Key, AnyBook | None] = {}
        self._forget()

    def _forget(self) -> None:
        self._events: list[dict[str, Any]] = []
        self._touches: list[dict[str, Any]] = []
        self._logs: list[Placed] = []

    def keep(self, event: Event) -> Answer:
        """Look at an event and remember what follows from it; of a refused one nothing is remembered.

        Raises:   Refused when it cannot follow, or another event has its id.
        """
        event = event_of(body_of(event))  # a whole number given for a length is a length from here on
        earlier = self._kept.get(event.id)
        if earlier is not None:
            if earlier[0] != replace(event, day=earlier[0].day):  # its day follows from its time
                raise Refused("Another event was written under this id", where=event.id, do="give each its own id")
            return earlier[1]
        if isinstance(event.of, Corrected):
            return self._correct(event, event.of)
        of = stated(event)
        keys = keys_of(event.batch, of)
        self._read(keys)
        after = {key: book_after(key, self._books[key], event, of) for key in keys}
        answer = self._append(event)
        self._touches += [{"key": key, "seq": answer.seq} for key in keys]
        self._books |= after
        batch = after.get(batch_key(event.batch))
        self._logs += log_rows(answer.seq, event, of, batch if isinstance(batch, Batch) else None)
        return answer

    def flush(self) -> None:
        """Write everything that is remembered."""
        if not self._events:
            return
        self._connection.execute(sa.insert(EVENTS), self._events)
        self._connection.execute(sa.update(HEAD), {"seq": self._last.seq, "hash": self._last.hash})
        if self._touches:
            self._connection.execute(sa.insert(TOUCHES), self._touches)
        put_books(self._connection, {key: (self._before[key], self._books[key]) for key in self._books})
        insert_rows(self._connection, self._logs)
        self._before = dict(self._books)
        self._forget()

    def _read(self, keys: Iterable[Key]) -> None:
        """Have these books at hand."""
        missing = sorted(set(keys) - self._books.keys())
        found = books(self._connection, missing)
        for key in missing:
            self._before[key] = self._books[key] = found.get(key)

    def _append(self, event: Event) -> Answer:
        body = body_of(event)
        answer = Answer(seq=self._last.seq + 1, hash=hash_after(self._last.hash, body))
        self._events.append(
            {"seq": answer.seq, "id": event.id, "kind": event.kind, "batch": event.batch, "body": body,
             "previous": self._last.hash, "hash": answer.hash}
        )  # fmt: skip
        self._kept[event.id] = (event, answer)
        self._last = answer
        return answer

    def _correct(self, event: Event, of: Corrected) -> Answer:
        """Write a correction: every book that the wrong event stood in, or now stands in, is worked out anew."""
        self.flush()
        connection = self._connection
        query = sa.select(EVENTS.c.seq, EVENTS.c.body).where(EVENTS.c.id == of.event_id)
        found = connection.execute(query).one_or_none()
        if found is None:
            raise Refused("There is no event of this id to correct", where=of.event_id)
        wrong = event_of(found.body)
        corrigible(event, wrong)
        earlier = connection.execute(sa.select(STANDING).where(STANDING.c.seq == found.seq)).one_or_none()
        stood = stated(wrong) if earlier is None else stating_of(earlier.content)
        gone = set(keys_of(wrong.batch, stood)) if stood is not None else set()
        come = set(keys_of(wrong.batch, of.instead)) if of.instead is not None else set()
        self._read(gone | come)
        after: dict[Key, AnyBook | None] = {}
        for key in sorted(gone | come):
            history = _history(connection, key)
            history[found.seq] = (wrong, of.instead)
            after[key] = refolded(key, (history[number] for number in sorted(history)))
        answer = self._append(event)
        self._books |= after
        batch = after.get(batch_key(wrong.batch))
        self._logs += log_rows(found.seq, wrong, of.instead, batch if isinstance(batch, Batch) else None)
        self._touches += [{"key": key, "seq": found.seq} for key in sorted(come - gone)]
        for key in sorted(gone - come):
            connection.execute(sa.delete(TOUCHES).where(TOUCHES.c.key == key, TOUCHES.c.seq == found.seq))
        for table in (STANDING, *(SHOWN[name] for name in LOGS)):
            connection.execute(sa.delete(table).where(table.c.seq == found.seq))
        self.flush()
        content = None if of.instead is None else canonical_bytes(of.instead)
        connection.execute(sa.insert(STANDING), {"seq": found.seq, "by_seq": answer.seq, "content": content})
        return answer


def _keys_if_any(event: Event) -> tuple[Key, ...]:
    """The books that an event will be written in; none of one that will be refused, or that corrects another."""
    try:
        return () if isinstance(event.of, Corrected) else keys_of(event.batch, event.of)
    except Refused:
        return ()


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
    changed = {key: pair for key, pair in changes.items() if pair[0] != pair[1]}
    gone = [{"k_key": key} for key, (_, after) in changed.items() if after is None]
    new = [_book_row(key, after) for key, (before, after) in changed.items() if before is None and after is not None]
    other = [
        {"k_key": key, "v_content": canonical_bytes(after)}
        for key, (before, after) in changed.items() if before is not None and after is not None
    ]  # fmt: skip
    same_key = BOOKS.c.key == sa.bindparam("k_key")
    for statement, rows in (
        (sa.delete(BOOKS).where(same_key), gone),
        (sa.insert(BOOKS), new),
        (sa.update(BOOKS).where(same_key).values(content=sa.bindparam("v_content")), other),
    ):
        if rows:
            connection.execute(statement, rows)
    _put_rows(
        connection, [row for before, _ in changed.values() for row in rows_of(before)],
        [row for _, after in changed.values() for row in rows_of(after)],
    )  # fmt: skip


def _book_row(key: Key, book: AnyBook) -> dict[str, Any]:
    return {"key": key, "content": canonical_bytes(book)}


def _put_rows(connection: sa.Connection, before: list[Placed], after: list[Placed]) -> None:
    old, new = ({(table, row[: TABLES[table][0]]): row for table, row in rows} for rows in (before, after))
    for statement, places in (
        (_delete, [place for place in old if place not in new]),
        (_update, [place for place in new if place in old and old[place] != new[place]]),
    ):
        together: dict[str, list[dict[str, Any]]] = {}
        for table, key in places:
            values = _valued(table, new[table, key]) if statement is _update else {}
            together.setdefault(table, []).append(_keyed(table, key) | values)
        for table, rows in together.items():
            connection.execute(statement(table), rows)
    insert_rows(connection, [(table, new[table, key]) for table, key in new if (table, key) not in old])


def insert_rows(connection: sa.Connection, rows: Iterable[Placed]) -> None:
    """Write rows that are new."""
    together: dict[str, list[dict[str, Any]]] = {}
    for table, row in rows:
        together.setdefault(table, []).append(dict(zip(TABLES[table][1], row, strict=True)))
    for table, values in together.items():
        connection.execute(sa.insert(SHOWN[table]), values)


@cache
def _delete(table: str) -> sa.Delete:
    return sa.delete(SHOWN[table]).where(*_same_key(table))


@cache
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
