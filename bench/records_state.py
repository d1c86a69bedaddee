"""A state of many events, as years of batches leave it, and how long it takes to open it."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parent.parent / "tests"))

import sqlalchemy as sa
from batch_story import BARS, Teller  # pyright: ignore[reportMissingImports]
from msgspec.structs import replace

from proveout.books.replay import replayed
from proveout.model.batch_events import Counted, Done, ReadingTaken, Started
from proveout.model.events import Event
from proveout.model.stock_events import Sawn
from proveout.records.chain import body_of, event_of, hash_after
from proveout.records.records import Records
from proveout.records.tables import EVENTS, HEAD
from proveout.records.verifying import many, rows_of_events, write_following

BLANKS = 40


def batch_events(number: int) -> Iterator[Event]:
    """Some 90 events of one batch: sawn, milled piece by piece with a reading each, and left at the bench."""
    teller = Teller(f"{number:06}", seed=number + 1)
    bars = f"B-{number:06}"
    yield teller(replace(BARS, item=bars))
    yield from teller.release(blanks_count=BLANKS, wanted_count=BLANKS)
    yield teller(Started(step="saw"))
    yield teller(Sawn(step="saw", item=bars, heat="H77", place="rack 1", bars_count=2, good_count=BLANKS))
    yield teller(Done(step="saw"))
    yield teller(Started(step="op1"))
    for piece in range(BLANKS):
        yield teller(ReadingTaken(step="op1", mark="7", value=20.06 + piece * 1e-4, piece=str(piece)))
        yield teller(Counted(step="op1", good_count=1))
    yield teller(Done(step="op1"))


def events_from(count: int) -> Iterator[Event]:
    """So many events, batch after batch."""
    made = 0
    for number in range(count):
        for event in batch_events(number):
            if made == count:
                return
            yield event
            made += 1


def filled(setting: str, count: int) -> None:
    """Bring records that hold the first of these events to so many of them."""
    with Records(setting) as records, records.writing() as connection:
        head = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
        last = head.hash
        rows = []
        events = list(enumerate(events_from(count), start=1))
        for seq, event in events[head.seq :]:
            body = body_of(event)
            digest = hash_after(last, body)
            rows.append({"seq": seq, "id": event.id, "kind": event.kind, "batch": event.batch, "body": body,
                         "previous": last, "hash": digest})  # fmt: skip
            last = digest
        many(connection, EVENTS, rows)
        connection.execute(sa.update(HEAD), {"seq": count, "hash": last})
        write_following(connection, replayed(events))


def opened_s(setting: str) -> float:
    """Seconds from nothing to every open batch with its counts: the least of five, all but the first from memory."""
    taken = []
    for _ in range(5):
        begin = time.perf_counter()
        with Records(setting, may_make=False) as records:
            head = records.head()
            going = records.rows("batches", state="running")[-20:]
            counts = [records.rows("counts", batch=row["batch"]) for row in going]
        taken.append(time.perf_counter() - begin)
        assert head.seq
        assert counts
    return min(taken)


def rebuilt_s(setting: str) -> float:
    """Seconds to read all events and work out anew what follows, without writing it."""
    with Records(setting, may_make=False) as records, records.reading() as connection:
        begin = time.perf_counter()
        found = replayed([(row.seq, event_of(row.body)) for row in rows_of_events(connection)])
        assert found.books
        return time.perf_counter() - begin
