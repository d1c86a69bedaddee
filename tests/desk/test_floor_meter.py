"""A spindle's meter read at a mill: offered where a cut is steady, kept as an event, shown, counted as nothing."""

from __future__ import annotations

import html
import re
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import worked_home
from fastapi.testclient import TestClient
from floor_home import MILL, Floor, copied, floor_home

from proveout.desk.app import desk_app
from proveout.jobs.floor_taps import MAY
from proveout.model.batch_events import Done, Started
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.stock_events import Sawn

OWN = "http://127.0.0.1:8417"
ROUGH, FLOOR, _, BELOW = (one.id for one in worked_home.passes())
READ = {"what": "spindle meter read", "step": "op1", "cut": ROUGH, "load": 31, "idle": 6.5, "unit": "%", "edge": "used"}
PAGE = f"/floor/{MILL}/op1/B1"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    """A batch whose blanks wait at the mill, and one pass of it in which a meter can be read."""
    floor = floor_home(tmp_path_factory.mktemp("made"),
                       pushes=(worked_home.steady_push(ROUGH), worked_home.steady_push(FLOOR, None)))  # fmt: skip
    floor.post(Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1,
                                         good_count=8), Done(step="saw"))  # fmt: skip
    return floor


@pytest.fixture
def floor(made: Floor, tmp_path: Path) -> Floor:
    return copied(made, tmp_path)


@pytest.fixture
def client(floor: Floor) -> Iterator[TestClient]:
    floor.post(Started(step="op1"))
    app = desk_app(floor.home)
    found = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5), follow_redirects=False)
    found.cookies.set("proveout-person", "Mara")
    yield found
    app.state.desk.close()


def post(client: TestClient, **changed: Any) -> Any:
    body = {"id": str(uuid.uuid4()), "at": datetime.now(UTC).isoformat(), "person": "Mara", "station": MILL,
            "batch": "B1", "of": READ | changed}  # fmt: skip
    return client.post("/floor/events", json=body)


def test_a_reading_is_kept_and_counts_as_nothing(client: TestClient) -> None:
    records = client.app.state.desk.records  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    before = records.batch("B1")
    assert post(client).status_code == 200
    assert post(client, unit="kW", load=2.4, idle=0.5, smallest=0.1, edge_min=35.5).status_code == 200
    assert records.batch("B1") == before
    assert records.rows("readings", batch="B1") == []
    read = [event.of for _, event in records.events(batch="B1") if isinstance(event.of, SpindleMeterRead)]
    assert [(one.load, one.unit, one.edge_min, one.feed_percent) for one in read] == [
        (31.0, "%", None, 100.0), (2.4, "kW", 35.5, 100.0),
    ]  # fmt: skip
    page = html.unescape(client.get("/batches/B1").text)
    table = page[page.index("Spindle meters read") : page.index("What happened")]
    assert all(words in table for words in (ROUGH, "31 %", "6.5 %", "2.4 kW", "used, 35.5 min", "Mara"))


@pytest.mark.parametrize(
    ("changed", "status", "words"),
    [
        ({"cut": FLOOR}, 409, "no cut is steady"), ({"cut": BELOW}, 409, "no cut is steady"),
        ({"cut": "none"}, 409, ROUGH), ({"step": "bench"}, 409, "Only a mill"),
        ({"step": "none"}, 409, "no such step"), ({"load": 6.5}, 422, "above idle"), ({"unit": "hp"}, 422, "hp"),
        ({"edge": "fine"}, 422, "fine"), ({"feed_percent": 0}, 422, "such a feed"),
    ],
)  # fmt: skip
def test_a_reading_that_cannot_be_is_refused(
    client: TestClient, changed: dict[str, Any], status: int, words: str
) -> None:
    answer = post(client, **changed)
    assert answer.status_code == status
    assert words in " ".join(str(value) for value in answer.json().values())


def test_the_form_offers_the_steady_pass_and_posts_without_a_script(client: TestClient) -> None:
    page = client.get(PAGE).text
    form = page[page.index('id="meter"') :]
    form = form[: form.index("</form>")]
    offered = re.findall(r'<option value="([^"]+)">([^<]*)', form)
    assert [html.unescape(value) for value, _ in offered if "/" in value] == [ROUGH]
    assert "4.00 mm wide, 3.00 mm deep" in form
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
    typed = {name: html.unescape(value) for name, value in hidden.items()} | {
        "of.cut": ROUGH, "of.unit": "kW", "of.load": "2,35", "of.idle": "0,5", "of.smallest": "", "of.edge": "sharp",
        "of.edge_min": "", "of.feed_percent": "90", "of.speed_percent": "100",
    }  # fmt: skip
    assert client.post("/floor/taps", data=typed).status_code == 303
    records = client.app.state.desk.records  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    assert records.events(batch="B1")[-1][1].of == SpindleMeterRead(
        step="op1", cut=ROUGH, load=2.35, idle=0.5, feed_percent=90.0
    )


def test_no_form_stands_where_nothing_can_be_read_or_nothing_is_begun(made: Floor, tmp_path: Path) -> None:
    """Before the step is started; and at a plan that was written before plans knew steady cuts."""
    (tmp_path / "b").mkdir()
    for floor in (copied(made, tmp_path / "a"), floor_home(tmp_path / "b")):
        if floor.home.root.is_relative_to(tmp_path / "b"):
            floor.post(Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1,
                                                 good_count=8), Done(step="saw"), Started(step="op1"))  # fmt: skip
        app = desk_app(floor.home)
        with TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5)) as client:
            page = client.get(PAGE)
            assert page.status_code == 200
            assert 'id="meter"' not in page.text
            assert post(client).status_code == 409
        app.state.desk.close()


def test_whoever_works_on_the_floor_may_write_it() -> None:
    assert all(SpindleMeterRead in kinds for kinds in MAY.values())


def test_what_did_not_happen_is_shown_no_more(client: TestClient) -> None:
    post(client)
    records = client.app.state.desk.records  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    (event,) = [one for _, one in records.events(batch="B1") if isinstance(one.of, SpindleMeterRead)]
    answer = client.post(
        "/batches/B1/correct", data={"wrong": event.id, "why": "the other spindle", "person": "Mara", "event":
                                     str(uuid.uuid4())}
    )  # fmt: skip
    assert answer.status_code == 303
    page = client.get("/batches/B1").text
    assert "Spindle meters read" not in page
    assert "did not happen" in page
