"""A revision ends: told on the desk, seen on the floor, its half-made pieces settled by name, and taken back."""

from __future__ import annotations

import io
import re
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pypdf
import pytest
from changed_home import DAY, changed_home, old_plan, touching_op2
from desk.errands_here import done_at_once
from fastapi.testclient import TestClient
from floor_home import MILL, Floor, copied
from sound_page import sound

from proveout.desk.app import desk_app
from proveout.desk.page import Desk
from proveout.jobs import errands
from proveout.jobs.changes import hold
from proveout.jobs.signed import Signed
from proveout.model.batch import Batch
from proveout.model.change_events import RevisionEnds
from proveout.model.stock_events import StockPut

OWN = "http://127.0.0.1:8417"
HERE = ("127.0.0.1", 50_000)
BEFORE, ON = date(2027, 3, 19), date(2027, 3, 20)
WHY = "the slot gets deeper"
GOOD = {"what": "counted", "step": "op1", "good_count": 1}
BAD = {"what": "counted", "step": "op1", "bad": [{"reason": "dropped", "count": 1}]}


class Day:
    """The day of the desk, that a test sets."""

    def __init__(self) -> None:
        self.now = BEFORE

    def __call__(self) -> date:
        return self.now


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    return changed_home(tmp_path_factory.mktemp("made"))


@pytest.fixture
def day() -> Day:
    return Day()


@pytest.fixture
def client(made: Floor, tmp_path: Path, day: Day, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    app = desk_app(copied(made, tmp_path).home, today=day)
    found = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=HERE, raise_server_exceptions=False)
    yield found
    app.state.desk.close()


def desk(client: TestClient) -> Desk:
    app: Any = client.app
    found: Desk = app.state.desk
    return found


def batch(client: TestClient, name: str = "B1") -> Batch:
    found = desk(client).records.batch(name)
    assert found is not None
    return found


def send(client: TestClient, path: str, **fields: str) -> str:
    """A form sent, and the page that it leads to."""
    answer = client.post(path, data={"person": "Mara Lind", "event": "", **fields})
    assert answer.status_code == 200, answer.text
    sound(answer.text)
    return answer.text


def noted(client: TestClient) -> str:
    """The change, told by a form; its id."""
    part = old_plan(Floor(desk(client).home)).part.number
    fields = {"part": part, "ends": "B", "begins": "C", "from_day": DAY, "why": WHY, "person": "Mara Lind"}
    answer = client.post("/changes", data={"event": "", **fields}, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].removeprefix("/changes/")


def tap(client: TestClient, of: dict[str, Any], *, at: datetime | None = None, name: str = "B1") -> Any:
    """One event of the mill, made on the day before the change holds."""
    moment = at or datetime(2027, 3, 19, 9, 0, tzinfo=UTC)
    told = {"id": str(uuid.uuid4()), "at": moment.isoformat(), "person": "jon", "station": MILL, "batch": name}
    return client.post("/floor/events", json=told | {"of": of})


def counted(client: TestClient, of: dict[str, Any]) -> None:
    """First-off readings aside, which are not what these tests are about."""
    for mark, value in (("1", 20.06), ("2", 12.0)):
        read = {"what": "reading taken", "step": "op1", "mark": mark, "value": value, "piece": "1"}
        assert tap(client, read).status_code == 200
    assert tap(client, of).status_code == 200


def test_from_its_day_on_no_piece_of_the_old_revision_goes_on_at_the_floor(client: TestClient, day: Day) -> None:
    id = noted(client)
    counted(client, GOOD)
    day.now = ON
    refused = tap(client, GOOD)
    assert refused.status_code == 409
    said = refused.json()
    assert said["what"] == f"Revision B ended on {DAY}, C holds: {WHY}"
    assert "the office says at the change" in said["do"]
    start = tap(client, {"what": "started", "step": "op2"})
    assert (start.status_code, start.json()["what"]) == (409, said["what"])
    assert tap(client, BAD).status_code == 200  # what is lost is written as it happened
    assert tap(client, {"what": "stopped", "step": "op1", "why": "revision ended", "told": "office"}).status_code == 200
    assert f"/changes/{id}" in client.get("/batches/B1").text
    assert "Not started any more" in client.get(f"/floor/{MILL}/op2/B1").text
    assert tap(client, {"what": "started", "step": "saw"}, name="C1").json()["what"] != said["what"]


def test_the_later_of_the_tap_and_its_coming_counts(client: TestClient) -> None:
    """A tablet's clock that is slow lets nothing pass, nor one that sends today what it did after the day began."""
    noted(client)
    late = tap(client, GOOD, at=datetime(2027, 3, 21, 9, 0, tzinfo=UTC))
    assert (late.status_code, "ended on" in late.text) == (409, True)


def test_pieces_that_are_used_as_they_are_go_on_and_no_more(client: TestClient, day: Day) -> None:
    id = noted(client)
    day.now = ON
    page = send(client, f"/changes/{id}/pieces", batch="B1", step="op2", count="3", fate="use as they are",
                why="the customer takes three of them")  # fmt: skip
    assert "3 use as they are" in page
    told = client.get(f"/floor/{MILL}/op2/B1").text
    assert "Carry on with 3, no more" in told
    start = tap(client, {"what": "started", "step": "op2"})
    assert "ended on" not in start.text, "the set-up alone stands in the way"
    assert "ended on" in tap(client, GOOD).text  # of those at op1 nobody said anything
    assert batch(client).steps[2].kept_count == 3


def test_pieces_go_on_only_where_the_new_plan_has_the_same_up_to_there(client: TestClient) -> None:
    id = noted(client)
    page = client.get(f"/changes/{id}").text
    sound(page)
    assert "The plan of revision C has the same up to here: blank, moves, cutters, limits. They go on with op2." in page
    send(client, f"/changes/{id}/pieces", batch="B1", step="op2", count="4", fate="go on in another batch",
         to_batch="C1", why="op1 is the same in both")  # fmt: skip
    left, gone = batch(client).steps[2], batch(client, "C1").steps[2]
    assert (left.waiting_count, left.taken_count) == (1, 4)
    assert (gone.waiting_count, gone.brought_count) == (4, 4)
    assert batch(client, "C1").heats == ("H77",)
    assert "4 taken out, their revision ends" in client.get("/batches/B1").text


def test_what_a_form_says_wrong_is_told_and_nothing_is_written(client: TestClient) -> None:
    id = noted(client)
    wrong = (
        ({"count": "6"}, "More pieces than wait here undecided"), ({"fate": ""}, "Nothing was chosen"),
        ({"why": "ok"}, "A written reason is needed"), ({"fate": "go on in another batch"}, "need another batch"),
        ({"step": "saw", "fate": "scrap", "count": "1"}, "More pieces|nobody made"),
        ({"fate": "go on in another batch", "to_batch": "B1"}, "only in a batch of the new revision"),
    )  # fmt: skip
    for fields, words in wrong:
        given = {"batch": "B1", "step": "op2", "count": "1", "fate": "scrap", "why": "nobody wants them"} | fields
        answer = client.post(f"/changes/{id}/pieces", data={"person": "Mara", "event": "", **given})
        assert (answer.status_code, bool(re.search(words, answer.text))) == (400, True), fields
    assert batch(client).steps[2].taken_count == 0


def test_what_was_said_of_pieces_is_corrected_and_they_wait_again(client: TestClient) -> None:
    id = noted(client)
    send(client, f"/changes/{id}/pieces", batch="B1", step="op2", count="5", fate="scrap", why="nobody wants them")
    assert batch(client).steps[2].taken_count == 5
    said = re.search(r'<option value="([0-9a-f-]{36})">op2: 5 scrap', client.get(f"/changes/{id}").text)
    assert said is not None
    send(client, f"/changes/{id}/unsay", batch="B1", wrong=said[1], why="the customer called")
    assert (batch(client).steps[2].taken_count, batch(client).steps[2].waiting_count) == (0, 5)


def test_its_day_is_corrected_and_the_change_is_taken_back_by_events(client: TestClient, day: Day) -> None:
    id = noted(client)
    day.now = ON
    page = send(client, f"/changes/{id}/day", from_day="2027-04-01", why="typed the wrong month")
    assert "holds from 2027-04-01" in page
    counted(client, GOOD)
    day.now = date(2027, 4, 1)
    assert tap(client, GOOD).status_code == 409
    page = send(client, f"/changes/{id}/stays", why="the change comes with D")
    assert "Taken back." in page
    assert tap(client, GOOD).status_code == 200
    assert "taken back" in client.get("/changes").text
    kinds = [event.kind for _, event in desk(client).records.events(batch="")]
    assert kinds[-3:] == ["revision ends", "corrected", "revision stays"]


def test_the_change_shows_what_is_in_the_pieces_and_what_the_solid_touches(client: TestClient) -> None:
    """Worked: op1 takes 30 + 60 + 10 s of passes and 30 s of loading a piece; five pieces are through it and wait."""
    id = noted(client)
    place = desk(client).home.place("@B1")
    assert "Hold the new solid against the packet of a batch" in client.get(f"/changes/{id}").text
    hold(desk(client).home, desk(client).records, place, touching_op2(place.plan), solid="ab" * 32,
         signed=Signed(person="Mara"))  # fmt: skip
    page = client.get(f"/changes/{id}").text
    sound(page)
    assert "Steps that make or grip what changed: <strong>op2</strong>" in page
    assert "setup sheet and loading card of op2" in page
    assert "op2: 5 wait" in page
    assert "<dd>at least 2:10</dd>" in page  # what the saw takes is not in this plan
    assert "at least 10:50, at least" in page


def test_the_page_to_collect_them_says_where_they_are(client: TestClient) -> None:
    id = noted(client)
    send(client, f"/changes/{id}/pieces", batch="B1", step="op2", count="2", fate="use as they are", why="wanted so 2")
    answer = client.get(f"/changes/{id}/collect.pdf")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    reader = pypdf.PdfReader(io.BytesIO(answer.content))
    assert len(reader.pages) == 1
    text = "".join(reader.pages[0].extract_text().split())
    for words in ("From2027-03-20revisionCholds", f"op2:at{MILL}", f"op1:at{MILL}", "saw,op1", "2usedastheyare",
                  "3:leavethem:theofficesays"):  # fmt: skip
        assert words in text, words


def test_a_change_is_told_once_and_by_somebody(client: TestClient) -> None:
    id = noted(client)
    part = old_plan(Floor(desk(client).home)).part.number
    fields = {"part": part, "ends": "B", "begins": "D", "from_day": DAY, "why": WHY, "person": "Jon", "event": ""}
    again = client.post("/changes", data=fields)
    assert (again.status_code, "A change ends this revision already" in again.text) == (400, True)
    for wrong in (
        {"from_day": "20.3.2027"},
        {"ends": "C", "begins": "C"},
        {"person": ""},
        {"begins": "B", "ends": "A"},
    ):
        assert client.post("/changes", data=fields | wrong).status_code == 400, wrong
    told = [event.of for _, event in desk(client).records.events(batch="") if isinstance(event.of, RevisionEnds)]
    assert len(told) == 1
    assert client.get(f"/changes/{uuid.uuid4()}").status_code == 400
    assert client.get(f"/changes/{id}").status_code == 200


def test_what_a_new_solid_touches_is_kept_from_its_page_and_notes_the_change(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One form: the change is noted, and what was found is kept with it; sent again it writes nothing more."""
    done_at_once(monkeypatch)
    home = desk(client).home
    place = home.place("@B1")
    monkeypatch.setattr(errands, "revise", lambda *_, **__: touching_op2(place.plan))
    (home.root / "deeper.step").write_text("never read", encoding="ascii")
    where = client.post("/parts/@B1/revision", data={"chosen": "deeper.step"}, follow_redirects=False)
    found = where.headers["location"]
    page = client.get(found).text
    sound(page)
    assert "Nobody has said yet that revision B" in page
    fields = {"begins": "C", "from_day": DAY, "why": WHY, "person": "Mara Lind", "event": str(uuid.uuid4())}
    wrong = client.post(f"{found}/keep", data=fields | {"from_day": "tomorrow", "event": ""})
    assert (wrong.status_code, "A day is needed" in wrong.text) == (400, True)
    for _ in range(2):
        kept = client.post(f"{found}/keep", data=fields, follow_redirects=False)
        assert kept.status_code == 303, kept.text
    page = client.get(kept.headers["location"]).text
    sound(page)
    assert "The new solid against the plan of B1" in page
    assert "1 surface is not as planned" in page
    assert "the change" in client.get(found).text
    kinds = [event.kind for _, event in desk(client).records.events(batch="")]
    assert kinds[-2:] == ["revision ends", "solid held"]
    assert kinds.count("solid held") == 1


def test_pieces_in_stock_are_said_of_by_name_and_undecided_again_once_that_was_wrong(client: TestClient) -> None:
    records, part = desk(client).records, old_plan(Floor(desk(client).home)).part.number
    put = StockPut(item="P-1", sort="coated part", name="body", count=6, place="shelf 3", part=part, revision="B")
    records.post(Signed(person="Mara Lind").says(put))
    id = noted(client)
    assert "undecided</dt><dd>6</dd>" in client.get(f"/changes/{id}").text
    form = {"item": "P-1", "place": "shelf 3", "count": "4", "fate": "set aside", "why": "the new slot is deeper"}
    text = send(client, f"/changes/{id}/stock", **form)
    assert "What was said of pieces in stock" in text
    assert "How many of 2" in text
    assert client.post(f"/changes/{id}/stock", data={"person": "Mara Lind", **form}).status_code == 400
    told = re.search(r'<option value="([0-9a-f-]{36})">P-1, shelf 3: 4 set aside', text)
    assert told is not None
    take = {"item": "P-1", "count": "3", "place": "shelf 3", "way": "used", "why": "order 9", "person": "Mara Lind"}
    assert "The rest is set aside" in client.post("/stock/take", data=take | {"event": ""}).text
    assert "How many of 6" in send(client, f"/changes/{id}/unsay-stock", wrong=told[1], why="it was the other shelf")
    assert (
        client.post(f"/changes/{id}/unsay-stock", data={"wrong": "none", "why": "x", "person": "M"}).status_code == 400
    )
    send(client, f"/changes/{id}/stays", why="the change comes next year")
    assert client.post(f"/changes/{id}/stock", data={"person": "Mara Lind", **form}).status_code == 400
    assert records.rows("stock", item="P-1")[0]["aside_count"] == 0
