"""Stations post events and the program that writes them is killed, again and again; then it is looked what is there.

    python tests/crash_rounds.py sqlite|postgres ROUNDS SEED FOLDER

A fresh process, so that it may fork: each round a child opens the records, ten stations post as fast as they are
answered, and the child says of each answer which one it was. At a random moment it is killed with SIGKILL; of
PostgreSQL in every fourth round the server instead. The next child goes on where each station had its last answer,
and so posts again what may have been written without an answer. Prints one JSON object; how far it is goes to stderr.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sys
import threading
import time
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from batch_story import Teller
from postgres_cluster import Cluster

from proveout.model.events import Event
from proveout.model.stock_events import CoolantRead, StockPut
from proveout.quantities.errors import NotKept, ProveoutError
from proveout.records.records import Records
from proveout.records.tables import EVENTS, SHOWN
from proveout.records.verifying import verify

STATIONS = 10
LONGEST_S = 0.25
END_S = 120.0
OPENING_EVERY = 5
SERVER_EVERY = 4
VERIFY_EVERY = 10
TOLD_EVERY = 25


def event_of(station: int, number: int) -> Event:
    """The event that a station posts as its number-th: the same whenever it is asked for."""
    teller = Teller("", seed=station)
    teller.number += number
    if number % 2:
        return teller(CoolantRead(machine=f"mill-{station}", added_l=float(number)))
    return teller(StockPut(item=f"K{number % 3}", sort="kit", name="screws", count=1, place=f"shelf {station}"))


def post_all(setting: str, begin: list[int], end: int, answers: int) -> None:
    """Post with all stations, each from where it was up to `end`; ends early when the database is gone."""

    def station(number: int) -> None:
        for count in range(begin[number], end):
            try:
                answer = records.post(event_of(number, count))
            except NotKept:
                return
            os.write(answers, f"{number} {count} {answer.seq} {answer.hash}\n".encode())

    with Records(setting) as records:
        threads = [threading.Thread(target=station, args=(number,)) for number in range(STATIONS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()


class Rounds:
    """What the stations were told so far. acknowledged: number and hash by station and count."""

    def __init__(self, setting: str, cluster: Cluster | None, seed: int) -> None:
        self.setting, self.cluster = setting, cluster
        self.random = random.Random(seed)  # noqa: S311 - when to kill is no secret
        self.acknowledged: dict[tuple[int, int], tuple[int, str]] = {}
        self.faults: list[str] = []

    def next_of(self) -> list[int]:
        told = list(self.acknowledged)
        return [1 + max((count for at, count in told if at == number), default=-1) for number in range(STATIONS)]

    def round(self, number: int, *, kills: bool, end: int = 10**9) -> None:
        """One child; with kills it is ended at a random moment, or the server is."""
        begin = self.next_of()
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            status = 1
            try:
                post_all(self.setting, begin, end, writing)
                status = 0
            except ProveoutError:
                status = 3
            finally:
                os._exit(status)
        os.close(writing)
        kill_server = kills and self.cluster is not None and number % SERVER_EVERY == 0
        told = b""
        left_s = self.random.uniform(0.0, LONGEST_S) if kills else END_S
        if kills and number % OPENING_EVERY:  # in the others while it opens
            told += os.read(reading, 65536)
        ends_at = time.monotonic() + left_s
        while (left := ends_at - time.monotonic()) > 0.0:
            if select.select([reading], [], [], left)[0]:
                some = os.read(reading, 65536)
                if not some:
                    break
                told += some
        if kill_server:
            assert self.cluster is not None
            self.cluster.kill()
        elif kills:
            os.kill(child, signal.SIGKILL)
        while some := os.read(reading, 65536):
            told += some
        os.close(reading)
        os.waitpid(child, 0)
        if kill_server:
            assert self.cluster is not None
            self.cluster.start()
        self._hear(told)

    def _hear(self, told: bytes) -> None:
        whole, _, _ = told.rpartition(b"\n")  # what was cut off was not said
        for line in whole.decode().splitlines():
            station, count, seq, digest = line.split()
            key = (int(station), int(count))
            if key in self.acknowledged:
                self.faults.append(f"{key} was answered twice")
            self.acknowledged[key] = (int(seq), digest)

    def look(self, *, verified: bool) -> int:
        """Compare what is there with what was answered; the number of events."""
        with Records(self.setting) as records, records.reading() as connection:
            there = {
                row.id: (row.seq, row.hash)
                for row in connection.execute(sa.select(EVENTS.c.id, EVENTS.c.seq, EVENTS.c.hash))
            }
            stock = connection.execute(sa.select(sa.func.sum(SHOWN["stock"].c.count))).scalar() or 0
            coolant = connection.execute(sa.select(sa.func.count()).select_from(SHOWN["coolant"])).scalar() or 0
            if verified:
                self.faults += verify(connection).faults
        for (station, count), answer in self.acknowledged.items():
            if there.get(event_of(station, count).id) != answer:
                self.faults.append(f"event {count} of station {station} was answered and is not there so")
        if stock + coolant != len(there):
            self.faults.append(f"{len(there)} events, and {stock} + {coolant} follow from them")
        open_count = len(there) - len(self.acknowledged)
        if not 0 <= open_count <= STATIONS:
            self.faults.append(f"{open_count} events are there that nobody was told of: at most one a station")
        return len(there)


def run(kind: str, rounds_count: int, seed: int, folder: Path) -> dict[str, Any]:
    """All rounds, and one more that ends by itself."""
    begin = time.perf_counter()
    cluster = Cluster(folder if kind == "postgres-disk" else None) if kind.startswith("postgres") else None
    try:
        setting = cluster.database() if cluster is not None else str(folder / f"crash-{seed}.sqlite")
        rounds = Rounds(setting, cluster, seed)
        unanswered = 0
        for number in range(1, rounds_count + 1):
            before = len(rounds.acknowledged)
            rounds.round(number, kills=True)
            count = rounds.look(verified=rounds_count <= 20 or number % VERIFY_EVERY == 0)
            unanswered += count > len(rounds.acknowledged) and len(rounds.acknowledged) >= before
            if number % TOLD_EVERY == 0:
                taken_s = time.perf_counter() - begin
                told = f"{kind}: {number} kills, {count} events, {len(rounds.faults)} faults, {taken_s:.0f} s\n"
                sys.stderr.write(told)
        rounds.round(0, kills=False, end=1 + max(rounds.next_of()))
        count = rounds.look(verified=True)
        if count != len(rounds.acknowledged):
            rounds.faults.append(f"{count} events, and {len(rounds.acknowledged)} were answered in the end")
    finally:
        if cluster is not None:
            cluster.remove()
    return {
        "kind": kind, "rounds": rounds_count, "acknowledged": len(rounds.acknowledged), "events": count,
        "rounds_with_unanswered": unanswered, "faults": rounds.faults[:10],
        "seconds": round(time.perf_counter() - begin, 2),
    }  # fmt: skip


if __name__ == "__main__":
    made = run(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4]))
    sys.stdout.write(json.dumps(made) + "\n")
