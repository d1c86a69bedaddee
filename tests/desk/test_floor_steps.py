"""What a station's page offers: only what can be done there now, in the station's own words, with its own papers."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
import runnable_home
import worked_home
from fastapi.testclient import TestClient
from floor_home import BOTH, Floor, floor_home
from msgspec import structs

from proveout.desk import station_papers
from proveout.desk.app import desk_app
from proveout.desk.station_papers import papers_at
from proveout.jobs.place import Place
from proveout.model.batch_events import Counted, Done, Started
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.stock_events import Sawn
from proveout.sheets.paper_pages import Paper

OWN = "http://127.0.0.1:8417"
BACK = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"), Started(step="op1"), Counted(step="op1", good_count=8), Done(step="op1"), Started(step="bench"),
    Counted(step="bench", good_count=8), Done(step="bench"), SentOut(step="coat", lot="L1", finisher="coater", count=8),
    CameBack(lot="L1", count=8), CountedIn(lot="L1", good_count=8), Done(step="coat"),
)  # fmt: skip
TABLE = "Op 1 and Op 2 - mill, what lies where"
TITLES = (
    "Route card", "Saw ticket", "Op 1 - mill", "Loading card - Op 1, mill", "Op 2 - mill", TABLE, "Op 12 - mill",
    "Inspection sheet - before coat", "Bench card", "Order to a finisher - work of coater",
    "Mask and rack map - work of coater",
    "Order to a finisher - work of marker", "Receiving check", "Kit and pack sheet", "Lot labels", "Price",
)  # fmt: skip


@pytest.fixture
def floor(tmp_path: Path) -> Floor:
    return floor_home(tmp_path)


def client_of(floor: Floor) -> TestClient:
    made = TestClient(desk_app(floor.home), base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 50_000),
                      follow_redirects=False)  # fmt: skip
    made.cookies.set("proveout-person", "Mara")
    return made


@pytest.fixture
def client(floor: Floor) -> Iterator[TestClient]:
    made = client_of(floor)
    yield made
    made.app.state.desk.close()  # type: ignore[attr-defined] - desk_app sets it


def shown(client: TestClient, path: str) -> list[str]:
    """What a step's page offers now."""
    text = client.get(f"/floor/{path}/B1").text
    return [name for name, hidden in re.findall(r'data-when="([a-z ]+)"( hidden)?', text) if not hidden]


def test_nothing_is_started_where_no_piece_is(client: TestClient) -> None:
    """A start would be refused, and the tablet has shown by then that all of no pieces are packed."""
    assert shown(client, "saw/saw") == ["to start"]
    for path in ("bench/bench", "inspection/inspection", "packing/packing"):
        assert shown(client, path) == ["more come"]
        assert "Nothing is here yet. Its pieces: 8 at saw." in client.get(f"/floor/{path}/B1").text
    # a mill may be set up before its pieces come
    assert shown(client, "mill-3/op1") == ["to start"]


def test_each_station_stops_and_counts_bad_in_its_own_words(client: TestClient, floor: Floor) -> None:
    floor.post(*BACK[:4])
    mill = client.get("/floor/mill-3/op1/B1").text
    floor.post(*BACK[4:7])
    bench = client.get("/floor/bench/bench/B1").text
    assert "Cutter broke" in mill
    assert "cutter broke" in mill
    assert "Cutter broke" not in bench
    assert "cutter broke" not in bench
    assert "Count is off" in bench


def test_pieces_of_a_lot_that_turn_out_bad_are_rejected_at_the_tablet(client: TestClient, floor: Floor) -> None:
    """Also when the finisher's step is done: it shows at inspection."""
    floor.post(*BACK)
    page = client.get("/floor/outside/coat/B1").text
    assert "Lot L1: some turn out bad" in page
    form = {"id": str(uuid.uuid4()), "station": "outside", "batch": "B1", "back": "/floor/outside/coat/B1",
            "of.what": "rejected", "of.lot": "L1", "of.count": "2", "of.reason": "thin coat",
            "of.claim_until": "2027-05-01", "who": "Ola"}  # fmt: skip
    answer = client.post("/floor/by-another", data=form)
    assert answer.status_code == 303
    lot = client.app.state.desk.records.batch("B1").lots[0]  # type: ignore[attr-defined] - desk_app sets it
    assert (lot.rejected_count, lot.good_count, lot.claim_until) == (2, 6, "2027-05-01")
    floor_now = client.get("/floor/outside/coat/B1").text
    assert "Lot L1: 2 rejected, claim until 2027-05-01." in floor_now


@pytest.mark.parametrize(
    ("step", "titles"),
    [
        ("saw", ("Saw ticket",)),
        ("op1", ("Op 1 - mill", "Loading card - Op 1, mill", TABLE)),
        ("op2", ("Op 2 - mill", TABLE)),
        ("bench", ("Bench card",)),
        ("inspection", ("Inspection sheet - before coat",)),
        ("packing", ("Kit and pack sheet", "Lot labels")),
        ("coat", ("Order to a finisher - work of coater", "Mask and rack map - work of coater", "Receiving check")),
    ],
)
def test_a_station_opens_its_own_papers(
    step: str, titles: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    floor = floor_home(tmp_path, route=BOTH)
    place = floor.home.place(worked_home.ADDRESS)
    with floor.records() as records:
        batch = records.batch("B1")
    assert batch is not None
    one = next(each for each in batch.steps if each.id == step)
    orders = tuple(runnable_home.sent_to(id, coat=True) for id in ("coater", "marker"))
    place = cast("Place", SimpleNamespace(folder=place.folder, plan=structs.replace(place.plan, finish_orders=orders)))
    assert papers_at(place, "B1", one, sees_money=True) == ()
    (place.folder / "papers.pdf").write_bytes(b"")
    listed = tuple(Paper(title=title, first=n, last=n) for n, title in enumerate(TITLES, start=1))
    monkeypatch.setattr(station_papers, "_listed", lambda _path, _changed_ns: listed)
    found = papers_at(place, "B1", one, sees_money=True)
    assert tuple(paper.title for paper in found) == titles
    assert found[0].address == f"/parts/@B1/files/papers.pdf#page={TITLES.index(titles[0]) + 1}"
    assert papers_at(place, "B1", one, sees_money=False) == ()  # the papers of the floor are not there
