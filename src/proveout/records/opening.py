"""Where the records are, and opening them: a file of SQLite, or PostgreSQL by one setting."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.event import listens_for
from sqlalchemy.exc import ArgumentError

from proveout.quantities.errors import BadInput, NotKept

WAIT_S = 30
POSTGRES = ("postgresql://", "postgres://")
LOCK = 0x70726F76656F7574
"""Of PostgreSQL's advisory locks: whoever writes events holds it. The first eight letters of our name."""


@dataclass(frozen=True)
class Engines:
    """Two ways into one database. writing: each transaction of it waits until it is the only one."""

    writing: sa.Engine
    reading: sa.Engine
    name: str

    def close(self) -> None:
        """Let go of every connection."""
        self.writing.dispose()
        self.reading.dispose()

    @property
    def is_postgres(self) -> bool:
        """Which of the two kinds of database it is."""
        return self.writing.dialect.name == "postgresql"


def is_postgres(setting: str) -> bool:
    """True for an address of PostgreSQL, False for a path.

    Raises:   BadInput for an address of anything else.
    """
    if setting.startswith(POSTGRES):
        return True
    if "://" in setting:
        raise BadInput("Records are kept in a file or in PostgreSQL", where="records", value=setting.partition(":")[0],
                       limit="a path, or postgresql://...")  # fmt: skip
    return False


def engines_of(setting: str) -> Engines:
    """The engines of a setting; nothing is connected or made yet.

    Raises:   BadInput when PostgreSQL is wanted and its library is missing, or the address cannot be read.
    """
    return _postgres(setting) if is_postgres(setting) else _sqlite(Path(setting))


def _sqlite(path: Path) -> Engines:
    url = sa.URL.create("sqlite+pysqlite", database=str(path))

    def engine(begin: str, *, is_reading: bool) -> sa.Engine:
        made = sa.create_engine(url, connect_args={"timeout": WAIT_S, "check_same_thread": False})

        @listens_for(made, "connect")
        def _connected(connection: Any, _: Any) -> None:
            connection.isolation_level = None  # transactions begin where we say so
            (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
            if mode != "wal":
                raise NotKept("This disk cannot keep a log ahead of the file", where=str(path), value=mode,
                              do="keep the records on a disk of this machine")  # fmt: skip
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA foreign_keys=ON")
            connection.execute("PRAGMA recursive_triggers=ON")  # else REPLACE deletes unseen
            connection.execute(f"PRAGMA busy_timeout={WAIT_S * 1000}")
            if is_reading:
                connection.execute("PRAGMA query_only=ON")

        @listens_for(made, "begin")
        def _begun(connection: sa.Connection) -> None:
            connection.exec_driver_sql(begin)

        return made

    return Engines(
        writing=engine("BEGIN IMMEDIATE", is_reading=False), reading=engine("BEGIN", is_reading=True), name=str(path)
    )  # fmt: skip


def _postgres(setting: str) -> Engines:
    try:
        import psycopg  # noqa: F401 - to say what is missing before its driver does
    except ImportError as fault:
        raise BadInput("PostgreSQL needs the library psycopg, which is not installed", where="records",
                       do="pip install 'proveout[postgres]'") from fault  # fmt: skip
    try:
        url = sa.make_url(setting).set(drivername="postgresql+psycopg")
    except (ArgumentError, ValueError) as fault:
        raise BadInput("This is no address of PostgreSQL", where="records",
                       limit="postgresql://user@host:port/name") from fault  # fmt: skip
    common: dict[str, Any] = {"pool_pre_ping": True, "connect_args": {"connect_timeout": 10}}
    writing = sa.create_engine(url, **common)
    reading = sa.create_engine(url, isolation_level="REPEATABLE READ", **common)

    @listens_for(writing, "connect")
    def _connected(connection: Any, _: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute("SELECT current_setting('fsync'), current_setting('full_page_writes')")
            if cursor.fetchone() != ("on", "on"):
                raise NotKept("This PostgreSQL does not wait for its disk", where="fsync, full_page_writes",
                              value="off", do="set both on in postgresql.conf")  # fmt: skip
            cursor.execute("SET synchronous_commit = on")
            cursor.execute(f"SET lock_timeout = '{WAIT_S}s'")
        connection.commit()

    @listens_for(reading, "connect")
    def _read_only(connection: Any, _: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute("SET default_transaction_read_only = on")
        connection.commit()

    @listens_for(writing, "begin")
    def _begun(connection: sa.Connection) -> None:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK})")

    return Engines(writing=writing, reading=reading, name=url.set(drivername="postgresql").render_as_string())
