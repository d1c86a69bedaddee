"""Revisions that end, and what became of the half-made pieces of theirs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from proveout.quantities.errors import InternalError

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add a table and three columns; what stands in them is worked out anew from the events."""
    for name in ("taken_count", "brought_count", "kept_count"):
        op.add_column("counts", sa.Column(name, NUMBER))
    op.create_table(
        "changes",
        sa.Column("part", sa.Text(), primary_key=True),
        sa.Column("number", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("ends", sa.Text()),
        sa.Column("begins", sa.Text()),
        sa.Column("from_day", sa.Text()),
        sa.Column("why", sa.Text()),
        sa.Column("person", sa.Text()),
        sa.Column("stays", sa.Text()),
        sa.Column("id", sa.Text()),
    )  # fmt: skip


def downgrade() -> None:
    """There is no way back: events would be lost."""
    raise InternalError("Records are never taken back", do="restore a backup")
