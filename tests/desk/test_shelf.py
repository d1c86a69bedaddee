"""The shelf: states told truly, found by words, read at a glance."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from desk.homes import write_job, write_plan
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.intake.starting_shop import starting_shop_text
from proveout.intake.step import FILE_SIZE_LIMIT_BYTES
from proveout.jobs import shelf as shelf_module
from proveout.jobs.background_task import BackgroundTask, State
from proveout.jobs.home import Home
from proveout.jobs.shelf import Shelf
from proveout.jobs.shelf_lines import ShelfLine, found_by, in_order

OWN = "http://127.0.0.1:8417"


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Three designs, of which `lid` is planned and ready and `knob` planned and not ready."""
    root = tmp_path / "home"
    jobs = {n: write_job(root / n, n, name=f"The {n}", due=d) for n, d in
            (("lid", "2026-03-01"), ("knob", "2026-02-01"), ("plate", "2026-04-01"))}  # fmt: skip
    home = Home(root)
    for name, ready in (("lid", True), ("knob", False)):
        write_plan(
            home.plans / name, job=jobs[name], step=jobs[name].with_suffix(".step"), shop_text=starting_shop_text(),
            ready=ready, number=name, name=f"The {name}",
        )  # fmt: skip
    return home


def by_name(home: Home, *tasks: BackgroundTask) -> dict[str, ShelfLine]:
    return {line.name: line for line in Shelf(home).lines(tasks)}


def task(subject: str, state: State, ended_at: str = "2099-01-01T00:00:00+00:00") -> BackgroundTask:
    return BackgroundTask(
        id=f"{subject}-1", subject=subject, title=subject, arguments=(), out="", state=state, ended_at=ended_at,
        said="The alloy is unknown",
    )  # fmt: skip


def test_every_state_is_told(home: Home) -> None:
    lines = by_name(home)
    assert {name: line.state for name, line in lines.items()} == {"lid": "ready", "knob": "not ready", "plate": "asked"}
    assert lines["knob"].parts[0].line.weakest is not None
    assert lines["knob"].parts[0].line.weakest.verdict != "holds"
    assert by_name(home, task("plate", "under way"))["plate"].state == "under way"
    refused = by_name(home, task("plate", "refused"))["plate"]
    assert (refused.state, refused.said) == ("refused", "The alloy is unknown")
    tried = by_name(home, task("lid", "refused"))["lid"]
    assert (tried.state, tried.said) == ("ready", "The last try: refused: The alloy is unknown")
    earlier = by_name(home, task("lid", "refused", "2001-01-01T00:00:00+00:00"))["lid"]
    assert earlier.said == ""


def test_a_name_that_is_twice_the_folder_is_told_once(home: Home) -> None:
    assert [entry.name for entry in home.entries()] == ["knob", "lid", "plate"]


@pytest.mark.parametrize("ending", [".step", ".toml"])
def test_a_file_that_changed_since_makes_a_plan_stale(home: Home, ending: str) -> None:
    path = home.root / "lid" / f"lid{ending}"
    path.write_text(path.read_text() + "\n")
    lines = by_name(home)
    assert {name: line.state for name, line in lines.items()} == {"lid": "stale", "knob": "not ready", "plate": "asked"}
    assert lines["lid"].said in (
        "the solid's file has changed since it was planned", "the job file has changed since it was planned",
    )  # fmt: skip


def test_another_shop_makes_every_plan_stale(home: Home) -> None:
    (home.root / "shop.toml").write_text(starting_shop_text() + "\n# a note\n")
    lines = by_name(home)
    assert lines["lid"].state == lines["knob"].state == "stale"
    assert lines["lid"].changed == ("the shop has changed",)


def test_a_job_file_that_came_later_makes_a_plan_stale(tmp_path: Path) -> None:
    root = tmp_path / "home"
    job = write_job(root / "lid", "lid")
    home = Home(root)
    write_plan(home.plans / "lid", job=None, step=job.with_suffix(".step"), shop_text=starting_shop_text())
    assert by_name(home)["lid"].changed == ("a job file was written",)


def test_a_broken_job_file_says_what_is_wrong(home: Home) -> None:
    (home.root / "plate" / "plate.step").unlink()
    line = by_name(home)["plate"]
    assert line.state == "refused"
    assert "STEP file that is not there" in line.said
    (home.root / "lid" / "lid.toml").write_text("[part\n")
    line = by_name(home)["lid"]
    assert line.state == "stale"
    assert "lid.toml" in line.asked.fault
    assert len(by_name(home)) == 3


def test_a_plan_that_cannot_be_read_is_told_and_not_shown(home: Home) -> None:
    (home.plans / "lid" / "plan.json").write_text('{"ready": true}')
    line = by_name(home)["lid"]
    assert (line.state, line.parts) == ("stale", ())
    assert "cannot be read" in line.said


def test_a_plan_is_decoded_once_and_again_when_it_is_written_anew(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    Shelf(home).lines()
    read: list[str] = []
    plain = shelf_module.part_line
    monkeypatch.setattr(shelf_module, "part_line", lambda head: read.append(head.part.number) or plain(head))
    shelf = Shelf(home)  # as after a restart: what was read is kept in a file
    shelf.lines()
    assert read == []
    path = home.plans / "lid" / "plan.json"
    path.write_bytes(path.read_bytes().replace(b'"The lid"', b'"Lid two"'))
    assert {line.parts[0].line.name for line in shelf.lines() if line.parts} == {"Lid two", "The knob"}
    assert read == ["lid"]


def test_words_find_and_days_order(home: Home) -> None:
    old = time.time() - 1000.0
    for path in (home.root / "knob").iterdir():
        os.utime(path, (old, old))
    os.utime(home.plans / "knob" / "plan.json", (old, old))
    lines = Shelf(home).lines()
    assert [line.name for line in found_by(lines, "KNOB the")] == ["knob"]
    assert [line.name for line in found_by(lines, "6061 plate.toml")] == ["plate"]
    assert found_by(lines, "knob lid") == ()
    assert found_by(lines, " ") == lines
    assert [line.name for line in in_order(lines, by_due=True)] == ["knob", "lid", "plate"]
    assert in_order(lines, by_due=False)[-1].name == "knob"


def test_the_page_shows_what_was_found_and_where_it_leads(home: Home) -> None:
    client = TestClient(desk_app(home), base_url=OWN)
    text = client.get("/", params={"q": "<lid>"}).text
    assert "&lt;lid&gt;" in text
    assert "<lid>" not in text
    text = client.get("/", params={"by": "due"}).text
    places = [text.index(f">{name}</a>") for name in ("knob", "lid", "plate")]
    assert places == sorted(places)
    assert 'href="/parts/lid"' in text
    assert 'href="/entries/plate"' in text
    assert "price" not in text


def test_two_hundred_entries_open_at_once(tmp_path: Path) -> None:
    root = tmp_path / "home"
    for number in range(200):
        write_job(root / f"part-{number}", f"part-{number}")
    home = Home(root)
    shelf = Shelf(home)
    shelf.lines()
    begin = time.process_time()
    assert len(shelf.lines()) == 200
    assert time.process_time() - begin < 0.8  # 0.1 s of work on a quiet machine


def test_the_largest_file_is_said_as_it_is_held(tmp_path: Path, root: Path) -> None:
    """Page, script and guide tell the limit that the reader of solids holds."""
    most_mb = FILE_SIZE_LIMIT_BYTES // 1024**2
    text = TestClient(desk_app(Home(tmp_path)), base_url="http://127.0.0.1:8417").get("/").text
    assert f'data-most-mb="{most_mb}"' in text
    assert f"At most {most_mb} MB a file" in text
    assert f"larger than {most_mb} MB, is refused" in (root / "docs" / "guide" / "desk.md").read_text()
    script = (root / "src" / "proveout" / "desk" / "static" / "shelf.js").read_text()
    assert f"{most_mb} MB" not in script
    assert "form.dataset.mostMb" in script


def test_an_entry_keeps_its_address_when_a_file_comes_that_would_be_called_the_same(tmp_path: Path) -> None:
    root = tmp_path / "home"
    (tmp_path / "home-plans").mkdir()
    write_job(root / "b", "lid")  # b/lid.toml and b-lid.toml are both called b-lid
    assert [entry.name for entry in Home(root).entries()] == ["b-lid"]
    later = write_job(root, "b-lid")
    found = {entry.path: entry.name for entry in Home(root).entries()}
    assert found == {root / "b" / "lid.toml": "b-lid", later: "b-lid-2"}
    for path in (root / "b").iterdir():
        path.unlink()
    assert {entry.name for entry in Home(root).entries()} == {"b-lid-2"}
    (tmp_path / "home-plans" / ".names.json").write_text('{"b-lid.toml": "../elsewhere"}')
    assert [entry.name for entry in Home(root).entries()] == ["b-lid"]
