"""Every event is written once, in one order, and never changes."""

from __future__ import annotations

import hashlib
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from batch_story import BARS, Teller
from msgspec.structs import replace

from proveout.model.batch_events import Counted, Done, Started
from proveout.model.stock_events import PersonNoted, StockPut
from proveout.quantities.canonical import canonical_bytes
from proveout.quantities.errors import NotKept, Refused
from proveout.records.records import Records
from proveout.records.tables import EVENTS
from proveout.records.verifying import verify


def whole(records: Records) -> None:
    with records.reading() as connection:
        assert verify(connection).faults == ()


def test_the_same_event_posted_again_gets_the_first_answer_and_is_written_once(records: Records) -> None:
    teller = Teller()
    events = [teller(BARS), *teller.release(), *teller.sawn(4)]
    first = [records.post(event) for event in events]
    assert [answer.seq for answer in first] == [1, 2, 3, 4, 5, 6]
    assert [records.post(event) for event in reversed(events)] == first[::-1]
    assert records.head() == first[-1]
    batch = records.batch("100")
    assert batch is not None
    assert batch.steps[0].good_count == 4
    assert [event for _, event in records.events()] == events
    assert [event for _, event in records.events(batch="100")] == [one for one in events if one.batch == "100"]
    assert [event for _, event in records.events(batch="")] == [one for one in events if not one.batch]
    whole(records)


def test_a_length_given_as_a_whole_number_is_the_same_event(records: Records) -> None:
    teller = Teller()
    event = teller(BARS)
    whole_number = replace(event, of=replace(BARS, length_mm=3000))
    assert records.post(whole_number) == records.post(event)


def test_another_event_under_a_used_id_is_refused(records: Records) -> None:
    teller = Teller()
    event = teller(BARS)
    records.post(event)
    with pytest.raises(Refused, match="Another event was written under this id"):
        records.post(replace(event, of=replace(BARS, count=11)))
    assert records.head().seq == 1


def test_a_refused_event_leaves_nothing_behind(records: Records) -> None:
    teller = Teller()
    for event in [teller(BARS), *teller.release(), *teller.sawn(4)]:
        records.post(event)
    before = (records.head(), records.rows("counts"), records.rows("stock"))
    for of in (Counted(step="op1", good_count=1), Started(step="pack"), Done(step="op1")):
        with pytest.raises(Refused):
            records.post(teller(of))
    assert (records.head(), records.rows("counts"), records.rows("stock")) == before
    whole(records)


def test_events_of_ten_stations_at_once_come_out_in_one_order(records: Records) -> None:
    answers: dict[str, int] = {}

    def station(number: int) -> None:
        teller = Teller("", seed=number)
        for count in range(8):
            of = StockPut(item=f"K{count % 3}", sort="kit", name="screws", count=1, place=f"shelf {number}")
            event = teller(of)
            answers[event.id] = records.post(event).seq

    threads = [threading.Thread(target=station, args=(number,)) for number in range(1, 11)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers.values()) == list(range(1, 81))
    assert sum(row["count"] for row in records.rows("stock")) == 80
    whole(records)


def test_two_writers_that_know_nothing_of_each_other_make_one_chain(records: Records) -> None:
    """Each has its own connections, as two programs have."""
    setting = records.name

    def writer(seed: int) -> None:
        teller = Teller("", seed=seed)
        with Records(setting) as own:
            for _ in range(20):
                own.post(teller(StockPut(item="K", sort="kit", name="screws", count=1, place="shelf")))

    threads = [threading.Thread(target=writer, args=(seed,)) for seed in (1, 2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert records.head().seq == 40
    assert records.rows("stock", item="K")[0]["count"] == 40
    whole(records)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET kind = 'counted'",
        "DELETE FROM events",
        "DELETE FROM events WHERE seq = 2",
        "INSERT INTO events SELECT seq + 5, 'x', kind, batch, body, previous, hash FROM events WHERE seq = 1",
        "INSERT INTO events SELECT 3, id, kind, batch, body, previous, hash FROM events WHERE seq = 1",
    ],
)
def test_no_event_is_changed_taken_out_or_put_in_between(records: Records, statement: str) -> None:
    teller = Teller("")
    for who in ("mara", "jon"):
        records.post(teller(PersonNoted(who=who, name=who)))
    with pytest.raises(NotKept, match=r"events only grow|written once|unique|UNIQUE"), records.writing() as connection:
        connection.exec_driver_sql(statement)
    assert records.head().seq == 2
    whole(records)


def test_no_event_is_replaced_or_emptied_away(records: Records) -> None:
    """SQLite's REPLACE deletes without a word, PostgreSQL's TRUNCATE empties without looking at a row."""
    records.post(Teller("")(PersonNoted(who="mara", name="Mara")))
    statement = "TRUNCATE events CASCADE"
    if not records.engines.is_postgres:
        statement = "INSERT OR REPLACE INTO events SELECT 1, 'y', kind, batch, body, previous, hash FROM events"
    with pytest.raises(NotKept, match=r"events only grow|written once"), records.writing() as connection:
        connection.exec_driver_sql(statement)
    with records.reading() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(EVENTS)).scalar() == 1


def test_whoever_reads_cannot_write(records: Records) -> None:
    with pytest.raises(NotKept, match=r"readonly|read-only"), records.reading() as connection:
        connection.exec_driver_sql("DELETE FROM books")


def test_closed_records_take_nothing(records: Records) -> None:
    teller = Teller("")
    event = teller(PersonNoted(who="mara", name="Mara"))
    records.post(event)
    records.close()
    with pytest.raises(NotKept, match="closed"):
        records.post(event)


def test_an_events_hash_is_that_of_its_bytes_after_all_that_came_before(tmp_path: Path) -> None:
    """Worked: sha256 over the 32 bytes of the hash before and the canonical bytes; 32 zero bytes before the first."""
    mara, jon, kim = (
        Teller("", seed=n)(PersonNoted(who=who, name=who)) for n, who in enumerate(("mara", "jon", "kim"))
    )
    heads = []
    for name, story in (("one", (mara, kim)), ("other", (jon, kim))):
        expected = bytes(32)
        with Records(str(tmp_path / name)) as records:
            for event in story:
                expected = hashlib.sha256(expected + canonical_bytes(event)).digest()
                assert records.post(event).hash == expected.hex()
        heads.append(expected)
    assert heads[0] != heads[1]
