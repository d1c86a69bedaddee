"""What was changed behind the program's back is seen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import get_args

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from batch_story import BARS, Teller
from record_stories import long_story

from proveout.books.replay import replayed
from proveout.cli.main import main
from proveout.model.change_events import ChangeHappening
from proveout.model.events import Corrected
from proveout.quantities.errors import BadInput, Unreadable
from proveout.records import migrating, tables
from proveout.records.migrating import LAST
from proveout.records.records import Records
from proveout.records.verifying import rebuild, verify
from proveout.records.writing import Answer


@contextmanager
def behind_its_back(records: Records) -> Iterator[sa.Connection]:
    """A connection without the triggers and keys that refuse a change."""
    with records.writing() as connection:
        if records.engines.is_postgres:
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        else:
            for name in ("events_no_update", "events_no_delete", "events_in_order"):
                connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
            for table in (tables.TOUCHES, tables.STANDING, tables.SHOWN["readings"], tables.SHOWN["coolant"]):
                connection.execute(sa.delete(table))
        yield connection


def faults_after(records: Records, *statements: str) -> tuple[str, ...]:
    for event in long_story():
        records.post(event)
    with behind_its_back(records) as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
    with records.reading() as connection:
        return verify(connection).faults


LENGTH = len(long_story())


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        (
            "UPDATE events SET body = (SELECT body FROM events WHERE seq = 5) WHERE seq = 4",
            "event 4 is not what was written",
        ),
        ("UPDATE events SET hash = previous WHERE seq = 7", "event 7 is not what was written"),
        ("UPDATE events SET previous = 'zz' WHERE seq = 7", "event 7 is not what was written"),
        ("UPDATE events SET batch = '999' WHERE seq = 12", "event 12 is filed as something else"),
        ("DELETE FROM events WHERE seq = 9", "event 9 is missing"),
        pytest.param(
            "DELETE FROM events WHERE seq = (SELECT seq FROM head)",
            f"the last event is {LENGTH - 1}, and event {LENGTH} was written",
            id="cut off",
        ),
        ("DELETE FROM head", "and nothing was written down as the last"),
    ],
)
def test_a_changed_a_missing_and_a_cut_off_event_are_seen(records: Records, statement: str, says: str) -> None:
    faults = faults_after(records, statement)
    assert any(fault.startswith(says) or says in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE counts SET good_count = good_count + 1 WHERE step = 'op1'", "table counts"),
        ("DELETE FROM readings WHERE verdict = 'outside'", "table readings"),
        ("UPDATE stock SET heat = 'H78'", "table stock"),
        ("DELETE FROM books WHERE key = 'item:K'", "book 'item:K'"),
        ("DELETE FROM standing", "what stands in the place of corrected events"),
        ("DELETE FROM touches WHERE key = 'item:K'", "which event stands in which book"),
    ],
)
def test_what_does_not_follow_is_seen_and_worked_out_anew(records: Records, statement: str, says: str) -> None:
    for event in long_story():
        records.post(event)
    with records.writing() as connection:
        connection.exec_driver_sql(statement)
    with records.reading() as connection:
        found = verify(connection)
    assert found.faults == (f"{says} does not follow from the events", "do: proveout records rebuild")
    with records.writing() as connection:
        rebuild(connection)
    with records.reading() as connection:
        assert verify(connection).faults == ()


def test_an_event_that_was_noted_is_found_again(records: Records) -> None:
    for event in long_story():
        answer = records.post(event)
    with records.reading() as connection:
        assert verify(connection, noted=answer).faults == ()
        assert verify(connection, noted=Answer(seq=3, hash=answer.hash)).faults == (
            "event 3 is not the one that was noted",
        )
        late = Answer(seq=LENGTH + 1, hash=answer.hash)
        assert verify(connection, noted=late).faults == (f"event {LENGTH + 1} is not the one that was noted",)


def test_an_event_that_corrects_none_is_told_and_not_stumbled_over() -> None:
    teller = Teller()
    lost = Corrected(event_id=teller(BARS).id, why="counted twice", instead=None)
    with pytest.raises(Unreadable, match=r"corrects one that is not there.*event 1"):
        replayed([(1, teller(lost))])


def test_an_export_of_what_was_not_written_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    setting = str(tmp_path / "records.sqlite")
    monkeypatch.setenv("PROVEOUT_RECORDS", setting)
    with Records(setting) as records:
        records.post(Teller()(BARS))
        with records.writing() as connection:
            connection.exec_driver_sql("UPDATE stock SET heat = 'H78'")
    assert main(["records", "export", str(tmp_path / "out")]) == 3
    said = capsys.readouterr().out
    assert "table stock does not follow from the events" in said
    assert "NOT what was written: 1 events" in said
    assert "H78" in (tmp_path / "out" / "stock.csv").read_text("utf-8")


def test_the_steps_lead_to_the_tables_that_the_program_knows(records: Records) -> None:
    with records.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.METADATA) == []
        assert context.get_current_revision() == LAST


def test_the_last_step_is_the_last_file() -> None:
    assert ScriptDirectory(str(Path(migrating.__file__).parent / "migrations")).get_heads() == [LAST]


def test_records_of_the_first_version_are_brought_up_and_worked_out_anew(records: Records) -> None:
    """Books and counts that know nothing of revisions that end: nothing of the events is lost, and all follows."""
    for event in long_story():
        if not isinstance(event.of, get_args(ChangeHappening)):
            records.post(event)
    with behind_its_back(records) as connection:
        for name in ("taken_count", "brought_count", "kept_count"):
            connection.exec_driver_sql(f"ALTER TABLE counts DROP COLUMN {name}")
        for column in ("kept_count", "aside_count"):
            connection.exec_driver_sql(f"ALTER TABLE stock DROP COLUMN {column}")
        connection.exec_driver_sql("ALTER TABLE readings DROP COLUMN gauge")
        for table in ("changes", "gauges", "followed"):
            connection.exec_driver_sql(f"DROP TABLE {table}")
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
        for row in connection.execute(sa.select(tables.BOOKS)).all():
            old = re.sub(rb',"(taken|brought|kept)_count":0|"(taken|brought|kept)_count":0,', b"", row.content)
            connection.execute(sa.update(tables.BOOKS).where(tables.BOOKS.c.key == row.key).values(content=old))
    with Records(records.name) as again:
        with again.reading() as connection:
            assert verify(connection).faults == ()
        assert again.rows("counts")[0]["taken_count"] == 0


def test_what_another_version_made_of_the_events_is_worked_out_anew(records: Records) -> None:
    for event in long_story():
        records.post(event)
    with records.writing() as connection:
        connection.exec_driver_sql("UPDATE counts SET good_count = 99")
    with Records(records.name) as again, again.reading() as connection:
        assert "table counts" in verify(connection).faults[0]  # this very version did it: it is looked at by verify
    with records.writing() as connection:
        connection.exec_driver_sql("UPDATE followed SET by_digest = 'of another version'")
    with Records(records.name) as again, again.reading() as connection:
        assert verify(connection).faults == ()


def test_events_that_could_not_have_happened_by_now_leave_what_was_worked_out(
    records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    for event in long_story():
        records.post(event)
    kept = records.rows("counts")
    with records.writing() as connection:
        connection.exec_driver_sql("UPDATE followed SET by_digest = 'of another version'")

    def cannot(_connection: sa.Connection) -> int:
        raise Unreadable("The events could not have happened so", where="event 9")

    monkeypatch.setattr("proveout.records.followed.rebuild", cannot)
    with Records(records.name) as again:
        assert again.rows("counts") == kept


def test_records_of_a_newer_version_are_left_alone(records: Records) -> None:
    with records.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(BadInput, match=r"written by a newer version.*9999"):
        Records(records.name)
