"""The pages of what closed batches teach: a close-out as the paper has it, and lessons answered by name."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import run_batches
from fastapi.testclient import TestClient

from proveout.cli.main import main
from proveout.desk.app import desk_app
from proveout.intake.shop_file import read_shop
from proveout.jobs.home import Home
from proveout.jobs.records import records_of_home
from proveout.jobs.running_again import Again, ChangedKey, EdgeNow
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.records.records import Records

OWN = "http://127.0.0.1:8417"
SLOW = {"c1_s": 150.0, "second_s": 60.0, "edges_s": 70.0}


@pytest.fixture(scope="module")
def run_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home whose three batches are over."""
    folder = tmp_path_factory.mktemp("run")
    (folder / "home").mkdir()
    home = Home(folder / "home")
    (home.root / "shop.toml").write_bytes(run_batches.worked_home.SHOP_FILE.read_bytes())
    run_batches.write_plans(home.plans)
    run_batches.run_records(Path(str(records_of_home(home))), [SLOW] * 3).close()
    return folder


@pytest.fixture
def client(run_home: Path, tmp_path: Path) -> Iterator[TestClient]:
    """A desk over a copy of it."""
    for name in ("home", "home-plans"):
        shutil.copytree(run_home / name, tmp_path / name)
    home = Home(tmp_path / "home")
    app = desk_app(home)
    with TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5)) as found:
        yield found
    app.state.desk.close()


def offer(client: TestClient, key: str) -> dict[str, str]:
    """The form that answers a key, as the page has it."""
    text = client.get("/lessons").text
    found = re.search(rf'name="key" value="{re.escape(key)}"><input type="hidden" name="offered" value="(\w+)"', text)
    assert found is not None, key
    return {"key": key, "offered": found[1], "person": "Mara Lind"}


def test_a_close_out_shows_what_the_verb_prints(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    records = records_of_home(desk.home)
    assert main(["close-out", "B0", "--records", str(records), "--plans", str(desk.home.plans)]) == 0
    printed = capsys.readouterr().out.splitlines()
    answer = client.get("/batches/B0/close-out")
    assert answer.status_code == 200
    said = html.unescape(re.sub(r"<[^>]+>", " ", answer.text))
    cells = [re.split(r"\s{2,}", line.strip()) for line in printed[2:] if line.startswith("  ")]
    assert len(cells) > 10
    missing = [cell for row in cells for cell in row if cell not in said]
    assert missing == []
    assert printed[1] in said
    paper = client.get("/batches/B0/close-out.pdf")
    assert paper.content.startswith(b"%PDF-")
    assert client.get("/batches/none/close-out").status_code == 400


def test_a_batch_once_more_says_what_the_verb_prints(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """The edges, what changed and the verdict; the packet itself is another test's."""
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    told = Again(
        batch="B0", part="EX-1", revision="A", packet="@B0", papers_count=9, good_count=20, bad_count=1,
        is_same_solid=False, keys=(ChangedKey(file="shop", key="bench.deburr_s", was="60", now="70"),),
        learned=("bench.deburr",), may_run_as_is=False,
        edges=(EdgeNow(machine="mill-3", cutter="EM12", left_s=600.0, needed_s=1200.0, is_enough=False),),
    )  # fmt: skip
    monkeypatch.setattr("proveout.desk.lessons.run_again", lambda *_: told)
    monkeypatch.setattr("proveout.jobs.running_again.run_again", lambda *_: told)
    text = html.unescape(client.get("/batches/B0/again").text)
    capsys.readouterr()
    main(["again", "B0", "--home", str(desk.home.root)])
    printed = capsys.readouterr().out
    for line in (
        "shop bench.deburr_s: 60 -> 70",
        "taken over from batches since: bench.deburr",
        "EM12 on mill-3: 10 min left, 20 min needed at most TOO LITTLE",
        "Plan it again before it is run.",
    ):
        assert line in text
        assert line in printed
    assert "has CHANGED" in text


def test_a_lesson_is_accepted_by_name_and_written_with_comments_kept(client: TestClient) -> None:
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    path = desk.home.shop_path
    before = path.read_text(encoding="utf-8")
    page = client.get("/lessons").text
    assert "3 batches are over" in page
    assert "55 (30 to 110)" in page
    assert "minutes at steps" in page
    assert "pull tests alone" in page
    form = offer(client, "bench.deburr")
    nobody = client.post("/lessons/accept", data=form | {"person": " "})
    assert nobody.status_code == 400
    assert "answers for it" in nobody.text
    assert path.read_text(encoding="utf-8") == before
    assert client.post("/lessons/accept", data=form, follow_redirects=False).status_code == 303
    after = path.read_text(encoding="utf-8")
    assert [line for line in before.splitlines() if "#" in line and line not in after] == []
    assert read_shop(path).bench.deburr_s.strength == "measured here"
    (said,) = [event for _, event in desk.records.events(batch="") if isinstance(event.of, ValueAccepted)
               and event.of.key == "bench.deburr"]  # fmt: skip
    assert said.person == "Mara Lind"
    assert 'value="bench.deburr"' not in client.get("/lessons").text
    assert client.post("/lessons/accept", data=form).status_code == 400  # the same offer stands no more


def test_what_is_declined_is_told_with_name_and_reason_and_offered_no_more(client: TestClient) -> None:
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    before = desk.home.shop_path.read_bytes()
    form = offer(client, "scrap")
    assert client.post("/lessons/decline", data=form).status_code == 400  # nobody said why
    done = client.post("/lessons/decline", data=form | {"why": "one odd batch <b>"}, follow_redirects=False)
    assert done.status_code == 303
    page = client.get("/lessons").text
    assert 'value="scrap"' not in page
    assert "Mara Lind:</strong> one odd batch &lt;b&gt;" in page
    assert desk.home.shop_path.read_bytes() == before
    assert [event.of.why for _, event in desk.records.events(batch="") if isinstance(event.of, ValueDeclined)] == [
        "one odd batch <b>"
    ]


def test_an_offer_that_changed_meanwhile_is_not_what_was_answered(client: TestClient) -> None:
    form = offer(client, "bench.deburr")
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    with Records(str(records_of_home(desk.home))) as records:
        run_batches.Run(records.post, "B9", number=9).whole(c1_s=150.0, second_s=60.0, edges_s=70.0)
    answer = client.post("/lessons/accept", data=form)
    assert answer.status_code == 400
    assert "Something else is proposed by now" in answer.text
    assert "style=" not in answer.text
