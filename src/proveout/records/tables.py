"""The tables: events and their head, and everything that follows from them.

These say what the last step of migrations/ leaves behind; a test compares the two.
"""

from __future__ import annotations

import sqlalchemy as sa

from proveout.books.rows import LOGS, TABLES

METADATA = sa.MetaData()
NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
DIGEST = sa.String(64)
_TYPES = {str: sa.Text(), int: NUMBER, float: sa.Double()}

EVENTS = sa.Table(
    "events", METADATA,
    sa.Column("seq", NUMBER, primary_key=True, autoincrement=False),
    sa.Column("id", sa.String(36), nullable=False, unique=True),
    sa.Column("kind", sa.Text(), nullable=False),
    sa.Column("batch", sa.Text(), nullable=False, index=True),
    sa.Column("body", sa.LargeBinary(), nullable=False),
    sa.Column("previous", DIGEST, nullable=False),
    sa.Column("hash", DIGEST, nullable=False),
)  # fmt: skip
HEAD = sa.Table(
    "head", METADATA,
    sa.Column("one", NUMBER, primary_key=True, autoincrement=False),
    sa.Column("seq", NUMBER, nullable=False),
    sa.Column("hash", DIGEST, nullable=False),
)  # fmt: skip
FOLLOWED = sa.Table(
    "followed", METADATA,
    sa.Column("one", NUMBER, primary_key=True, autoincrement=False),
    sa.Column("by_digest", DIGEST, nullable=False),
)  # fmt: skip
"""By which code all that follows from the events was last worked out whole."""
BOOKS = sa.Table(
    "books", METADATA,
    sa.Column("key", sa.Text(), primary_key=True),
    sa.Column("content", sa.LargeBinary(), nullable=False),
)  # fmt: skip
TOUCHES = sa.Table(
    "touches", METADATA,
    sa.Column("key", sa.Text(), primary_key=True),
    sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
)  # fmt: skip
STANDING = sa.Table(
    "standing", METADATA,
    sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
    sa.Column("by_seq", NUMBER, sa.ForeignKey("events.seq"), nullable=False),
    sa.Column("content", sa.LargeBinary()),
)  # fmt: skip


def _shown(name: str) -> sa.Table:
    keys, columns = TABLES[name]
    made = []
    for number, (column, kind) in enumerate(columns.items()):
        is_key = number < keys
        foreign = [sa.ForeignKey("events.seq")] if name in LOGS and column == "seq" else []
        made.append(
            sa.Column(column, _TYPES[kind], *foreign, primary_key=is_key, autoincrement=False, nullable=not is_key)
        )  # fmt: skip
    return sa.Table(name, METADATA, *made)


SHOWN = {name: _shown(name) for name in TABLES}
FOLLOWING = (TOUCHES, STANDING, BOOKS, *SHOWN.values())
"""Everything that is worked out from the events."""
