"""Read by Alembic: runs the steps on the connection that it was given, in that connection's transaction."""

from __future__ import annotations

from alembic import context

from proveout.records.tables import METADATA

context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA)
context.run_migrations()
