"""The page of a batch's readings: charts, advice, and from there to the machine."""

from __future__ import annotations

import html
import re
import uuid
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
import runnable_home
from fastapi.testclient import TestClient

from proveout.books.first_piece import FIRST_PIECE
from proveout.desk import floor_step
from proveout.desk.app import desk_app
from proveout.jobs.releasing import waive
from proveout.jobs.signed import Signed
from proveout.model.batch_events import Counted, ReadingTaken, Started
from proveout.model.plan import Plan
from proveout.model.stock_events import BarReceived, Sawn

OWN = "http://127.0.0.1:8417"
ANSWER = ("of.what", "of.step", "of.advice")


def faced_plan() -> Plan:
    """The example with one size: a height whose upper face the first pass faces."""
    plan = runnable_home.ready_plan()
    first = msgspec.structs.replace(plan.passes[0], kind="face", face_ids=("plane +z 12.000 #aaaaaa",))
    sizes = tuple(
        msgspec.structs.replace(
            one,
            kind="length",
            is_inside=False,
            is_step=False,
            face_ids=first.face_ids,
            text=next(line.text for line in plan.inspection if line.balloon == one.balloon),
        )
        for one in plan.finishing.windows
    )
    return msgspec.structs.replace(
        plan, passes=(first,), finishing=msgspec.structs.replace(plan.finishing, windows=sizes)
    )  # fmt: skip


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A desk with one released batch whose first size was read at the first clamping."""
    runnable_home.with_quick_papers(monkeypatch)
    monkeypatch.setattr(floor_step, "assumed_of", lambda *_: ())  # the example's shop has no mill of its plan
    home = runnable_home.runnable_home(tmp_path, faced_plan())
    monkeypatch.setenv("PROVEOUT_RECORDS", str(tmp_path / "r.sqlite"))
    app = desk_app(home)
    records = app.state.desk.records
    batch = runnable_home.released(home, records)
    marks = {one.mark for one in faced_plan().finishing.windows}
    saw = batch.steps[0]
    check = next(one for one in batch.checks if one.unit == "mm" and one.step != "inspection" and one.mark in marks)
    mill = next(one for one in batch.steps if one.id == check.step)
    by_saw, by_mill = (Signed(person="mara", station=one.station) for one in (saw, mill))
    section = batch.sections[0] if batch.sections else "x"
    bars = BarReceived(item="R", alloy=batch.alloy, section=section, heat="H1", lot="D", length_mm=3000.0, count=100,
                       place="rack")  # fmt: skip
    records.post(Signed(person="mara").says(bars))
    waive(records, batch="B-1", proof_id=FIRST_PIECE, reason="fifty of a kind to draw charts of", signed=by_saw)
    records.post(by_saw.says(Started(step=saw.id), batch="B-1"))
    records.post(by_saw.says(Sawn(step=saw.id, item="R", heat="H1", place="rack", bars_count=1, good_count=50,
                                  alloy=batch.alloy, section=section), batch="B-1"))  # fmt: skip
    for step in batch.steps[1:]:
        own = Signed(person="mara", station=step.station)
        records.post(own.says(Started(step=step.id), batch="B-1"))
        if step.id == mill.id:
            break
        records.post(own.says(Counted(step=step.id, good_count=50), batch="B-1"))
    assert check.low is not None
    assert check.high is not None
    for number in range(8):
        value = check.high - 0.2 * (check.high - check.low) + 1e-4 * (number % 3)
        of = ReadingTaken(step=mill.id, mark=check.mark, value=value)
        records.post(by_mill.says(of, batch="B-1"))
    with TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5)) as found:
        yield found
    app.state.desk.close()


def test_the_page_draws_what_was_read_and_says_what_to_do(client: TestClient) -> None:
    answer = client.get("/batches/B-1/charts")
    assert answer.status_code == 200
    assert answer.text.count("<svg") == 1
    assert "Ppk proved, 95 %" in answer.text
    assert "wear offset of the length" in answer.text
    assert "parts read large by" in answer.text
    assert "style=" not in answer.text


def test_a_batch_that_is_not_there_is_refused(client: TestClient) -> None:
    assert client.get("/batches/none/charts").status_code == 400


def test_what_is_advised_is_typed_at_the_machine_and_a_taken_one_begins_the_chart_anew(client: TestClient) -> None:
    at_machine = html.unescape(re.findall(r'href="(/floor/[^"]*)"', client.get("/batches/B-1/charts").text)[0])
    client.cookies.set("proveout-person", "Jon")
    text = client.get(at_machine).text
    form = text[text.index('id="advise" open') :].partition("</form>")[0]
    fields = dict(re.findall(r'name="([a-z_.]+)"[^>]*? value="([^"]*)"', form))
    fields["of.mark"] = re.findall(r'value="([^"]*)" selected', form)[0]
    assert fields["of.offset"].startswith("wear offset of the length of ")
    assert f"Add {float(fields['of.shift_mm']):+.3f} to" in html.unescape(fields["of.why"])
    answer = client.post("/floor/taps", data={name: html.unescape(one) for name, one in fields.items()})
    assert answer.status_code == 200
    assert "Nothing was read since" not in client.get("/batches/B-1/charts").text
    looked = {**fields, "id": str(uuid.uuid4()), "of.what": "offset answered", "of.advice": fields["id"]}
    taken = {name: one for name, one in looked.items() if not name.startswith("of.") or name in ANSWER}
    taken["of.is_taken"] = "true"
    assert client.post("/floor/by-another", data={**taken, "who": "jon"}).status_code == 409
    assert client.post("/floor/by-another", data={**taken, "who": "Mara"}).status_code == 200
    assert "Nothing was read since" in client.get("/batches/B-1/charts").text
