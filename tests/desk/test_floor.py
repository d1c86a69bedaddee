"""The floor: a start is judged, the first piece blocks the next, a second person looks, and each id counts once."""

from __future__ import annotations

import html
import io
import re
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import worked_home
from fastapi.testclient import TestClient
from floor_home import MARK, MILL, PNG, PROGRAM, Floor, copied, floor_home

from proveout.desk.app import desk_app
from proveout.jobs.photos import PHOTOS
from proveout.model.batch_events import Bad, Counted, Done, Packed, Resumed, Started, Stopped
from proveout.model.events import Stating
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, SentOut
from proveout.model.stock_events import Sawn
from proveout.quantities.canonical import digest_of
from proveout.sheets.pages_pack import lot_text
from proveout.sheets.writer import Writer

OWN = "http://127.0.0.1:8417"
HERE = ("127.0.0.1", 50_000)
AT_MILL = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"),
)  # fmt: skip
Response = Any
Post = Callable[..., Any]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    """A batch whose blanks wait at the mill, made once; each test writes into a copy."""
    floor = floor_home(tmp_path_factory.mktemp("made"))
    floor.post(*AT_MILL)
    return floor


@pytest.fixture
def floor(made: Floor, tmp_path: Path) -> Floor:
    return copied(made, tmp_path)


@pytest.fixture
def client(floor: Floor) -> Iterator[TestClient]:
    app = desk_app(floor.home)
    made = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=HERE, follow_redirects=False)
    made.cookies.set("proveout-person", "Mara")
    yield made
    app.state.desk.close()


@pytest.fixture
def post(client: TestClient) -> Post:
    def posted(
        of: dict[str, Any], *, id: str = "", person: str = "Mara", station: str = MILL, batch: str = "B1"
    ) -> Response:
        return client.post("/floor/events", json=tap(of, id=id, person=person, station=station, batch=batch))

    return posted


def tap(of: dict[str, Any], *, id: str, person: str, station: str, batch: str) -> dict[str, Any]:
    at = datetime.now(UTC).isoformat()
    return {"id": id or str(uuid.uuid4()), "at": at, "person": person, "station": station, "batch": batch, "of": of}


def stick_outs() -> dict[str, float]:
    shop = worked_home.shop()
    used = {one.cutter_id for one in worked_home.passes() if one.clamping_id == "c1"}
    return {f"stick-out {cutter.id}": cutter.stick_out_mm for cutter in shop.cutters if cutter.id in used}


def set_up(**changed: Any) -> dict[str, Any]:
    measures = [{"name": name, "value_mm": value} for name, value in stick_outs().items()]
    right = {"what": "set up measured", "step": "op1", "program": MARK, "revision": "B", "measures": measures}
    return right | changed


START = {"what": "started", "step": "op1"}
GOOD = {"what": "counted", "step": "op1", "good_count": 1}


def said(answer: Response) -> str:
    return " ".join(str(value) for value in answer.json().values())


def reading(mark: str, value: float, piece: str = "1") -> dict[str, Any]:
    return {"what": "reading taken", "step": "op1", "mark": mark, "value": value, "piece": piece}


def revision(floor: Floor) -> str:
    return floor.home.place(worked_home.ADDRESS).plan.part.revision


def test_the_fixture_is_of_the_revision_that_the_tests_type(floor: Floor) -> None:
    assert revision(floor) == "B"
    assert len(stick_outs()) == 2


def test_a_mill_is_started_once_its_set_up_is_as_planned(post: Post) -> None:
    refused = post(START)
    assert refused.status_code == 409
    assert "The set-up was not measured" in said(refused)
    assert post(set_up()).status_code == 200
    assert post(START).status_code == 200


BLOCKED: tuple[tuple[dict[str, Any], str], ...] = (
    ({"program": "0123456789ab"}, "not the one of this packet"), ({"program": ""}, "No program was compared"),
    ({"revision": "A"}, "of another revision"), ({"revision": ""}, "of another revision"),
    ({"measures": []}, "not measured"),
    ({"measures": [{"name": "zero Q", "value_mm": 1.0}]}, "Nothing is planned by the name zero Q"),
)  # fmt: skip


def test_a_start_is_blocked_in_words_and_nobody_may_answer_for_it(post: Post) -> None:
    for changed, words in BLOCKED:
        own = str(uuid.uuid4())
        assert post(set_up(**changed), id=own).status_code == 200
        refused = post(START)
        assert refused.status_code == 409, changed
        assert words in said(refused)
        agreed = post({"what": "set up agreed", "step": "op1", "set_up": own, "why": "it will do, I looked at it"})
        assert agreed.status_code == 409, changed
        assert post(START).status_code == 409, changed


def test_a_length_that_the_plan_does_not_judge_needs_a_named_person(post: Post) -> None:
    first, *others = stick_outs().items()
    measures = [{"name": first[0], "value_mm": first[1] + 0.3}, *({"name": n, "value_mm": v} for n, v in others)]
    own = str(uuid.uuid4())
    assert post(set_up(measures=measures), id=own).status_code == 200
    refused = post(START)
    assert refused.status_code == 409
    assert "0.3 mm off" in said(refused)
    assert "a named person must answer" in said(refused)
    agreed = {"what": "set up agreed", "step": "op1", "set_up": own, "why": "longer holder, looked at dry"}
    assert post(agreed | {"why": "ok"}).status_code == 422
    assert post(agreed, person="Jon").status_code == 200
    assert post(START).status_code == 200


def test_a_form_without_a_program_is_an_event_and_is_judged_as_none(post: Post) -> None:
    without = {name: value for name, value in set_up().items() if name != "program"}
    assert post(without).status_code == 200
    assert "No program was compared" in said(post(START))


def test_who_measures_anew_is_judged_anew(post: Post) -> None:
    first, *others = stick_outs().items()
    off = [{"name": first[0], "value_mm": first[1] - 1.0}, *({"name": n, "value_mm": v} for n, v in others)]
    post(set_up(measures=off), id=(old := str(uuid.uuid4())))
    post({"what": "set up agreed", "step": "op1", "set_up": old, "why": "shorter, looked at it dry"})
    post(set_up(measures=off))
    assert post(START).status_code == 409
    late = post({"what": "set up agreed", "step": "op1", "set_up": old, "why": "shorter, looked at it dry"})
    assert "Another set-up was measured since" in said(late)


def test_a_packet_that_somebody_changed_is_not_started_from(floor: Floor, post: Post) -> None:
    post(set_up())
    program = floor.home.plans / "packets" / "B1" / "programs" / "clamping-1.nc"
    program.chmod(0o644)
    program.write_text(PROGRAM.replace("X0", "X1"))
    refused = post(START)
    assert refused.status_code == 409
    assert "edited program" in said(refused)


@pytest.fixture
def started(post: Post) -> Post:
    post(set_up())
    assert post(START).status_code == 200
    return post


def test_the_first_piece_blocks_the_next_until_every_size_of_it_passes(started: Post) -> None:
    assert "not measured yet: 1, 2" in said(started(GOOD))
    started(reading("1", 20.06, ""))
    started(reading("2", 12.0, ""))
    assert "not measured yet: 1, 2" in said(started(GOOD))  # of which piece they are nobody said
    started(reading("1", 20.08))
    assert "outside its limits: 1" in said(started(GOOD))
    bad = GOOD | {"good_count": 0, "bad": [{"reason": "size", "count": 1}]}
    assert started(bad).status_code == 200
    assert started(GOOD).status_code == 409
    assert started(reading("1", 20.06, "2")).status_code == 200
    assert "not measured yet: 2" in said(started(GOOD))
    assert started(reading("2", 12.0, "2")).status_code == 200
    assert started(GOOD).status_code == 200


def test_a_second_person_looks_at_an_offset_before_the_next_good_piece(started: Post) -> None:
    started(reading("1", 20.0695))
    started(reading("2", 12.0))
    advice = {"what": "offset advised", "step": "op1", "offset": "D2", "shift_mm": -0.01, "why": "1 creeps up"}
    assert "Nothing of this mark" in said(started(advice | {"mark": "9"}))
    own = str(uuid.uuid4())
    assert started(advice, id=own).status_code == 200
    assert "D2 by -0.01 mm" in said(started(GOOD))
    assert started(advice).status_code == 409
    taken = {"what": "offset answered", "step": "op1", "advice": own, "is_taken": True}
    assert "A second person" in said(started(taken))
    assert started(taken, person="mara").status_code == 409
    assert started(taken, person="Jon").status_code == 200
    assert started(taken, person="Jon").status_code == 409
    assert "After an offset was shifted the next piece is a first piece again" in said(started(GOOD))
    for mark, value in (("1", 20.06), ("2", 12.0)):
        started(reading(mark, value))  # once more of the piece that was right before
        assert started(GOOD).status_code == 409
    for mark, value in (("1", 20.06), ("2", 12.0)):
        started(reading(mark, value, "2"))
    assert started(GOOD).status_code == 200


@pytest.mark.usefixtures("started")
def test_a_count_takes_the_plans_seconds_off_its_cutters_once(client: TestClient) -> None:
    """Worked: the passes of the first clamping take as long as its lines say, at their longest."""
    plan = worked_home.plan()
    wanted: dict[str, float] = {}
    for one in plan.passes:
        for line in plan.time.lines:
            if one.clamping_id == "c1" and line.pass_id == one.id:
                wanted[one.cutter_id] = wanted.get(one.cutter_id, 0.0) + 3 * line.seconds.high
    counted = {"what": "counted", "step": "op1", "bad": [{"reason": "size", "count": 3}]}
    again = tap(counted, id="", person="Mara", station=MILL, batch="B1")
    first = client.post("/floor/events", json=again)
    assert first.status_code == 200
    assert client.post("/floor/events", json=again).json() == first.json()
    rows = client.app.state.desk.records.rows("cutters")  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    assert {row["cutter"]: row["used_s"] for row in rows if row["machine"] == MILL} == pytest.approx(wanted)
    assert sum(wanted.values()) > 0.0


def test_a_tap_sent_again_gets_the_same_answer_whatever_happened_since(started: Post, client: TestClient) -> None:
    again = tap(reading("1", 20.06), id="", person="Mara", station=MILL, batch="B1")
    first = client.post("/floor/events", json=again)
    started({"what": "stopped", "step": "op1", "why": "alarm", "told": "office"})
    assert client.post("/floor/events", json=again).json() == first.json()
    other = client.post("/floor/events", json=again | {"person": "Jon"})
    assert other.status_code == 409
    assert "Another event was written under this id" in said(other)


def test_a_start_sent_again_is_not_judged_anew(post: Post, client: TestClient) -> None:
    post(set_up())
    again = tap(START, id="", person="Mara", station=MILL, batch="B1")
    first = client.post("/floor/events", json=again)
    assert first.status_code == 200
    assert client.post("/floor/events", json=again).json() == first.json()
    assert "started already" in said(post(START))


def test_an_answer_to_an_advice_sent_again_is_not_judged_anew(started: Post, client: TestClient) -> None:
    advice = {"what": "offset advised", "step": "op1", "offset": "H2", "shift_mm": 0.02, "why": "floor is high"}
    started(advice, id=(own := str(uuid.uuid4())))
    answered = {"what": "offset answered", "step": "op1", "advice": own, "is_taken": True}
    again = tap(answered, id="", person="Jon", station=MILL, batch="B1")
    first = client.post("/floor/events", json=again)
    assert first.status_code == 200
    assert client.post("/floor/events", json=again).json() == first.json()


NONE_OF_THE_FLOOR: tuple[dict[str, Any], ...] = (
    {"what": "released", "plan": MARK, "revision": "B", "blanks_count": 1, "route": [], "checks": [], "papers": {}},
    {"what": "closed"}, {"what": "corrected", "event_id": "x", "why": "y", "instead": None}, {"what": "started"},
    {"what": "started", "step": "op1", "more": 1}, {"what": "counted", "step": "op1"}, {},
)  # fmt: skip


def test_what_is_no_event_of_the_floor_is_refused_in_words(post: Post) -> None:
    for of in NONE_OF_THE_FLOOR:
        answer = post(of)
        assert answer.status_code == 422, of
        assert answer.json()["what"]


def test_a_plain_form_writes_the_same_and_comes_back(client: TestClient) -> None:
    fields = {
        "id": str(uuid.uuid4()), "station": MILL, "batch": "B1", "back": f"/floor/{MILL}/op1/B1",
        "of.what": "set up measured", "of.step": "op1", "of.program": " ".join((MARK[:4], MARK[4:8], MARK[8:])),
        "of.revision": "B",
    }  # fmt: skip
    for number, (name, mm) in enumerate(stick_outs().items()):
        fields |= {f"of.measures.{number}.name": name, f"of.measures.{number}.value_mm": f"{mm:g}".replace(".", ",")}
    answer = client.post("/floor/taps", data=fields)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/floor/{MILL}/op1/B1")
    page = client.get(f"/floor/{MILL}/op1/B1").text
    assert "What was measured is as planned" in page
    start = {"station": MILL, "batch": "B1", "of.what": "started", "of.step": "op1", "back": "//evil.example"}
    assert client.post("/floor/taps", data=start).status_code == 409  # without an id of its own
    answer = client.post("/floor/taps", data=start | {"id": str(uuid.uuid4())})
    assert answer.headers["location"] == "/"
    bad = start | {"id": str(uuid.uuid4()), "of.what": "counted", "of.bad.0.count": "2", "of.bad.0.reason": ""}
    assert "reason" in client.post("/floor/taps", data=bad).text
    none = bad | {"of.bad.0.count": "0", "of.bad.0.reason": "size"}
    assert "Nothing was counted" in client.post("/floor/taps", data=none).text


def test_whoever_says_who_they_are_comes_back_to_the_whole_address(client: TestClient) -> None:
    client.cookies.clear()
    back = f"/floor/{MILL}/op1/B1?mark=1&offset=length"
    way = re.search(r'href="(/floor-people[^"]*)">Say first', client.get(back).text)
    assert way is not None
    assert f'value="{html.escape(back)}"' in client.get(html.unescape(way[1])).text
    start = {"id": str(uuid.uuid4()), "station": MILL, "batch": "B1", "of.what": "started", "of.step": "op1"}
    answer = client.post("/floor/taps", data=start | {"back": back})
    assert answer.status_code == 303
    assert f'value="{html.escape(back)}"' in client.get(answer.headers["location"]).text


def test_a_photo_is_kept_once_under_its_digest_and_named_by_an_event(
    client: TestClient, started: Post, floor: Floor
) -> None:
    for content in (b"<svg/>", b"GIF89a", PNG[:-10], b"\xff\xd8\xff", b"RIFF\x04\x00\x00\x00WEBPxx", b""):
        assert client.post("/floor/photos", files={"photo": ("x.png", content)}).status_code == 422
    named = [client.post("/floor/photos", files={"photo": ("../../x", PNG)}).json()["photo"] for _ in range(2)]
    kept = list((floor.home.plans / PHOTOS).iterdir())
    assert [path.name for path in kept] == [f"{named[0]}.png"]
    assert named[0] == named[1]
    about = {"what": "photo taken", "step": "op1", "photo": named[0], "about": "burr"}
    assert started(about).status_code == 200
    assert started(about | {"photo": "ab" * 32}).status_code == 409
    answer = client.get(f"/floor-photos/{named[0]}")
    assert (answer.content, answer.headers["content-type"]) == (PNG, "image/png")
    assert client.get("/floor-photos/..%2F..%2Fplan.json").status_code in (400, 404)


def test_the_fingerprint_of_a_file_is_that_of_the_packet_whatever_ends_its_lines(client: TestClient) -> None:
    for text in (PROGRAM, PROGRAM.replace("\n", "\r\n")):
        found = client.post("/floor/program", files={"program": ("x.nc", io.BytesIO(text.encode()))}).json()
        assert found["fingerprint"] == MARK
    other = client.post("/floor/program", files={"program": ("x.nc", io.BytesIO(PROGRAM.encode() + b"M0\n"))}).json()
    assert other["fingerprint"] != MARK


WAY: tuple[tuple[str, tuple[Stating, ...], str, str], ...] = (
    ("bench", (Started(step="op1"), Counted(step="op1", good_count=8), Done(step="op1")), "bench/bench", "to start"),
    ("bench", (Started(step="bench"),), "bench/bench", "to count"),
    ("bench", (Counted(step="bench", good_count=6, bad=(Bad(reason="burr", count=2),)),), "bench/bench", "to finish"),
    ("bench", (Done(step="bench"),), "bench/bench", "done"),
    ("outside", (), "outside/coat", "to count"),
    ("outside", (SentOut(step="coat", lot="L1", finisher="coater", count=6),), "outside/coat", "to count"),
    ("outside", (CameBack(lot="L1", count=6),), "outside/coat", "to count"),
    ("outside", (CountedIn(lot="L1", good_count=5),), "outside/coat", "to count"),
    ("outside", (GivenUp(lot="L1", count=1, reason="lost"),), "outside/coat", "to finish"),
    ("inspection", (Done(step="coat"), Started(step="inspection")), "inspection/inspection", "to count"),
    ("inspection", (Stopped(step="inspection", why="gauge fell", told="office"),), "inspection/inspection", "stopped"),
    ("inspection", (Resumed(step="inspection", why="checked"), Counted(step="inspection", good_count=5)),
     "inspection/inspection", "to finish"),
    ("packing", (Done(step="inspection"), Started(step="packing")), "packing/packing", "to count"),
    ("packing", (Packed(step="packing", count=5),), "packing/packing", "to finish"),
)  # fmt: skip


def test_each_step_shows_what_comes_next_all_the_way(floor: Floor) -> None:
    app = desk_app(floor.home)
    client = TestClient(app, base_url=OWN, client=HERE)
    client.cookies.set("proveout-person", "Mara")
    states = re.compile(r'data-when="([a-z ]+)"( hidden)?')
    for station, events, path, state in WAY:
        floor.post(*events, station="desk" if station != "outside" else station)
        page = client.get(f"/floor/{path}/B1")
        assert page.status_code == 200
        assert f'data-state="{state}"' in page.text, (path, state)
        assert [name for name, hidden in states.findall(page.text) if not hidden] == [state]
    assert "STARTED" not in client.get("/floor/bench/bench/B1").text
    app.state.desk.close()


def test_pieces_that_a_tablet_packs_are_stock_of_their_part(floor: Floor) -> None:
    """The tablet says how many and where; what they are of, the desk knows. Sent twice they are packed once."""
    for station, events, path, _ in WAY:
        if path != "packing/packing" or "Packed" not in str(events):
            floor.post(*events, station="desk" if station != "outside" else station)
    app = desk_app(floor.home)
    client = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=HERE)
    page = client.get("/floor/packing/packing/B1").text
    assert 'name="of.place" value="packing"' in page

    def posted(of: dict[str, Any], id: str) -> Any:
        return client.post("/floor/events", json={
            "id": id, "at": datetime.now(UTC).isoformat(), "person": "Mara", "station": "packing", "batch": "B1",
            "of": {"step": "packing"} | of,
        })  # fmt: skip

    counted = posted({"what": "counted", "good_count": 2}, str(uuid.uuid4()))
    assert (counted.status_code, "say how many were packed" in counted.text) == (409, True)
    tap = {"id": str(uuid.uuid4()), "at": datetime.now(UTC).isoformat(), "person": "Mara", "station": "packing",
           "batch": "B1", "of": {"what": "packed", "step": "packing", "count": 3, "code": "", "place": ""}}  # fmt: skip
    first, again = client.post("/floor/events", json=tap), client.post("/floor/events", json=tap)
    assert first.status_code == again.status_code == 200
    assert first.json() == again.json()
    box = {"what": "packed", "count": 2, "code": "box 7", "place": "shelf 3"}
    assert posted(box, str(uuid.uuid4())).status_code == 200
    plan = floor.home.place(worked_home.ADDRESS).plan
    with floor.records() as records:
        rows = {row["item"]: row for row in records.rows("stock") if row["sort"] == "boxed part"}
        assert {tag: (row["place"], row["count"], row["lot"]) for tag, row in rows.items()} == {
            "B1 boxed": ("packing", 3, "B1"), "box 7": ("shelf 3", 2, "B1"),
        }  # fmt: skip
        assert {(row["part"], row["revision"]) for row in rows.values()} == {(plan.part.number, plan.part.revision)}
        batch = records.batch("B1")
        assert batch is not None
        assert batch.steps[-1].good_count == sum(row["count"] for row in rows.values()) == 5
    text = client.get("/stock").text
    assert "Boxed parts" in text
    assert "box 7" in text
    app.state.desk.close()


CODES = (
    ("B1", "/op1/B1"), ("b1 ", "/op1/B1"), ("{part};{revision};{mark};", "/op1/B1"), ("{mark4}", "/op1/B1"),
    ("{part};{revision};{mark};2027-01-01;B1", "/op1/B1"), ("{part};A;{mark};", "OLD%20PAPERS"),
    ("{part};{revision};000000000000;", "OLD%20PAPERS"), ("{part};{revision};{mark};2027-01-01;B7", "OLD%20PAPERS"),
    ("B7", "No%20batch"), ("", "Nothing"), ("X;B;000000000000;", "No%20batch"),
)  # fmt: skip


def test_a_code_leads_to_its_batch_or_says_what_is_wrong(client: TestClient, floor: Floor) -> None:
    plan = floor.home.place(worked_home.ADDRESS).plan
    mark = digest_of(plan)[:12]
    for code, where in CODES:
        text = code.format(part=plan.part.number, revision=plan.part.revision, mark=mark,
                           mark4=f"{mark[:4]} {mark[4:8]} {mark[8:]}")  # fmt: skip
        answer = client.get(f"/floor/{MILL}/scan", params={"code": text})
        assert answer.status_code == 303
        assert where in answer.headers["location"], code


def test_the_square_code_of_the_papers_is_understood(client: TestClient, floor: Floor) -> None:
    place = floor.home.place(worked_home.ADDRESS)
    writer = Writer(plan=place.plan, shop=place.shop, drawings={}, fingerprint=digest_of(place.plan))
    assert "/op1/B1" in client.get(f"/floor/{MILL}/scan", params={"code": lot_text(writer)}).headers["location"]


def test_a_station_shows_what_is_wanted_first_and_remembers_the_tablet(tmp_path: Path) -> None:
    floor = floor_home(tmp_path, batches=(("B1", "2027-05-01"), ("B2", ""), ("B3", "2027-04-01"), ("B4", "2027-05-01")))
    app = desk_app(floor.home)
    client = TestClient(app, base_url=OWN, client=HERE)
    text = client.get("/floor/saw").text
    order = [text.index(f"batch {name} ") for name in ("B3", "B1", "B4", "B2")]
    assert order == sorted(order)
    assert 'class="kept"' in client.get("/floor").text
    assert client.get("/floor/nowhere").status_code == 400
    assert client.get(f"/floor/{MILL}/saw/B1").status_code == 400
    app.state.desk.close()


def test_another_machine_is_not_answered_while_nobody_has_a_pin(floor: Floor) -> None:
    app = desk_app(floor.home)
    client = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("10.0.0.7", 5), follow_redirects=False)
    client.cookies.set("proveout-person", "Mara")
    answer = client.post("/floor/events", json=tap(START, id="", person="Mara", station=MILL, batch="B1"))
    assert answer.status_code == 409
    assert "No PINs are set" in said(answer)
    assert "proveout people set" in client.get("/floor-people").text
    assert client.post("/floor-people", data={"who": "Mara"}).status_code == 400
    assert client.post("/floor/by-another", data={"who": "Mara"}).status_code == 409
    app.state.desk.close()
