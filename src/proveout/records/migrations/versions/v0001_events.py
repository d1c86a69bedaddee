"""The first tables: events that only grow, their head, and what follows from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from proveout.quantities.errors import InternalError

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

NUMBER = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables and what refuses to change events."""
    op.create_table(
        "bad",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("step", sa.Text(), primary_key=True),
        sa.Column("reason", sa.Text(), primary_key=True),
        sa.Column("count", NUMBER),
    )  # fmt: skip
    op.create_table(
        "batches",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("part", sa.Text()),
        sa.Column("revision", sa.Text()),
        sa.Column("state", sa.Text()),
        sa.Column("wanted_count", NUMBER),
        sa.Column("due", sa.Text()),
        sa.Column("blanks_count", NUMBER),
        sa.Column("good_count", NUMBER),
        sa.Column("bad_count", NUMBER),
        sa.Column("waiting_count", NUMBER),
        sa.Column("away_count", NUMBER),
        sa.Column("unmade_count", NUMBER),
        sa.Column("heats", sa.Text()),
        sa.Column("place", sa.Text()),
        sa.Column("plan", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "books",
        sa.Column("key", sa.Text(), primary_key=True),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )  # fmt: skip
    op.create_table(
        "counts",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("number", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("step", sa.Text()),
        sa.Column("station", sa.Text()),
        sa.Column("kind", sa.Text()),
        sa.Column("in_count", NUMBER),
        sa.Column("good_count", NUMBER),
        sa.Column("bad_count", NUMBER),
        sa.Column("rework_count", NUMBER),
        sa.Column("waiting_count", NUMBER),
        sa.Column("away_count", NUMBER),
        sa.Column("returned_count", NUMBER),
        sa.Column("unmade_count", NUMBER),
        sa.Column("is_started", NUMBER),
        sa.Column("is_done", NUMBER),
        sa.Column("stopped", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "cutters",
        sa.Column("machine", sa.Text(), primary_key=True),
        sa.Column("cutter", sa.Text(), primary_key=True),
        sa.Column("life_s", sa.Double()),
        sa.Column("used_s", sa.Double()),
        sa.Column("left_s", sa.Double()),
        sa.Column("changes_count", NUMBER),
    )  # fmt: skip
    op.create_table(
        "events",
        sa.Column("seq", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("batch", sa.Text(), nullable=False, index=True),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )  # fmt: skip
    op.create_table(
        "head",
        sa.Column("one", NUMBER, primary_key=True, autoincrement=False),
        sa.Column("seq", NUMBER, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )  # fmt: skip
    op.create_table(
        "lots",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("lot", sa.Text(), primary_key=True),
        sa.Column("step", sa.Text()),
        sa.Column("finisher", sa.Text()),
        sa.Column("promised", sa.Text()),
        sa.Column("sent_count", NUMBER),
        sa.Column("back_count", NUMBER),
        sa.Column("uncounted_count", NUMBER),
        sa.Column("good_count", NUMBER),
        sa.Column("bad_count", NUMBER),
        sa.Column("missing_count", NUMBER),
        sa.Column("rejected_count", NUMBER),
        sa.Column("away_count", NUMBER),
        sa.Column("claim_until", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "papers",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("paper", sa.Text(), primary_key=True),
        sa.Column("fingerprint", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "people",
        sa.Column("who", sa.Text(), primary_key=True),
        sa.Column("name", sa.Text()),
        sa.Column("is_here", NUMBER),
    )  # fmt: skip
    op.create_table(
        "stations",
        sa.Column("which", sa.Text(), primary_key=True),
        sa.Column("name", sa.Text()),
        sa.Column("is_used", NUMBER),
    )  # fmt: skip
    op.create_table(
        "stock",
        sa.Column("item", sa.Text(), primary_key=True),
        sa.Column("place", sa.Text(), primary_key=True),
        sa.Column("count", NUMBER),
        sa.Column("sort", sa.Text()),
        sa.Column("name", sa.Text()),
        sa.Column("alloy", sa.Text()),
        sa.Column("section", sa.Text()),
        sa.Column("heat", sa.Text()),
        sa.Column("lot", sa.Text()),
        sa.Column("part", sa.Text()),
        sa.Column("revision", sa.Text()),
        sa.Column("length_mm", sa.Double()),
        sa.Column("of", sa.Text()),
        sa.Column("reorder_at_count", NUMBER),
        sa.Column("is_low", NUMBER),
    )  # fmt: skip
    op.create_table(
        "waivers",
        sa.Column("batch", sa.Text(), primary_key=True),
        sa.Column("proof_id", sa.Text(), primary_key=True),
        sa.Column("person", sa.Text()),
        sa.Column("words", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "coolant",
        sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
        sa.Column("machine", sa.Text()),
        sa.Column("at", sa.Text()),
        sa.Column("share_ratio", sa.Double()),
        sa.Column("ph", sa.Double()),
        sa.Column("added_l", sa.Double()),
        sa.Column("note", sa.Text()),
        sa.Column("person", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "readings",
        sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
        sa.Column("batch", sa.Text()),
        sa.Column("step", sa.Text()),
        sa.Column("mark", sa.Text()),
        sa.Column("value", sa.Double()),
        sa.Column("unit", sa.Text()),
        sa.Column("verdict", sa.Text()),
        sa.Column("low", sa.Double()),
        sa.Column("high", sa.Double()),
        sa.Column("react_low", sa.Double()),
        sa.Column("react_high", sa.Double()),
        sa.Column("piece", sa.Text()),
        sa.Column("lot", sa.Text()),
        sa.Column("at", sa.Text()),
        sa.Column("person", sa.Text()),
    )  # fmt: skip
    op.create_table(
        "standing",
        sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
        sa.Column("by_seq", NUMBER, sa.ForeignKey("events.seq"), nullable=False),
        sa.Column("content", sa.LargeBinary()),
    )  # fmt: skip
    op.create_table(
        "touches",
        sa.Column("key", sa.Text(), primary_key=True),
        sa.Column("seq", NUMBER, sa.ForeignKey("events.seq"), primary_key=True, autoincrement=False),
    )  # fmt: skip
    head = sa.table("head", sa.column("one"), sa.column("seq"), sa.column("hash"))
    op.bulk_insert(head, [{"one": 1, "seq": 0, "hash": "0" * 64}])
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgres()


def _guard_sqlite() -> None:
    for what in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER events_no_{what.lower()} BEFORE {what} ON events "
            "BEGIN SELECT RAISE(ABORT, 'events only grow: correct one by another'); END"
        )
    op.execute(
        "CREATE TRIGGER events_in_order BEFORE INSERT ON events "
        "WHEN NEW.seq <> (SELECT COALESCE(MAX(seq), 0) + 1 FROM events) "
        "OR EXISTS (SELECT 1 FROM events WHERE id = NEW.id) "
        "BEGIN SELECT RAISE(ABORT, 'an event is written once, after the last one'); END"
    )


def _guard_postgres() -> None:
    op.execute(
        "CREATE FUNCTION events_grow_only() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN RAISE EXCEPTION 'events only grow: correct one by another'; END $$"
    )
    op.execute(
        "CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE ON events "
        "FOR EACH ROW EXECUTE FUNCTION events_grow_only()"
    )
    op.execute(
        "CREATE TRIGGER events_no_truncate BEFORE TRUNCATE ON events "
        "FOR EACH STATEMENT EXECUTE FUNCTION events_grow_only()"
    )
    op.execute(
        "CREATE FUNCTION events_in_order() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN IF NEW.seq <> (SELECT COALESCE(MAX(seq), 0) + 1 FROM events) "
        "THEN RAISE EXCEPTION 'an event is written once, after the last one'; END IF; RETURN NEW; END $$"
    )
    op.execute("CREATE TRIGGER events_in_order BEFORE INSERT ON events FOR EACH ROW EXECUTE FUNCTION events_in_order()")


def downgrade() -> None:
    """There is no way back: events would be lost."""
    raise InternalError("Records are never taken back to before their first event", do="restore a backup")
