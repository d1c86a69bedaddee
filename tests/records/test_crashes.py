"""No event that was answered is lost and none is doubled, whenever the program, the server or the disk gives out."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from batch_story import Teller
from sqlalchemy.event import listens_for

from proveout.model.batch_events import Bad, Counted
from proveout.model.events import Event
from proveout.model.stock_events import CoolantRead, PersonNoted
from proveout.quantities.errors import NotKept
from proveout.records import queue
from proveout.records.records import Records
from proveout.records.verifying import verify
from proveout.records.writing import Answer, Writing

ROUNDS = 10


@pytest.mark.parametrize("kind", ["sqlite", "postgres"])
def test_killed_at_random_moments_nothing_answered_is_lost_and_nothing_doubled(
    kind: str, root: Path, tmp_path: Path
) -> None:  # fmt: skip
    done = subprocess.run(
        [sys.executable, str(root / "tests" / "crash_rounds.py"), kind, str(ROUNDS), "7", str(tmp_path)],
        env={"PYTHONPATH": f"{root / 'src'}:{root / 'tests'}", "PATH": "/usr/bin:/bin"}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    assert found["faults"] == []
    assert found["rounds"] == ROUNDS
    assert found["events"] == found["acknowledged"] >= 5 * ROUNDS, "too little happened to say anything"


def limited(records: Records, pages: int) -> None:
    """Let the file grow to so many pages: what SQLite then says is what it says of a full disk."""

    @listens_for(records.engines.writing, "checkout")
    def _limit(connection: Any, *_: Any) -> None:
        connection.execute(f"PRAGMA max_page_count = {pages}")


def refusal(records: Records, event: Event) -> str:
    """What is said of an event that is not kept, empty when it is."""
    try:
        records.post(event)
    except NotKept as fault:
        return fault.message
    return ""


def test_on_a_full_disk_no_event_is_answered_and_later_each_counts_once(tmp_path: Path) -> None:
    with Records(str(tmp_path / "records.sqlite")) as records:
        with records.reading() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar() or 0
        limited(records, pages + 8)
        teller = Teller("")
        events = [teller(CoolantRead(machine="mill-5", note="x" * 1500)) for _ in range(40)]
        answered, said = next(
            (number, said) for number, event in enumerate(events) if (said := refusal(records, event))
        )
        assert 0 < answered < 40
        assert "The disk is full" in said
        assert "post it again: it counts once" in said
        assert records.head().seq == answered
        with records.reading() as connection:
            assert verify(connection).faults == ()
        limited(records, 1_000_000)
        for event in events:
            records.post(event)
        assert records.head().seq == 40
        assert len(records.rows("coolant")) == 40
        with records.reading() as connection:
            assert verify(connection).faults == ()


def test_an_event_that_the_database_does_not_take_harms_none_posted_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    """Written in one transaction with others it fails for all; then each is written by itself."""
    teller = Teller("")
    good = [teller(PersonNoted(who=f"p{number}", name="P")) for number in range(3)]
    bad = teller(Counted(step="op1", bad=(Bad(reason="burr", count=1),)))
    keep = Writing.keep

    def broken(writing: Writing, event: Event) -> Answer:
        if event.id == bad.id:
            writing._connection.exec_driver_sql("INSERT INTO head (one, seq, hash) VALUES (1, 0, '')")
        return keep(writing, event)

    monkeypatch.setattr(Writing, "keep", broken)
    with Records(str(tmp_path / "records.sqlite")) as records:
        writer = queue.Writer(records.engines.writing)
        posts = [(event, queue.Future()) for event in (good[0], bad, *good[1:])]
        writer._write(posts)  # as when they had waited together
        writer.close()
        assert isinstance(posts[1][1].exception(), NotKept)
        assert [posts[number][1].result().seq for number in (0, 2, 3)] == [1, 2, 3]
        with records.reading() as connection:
            assert verify(connection).faults == ()


def test_a_server_that_is_away_answers_nothing(tmp_path: Path) -> None:
    with pytest.raises(NotKept, match="does not answer as it should"):
        Records(f"postgresql://nobody@/shop?host={tmp_path}&port=5432")
