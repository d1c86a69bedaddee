"""The records of a shop, opened: post events, read what follows from them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from proveout.books.folding import AnyBook, Key, batch_key, stated
from proveout.books.rows import TABLES
from proveout.books.shown_plan import as_plan_says
from proveout.model.batch import Batch
from proveout.model.events import Event, Stating
from proveout.model.plan import Plan
from proveout.quantities.errors import BadInput, NotKept
from proveout.records.chain import event_of, stating_of
from proveout.records.followed import bring_up
from proveout.records.migrating import migrate, version_of
from proveout.records.opening import Engines, engines_of, is_postgres
from proveout.records.queue import Writer
from proveout.records.tables import EVENTS, HEAD, SHOWN, STANDING, TOUCHES
from proveout.records.writing import Answer
from proveout.records.writing import books as read_books


class Records:
    """Events and what follows from them.

    Args:     setting: a path, or postgresql://...   may_make: begin new records where there are none.
              asks_for_plans: refuse what speaks of a plan and does not come with it, or says something else of it.
    Raises:   BadInput when there are none and none may be made, or a newer version wrote them; NotKept when the
              database cannot be reached.
    """

    def __init__(self, setting: str, *, may_make: bool = True, asks_for_plans: bool = False) -> None:
        self._asks_for_plans = asks_for_plans
        if not is_postgres(setting):
            path = Path(setting)
            if not may_make and not path.is_file():
                raise _no_records(str(path))
            path.parent.mkdir(parents=True, exist_ok=True)
        self.engines: Engines = engines_of(setting)
        try:
            with self.writing() as connection:
                self._brought_up(connection, may_make=may_make)
        except BaseException:
            self.engines.close()
            raise
        self._writer: Writer | None = None

    def _brought_up(self, connection: sa.Connection, *, may_make: bool) -> None:
        """Tables and what stands in them as this version knows them; a database of somebody else stays as it is."""
        if not may_make and not version_of(connection):
            raise _no_records(self.name)
        bring_up(connection, must=migrate(connection))

    @property
    def name(self) -> str:
        """Where they are, without any password."""
        return self.engines.name

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:  # fmt: skip
        self.close()

    def close(self) -> None:
        """Write what was posted and let go of the database."""
        if self._writer is not None:
            self._writer.close()
        self.engines.close()

    def post(self, event: Event, *, plan: Plan | None = None) -> Answer:
        """Write an event; the answer comes once it lies on disk, and it is the same however often it is posted.

        plan: the one that the event speaks of, as it was read from its file.
        Raises:   Refused when it cannot follow what is recorded; NotKept when it is not known to lie on disk.
        """
        if self._asks_for_plans:
            as_plan_says(event.of, plan)
        if self._writer is None:
            self._writer = Writer(self.engines.writing)
        return self._writer.post(event)

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A view of everything at one moment.

        Raises:   NotKept when the database cannot be read.
        """
        with self._told(), self.engines.reading.begin() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """The only transaction that writes, kept when the block ends without an error.

        Raises:   NotKept when the database cannot be written.
        """
        with self._told(), self.engines.writing.begin() as connection:
            yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except SQLAlchemyError as fault:
            said = str(fault.orig) if isinstance(fault, DBAPIError) else str(fault)
            raise NotKept("The database of the records does not answer as it should", where=self.name,
                          value=said.splitlines()[0][:200] if said else "") from fault  # fmt: skip

    def head(self) -> Answer:
        """Number and hash of the last event; number 0 when there is none."""
        with self.reading() as connection:
            row = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
        return Answer(seq=row.seq, hash=row.hash)

    def book(self, key: Key) -> AnyBook | None:
        """One book as it stands, None when nothing is written in it."""
        with self.reading() as connection:
            return read_books(connection, [key]).get(key)

    def batch(self, name: str) -> Batch | None:
        """A batch as it stands, None when there is none."""
        found = self.book(batch_key(name))
        return found if isinstance(found, Batch) else None

    def rows(self, table: str, **where: Any) -> list[dict[str, Any]]:
        """Rows of a table of books.rows.TABLES, those whose columns have the given values, in order of their key."""
        keys, columns = TABLES[table]
        shown = SHOWN[table]
        with self.reading() as connection:
            found = connection.execute(sa.select(shown).where(*(shown.c[name] == where[name] for name in where)))
            rows = [tuple(row) for row in found]
        return [dict(zip(columns, row, strict=True)) for row in sorted(rows, key=lambda row: row[:keys])]

    def holds(self, event_id: str) -> bool:
        """Whether an event of that id was written."""
        with self.reading() as connection:
            return connection.execute(sa.select(EVENTS.c.seq).where(EVENTS.c.id == event_id)).first() is not None

    def events(self, *, batch: str | None = None) -> list[tuple[int, Event]]:
        """Events with their numbers, in order. batch: empty for those that are about none, None for all."""
        query = sa.select(EVENTS.c.seq, EVENTS.c.body).order_by(EVENTS.c.seq)
        if batch is not None:
            query = query.where(EVENTS.c.batch == batch)
        with self.reading() as connection:
            return [(seq, event_of(body)) for seq, body in connection.execute(query)]

    def standing_after(
        self, seq: int, kinds: Iterable[str], *, books: Iterable[Key] | None = None
    ) -> list[tuple[int, Event, Stating]]:  # fmt: skip
        """Events of some kinds after a number, of whatever batch, in order, each with what it says as corrected.

        books: only what is written in one of these; None for any, which looks at every event after the number.
        """
        query = (
            sa.select(EVENTS.c.seq, EVENTS.c.body, STANDING.c.by_seq, STANDING.c.content)
            .outerjoin(STANDING, STANDING.c.seq == EVENTS.c.seq)
            .where(EVENTS.c.seq > seq, EVENTS.c.kind.in_(sorted(kinds)))
            .order_by(EVENTS.c.seq)
        )
        if books is not None:
            own = sa.select(TOUCHES.c.seq).where(TOUCHES.c.key.in_(sorted(books)), TOUCHES.c.seq > seq)
            query = query.where(EVENTS.c.seq.in_(own))
        found: list[tuple[int, Event, Stating]] = []
        with self.reading() as connection:
            for row in connection.execute(query):
                event = event_of(row.body)
                of = stated(event) if row.by_seq is None else stating_of(row.content)
                if of is not None:
                    found.append((row.seq, event, of))
        return found


def _no_records(where: str) -> BadInput:
    return BadInput("There are no records", where=where, do="name them: --records, PROVEOUT_RECORDS")
