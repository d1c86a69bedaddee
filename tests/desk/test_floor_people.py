"""PINs of the floor: who may write what, how long a session holds, and that guessing slows one station alone."""

from __future__ import annotations

import json
import logging
import stat
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from time import sleep
from typing import Any, get_args

import pytest
from fastapi.testclient import TestClient
from floor_home import Floor, floor_home

from proveout.cli.main import main
from proveout.cli.people_verb import ROLES as ROLES_OF_VERB
from proveout.desk.app import desk_app
from proveout.desk.floor_door import CLOCK_S, FREE_TRIES, SENT_LATER_S, SIGNED_IN_S, WAIT_MOST_S, FloorDoor
from proveout.jobs import password as password_module
from proveout.jobs.floor_taps import MAY, Tapped
from proveout.jobs.people import ROLES, People, people_path
from proveout.quantities.errors import BadInput, Unreadable

OWN = "http://127.0.0.1:8417"
PINS = {"ola": ("owner", "8204"), "mara": ("floor", "4711"), "jon": ("floor", "9035"), "ivo": ("inspection", "5520")}


class Clock:
    def __init__(self) -> None:
        self.at_s = datetime(2027, 3, 1, 7, 0, tzinfo=UTC).timestamp()

    def __call__(self) -> float:
        return self.at_s

    def told(self, more_s: float = 0.0) -> datetime:
        return datetime.fromtimestamp(self.at_s + more_s, UTC)


@pytest.fixture(autouse=True)
def _cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Guesses that cost little, so that tests are quick."""
    monkeypatch.setattr(password_module, "COST_N", 2**4)


@pytest.fixture
def people(tmp_path: Path) -> People:
    made = People(tmp_path / "people.json")
    for who, (role, pin) in PINS.items():
        made.put(who, name=who.title(), role=role, pin=pin)
    return made


@pytest.fixture
def door(people: People) -> FloorDoor:
    return FloorDoor(people, people.path.with_name("floor-sessions.json"), now=Clock())


def test_the_file_of_people_holds_no_pin_and_is_its_owners_alone(people: People) -> None:
    assert stat.S_IMODE(people.path.stat().st_mode) == 0o600
    text = people.path.read_text()
    assert [pin for _, pin in PINS.values() if f'"{pin}"' in text] == []
    assert [pin for _, pin in PINS.values() if pin in repr(people.all())] == []
    assert (people.matches("mara", "4711"), people.matches("mara", "9035"), people.matches("x", "4711")) == (
        True,
        False,
        False,
    )
    people.path.write_text(text.replace('"n":16', '"n":2'))
    with pytest.raises(Unreadable, match="broken"):
        people.all()


@pytest.mark.parametrize("pin", ["", "123", "1234", "4321", "7777", "1234567890123", "47 11", "47a1", "٤٧١١"])
def test_a_pin_that_is_none_or_guessed_at_once_is_refused_and_not_told(people: People, pin: str) -> None:
    with pytest.raises(BadInput) as refused:
        people.put("mara", name="Mara", role="floor", pin=pin)
    assert not pin or pin not in refused.value.message.replace("4 to 12", "")
    assert people.matches("mara", "4711")


def test_somebody_is_always_owner(people: People, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="owner"):
        people.remove("ola")
    with pytest.raises(BadInput, match="owner"):
        people.put("ola", name="Ola", role="office", pin="8204")
    with pytest.raises(BadInput, match="owner"):
        People(tmp_path / "new.json").put("mara", name="Mara", role="floor", pin="4711")
    with pytest.raises(BadInput, match="no such role"):
        people.put("mara", name="Mara", role="boss", pin="4711")
    people.remove("jon")
    assert people.of("jon") is None


def test_each_role_may_write_all_that_the_one_before_may() -> None:
    allowed = [set(MAY[role]) for role in ROLES]
    assert all(before <= after for before, after in pairwise(allowed))
    assert allowed[-1] == set(get_args(Tapped))
    assert ROLES == ROLES_OF_VERB


def test_a_wrong_pin_slows_its_station_and_no_other(door: FloorDoor) -> None:
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    for _ in range(FREE_TRIES):
        assert door.wait_s("tablet") == 0.0
        assert door.enter("mara", "0000", station="tablet") is None
    waits = []
    for _ in range(8):
        waits.append(door.wait_s("tablet"))
        assert door.enter("mara", "4711", station="tablet") is None  # the right one does not help meanwhile
        clock.at_s += waits[-1]
        assert door.enter("mara", "0000", station="tablet") is None
    assert waits == sorted(waits)
    assert (waits[0], waits[-1]) == (2.0, WAIT_MOST_S)
    assert door.wait_s("office") == 0.0
    assert door.enter("mara", "4711", station="office") is not None
    clock.at_s += WAIT_MOST_S
    assert door.enter("mara", "4711", station="tablet") is not None  # never locked, and all is forgiven
    assert door.wait_s("tablet") == 0.0


def test_guesses_that_come_together_are_slowed_like_others(
    door: FloorDoor, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    looked: list[str] = []
    right = people.matches

    def slow(who: str, typed: str) -> bool:
        looked.append(typed)
        sleep(0.02)  # so that the others have all come meanwhile
        return right(who, typed)

    monkeypatch.setattr(people, "matches", slow)
    with ThreadPoolExecutor(12) as pool:
        found = list(pool.map(lambda k: door.enter("mara", f"{k:04}", station="tablet"), range(12)))
    assert found == [None] * 12
    assert len(looked) == FREE_TRIES


def test_nobody_guesses_anothers_pin_between_two_of_their_own(door: FloorDoor) -> None:
    for guess in range(FREE_TRIES):
        assert door.enter("jon", "9035", station="tablet") is not None
        assert door.enter("ola", f"{guess:04}", station="tablet") is None
    assert door.wait_s("tablet") > 0.0


def test_a_session_ends_and_what_was_tapped_in_it_may_be_sent_for_some_days(door: FloorDoor, people: People) -> None:
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    signed = door.enter("mara", "4711", station="tablet")
    assert signed is not None
    begun = clock.told()
    assert door.inside(signed.token) == people.of("mara")
    assert door.inside(signed.stamp) is None
    clock.at_s += SIGNED_IN_S - 1.0
    assert door.inside(signed.token) is not None
    clock.at_s += 2.0
    assert door.inside(signed.token) is None
    assert door.tapped(signed.stamp, at=begun) == people.of("mara")
    assert door.tapped(signed.token, at=begun) is None
    assert door.tapped(signed.stamp, at=clock.told(CLOCK_S + 1.0)) is None
    again = FloorDoor(people, people.path.with_name("floor-sessions.json"), now=clock)  # the server began anew
    assert again.tapped(signed.stamp, at=begun) == people.of("mara")
    clock.at_s += SENT_LATER_S
    assert again.tapped(signed.stamp, at=begun) is None


def test_a_tablet_whose_clock_is_off_and_one_that_was_left(door: FloorDoor) -> None:
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    ahead_s = 5 * 24 * 3600.0
    signed = door.enter("mara", "4711", station="tablet", clock_s=ahead_s)
    assert signed is not None
    assert door.tapped(signed.stamp, at=clock.told(ahead_s)) is not None
    clock.at_s += 600.0
    door.leave(signed.token)
    assert door.inside(signed.token) is None
    assert door.tapped(signed.stamp, at=clock.told(ahead_s - 300.0)) is not None
    assert door.tapped(signed.stamp, at=clock.told(ahead_s + CLOCK_S + 1.0)) is None


def test_somebody_who_is_gone_writes_nothing_more(door: FloorDoor, people: People) -> None:
    signed = door.enter("jon", "9035", station="tablet")
    assert signed is not None
    people.remove("jon")
    assert door.inside(signed.token) is None
    assert door.tapped(signed.stamp, at=datetime.now(UTC)) is None
    kept = people.path.with_name("floor-sessions.json")
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert signed.token not in kept.read_text()
    assert signed.stamp not in kept.read_text()


def test_a_new_pin_ends_what_began_with_the_old_one(door: FloorDoor, people: People) -> None:
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    signed = door.enter("jon", "9035", station="tablet")
    assert signed is not None
    people.put("jon", name="Jon", role="floor", pin="2796")
    assert door.inside(signed.token) is None
    assert door.tapped(signed.stamp, at=clock.told()) is None
    again = door.enter("jon", "2796", station="tablet")
    assert again is not None
    assert door.tapped(again.stamp, at=clock.told()) == people.of("jon")


@pytest.fixture(scope="module")
def floor(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    return floor_home(tmp_path_factory.mktemp("floor"))


@pytest.fixture
def tablets(floor: Floor) -> Iterator[Any]:
    """Makes clients of one desk that people with PINs stand at; another address each."""
    people = People(people_path(floor.home))
    for who, (role, pin) in PINS.items():
        people.put(who, name=who.title(), role=role, pin=pin)
    app = desk_app(floor.home)

    def tablet(number: int = 1) -> TestClient:
        return TestClient(
            app, base_url=OWN, headers={"origin": OWN}, client=(f"10.0.0.{number}", 5), follow_redirects=False
        )

    yield tablet
    app.state.desk.close()
    people.path.unlink()


def enter(client: TestClient, who: str) -> str:
    """Sign in; the stamp that the page carries."""
    answer = client.post("/floor-people", data={"who": who, "pin": PINS[who][1], "now_ms": "", "next": "/floor"})
    assert answer.status_code == 303
    return str(client.cookies["proveout-stamp"])


def tap(
    of: dict[str, Any], *, person: str, station: str = "saw", batch: str = "B1", at: datetime | None = None
) -> dict[str, Any]:
    when = (at or datetime.now(UTC)).isoformat()
    return {"id": str(uuid.uuid4()), "at": when, "person": person, "station": station, "batch": batch, "of": of}


MOVED = {"what": "moved", "to_place": "shelf"}
AGREED = {"what": "set up agreed", "step": "op1", "set_up": "x", "why": "looked at it myself"}


def test_a_tap_counts_by_its_own_persons_stamp_alone(tablets: Any) -> None:
    client = tablets()
    assert client.post("/floor/events", json=tap(MOVED, person="mara")).status_code == 401
    stamp = enter(client, "mara")
    assert client.post("/floor/events", json=tap(MOVED, person="mara")).status_code == 401  # a cookie alone is nothing
    with_stamp = {"x-floor-stamp": stamp}
    assert client.post("/floor/events", json=tap(MOVED, person="mara"), headers=with_stamp).status_code == 200
    other = client.post("/floor/events", json=tap(MOVED, person="ola"), headers=with_stamp)
    assert (other.status_code, other.json()["what"]) == (409, "Somebody else was signed in")
    late = tap(MOVED, person="mara", at=datetime.now(UTC) + timedelta(days=1))
    assert client.post("/floor/events", json=late, headers=with_stamp).status_code == 401
    evil = with_stamp | {"origin": "http://evil.example"}
    assert client.post("/floor/events", json=tap(MOVED, person="mara"), headers=evil).status_code == 403
    assert f'data-stamp="{stamp}"' in client.get("/floor").text
    client.post("/floor-people/leave")
    assert f'data-stamp="{stamp}"' not in client.get("/floor").text


def test_a_role_writes_what_it_may_and_no_more(tablets: Any) -> None:
    client = tablets()
    resumed = {"what": "resumed", "step": "saw", "why": "new blade"}
    for who, of, is_allowed in (
        ("mara", MOVED, True), ("mara", resumed, False), ("mara", AGREED, False), ("ivo", resumed, True),
        ("ivo", AGREED, False), ("ola", AGREED, True),
    ):  # fmt: skip
        answer = client.post("/floor/events", json=tap(of, person=who), headers={"x-floor-stamp": enter(client, who)})
        is_refused = "not for you to write" in answer.text
        assert is_refused is not is_allowed, (who, of, answer.text)


def test_somebody_steps_up_with_their_own_pin_for_once(tablets: Any) -> None:
    client = tablets()
    enter(client, "mara")
    fields = {
        "id": str(uuid.uuid4()),
        "station": "saw",
        "batch": "B1",
        "back": "/floor/saw",
        "of.what": "moved",
        "of.to_place": "rack 7",
    }
    wrong = client.post("/floor/by-another", data=fields | {"who": "ivo", "pin": "4711"})
    assert wrong.status_code == 409
    assert "not the PIN" in wrong.text
    assert "4711" not in wrong.text
    assert client.post("/floor/by-another", data=fields | {"who": "ivo", "pin": "5520"}).status_code == 303
    row = app_records(client)[-1]
    assert (row.person, row.of.to_place) == ("ivo", "rack 7")
    assert 'data-person="mara"' in client.get("/floor").text


def app_records(client: TestClient) -> list[Any]:
    app: Any = client.app
    return [event for _, event in app.state.desk.records.events(batch="B1")]


def test_no_log_no_page_and_no_file_has_a_pin_or_a_secret(
    tablets: Any, floor: Floor, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    client = tablets(9)
    client.post("/floor-people", data={"who": "mara", "pin": "600613"})
    stamp = enter(client, "mara")
    client.get("/floor/saw")
    secrets = ["600613", stamp, client.cookies["proveout-floor"]]
    assert [one for one in secrets if one in caplog.text] == []
    beside = people_path(floor.home).parent
    kept = b"".join(path.read_bytes() for path in beside.iterdir() if path.is_file())
    assert [one for one in secrets if one.encode() in kept] == []
    cookie = client.post("/floor-people", data={"who": "mara", "pin": PINS["mara"][1]}).headers["set-cookie"].lower()
    assert cookie.count("httponly") == cookie.count("samesite=strict") == 2


def test_the_verb_sets_lists_and_removes_people(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import io

    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    (tmp_path / "home").mkdir()
    at = ["--home", str(tmp_path / "home")]
    monkeypatch.setattr("sys.stdin", io.StringIO("8204\n"))
    assert main(["people", "set", "ola", "--role", "owner", "--name", "Ola K.", *at]) == 0
    monkeypatch.setattr("sys.stdin", io.StringIO("4711\n"))
    assert main(["people", "set", "mara", *at]) == 0
    assert main(["people", "list", *at]) == 0
    told = capsys.readouterr().out
    assert "ola\towner\tOla K." in told
    assert "4711" not in told
    assert main(["people", "remove", "mara", *at]) == 0
    assert main(["people", "remove", "mara", *at]) == 2
    kept = json.loads((tmp_path / "home-plans" / "people.json").read_text())
    assert [one["who"] for one in kept["people"]] == ["ola"]
