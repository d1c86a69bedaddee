"""Bringing the tables of a database to what this version knows."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa

from proveout.quantities.errors import BadInput

LAST = "0003"
"""The last step of migrations/; a test compares it with the files."""
_VERSION = sa.table("alembic_version", sa.column("version_num", sa.String()))


def version_of(connection: sa.Connection) -> str:
    """The step that the database is at, empty before the first."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return ""
    return connection.execute(sa.select(_VERSION.c.version_num)).scalar() or ""


def migrate(connection: sa.Connection) -> bool:
    """Run the steps that this database has not had, inside the connection's transaction; True where it had others.

    What follows from the events is then to be worked out anew.
    Raises:   BadInput when the database has had a step that this version does not know.
    """
    found = version_of(connection)
    if found == LAST:
        return False
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    known = [step.revision for step in ScriptDirectory.from_config(config).walk_revisions()]
    if found and found not in known:
        raise BadInput("These records were written by a newer version", where="records", value=found, limit=LAST,
                       do="install that version")  # fmt: skip
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    return bool(found)
