"""Ten stations post at once, the writer is killed again and again, and a large state is opened.

    python bench/records.py

Over SQLite and PostgreSQL. Beside each runs the same ten stations appending lines to a plain file and waiting for the
disk each time (fsync, one at a time): what a shop would have without a database. A state is opened from what is kept
of it, and worked out anew from its events. FULL=1: ten minutes of posting, 500 kills of each database, and disks that
are full in earnest where this may mount one.
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.append(str(Path(__file__).resolve().parent.parent / "tests"))

from batch_story import Teller  # pyright: ignore[reportMissingImports]
from postgres_cluster import Cluster  # pyright: ignore[reportMissingImports]
from records_state import filled, opened_s, rebuilt_s
from yardstick import is_full, line

from proveout.model.stock_events import StockPut
from proveout.quantities.canonical import canonical_bytes
from proveout.records.records import Records
from proveout.records.verifying import verify

ROOT = Path(__file__).resolve().parent.parent
STATIONS = 10
POSTING_S = 600.0 if is_full() else 20.0
KILLS = 500 if is_full() else 20
COUNTS = (25_000, 50_000, 100_000, 200_000) if is_full() else (25_000, 50_000, 200_000)
Post = Callable[[int, int], None]


def stations(post: Post, seconds: float) -> list[float]:
    """Ten threads that post one after the other for so long; the seconds of every post."""
    taken: list[list[float]] = [[] for _ in range(STATIONS)]
    end = time.perf_counter() + seconds
    faults: list[BaseException] = []

    def station(number: int) -> None:
        count = 0
        try:
            while (begin := time.perf_counter()) < end:
                post(number, count)
                taken[number].append(time.perf_counter() - begin)
                count += 1
        except BaseException as fault:  # noqa: BLE001 - told below
            faults.append(fault)

    threads = [threading.Thread(target=station, args=(number,)) for number in range(STATIONS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]
    return [one for each in taken for one in each]


def event_of(station: int, count: int) -> Any:
    """The event that a station posts: stock put on its own shelf."""
    teller = Teller("", seed=station)
    teller.number += count
    return teller(StockPut(item=f"K{count % 20}", sort="kit", name="screws", count=1, place=f"shelf {station}"))


def to_plain_file(path: Path) -> Post:
    """Append each event as a line and wait for the disk, one station at a time."""
    lock = threading.Lock()
    file = path.open("ab")

    def post(station: int, count: int) -> None:
        body = canonical_bytes(event_of(station, count)) + b"\n"
        with lock:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())

    return post


def figures_of(name: str, taken: list[float], seconds: float) -> dict[str, float]:
    """Posts a second, and the time within which half and 99 of 100 were answered."""
    cuts = statistics.quantiles(taken, n=100)
    return {
        f"{name}_posts_per_s": round(len(taken) / seconds, 1), f"{name}_p50_s": round(cuts[49], 5),
        f"{name}_p99_s": round(cuts[98], 5),
    }  # fmt: skip


def posting(name: str, setting: str, folder: Path) -> tuple[dict[str, float], dict[str, float]]:
    """Ten stations on records and on a plain file, in two halves each, turn about; nothing may be lost."""
    ours: list[float] = []
    plain: list[float] = []
    half = POSTING_S / 2
    with Records(setting) as records:
        for turn in range(2):
            offset = 1_000_000 // 2 * turn
            ours += stations(lambda at, count, n=offset: records.post(event_of(at, n + count)) and None, half)
            plain += stations(to_plain_file(folder / f"{name}-{turn}.jsonl"), half)
        with records.reading() as connection:
            found = verify(connection)
    lost = len(ours) - found.head.seq
    figures = figures_of(name, ours, POSTING_S) | figures_of(f"{name}_plain", plain, POSTING_S)
    figures |= {f"{name}_lost_count": lost, f"{name}_faults_count": len(found.faults)}
    ratios = {
        f"{name}_posts_over_plain": round(len(ours) / len(plain), 3),
        f"{name}_p99_over_plain": round(
            statistics.quantiles(ours, n=100)[98] / statistics.quantiles(plain, n=100)[98], 3
        ),
    }  # fmt: skip
    return figures, ratios


def killed(kind: str, folder: Path) -> dict[str, float]:
    """The rounds of kills, in a process of its own, on this disk."""
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "crash_rounds.py"), kind, str(KILLS), "11", str(folder)],
        env=os.environ | {"PYTHONPATH": f"{ROOT / 'src'}:{ROOT / 'tests'}"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(done.stderr[-2000:])
    found = json.loads(done.stdout)
    print(f"{kind}: {found}")
    name = kind.partition("-")[0]
    return {
        f"{name}_kills_count": found["rounds"], f"{name}_kills_faults_count": len(found["faults"]),
        f"{name}_kills_events_count": found["events"],
        f"{name}_kills_unanswered_rounds": found["rounds_with_unanswered"],
    }  # fmt: skip


def full_disks(folder: Path) -> tuple[dict[str, float], tuple[str, ...]]:
    """A file system that is full in earnest, where one may be mounted: events answered and those there agree."""
    place = folder / "small"
    place.mkdir()
    mount, umount = shutil.which("mount"), shutil.which("umount")
    command = [mount or "", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(place)]
    if not mount or not umount or subprocess.run(command, capture_output=True, check=False).returncode:
        return {}, ("disks full in earnest: this machine lets nobody mount one",)
    try:
        answered = refused = 0
        with Records(str(place / "records.sqlite")) as records:
            for count in range(4000):
                try:
                    records.post(event_of(count % STATIONS, count))
                    answered += 1
                except Exception:  # noqa: BLE001 - counted: the disk is full
                    refused += 1
                if refused == 5:
                    break
            with records.reading() as connection:
                found = verify(connection)
        return {
            "disk_full_answered_count": answered, "disk_full_refused_count": refused,
            "disk_full_lost_count": abs(answered - found.head.seq), "disk_full_faults_count": len(found.faults),
        }, ()  # fmt: skip
    finally:
        subprocess.run([umount, str(place)], check=False)


def growth(folder: Path) -> tuple[dict[str, float], dict[str, float]]:
    """Seconds to open states of more and more events from what is kept, and to work the largest out anew."""
    figures: dict[str, float] = {}
    setting = str(folder / "state.sqlite")
    for count in COUNTS:
        filled(setting, count)
        figures[f"open_{count}_s"] = round(opened_s(setting), 4)
        figures[f"open_{count}_bytes"] = float(Path(setting).stat().st_size)
        print(f"{count} events: opened in {figures[f'open_{count}_s']} s")
    figures["rebuild_s"] = round(rebuilt_s(setting), 3)
    first, last = COUNTS[0], COUNTS[-1]
    return figures, {
        "rebuild_over_open": round(figures["rebuild_s"] / figures[f"open_{last}_s"], 1),
        "open_growth": round(figures[f"open_{last}_s"] / figures[f"open_{first}_s"], 2),
        "events_growth": last / first,
    }  # fmt: skip


def main() -> None:
    """Print the figures."""
    figures: dict[str, float] = {}
    ratios: dict[str, float] = {}
    with tempfile.TemporaryDirectory(prefix="proveout-records-", dir="/tmp") as place:
        folder = Path(place)
        folder.chmod(0o755)
        cluster = Cluster(folder)
        try:
            for name, setting in (("sqlite", str(folder / "posts.sqlite")), ("postgres", cluster.database())):
                some, more = posting(name, setting, folder)
                figures, ratios = figures | some, ratios | more
                print(f"{name}: {some}")
        finally:
            cluster.remove()
        for kind in ("sqlite", "postgres-disk"):
            figures |= killed(kind, folder)
        some, excluded = full_disks(folder)
        figures |= some
        some, more = growth(folder)
        figures, ratios = figures | some, ratios | more
    zero = [name for name in figures if name.endswith(("lost_count", "faults_count"))]
    print(
        line(
            name="records", figures=figures, ratios=ratios,
            targets=dict.fromkeys(zero, ("at most", 0))
            | {"rebuild_over_open": ("at least", 10.0), "open_growth": ("at most", ratios["events_growth"])},
            excluded=(
                "the start of PostgreSQL", "filling the large state, which is not posted event by event", *excluded
            ),
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
