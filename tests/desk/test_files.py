"""Papers, programs, moves and files of a result: told as they are, and nothing outside of the folder is handed out."""

from __future__ import annotations

import os
import time
from pathlib import Path

import msgspec
import numpy as np
import pytest
import worked_home
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.jobs import result_files
from proveout.jobs.check_plan import moves_path
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.home import Home
from proveout.jobs.result_files import file_in, files_of, moves_kept, programs_of
from proveout.jobs.writing import plan_bytes
from proveout.model.plan import ProgramSheet
from proveout.quantities.errors import BadInput

OWN = "http://127.0.0.1:8417"
HERE = f"/parts/{worked_home.ADDRESS}"
PROGRAM = "G21 G90\nG0 X0 Y0\nM30\n"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """The worked part with a program for its first clamping, a page of its own and a secret beside the folder."""
    home = worked_home.write_home(tmp_path_factory.mktemp("desk"))
    folder = home.plans / worked_home.ADDRESS
    sheet = ProgramSheet(
        clamping_id="c1", file="clamping-1.nc", fingerprint=fingerprint_of_text(PROGRAM), blocks_count=3,
        work_offset="G54", cutters={},
    )  # fmt: skip
    plan = msgspec.structs.replace(worked_home.plan(), programs=(sheet,), jaw_programs=())
    (folder / "plan.json").write_bytes(plan_bytes(plan))
    (folder / "programs").mkdir()
    (folder / "programs" / "clamping-1.nc").write_text(PROGRAM, encoding="ascii")
    (folder / "plan.html").write_text("<script>1</script>", encoding="utf-8")
    (folder / ".hidden").write_text("no", encoding="utf-8")
    (folder.parent / "secret.txt").write_text("secret", encoding="utf-8")
    (folder / "out.txt").symlink_to(folder.parent / "secret.txt")
    return home


@pytest.fixture(scope="module")
def client(home: Home) -> TestClient:
    return TestClient(desk_app(home), base_url=OWN, raise_server_exceptions=False)


@pytest.mark.parametrize(
    "name",
    [
        "../secret.txt", "..%2Fsecret.txt", "%2e%2e/secret.txt", "moves/../../secret.txt", "/etc/passwd",
        "%2Fetc%2Fpasswd", ".hidden", "out.txt", "programs", "nothing.pdf", "..%5Csecret.txt", "plan.json%00",
    ],
)  # fmt: skip
def test_nothing_outside_of_a_result_is_handed_out(client: TestClient, name: str) -> None:
    for where in (HERE, f"/orders/{worked_home.ADDRESS}"):
        answer = client.get(f"{where}/files/{name}")
        assert answer.status_code in (400, 404), name
        assert "secret" not in answer.text.replace("secret.txt", "")
        assert "root:" not in answer.text


@pytest.mark.parametrize("name", ["", ".", "..", "a/../../secret.txt", "/plan.json", "C:\\x", "plan.json\x00"])
def test_a_name_that_leads_out_is_refused(home: Home, name: str) -> None:
    with pytest.raises(BadInput, match="no such file"):
        file_in(home.plans / worked_home.ADDRESS, name)


@pytest.mark.parametrize(
    ("name", "kind", "is_saved"),
    [
        ("plan.json", "text/plain; charset=utf-8", False),
        ("plan.html", "text/html; charset=utf-8", False),
        ("clamping-1.svg", "image/svg+xml", False),
        ("programs/clamping-1.nc", "text/plain; charset=utf-8", False),
        ("inputs/shop.toml", "text/plain; charset=utf-8", False),
        ("MOVES", "application/octet-stream", True),
    ],
)
def test_a_file_comes_as_what_it_is(client: TestClient, home: Home, *, name: str, kind: str, is_saved: bool) -> None:
    folder = home.plans / worked_home.ADDRESS
    name = name.replace("MOVES", next(p.relative_to(folder).as_posix() for p in sorted((folder / "moves").iterdir())))
    answer = client.get(f"{HERE}/files/{name}")
    assert answer.status_code == 200
    assert answer.content == (folder / name).read_bytes()
    assert answer.headers["content-type"] == kind
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert ("attachment" in answer.headers.get("content-disposition", "")) is is_saved


def test_a_page_of_a_result_runs_fenced_in(client: TestClient) -> None:
    """Its own script runs, without the desk's origin and with nothing to load or send."""
    policy = client.get(f"{HERE}/files/plan.html").headers["content-security-policy"]
    rules = {name: said for name, _, said in (rule.strip().partition(" ") for rule in policy.split(";"))}
    assert rules["sandbox"] == "allow-scripts"
    assert rules["default-src"] == "'none'"
    assert "connect-src" not in rules
    assert rules["form-action"] == "'none'"


def test_the_list_of_files_leaves_out_what_is_hidden_or_leads_elsewhere(home: Home) -> None:
    names = [one.name for one in files_of(home.plans / worked_home.ADDRESS)]
    assert "plan.json" in names
    assert "programs/clamping-1.nc" in names
    assert not {".hidden", "out.txt"} & set(names)


def test_a_program_edited_on_disk_is_told(home: Home, client: TestClient) -> None:
    folder, plan = home.plans / worked_home.ADDRESS, home.place(worked_home.ADDRESS).plan
    assert [one.state for one in programs_of(folder, plan)] == ["as planned"]
    assert "Not every program on disk" not in client.get(f"{HERE}/papers").text
    path = folder / "programs" / "clamping-1.nc"
    try:
        path.write_text(PROGRAM.replace("\n", "\r\n"), encoding="ascii", newline="")
        assert [one.state for one in programs_of(folder, plan)] == ["as planned"]  # line ends do not count
        path.write_text(PROGRAM.replace("X0", "X1"), encoding="ascii")
        assert [one.state for one in programs_of(folder, plan)] == ["edited since"]
        told = client.get(f"{HERE}/papers").text
        assert "Not every program on disk" in told
        assert "edited since" in told
        path.unlink()
        assert [one.state for one in programs_of(folder, plan)] == ["missing"]
    finally:
        path.write_text(PROGRAM, encoding="ascii")


def test_moves_changed_on_disk_are_told(home: Home, client: TestClient) -> None:
    folder, plan = home.plans / worked_home.ADDRESS, home.place(worked_home.ADDRESS).plan
    assert moves_kept(folder, plan).wrong == ()
    path = folder / "moves" / f"{plan.passes[0].moves_digest[:32]}.npy"
    content = path.read_bytes()
    try:
        rows = np.load(path)
        rows[1, 2] += 0.001
        np.save(path, rows)
        assert moves_kept(folder, plan).wrong == (plan.passes[0].moves_digest,)
        assert "1 of 4 files of moves are missing or were changed" in client.get(f"{HERE}/papers").text
        path.write_bytes(b"no numbers")
        assert moves_kept(folder, plan).wrong == (plan.passes[0].moves_digest,)
    finally:
        path.write_bytes(content)


def test_moves_are_read_again_only_when_they_were_written(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files of a minute ago are read once; one that was written a moment ago, or since, is read every time."""
    folder, plan = home.plans / worked_home.ADDRESS, home.place(worked_home.ADDRESS).plan
    read: list[str] = []
    whole = result_files.moves_on_disk
    monkeypatch.setattr(result_files, "moves_on_disk", lambda at, digest: read.append(digest) or whole(at, digest))
    paths = [moves_path(folder, one.moves_digest) for one in plan.passes]
    for path in paths:
        os.utime(path, (time.time() - 60.0, time.time() - 60.0))
    for _ in range(3):
        assert moves_kept(folder, plan).wrong == ()
    assert len(read) == len(paths)
    read.clear()
    os.utime(paths[0])
    for _ in range(2):
        assert moves_kept(folder, plan).wrong == ()
    assert read == [plan.passes[0].moves_digest] * 2
    content, rows = paths[1].read_bytes(), np.load(paths[1])
    rows[1, 2] += 0.001
    np.save(paths[1], rows)
    os.utime(paths[1], (time.time() - 30.0, time.time() - 30.0))
    assert paths[1].stat().st_size == len(content)
    assert moves_kept(folder, plan).wrong == (plan.passes[1].moves_digest,)
    paths[1].write_bytes(content)


def test_papers_that_are_missing_are_told(client: TestClient, tmp_path: Path) -> None:
    assert "papers.pdf is missing" in client.get(f"{HERE}/papers").text
    home = worked_home.write_home(tmp_path)
    (home.plans / worked_home.ADDRESS / "papers.pdf").write_bytes(b"%PDF-1.7 of another make")
    other = TestClient(desk_app(home), base_url=OWN)
    answer = other.get(f"{HERE}/files/papers.pdf")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    assert "This file has no list of its sheets" in other.get(f"{HERE}/papers").text
