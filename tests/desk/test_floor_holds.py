"""What the floor holds back, asked as a tablet asks it: the second piece, work that moved, a first piece again."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import worked_home
from fastapi.testclient import TestClient
from floor_home import BOTH, MARK, MILL, OF_BOTH, Floor, copied, floor_home

from proveout.desk.app import desk_app
from proveout.jobs.signed import Signed
from proveout.model.batch_events import Done, Started
from proveout.model.stock_events import EdgeChanged, Sawn

OWN = "http://127.0.0.1:8417"
HERE = ("127.0.0.1", 50_000)
Post = Callable[..., Any]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    """A batch of two clampings on one machine whose blanks wait at the first; each test writes into a copy."""
    floor = floor_home(tmp_path_factory.mktemp("made"), route=BOTH, checks=OF_BOTH, is_daily=True)
    sawn = Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8)
    floor.post(Started(step="saw"), sawn, Done(step="saw"))
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
    def posted(of: dict[str, Any], *, person: str = "Mara", later_h: float = 0.0, id: str = "") -> Any:
        at = (datetime.now(UTC) + timedelta(hours=later_h)).isoformat()
        tap = {"id": id or str(uuid.uuid4()), "at": at, "person": person, "station": MILL, "batch": "B1", "of": of}
        return client.post("/floor/events", json=tap)

    return posted


def said(answer: Any) -> str:
    return " ".join(str(value) for value in answer.json().values())


def set_up(step: str) -> dict[str, Any]:
    clamping = {"op1": "c1", "op2": "c2"}[step]
    used = {one.cutter_id for one in worked_home.plan().passes if one.clamping_id == clamping}
    outs = {one.id: one.stick_out_mm for one in worked_home.shop().cutters if one.id in used}
    measures = [{"name": f"stick-out {id}", "value_mm": value} for id, value in outs.items()]
    program = {"program": MARK} if step == "op1" else {}
    return {"what": "set up measured", "step": step, "revision": "B", "measures": measures} | program


def started(step: str) -> dict[str, Any]:
    return {"what": "started", "step": step}


def good(step: str, count: int = 1) -> dict[str, Any]:
    return {"what": "counted", "step": step, "good_count": count}


def read(post: Post, step: str, piece: str, *, later_h: float = 0.0) -> None:
    for mark, value in {"op1": (("1", 20.06), ("2", 12.0)), "op2": (("3", 40.0),)}[step]:
        of = {"what": "reading taken", "step": step, "mark": mark, "value": value, "piece": piece}
        assert post(of, later_h=later_h).status_code == 200


def runs(post: Post, step: str, piece: str) -> None:
    """Set up, started, read and counted: one good piece."""
    for of in (set_up(step), started(step)):
        assert post(of).status_code == 200, of
    read(post, step, piece)
    assert post(good(step)).status_code == 200


def page(client: TestClient, step: str) -> str:
    return client.get(f"/floor/{MILL}/{step}/B1").text


def test_piece_one_goes_through_both_clampings_before_piece_two_may_be_started(client: TestClient, post: Post) -> None:
    assert "Piece one alone" not in page(client, "op1")
    post(set_up("op1"))
    post(started("op1"))
    read(post, "op1", "1")
    assert "Piece one alone" in page(client, "op1")
    assert "All <span data-n>8</span> good" not in page(client, "op1")
    assert "Only the first piece is made" in said(post(good("op1", 2)))
    assert post(good("op1")).status_code == 200
    refused = post(started("op1"))
    assert refused.status_code == 409
    assert "it waits at op2 (mill-3)" in said(refused)
    assert "the owner answers for it on the page of the batch" in said(refused)
    text = page(client, "op1")
    assert "DO NOT CUT THE NEXT PIECE" in text
    assert 'data-state="to start"' in text
    assert "Start the next pieces" not in text
    assert post(good("op1")).status_code == 409
    runs(post, "op2", "1")
    assert "Other work was started on this machine" in said(post(started("op1")))  # its set-up was taken down
    assert post(set_up("op1")).status_code == 200
    assert "Start the next pieces" in page(client, "op1")
    assert post(started("op1")).status_code == 200
    assert "the set-up was measured anew" in said(post(good("op1", 3)))
    read(post, "op1", "2")
    assert post(good("op1", 3)).status_code == 200
    assert "started already" in said(post(started("op1")))


def test_the_owner_answers_for_cutting_before_and_every_page_of_the_batch_says_so(
    client: TestClient, post: Post
) -> None:
    post(set_up("op1"))
    post(started("op1"))
    read(post, "op1", "1")
    post(good("op1"))
    assert "Piece one goes through op1, op2" in client.get("/batches/B1").text
    form = {"proof": "floor:first piece:through all clampings", "reason": "one machine, set up once",
            "person": "Ola", "event": ""}  # fmt: skip
    assert client.post("/batches/B1/waive", data=form | {"reason": "so"}).status_code == 400
    assert post(good("op1", 3)).status_code == 409
    assert client.post("/batches/B1/waive", data=form).status_code == 303
    words = "Pieces may be cut before the first one went through all clampings. Ola: one machine, set up once"
    assert words in client.get("/batches/B1").text
    for step in ("op1", "op2"):
        assert words in page(client, step)
    assert post(good("op1", 3)).status_code == 200


def through(post: Post) -> None:
    """Both clampings made one good piece, and the second one goes on."""
    for step in ("op1", "op2"):
        runs(post, step, "1")
    post(set_up("op1"))
    post(started("op1"))
    read(post, "op1", "2")
    assert post(good("op1", 2)).status_code == 200


def test_after_a_new_edge_of_its_own_cutter_the_next_piece_is_read(client: TestClient, post: Post) -> None:
    through(post)
    records = client.app.state.desk.records  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    own = next(one.cutter_id for one in worked_home.plan().passes if one.clamping_id == "c1")
    other = EdgeChanged(machine=MILL, cutter="of another work", life_s=60.0)
    records.post(Signed(person="Mara").says(other))
    assert post(good("op1")).status_code == 200
    records.post(Signed(person="Mara").says(EdgeChanged(machine=MILL, cutter=own, life_s=60.0)))
    refused = post(good("op1"))
    assert f"a new edge of {own}" in said(refused)
    assert f"a new edge of {own}" in page(client, "op1")
    bad = {"what": "counted", "step": "op1", "bad": [{"reason": "size", "count": 1}]}
    assert post(bad).status_code == 200  # what was cut wrongly is always written down
    read(post, "op1", "6")
    assert post(good("op1")).status_code == 200


def test_after_a_night_the_next_piece_is_read_where_the_batch_says_so(post: Post) -> None:
    through(post)
    assert "After a night" in said(post(good("op1"), later_h=14.0))
    read(post, "op1", "4", later_h=14.0)
    assert post(good("op1"), later_h=14.2).status_code == 200


def test_after_something_moved_work_goes_on_once_the_set_up_was_measured_anew(client: TestClient, post: Post) -> None:
    through(post)
    stop = {"what": "stopped", "step": "op1", "why": "something is odd", "told": "office", "is_moved": True}
    go_on = {"what": "resumed", "step": "op1", "why": "looked at it"}
    assert post(stop).status_code == 200
    assert "DO NOT GO ON" in page(client, "op1")
    assert "measure zero and the whole set-up anew" in said(post(go_on, person="Ivo"))
    off = set_up("op1")
    off["measures"] = [one | {"value_mm": one["value_mm"] + 1.0} for one in off["measures"]]
    assert post(off).status_code == 200
    assert "1 mm off" in said(post(go_on, person="Ivo"))
    assert "1 mm off" in page(client, "op1")
    assert post(set_up("op1")).status_code == 200
    assert "DO NOT" not in page(client, "op1")
    assert post(go_on, person="Ivo").status_code == 200
    assert "is a first piece again" in said(post(good("op1")))
    read(post, "op1", "9")
    assert post(good("op1")).status_code == 200
    assert post(stop | {"why": "Machine alarm", "is_moved": False}).status_code == 200
    assert post(go_on, person="Ivo").status_code == 200


def test_after_other_work_on_the_machine_the_first_needs_its_set_up_and_a_start_again(
    client: TestClient, post: Post
) -> None:
    through(post)
    assert "started already" in said(post(set_up("op1")))
    post(set_up("op2"))
    assert post(started("op2")).status_code == 200
    meanwhile = "Other work was started on this machine meanwhile (batch B1, op2)"
    assert meanwhile in said(post(good("op1")))
    text = page(client, "op1")
    assert meanwhile in text
    assert 'data-state="to start"' in text
    off = set_up("op1")
    off["measures"] = [one | {"value_mm": one["value_mm"] + 1.0} for one in off["measures"]]
    assert post(off).status_code == 200
    read(post, "op1", "4")
    assert meanwhile in said(post(good("op1")))  # measured, and not right
    assert "1 mm off" in said(post(started("op1")))
    for of in (set_up("op1"), started("op1")):
        assert post(of).status_code == 200
    read(post, "op1", "5")
    assert post(good("op1")).status_code == 200


def test_what_stood_still_goes_on_after_other_work_only_once_its_set_up_was_measured(
    client: TestClient, post: Post
) -> None:
    through(post)
    assert post({"what": "stopped", "step": "op1", "why": "a rush job", "told": "office"}).status_code == 200
    post(set_up("op2"))
    assert post(started("op2")).status_code == 200
    go_on = {"what": "resumed", "step": "op1", "why": "the rush job is done"}
    assert "Other work was started on this machine since its set-up was measured" in said(post(go_on, person="Ivo"))
    assert "Other work was started on this machine since its set-up was measured" in page(client, "op1")
    assert post(set_up("op1")).status_code == 200
    assert post(go_on, person="Ivo").status_code == 200
    read(post, "op1", "6")
    assert post(good("op1")).status_code == 200


def listed(client: TestClient) -> dict[str, str]:
    """What the list of the mill says of each step of the batch."""
    text = client.get(f"/floor/{MILL}").text
    rows = re.findall(r'<a href="/floor/[^"]*/(op\d)/B1">.*?<span class="state[^"]*">([^<]*)</span>', text, re.DOTALL)
    return dict(rows)


def test_the_list_of_a_mill_says_what_its_pages_say(client: TestClient, post: Post) -> None:
    """Piece one on its way, other work on the machine, the first clamping set up again: no row is called under way."""
    assert listed(client) == {"op1": "to start"}
    assert post(set_up("op1")).status_code == post(started("op1")).status_code == 200
    assert listed(client) == {"op1": "under way"}
    read(post, "op1", "1")
    assert post(good("op1")).status_code == 200
    assert listed(client) == {"op1": "the first piece first", "op2": "to start"}
    assert post(set_up("op2")).status_code == post(started("op2")).status_code == 200
    assert listed(client) == {"op1": "the first piece first", "op2": "under way"}
    read(post, "op2", "1")
    assert post(good("op2")).status_code == 200
    assert listed(client) == {"op1": "TO START AGAIN"}
    assert post(set_up("op1")).status_code == post(started("op1")).status_code == 200
    assert listed(client) == {"op1": "under way"}
    read(post, "op1", "2")
    assert post(good("op1", 2)).status_code == 200
    assert post(set_up("op2")).status_code == post(started("op2")).status_code == 200
    assert listed(client) == {"op1": "TO START AGAIN", "op2": "under way"}
    assert "TO START AGAIN" not in page(client, "op2")
    assert 'data-state="to start"' in page(client, "op1")
