"""Gauges that were checked, pieces in stock whose revision ends, and by which version all was last worked out."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from proveout.quantities.errors import InternalError

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add two tables and three columns; what stands in them is worked out anew from the events."""
    for name in ("kept_count", "aside_count"):
        op.add_column("stock", sa.Column(name, NUMBER))
    op.add_column("readings", sa.Column("gauge", sa.Text()))
    op.create_table(
        "gauges",
        sa.Column("gauge", sa.Text(), primary_key=True),
        sa.Column("checked", sa.Text()),
        sa.Column("is_right", NUMBER),
        sa.Column("until", sa.Text()),
        sa.Column("person", sa.Text()),
        sa.Column("readings_count", NUMBER),
        sa.Column("doubtful_count", NUMBER),
    )  # fmt: skip
    op.create_table(
        "followed",
        sa.Column("one", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("by_digest", sa.String(64), nullable=False),
    )  # fmt: skip
    followed = sa.table("followed", sa.column("one"), sa.column("by_digest"))
    op.bulk_insert(followed, [{"one": 1, "by_digest": ""}])


def downgrade() -> None:
    """There is no way back: events would be lost."""
    raise InternalError("Records are never taken back", do="restore a backup")
