"""The desk stays within its bounds however people click: memory, disk and how much is worked out at a time."""

from __future__ import annotations

import asyncio
import os
import shutil
import threading
import time
from pathlib import Path
from typing import Any

import pytest
import worked_home
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.jobs import home as home_module
from proveout.jobs import moments as moments_module
from proveout.jobs.held import Held
from proveout.jobs.moments import Moments
from proveout.jobs.store import Store
from proveout.jobs.turns import Turns
from proveout.model.run import Run
from proveout.quantities.errors import Busy, Interrupted

OWN = "http://127.0.0.1:8417"
HERE = f"/parts/{worked_home.ADDRESS}/work"


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    return tmp_path


def test_what_was_not_asked_for_the_longest_goes_first() -> None:
    held: Held[str, str] = Held(most_count=2)
    for key in "ab":
        held.put(key, key.upper())
    assert held.get("a") == "A"
    held.put("c", "C")
    assert [key in held for key in "abc"] == [True, False, True]
    assert held.get("b") is None


def test_no_more_bytes_are_held_than_were_allowed() -> None:
    """worked: of 4, 3 and 4 bytes within 8 the first goes; one of 9 is not held and takes nothing away."""
    held: Held[str, bytes] = Held(most_count=9, most_bytes=8, size=len)
    for key, count in (("a", 4), ("b", 3), ("c", 4)):
        held.put(key, bytes(count))
    assert ("a" in held, held.bytes_count) == (False, 7)
    held.put("d", bytes(9))
    assert ("d" in held, len(held), held.bytes_count) == (False, 2, 7)
    held.put("c", bytes(1))  # in its own place
    assert (len(held), held.bytes_count) == (2, 4)


def test_a_store_with_a_bound_lets_the_oldest_go_and_keeps_what_is_read(tmp_path: Path) -> None:
    """Six entries of some 10 000 bytes within 45 000: the first was read last, so the second and third go."""
    store = Store(tmp_path, most_bytes=45_000)
    for number in range(4):
        store.get("stage", lambda **_: bytes(10_000), number=number)
        os.utime(store._path("stage", {"number": number}), (number, number))
    (tmp_path / "old.part").write_bytes(b"half")
    os.utime(tmp_path / "old.part", (0, 0))
    assert store.kept("stage", number=0) is not None
    for number in (4, 5):
        store.get("stage", lambda **_: bytes(10_000), number=number)
    assert [store.holds("stage", number=number) for number in range(6)] == [True, False, False, True, True, True]
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= 45_000
    assert not (tmp_path / "old.part").exists()


def test_only_so_many_work_at_a_time_and_only_so_many_wait() -> None:
    turns, working, most = Turns(at_a_time=2, waiting_most=3, wait_s=5.0), [0, 0], threading.Lock()
    go, busy = threading.Event(), []

    def work() -> None:
        try:
            with turns.turn(Run()):
                with most:
                    working[0] += 1
                    working[1] = max(working)
                go.wait(5.0)
                with most:
                    working[0] -= 1
        except Busy as fault:
            busy.append(fault.value)

    threads = [threading.Thread(target=work) for _ in range(7)]
    for thread in threads:
        thread.start()
    until = time.monotonic() + 5.0
    while len(busy) < 2 and time.monotonic() < until:
        time.sleep(0.01)
    go.set()
    for thread in threads:
        thread.join()
    assert (working, busy) == ([0, 2], ["3 wait already"] * 2)


def test_who_gets_no_turn_in_time_is_told_and_who_leaves_waits_no_more() -> None:
    turns = Turns(at_a_time=1, waiting_most=3, wait_s=0.2)
    left = Run()
    left.cancel()
    with turns.turn(Run()):
        with pytest.raises(Busy, match="waited"), turns.turn(Run()):
            pass
        with pytest.raises(Interrupted), turns.turn(left):
            pass
    with turns.turn(Run()):  # the turn was given back
        pass


def test_a_busy_desk_says_when_to_ask_again(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(moments_module, "WAIT_S", 0.1)
    monkeypatch.setattr(moments_module, "AT_A_TIME", 0)
    client = TestClient(desk_app(worked_home.write_home(root)), base_url=OWN, raise_server_exceptions=False)
    answer = client.get(f"{HERE}/metal", params={"pass": "1"})
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "3")
    assert "The desk is busy" in answer.text
    assert client.get(f"{HERE}/way", params={"pass": "1"}).status_code == 200  # what is quick waits for nothing


def test_nothing_is_cut_on_for_whoever_has_left(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The asker leaves while the first pass is cut: the passes after it are not."""
    app, cut, has_left = desk_app(worked_home.write_home(root)), [], threading.Event()

    def cut_share(_lattice: Any, step: Any, _share: float) -> None:
        cut.append(step)
        has_left.set()
        time.sleep(0.3)

    monkeypatch.setattr(moments_module, "_cut_share", cut_share)
    messages = iter([{"type": "http.request", "body": b""}])
    sent: list[Any] = []

    async def receive() -> Any:
        for message in messages:
            return message
        while not has_left.is_set():  # noqa: ASYNC110 - it is set in a thread
            await asyncio.sleep(0.01)
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "http", "method": "GET", "path": f"{HERE}/metal", "raw_path": f"{HERE}/metal".encode(), "root_path": "",
        "query_string": b"pass=4", "headers": [(b"host", b"127.0.0.1:8417")], "scheme": "http",
        "http_version": "1.1", "server": ("127.0.0.1", 8417), "client": ("127.0.0.1", 5000),
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    assert len(cut) == 1
    assert sent[0]["status"] == 204


def test_fields_of_metal_are_held_within_bytes(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for none of them every moment is worked out from the blank, and is the same."""
    folder = worked_home.write_result(root / "block")
    wide = Moments(plan=worked_home.plan(), shop=worked_home.shop(), folder=folder, store=Store(None))
    volume = wide.metal(index=1).volume_mm3
    assert wide._held.bytes_count > 1000
    monkeypatch.setattr(moments_module, "HELD_BYTES", 1000)
    narrow = Moments(plan=worked_home.plan(), shop=worked_home.shop(), folder=folder, store=Store(None))
    assert narrow.metal(index=1).volume_mm3 == volume
    assert len(narrow._held) == 0


def test_plans_that_nobody_looks_at_are_let_go_and_read_again(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(home_module, "PLANS_MOST", 1)
    read: list[str] = []
    monkeypatch.setattr(home_module, "read_plan", lambda folder: read.append(folder.name) or worked_home.plan())
    home = worked_home.write_home(root)
    (home.root / "other.step").write_text("never read", encoding="ascii")
    shutil.copytree(home.plans / "block", home.plans / "other")
    first = home.place("block")
    assert home.place("block").plan is first.plan
    home.place("other")
    assert len(home._plans) == 1
    again = home.place("block")
    assert (read, again.mark) == (["block", "other", "block"], first.mark)
