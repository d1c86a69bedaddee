"""Pages of an entry and of its tasks: what was typed comes back, progress is told, the end leads on."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec
import pytest
from desk.homes import STEP, desk_behind, write_job, write_plan
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.desk.lasting import at_words
from proveout.desk.lengths import COOKIE
from proveout.intake.starting_shop import starting_shop_text
from proveout.jobs import glances as glances_module
from proveout.jobs import tasks as tasks_module
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.home import Home
from proveout.jobs.processes import birth_of
from proveout.jobs.told_lines import TELL, LinesTeller
from proveout.quantities.errors import Unreadable

OWN = "http://127.0.0.1:8417"
BEGUN: list[tuple[str, ...]] = []


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    """A design; plans of it are stood in for by a process that ends at once, once it has told what `told` says."""
    BEGUN.clear()

    def begin(
        arguments: Sequence[str], *, out: Path, said: Path, surroundings: Mapping[str, str], is_lasting: bool
    ) -> subprocess.Popen[bytes]:  # fmt: skip
        assert is_lasting
        assert out.parent.name == "home-plans"
        said.touch()
        BEGUN.append(tuple(arguments))
        teller = LinesTeller(Path(surroundings[TELL]))
        teller.tell("reading", "lid.step", 0.0)
        teller.look([("Bar", "flat <40 x 20>"), ("", "Rough only")])
        if "--fresh" in arguments:
            teller.end(2, "The job names no alloy; do: <name> one")
        elif "--quantity" in arguments:
            write_plan(out, job=tmp_path / "home" / "lid" / "lid.toml", step=tmp_path / "home" / "lid" / "lid.step",
                       shop_text=starting_shop_text(), ready=True)  # fmt: skip
            teller.end(0, "")
        return subprocess.Popen([sys.executable, "-S", "-c", ""])

    def unread(path: Path, **_: object) -> None:
        raise Unreadable("No solid is in this file", where=path.name)

    monkeypatch.setattr(tasks_module, "begin_plan", begin)
    monkeypatch.setattr(glances_module, "read_solid", unread)
    write_job(tmp_path / "home" / "lid", "lid")
    return Home(tmp_path / "home")


@pytest.fixture
def client(home: Home) -> TestClient:
    return TestClient(desk_app(home), base_url=OWN, headers={"origin": OWN}, raise_server_exceptions=False)


def ended(client: TestClient, id: str) -> None:
    desk = desk_behind(client)
    assert not desk.tasks.wait(id, most_s=10.0).is_open


@pytest.mark.parametrize(
    "typed",
    [
        {"quantity": "many"},
        {"quantity": "0"},
        {"quantity": "1000001"},
        {"quantity": "9" * 5000},
        {"quantity": "٣"},
        {"start": "2027-02-30"},
        {"minutes": "-5"},
        {"minutes": "1.5"},
    ],
)
def test_what_cannot_be_meant_comes_back_as_it_was_typed(client: TestClient, typed: dict[str, str]) -> None:
    answer = client.post("/entries/lid/plan", data={**typed, "fresh": "yes"})
    assert answer.status_code == 400
    assert f'value="{next(iter(typed.values()))}"' in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert " checked" in answer.text
    assert BEGUN == []


def test_what_is_typed_reaches_the_plan_and_the_end_leads_to_the_route(home: Home, client: TestClient) -> None:
    typed = {"quantity": " 20 ", "start": "2027-03-01", "minutes": "3"}
    answer = client.post("/entries/lid/plan", data=typed, follow_redirects=False)
    assert answer.headers["location"] == "/tasks/lid-1"
    ended(client, "lid-1")
    job = str(home.root / "lid" / "lid.toml")
    assert [(job, "--quantity", "20", "--start", "2027-03-01", "--time-limit", "180")] == BEGUN
    text = client.get("/tasks/lid-1").text
    assert 'href="/parts/lid"' in text
    assert "flat &lt;40 x 20&gt;" in text
    state = client.get("/tasks/lid-1/state").json()
    assert (state["open"], state["said"]) == (False, "Plan lid: ready")
    assert "reading" in state["html"]


def test_a_shop_file_is_planned_for_when_there_is_one(home: Home, client: TestClient) -> None:
    home.shop_path.write_text(starting_shop_text())
    client.post("/entries/lid/plan")
    assert [(str(home.root / "lid" / "lid.toml"), "--shop", str(home.shop_path))] == BEGUN


def test_a_refused_plan_says_its_sentence_and_can_be_asked_for_again(client: TestClient) -> None:
    client.post("/entries/lid/plan", data={"fresh": "yes"})
    ended(client, "lid-1")
    for path in ("/tasks/lid-1", "/work", "/entries/lid", "/"):
        assert "The job names no alloy; do: &lt;name&gt; one" in client.get(path).text, path
    answer = client.post("/tasks/lid-1/again", follow_redirects=False)
    assert answer.headers["location"] == "/tasks/lid-2"
    assert BEGUN[0] == BEGUN[1]


def test_a_page_of_nothing_is_one_plain_sentence(client: TestClient) -> None:
    for path in (
        "/tasks/no-1",
        "/tasks/..%2f..%2fx",
        "/tasks/no-1/state",
        "/entries/none",
        "/entries/none/drawing.svg",
    ):
        answer = client.get(path)
        assert answer.status_code in (400, 404), path
    assert client.post("/tasks/no-1/cancel").status_code == 400
    assert "There is no such task" in client.get("/tasks/no-1").text


def test_a_solid_alone_is_offered_a_job_file(home: Home, client: TestClient) -> None:
    (home.root / "bare.step").write_text(STEP)
    text = client.get("/entries/bare").text
    assert "The solid is being read" in text
    desk = desk_behind(client)
    desk.glances.settle()
    assert "No solid is in this file; where: bare.step" in client.get("/entries/bare").text
    assert client.post("/entries/lid/draft").status_code == 400


def test_an_order_has_no_number_of_pieces(home: Home, client: TestClient) -> None:
    (home.root / "both.toml").write_text('name = "Both"\n[[item]]\njob = "lid/lid.toml"\nquantity = 3\n')
    assert 'name="quantity"' not in client.get("/entries/both").text
    answer = client.post("/entries/both/plan", data={"quantity": "4"})
    assert answer.status_code == 400
    assert "write it into the order file" in answer.text


def test_an_errand_is_told_in_its_own_words(client: TestClient) -> None:
    """What is no plan is not planned again, and what it has done is not left half-done in the list."""
    desk = desk_behind(client)
    folder = desk.tasks.folder
    folder.mkdir(parents=True)
    task = BackgroundTask(
        id="try-2", subject="try on lid", title="Try", arguments=(), out="", kind="try", page="/parts/lid/tries/1",
        state="done", asked_at="2026-01-05T08:00:00+00:00",
    )  # fmt: skip
    (folder / "try-2.json").write_bytes(msgspec.json.encode(task))
    LinesTeller(folder / "try-2.lines").tell("passes", "", 0.0)
    done = client.get("/tasks/try-2").text
    assert "Begin it again" in done
    assert "Plan it again" not in done
    assert "<td>done</td>" in done
    assert "The plan goes on" not in done


def test_how_long_it_takes_is_told_by_the_last_plan_or_not_at_all(client: TestClient) -> None:
    """Before the first plan nothing is known; a later one is told by the last, stage by stage, and what is left."""
    unknown = "How long a plan takes is not known yet: none that this desk began of it has come to its end."
    assert unknown in client.get("/entries/lid").text
    desk = desk_behind(client)
    folder = desk.tasks.folder
    folder.mkdir(parents=True, exist_ok=True)
    of_plan = BackgroundTask(
        id="lid-1", subject="lid", title="Plan lid", arguments=(), out="", state="ready",
        asked_at="2026-01-05T08:00:00+00:00", begun_at="2026-01-05T08:00:00+00:00",
        ended_at="2026-01-05T08:03:05+00:00",
    )  # fmt: skip
    begun = (datetime.now(UTC) - timedelta(seconds=60)).isoformat()
    under_way = BackgroundTask(
        id="lid-2", subject="lid", title="Plan lid", arguments=(), out="", state="under way", asked_at=begun,
        begun_at=begun, pid=os.getpid(), birth=birth_of(os.getpid()),
    )  # fmt: skip
    (folder / "lid-1.json").write_bytes(msgspec.json.encode(of_plan))
    assert "Its last plan took 3:05 min, on 2026-01-05." in client.get("/entries/lid").text
    (folder / "lid-2.json").write_bytes(msgspec.json.encode(under_way))
    line = '{"type":"stage","stage":"%s","text":"","share":0.0,"at_s":%d}\n'
    told = "".join(line % one for one in (("reading", 0), ("passes", 5), ("loads", 125)))
    (folder / "lid-1.lines").write_text(told + '{"type":"end","status":0,"said":"","at_s":185}\n')
    (folder / "lid-2.lines").write_text("".join(line % one for one in (("reading", 0), ("passes", 3))))
    text = client.get("/tasks/lid-2").text
    assert re.search(r"Under way for 1:0\d min\. Its last plan took 3:05 min, on 2026-01-05\.", text)
    assert "By that about 3 min are left; stored decisions make it shorter, changed files longer." in text
    assert '<th scope="row">loads</th><td>to come</td><td></td><td class="n">-</td><td class="n">1:00</td>' in text
    assert re.search(r"Its last plan took 3:05 min", client.get("/work").text)
    look = '{"type":"look","rows":[["Bar","63.50 mm sawn off"]]}\n'
    (folder / "lid-1.lines").write_text(told + look + '{"type":"end","status":0,"said":"","at_s":185}\n')
    ended = client.get("/tasks/lid-1").text
    assert "63.50 mm sawn off" in ended
    in_inches = client.get("/tasks/lid-1", headers={"cookie": f"{COOKIE}=in"}).text
    assert "2.5000 in sawn off" in in_inches
    assert "mm sawn off" not in in_inches
    assert "It took 3:05 min." in ended
    assert "last time" not in ended


@pytest.mark.parametrize(
    ("told", "shown"),
    [
        ("c1-z+ a0.000-c0.000", "op 1"), ("c3-y- the raw blank of EX-9", "op 3 the raw blank of EX-9"),
        ("2 x c1-z+", "2 x op 1"),
        ("c1-z+/a0.000-c0.000/EM16/face", ""), ("line 980", "line 980"), ("", ""),
    ],
)  # fmt: skip
def test_what_a_stage_is_at_is_told_by_operations(told: str, shown: str) -> None:
    """Ids of clampings and tilts say nothing to whoever waits."""
    assert at_words(told) == shown
