"""A coat's thickness is read of a lot that is back, at its station, by a gauge that was checked and is in date."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from floor_home import CHECKS, Floor, floor_home

from proveout.desk.app import desk_app
from proveout.jobs.floor_taps import Tap, Taps
from proveout.jobs.shop_day import shop_day
from proveout.jobs.signed import Signed
from proveout.model.batch_events import Check, Counted, Done, ReadingTaken, Started
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.stock_events import GaugeChecked, Sawn
from proveout.quantities.errors import Refused

OWN = "http://127.0.0.1:8417"
COAT = Check(step="coat", mark="coat", text="thickness of the coat", low=0.04, high=0.06, names_gauge=True)
BACK = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"), Started(step="op1"), Counted(step="op1", good_count=8), Done(step="op1"), Started(step="bench"),
    Counted(step="bench", good_count=8), Done(step="bench"),
    SentOut(step="coat", lot="L1", finisher="coater", count=8), CameBack(lot="L1", count=8),
    CountedIn(lot="L1", good_count=8),
)  # fmt: skip
Post = Callable[..., Any]


@pytest.fixture
def floor(tmp_path: Path) -> Floor:
    floor = floor_home(tmp_path, checks=(*CHECKS, COAT))
    floor.post(*BACK)
    return floor


@pytest.fixture
def client(floor: Floor) -> Iterator[TestClient]:
    app = desk_app(floor.home)
    made = TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 50_000), follow_redirects=False)
    made.cookies.set("proveout-person", "Mara")
    yield made
    app.state.desk.close()


def read(client: TestClient, gauge: str, *, ago_days: int = 0) -> Any:
    of = {"what": "reading taken", "step": "coat", "mark": "coat", "value": 0.052, "piece": "1", "lot": "L1"}
    at = (datetime.now(UTC) - timedelta(days=ago_days)).isoformat()
    return client.post("/floor/events", json={
        "id": str(uuid.uuid4()), "at": at, "person": "Mara", "station": "outside", "batch": "B1",
        "of": of | ({"gauge": gauge} if gauge else {}),
    })  # fmt: skip


def checked(client: TestClient, *, until: str = "", found: str = "it reads right") -> Any:
    form = {"gauge": "C-1", "by": "foil of 50 µm", "found": found, "until": until, "person": "Ola", "event": ""}
    return client.post("/stock/gauge", data=form)


def day(after: int) -> str:
    return (datetime.now(UTC).date() + timedelta(days=after)).isoformat()


def test_a_coat_is_read_by_a_gauge_that_is_known_and_in_date(client: TestClient) -> None:
    assert "No gauge is in date" in client.get("/floor/outside/coat/B1").text
    for gauge, says in (("", "by which gauge"), ("C-1", "Nobody has checked this gauge")):
        refused = read(client, gauge)
        assert refused.status_code == 409
        assert says in refused.text
    assert checked(client, until=day(-2)).status_code == 303
    assert "out of date since" in client.get("/stock").text
    assert "out of date" in read(client, "C-1").text
    assert read(client, "C-1", ago_days=5).status_code == 409  # by a tablet whose clock is slow
    assert checked(client, until=day(30)).status_code == 303
    page = client.get("/floor/outside/coat/B1").text
    assert '<option value="C-1">' in page
    assert "0.04 to 0.06 mm" in page
    assert read(client, "C-1").status_code == 200
    assert "0.052 mm" in client.get("/floor/outside/coat/B1").text
    assert client.get("/batches/B1/charts").status_code == 200
    assert checked(client, found="it does not read right").status_code == 303
    assert "read again what was read by it since it was last right: 1 reading" in client.get("/stock").text
    assert "found not to read right" in read(client, "C-1").text


@pytest.mark.parametrize(("zone", "hour", "is_read"), [("<-08>8", 7, True), ("<-08>8", 9, False), ("UTC0", 1, False)])
def test_a_gauge_is_good_until_midnight_in_the_shop(tmp_path: Path, zone: str, hour: int, *, is_read: bool) -> None:
    """Worked: eight hours behind UTC the last of March ends at 08:00 UTC of the first of April."""
    now = datetime(2027, 4, 1, hour, 30, tzinfo=UTC)
    floor = floor_home(tmp_path, checks=(*CHECKS, COAT))
    floor.post(*BACK)
    until = GaugeChecked(gauge="C-1", by="foil of 50 µm", is_right=True, until="2027-03-31")
    tap = Tap(id=str(uuid.uuid4()), at=now, person="Mara", station="outside", batch="B1",
              of=ReadingTaken(step="coat", mark="coat", value=0.052, lot="L1", gauge="C-1"))  # fmt: skip
    with pytest.MonkeyPatch.context() as there, floor.records() as records:
        in_zone(there, zone)
        try:
            records.post(Signed("Ola").says(until))
            taps = Taps(floor.home, records, today=lambda: shop_day(now))
            if is_read:
                answer = taps.post(tap, role="floor")
                in_zone(there, "UTC0")  # the same tap, sent again once the machine's zone was set right
                assert taps.post(tap, role="floor") == answer
            else:
                with pytest.raises(Refused, match="out of date"):
                    taps.post(tap, role="floor")
        finally:
            in_zone(there, "UTC")


def in_zone(there: pytest.MonkeyPatch, zone: str) -> None:
    there.setenv("TZ", zone)
    time.tzset()
