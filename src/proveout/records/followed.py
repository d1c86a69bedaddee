"""By which code everything that follows from the events was last worked out: another version may read more in them."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

import sqlalchemy as sa

from proveout.quantities.errors import Unreadable
from proveout.records.tables import FOLLOWED
from proveout.records.verifying import rebuild

OF = ("books", "model")
"""What makes of events what is shown: packages of this one."""


@cache
def code_of_books() -> str:
    """sha256 of every source file that says what follows from an event."""
    root = Path(__file__).resolve().parent.parent
    whole = hashlib.sha256()
    for path in sorted(path for package in OF for path in (root / package).rglob("*.py")):
        whole.update(path.relative_to(root).as_posix().encode())
        whole.update(path.read_bytes())
    return whole.hexdigest()


def bring_up(connection: sa.Connection, *, must: bool) -> None:
    """Work out anew what follows from the events where another version did it last.

    Args:     must: the tables were changed, so that nothing of it can stay.
    Raises:   Unreadable when the events could not have happened so, and must; else everything stays as it was, and
              `proveout records verify` tells.
    """
    code = code_of_books()
    if not must and connection.execute(sa.select(FOLLOWED.c.by_digest)).scalar() == code:
        return
    try:
        with connection.begin_nested():
            rebuild(connection)
            connection.execute(sa.update(FOLLOWED).values(by_digest=code))
    except Unreadable:
        if must:
            raise
