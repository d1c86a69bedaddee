"""Files from outside: odd names, strange contents, too much, a full disk: nothing half-made, nothing outside."""

from __future__ import annotations

import errno
import gzip
import hashlib
import io
import os
import re
import threading
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk.homes import STEP, desk_behind, write_job
from fastapi.testclient import TestClient

from proveout.desk import size_limit
from proveout.desk.app import desk_app
from proveout.jobs import glances, taking_in, tasks
from proveout.jobs.glances import Glance, Glances
from proveout.jobs.home import Home
from proveout.jobs.plain_names import plain_name, said_name
from proveout.jobs.taking_in import Taken, take_design
from proveout.quantities.errors import BadInput, Unreadable

OWN = "http://127.0.0.1:8417"
WHOLE = STEP.encode()
PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,69}")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    (tmp_path / "home").mkdir()
    return Home(tmp_path / "home")


@pytest.fixture
def client(home: Home, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    def unread(path: Path, **_: object) -> None:
        raise Unreadable("No solid is in this file", where=path.name)

    monkeypatch.setattr(glances, "read_solid", unread)
    return TestClient(
        desk_app(home), base_url=OWN, headers={"origin": OWN}, raise_server_exceptions=False, follow_redirects=False
    )


def everything(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


@pytest.mark.parametrize(
    ("given", "plain", "said"),
    [
        ("bracket.step", "bracket", "bracket"),
        ("Träger Nr. 5 (neu).STEP", "Trager-Nr.-5-neu", "Träger Nr. 5 (neu)"),
        ("../../etc/passwd.step", "passwd", "passwd"),
        ("..\\..\\Windows\\x.step", "x", "x"),
        ("C:\\parts\\lid.stp", "lid", "lid"),
        ("CON.step", "part-CON", "CON"),
        ("com1.rev2.step", "part-com1.rev2", "com1.rev2"),
        ("com1_.step", "part-com1", "com1_"),
        (".hidden.step", "hidden", ".hidden"),
        ("...step", "part", ".."),
        (".step", "part", "part"),
        ("a\x00b.step", "ab", "ab"),
        ("支架.step", "part", "支架"),
        ("gpj\u202epets.step", "gpjpets", "gpjpets"),
        ("x" * 400 + ".step", "x" * 60, "x" * 120),
        ("a b\n<script>.step", "a-b-script", "a b<script>"),
        ("trailing dot..step", "trailing-dot", "trailing dot."),
    ],
)
def test_odd_names_become_plain_folders_and_stay_readable(home: Home, given: str, plain: str, said: str) -> None:
    assert (plain_name(given), said_name(given)) == (plain, said)
    taken = take_design(home, given, io.BytesIO(WHOLE))
    assert PLAIN.fullmatch(taken.name)
    assert everything(home.root.parent)[:2] == ["home", f"home/{taken.name}"]
    assert taken.step.read_bytes() == WHOLE
    assert taken.step.parent.parent == home.root
    assert [entry.name for entry in home.entries()] == [taken.name]


def packed() -> bytes:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w") as archive:
        archive.writestr("part.step", STEP)
    return into.getvalue()


@pytest.mark.parametrize(
    ("given", "content", "what"),
    [
        ("part.step", packed(), "a zip archive"),
        ("part.step", gzip.compress(WHOLE), "a gzip archive"),
        ("part.step", b"%PDF-1.7 ", "a PDF"),
        ("part.step", b"solid cube\nfacet", "does not begin with ISO-10303-21"),
        ("part.step", b"", "empty"),
        ("part.step", WHOLE[:-20], "stops before its end"),
        ("part.exe", WHOLE, "no STEP file by its name"),
        ("part.step.zip", packed(), "no STEP file by its name"),
        ("part", WHOLE, "no STEP file by its name"),
    ],
)
def test_what_is_no_step_file_is_refused_and_nothing_is_left(
    home: Home, given: str, content: bytes, what: str
) -> None:  # fmt: skip
    with pytest.raises(BadInput, match=what):
        take_design(home, given, io.BytesIO(content))
    assert everything(home.root) == []


def test_a_file_that_is_too_large_is_refused_while_it_comes_in(home: Home) -> None:
    read: list[int] = []

    class Endless(io.RawIOBase):
        def read(self, size: int = -1) -> bytes:
            assert 0 < size <= taking_in.CHUNK_BYTES
            read.append(size)
            return WHOLE.ljust(size, b" ")[:size]

    with pytest.raises(Unreadable, match="too large"):
        take_design(home, "part.step", Endless(), limit_bytes=3 * taking_in.CHUNK_BYTES)  # pyright: ignore[reportArgumentType]
    assert sum(read) <= 4 * taking_in.CHUNK_BYTES
    assert everything(home.root) == []


def test_the_same_name_twice_gets_its_own_folder(home: Home) -> None:
    write_job(home.root, "lid")  # an entry of that name lies in the folder itself
    (home.plans / "lid-2").mkdir(parents=True)  # and the plan of one that is gone
    taken = [take_design(home, "Lid.step", io.BytesIO(WHOLE + bytes([65 + n]))) for n in range(2)]
    assert [one.name for one in taken] == ["Lid-3", "Lid-4"]
    assert [one.step.read_bytes()[-1:] for one in taken] == [b"A", b"B"]


def test_many_at_once_do_not_mix(home: Home) -> None:
    taken: list[Taken] = []
    gate = threading.Barrier(8)

    def take(letter: str) -> None:
        gate.wait()
        taken.append(take_design(home, "lid.step", io.BytesIO(WHOLE + letter.encode() * 1000)))

    threads = [threading.Thread(target=take, args=(letter,)) for letter in "abcdefgh"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({one.name for one in taken}) == 8
    assert {one.step.read_bytes()[-1000:].decode() for one in taken} == {letter * 1000 for letter in "abcdefgh"}
    assert len(everything(home.root)) == 16


@pytest.mark.parametrize("where", ["fsync", "rename"])
def test_a_full_disk_says_so_and_leaves_nothing(home: Home, monkeypatch: pytest.MonkeyPatch, where: str) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    if where == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        monkeypatch.setattr(Path, "rename", full)
    with pytest.raises(Unreadable, match="The disk is full; nothing was kept"):
        take_design(home, "lid.step", io.BytesIO(WHOLE))
    assert everything(home.root) == []


def test_a_full_disk_of_temporary_files_is_told_too(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    async def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("starlette.requests.Request._get_form", full)
    answer = client.post("/designs", files={"files": ("lid.step", WHOLE)})
    assert answer.status_code == 400
    assert "The disk is full" in answer.text


def test_a_full_disk_is_told_where_no_page_looks_out_for_it(
    home: Home, client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_job(home.root, "plate")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(tasks, "write_whole", full)
    answer = client.post("/entries/plate/plan")
    assert answer.status_code == 500
    assert "The disk is full" in answer.text
    assert "Nothing was changed" not in answer.text, "nobody knows that here"
    assert "look before you ask for it again" in answer.text


def test_one_glance_that_breaks_leaves_the_next_its_turn(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in ("one", "two"):
        write_job(home.root, number)
    looks = Glances(home.plans)
    looked: list[str] = []

    def broken(step: Path, **_: object) -> None:
        looked.append(step.stem)
        raise ZeroDivisionError

    monkeypatch.setattr(glances, "read_solid", broken)
    for number in ("one", "two"):
        step = home.root / f"{number}.step"
        looks.want(hashlib.sha256(step.read_bytes()).hexdigest(), step)
    settled = threading.Thread(target=looks.settle, daemon=True)
    settled.start()
    settled.join(5.0)
    assert not settled.is_alive(), f"the thread ended after {looked}"
    assert looked == ["one", "two"]
    assert "at fault" in looks.not_drafted(home.root / "two.step")


def test_the_size_of_a_design_follows_the_shop(home: Home, client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    write_job(home.root, "plate")
    (home.root / "plate.toml").unlink()
    seen = Glance(name="plate", size_mm=(25.4, 50.8, 12.7), volume_mm3=1.0, faces_count=6)
    monkeypatch.setattr(Glances, "glance", lambda *_: seen)
    assert "25.4 x 50.8 x 12.7 mm" in client.get("/entries/plate").text
    monkeypatch.setattr(Home, "is_inch", True)
    assert "1.000 x 2.000 x 0.500 in" in client.get("/entries/plate").text


def test_a_design_goes_on_to_its_page_and_one_that_is_refused_keeps_none_out(home: Home, client: TestClient) -> None:
    answer = client.post("/designs", files={"files": ("Träger.step", WHOLE)})
    assert (answer.status_code, answer.headers["location"]) == (303, "/entries/Trager")
    sent = [("files", ("b.step", WHOLE)), ("files", ("<c>.step", packed())), ("files", ("d.toml", b"x"))]
    answer = client.post("/designs", files=sent)
    assert answer.status_code == 400
    assert "&lt;c&gt;: This is a zip archive, not a STEP file" in answer.text
    assert 'href="/entries/b"' in answer.text
    assert [entry.name for entry in home.entries()] == ["Trager", "b"]
    assert client.post("/designs").status_code == 400
    sent = [("files", ("b.step", WHOLE)), ("files", ("b.step", WHOLE))]
    assert client.post("/designs", files=sent).headers["location"] == "/"
    desk = desk_behind(client)
    desk.glances.settle()
    text = client.get("/entries/Trager").text
    assert "The solid cannot be read" in text
    assert "No solid is in this file; where: Trager.step" in text
    drawn = client.get("/entries/Trager/drawing.svg")
    assert "no drawing" in drawn.text


def test_more_than_the_desk_takes_is_refused_by_its_length_and_by_counting(
    home: Home, client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = client.post("/designs", content=b"", headers={"content-length": str(size_limit.SENT_MOST_BYTES + 1)})
    assert answer.status_code == 413
    monkeypatch.setattr(size_limit.SizeLimit.__init__, "__kwdefaults__", {"limit_bytes": 2000})
    narrow = TestClient(desk_app(home), base_url=OWN, headers={"origin": OWN})

    def in_pieces() -> Iterator[bytes]:
        yield b'--x\r\nContent-Disposition: form-data; name="files"; filename="a.step"\r\n\r\n'
        for _ in range(40):
            yield b" " * 100

    headers = {"content-type": "multipart/form-data; boundary=x"}
    answer = narrow.post("/designs", content=in_pieces(), headers=headers)
    assert answer.status_code == 413
    assert everything(home.root) == []


def test_a_job_file_is_taken_for_the_solid_that_it_names(home: Home, client: TestClient) -> None:
    job = write_job(home.root.parent / "elsewhere", "lid").read_bytes()
    (home.root / "lid").mkdir()
    (home.root / "lid" / "lid.step").write_bytes(WHOLE)
    wrong = client.post("/entries/lid/job", files={"job": ("x.toml", job.replace(b"lid.step", b"../../x.step"))})
    assert wrong.status_code == 400
    assert "This job file is of another solid" in wrong.text
    assert everything(home.root) == ["lid", "lid/lid.step"]
    assert client.post("/entries/lid/job", files={"job": ("x.toml", job)}).status_code == 303
    assert home.entry("lid").kind == "job"
    again = client.post("/entries/lid/job", files={"job": ("x.toml", job)})
    assert "There is a job file already" in again.text


def test_a_table_of_cutters_begins_a_shop_file(home: Home, client: TestClient, root: Path) -> None:
    table = (root / "examples" / "cutters.csv").read_bytes()
    bad = client.post("/designs", files={"files": ("mine.csv", b"id\n")})
    assert bad.status_code == 400
    assert everything(home.root) == []
    assert client.post("/designs", files={"files": ("mine.csv", table)}).status_code == 200
    assert everything(home.root) == ["mine.csv", "shop.toml"]
    assert home.shop().cutters
    assert "There is a shop file" in client.post("/designs", files={"files": ("two.csv", table)}).text
