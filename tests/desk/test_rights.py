"""Who may do what in the office: one table, held against every address; names that nobody else can sign with."""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from proveout.cli.main import main
from proveout.desk.app import OWN_NAMES, ROUTERS, desk_app
from proveout.desk.door import COOKIE, PAUSE_S, WRONG_MOST, Door
from proveout.desk.rights_of_routes import OPEN, READS, WRITES, right_of
from proveout.jobs import password as password_module
from proveout.jobs.home import Home
from proveout.jobs.password import Password, kept_of, kept_password
from proveout.jobs.people import ROLES, People, Role, people_path
from proveout.jobs.rights import MAY_DO, OF_A_STATION, RIGHTS, WORDS, roles_with
from proveout.quantities.errors import BadInput, Unreadable

OWN = "http://mill.local:8417"
STATIONS = "the word of all stations"
WORDS_OF: dict[str, tuple[Role, str]] = {
    "ola": ("owner", "three plain words"), "rut": ("office", "four more plain words"),
    "pim": ("planning", "another few words"), "ivo": ("inspection", "words of the gauge room"),
    "mara": ("floor", "words of the machine"),
}  # fmt: skip
Enter = Callable[..., TestClient]


@pytest.fixture(autouse=True)
def _cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Guesses that cost little, so that tests are quick."""
    monkeypatch.setattr(password_module, "COST_N", 2**4)
    monkeypatch.setattr("proveout.jobs.people._NOBODY", kept_of("nobody's"))


def routes() -> list[APIRoute]:
    return [route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)]


def address_of(path: str) -> str:
    """Of a route, its words in braces filled in."""
    return re.sub(r"\{[^}]+\}", "1", path)


def with_people(home: Home) -> People:
    people = People(people_path(home))
    for who, (role, password) in WORDS_OF.items():
        people.put(who, name=who.title(), role=role, password=password)
    return people


@pytest.fixture
def home(tmp_path: Path) -> Home:
    (tmp_path / "home").mkdir()
    return Home(tmp_path / "home")


@pytest.fixture
def people(home: Home) -> People:
    return with_people(home)


@pytest.fixture
def enter(home: Home, people: People) -> Iterator[Enter]:
    """Makes clients of one desk; signed in by name, or as a station with ''."""
    app = desk_app(home, hosts=(*OWN_NAMES, "mill.local"), door=Door(Password(kept_password(STATIONS)), people))

    def signed_in(who: str | None, *, number: int = 1) -> TestClient:
        client = TestClient(
            app, base_url=OWN, headers={"origin": OWN, "accept": "text/html"}, follow_redirects=False,
            client=(f"10.0.0.{number}", 5), raise_server_exceptions=False,
        )  # fmt: skip
        if who is not None:
            password = WORDS_OF[who][1] if who else STATIONS
            assert client.post("/sign-in", data={"who": who, "password": password}).status_code == 303
        return client

    yield signed_in
    app.state.desk.close()


def test_every_address_that_changes_something_names_its_right() -> None:
    """One that names none is refused to everybody who signs in; it is to stand in the list."""
    posts = [route.path for route in routes() if "POST" in (route.methods or ())]
    assert sorted(posts) == sorted(WRITES)
    for path in posts:
        assert right_of("POST", address_of(path)) == WRITES[path], path
    assert set(WRITES.values()) <= {*RIGHTS, OPEN}
    assert [path for path, needed in WRITES.items() if needed == OPEN] == ["/sign-in"]
    assert set(READS) <= {route.path for route in routes() if "GET" in (route.methods or ())}
    assert right_of("GET", "/an-address-of-tomorrow") == "money"
    assert right_of("POST", "/an-address-of-tomorrow") is None
    assert right_of("PUT", "/people") is None


def test_the_table_of_roles_and_rights() -> None:
    assert set(MAY_DO) == set(ROLES)
    assert set(WORDS) == set(RIGHTS)
    assert MAY_DO["owner"] == set(RIGHTS)
    assert {"read", "floor"} == OF_A_STATION
    expected = {
        "plan": ("planning", "office", "owner"), "money": ("planning", "office", "owner"),
        "release": ("office", "owner"), "shop": ("owner",), "lessons": ("owner",), "people": ("owner",),
        "stock": ROLES, "read": ROLES, "floor": ROLES,
    }  # fmt: skip
    assert {right: roles_with(right) for right in RIGHTS} == expected


@pytest.mark.parametrize("who", [*WORDS_OF, ""])
def test_each_role_does_what_it_may_and_is_refused_the_rest(enter: Enter, home: Home, who: str) -> None:
    """Over every address that changes something: asked of the server itself, whatever a page shows."""
    client = enter(who)
    may = MAY_DO[WORDS_OF[who][0]] if who else OF_A_STATION
    wrong = []
    for path, needed in WRITES.items():
        if path in ("/sign-in", "/sign-out"):
            continue
        answer = client.post(address_of(path))
        is_refused = answer.status_code == 403 and "This is not for you" in answer.text
        if is_refused is (needed in may):
            wrong.append((path, needed, answer.status_code))
    assert wrong == []
    assert client.get("/people").status_code == (200 if "people" in may else 403)
    assert home.shop_path.exists() is ("shop" in may)


def test_who_is_not_signed_in_changes_nothing(enter: Enter) -> None:
    client = enter(None)
    asked = {path: client.post(address_of(path)).status_code for path in WRITES}
    assert {path: status for path, status in asked.items() if status != 401} == {}
    assert client.get("/people").status_code == 303


def test_a_refusal_says_who_may_and_what_to_do(enter: Enter) -> None:
    said = enter("mara").post("/batches/B1/release").text
    wanted = (
        "not for you to do: answer for open proofs",
        "Mara, floor",
        "ask the office or owner",
        "Nothing was changed",
    )
    for words in wanted:
        assert words in said
    assert "sign in with your own name" in enter("").post("/shop/undo").text


def test_an_event_is_signed_by_who_is_signed_in_whatever_the_form_says(enter: Enter) -> None:
    client = enter("rut")
    page = client.get("/stock").text
    assert "Signed: Rut" in page
    assert 'name="person"' not in page
    fields = {"machine": "mill-3", "added": "5", "note": "topped up", "person": "ola", "event": ""}
    assert client.post("/stock/coolant", data=fields).status_code == 303
    app: Any = client.app
    assert [event.person for _, event in app.state.desk.records.events()] == ["rut"]


def test_the_stations_password_opens_all_until_somebody_has_an_own_one(home: Home) -> None:
    """As it was with one password for everybody; then it is a station's and no more, in an open session too."""
    people = People(people_path(home))
    app = desk_app(home, hosts=("mill.local",), door=Door(Password(kept_password(STATIONS)), people))
    client = TestClient(app, base_url=OWN, headers={"origin": OWN, "accept": "text/html"}, follow_redirects=False)
    assert "Your name" not in client.get("/sign-in").text
    client.post("/sign-in", data={"password": STATIONS})
    assert client.get("/people").status_code == 200
    assert client.post("/people", data={"who": "ola", "role": "owner", "password": "three plain words"}).is_redirect
    assert client.get("/people").status_code == 403
    assert client.get("/").headers["location"] == "/floor"
    assert "leave it empty at a station" in client.get("/sign-in").text
    app.state.desk.close()


def test_this_machine_alone_asks_nobody_until_somebody_has_a_password(home: Home) -> None:
    app = desk_app(home)
    own = "http://127.0.0.1:8417"
    client = TestClient(app, base_url=own, headers={"origin": own, "accept": "text/html"}, follow_redirects=False)
    assert client.get("/sign-in").status_code == 404
    assert "these pages ask nobody on this machine" in client.get("/people").text
    refused = client.post("/people", data={"who": "mara", "role": "floor", "password": "words of the machine"})
    assert refused.status_code == 400
    assert "Somebody must be owner" in refused.text
    assert client.post("/people", data={"who": "ola", "role": "owner", "pin": "8204"}).is_redirect
    assert client.get("/").status_code == 200  # a PIN is of the floor: the office asks nobody still
    assert client.post("/people", data={"who": "ola", "role": "owner", "password": "three plain words"}).is_redirect
    assert client.get("/").headers["location"].startswith("/sign-in")
    assert client.post("/shop/undo").status_code == 401
    assert client.post("/sign-in", data={"who": "ola", "password": "three plain words"}).is_redirect
    page = client.get("/people").text
    assert "8204" not in page
    assert "three plain words" not in page
    assert client.post("/people/ola/remove").is_redirect  # the last one: nobody is asked again
    assert client.get("/sign-in").status_code == 404
    app.state.desk.close()


def test_a_new_role_counts_at_once_and_who_is_gone_is_out(enter: Enter, people: People) -> None:
    client = enter("rut")
    assert client.post("/batches/B1/close").status_code != 403
    people.put("rut", name="Rut", role="planning")
    assert client.post("/batches/B1/close").status_code == 403
    assert client.get("/stock").status_code == 200
    people.remove("rut")
    assert client.get("/stock").status_code == 303


def test_an_own_password_is_changed_with_the_old_one_and_ends_what_began_with_it(enter: Enter) -> None:
    here, there = enter("pim"), enter("pim")
    assert "planning" in here.get("/own-password").text
    new = "words that are new"
    wrong = here.post("/own-password", data={"old": "not the one at all", "new": new})
    assert (wrong.status_code, "That is not your password" in wrong.text) == (400, True)
    short = here.post("/own-password", data={"old": WORDS_OF["pim"][1], "new": "short"})
    assert (short.status_code, "too few" in short.text) == (400, True)
    assert here.post("/own-password", data={"old": WORDS_OF["pim"][1], "new": new}).is_redirect
    assert [client.get("/").status_code for client in (here, there)] == [303, 303]
    assert here.post("/sign-in", data={"who": "pim", "password": WORDS_OF["pim"][1]}).status_code == 401
    assert here.post("/sign-in", data={"who": "pim", "password": new}).is_redirect
    assert enter("").get("/own-password").status_code == 404
    for _ in range(WRONG_MOST):
        here.post("/own-password", data={"old": "a guess", "new": new})
    assert here.post("/sign-in", data={"who": "pim", "password": new}).status_code == 429


def test_one_persons_password_opens_no_other_name(enter: Enter) -> None:
    client = enter(None)
    for who in ("ola", "", "nobody", "OLA"):
        assert client.post("/sign-in", data={"who": who, "password": WORDS_OF["mara"][1]}).status_code in (401, 429)
    assert enter(None, number=2).post("/sign-in", data={"who": "ola", "password": STATIONS}).status_code == 401


def test_many_addresses_guess_one_name_slowly_and_lock_nobody_out(people: People) -> None:
    paused: list[float] = []
    door = Door(None, people, pause=paused.append)
    for number in range(WRONG_MOST):
        assert door.enter("guess", address=f"10.0.0.{number}", who="ola") is None
    assert paused == []
    assert door.enter("guess", address="10.0.1.1", who="ola") is None
    assert paused == [PAUSE_S]
    assert door.enter(WORDS_OF["mara"][1], address="10.0.1.2", who="mara") is not None
    assert paused == [PAUSE_S]
    assert door.enter(WORDS_OF["ola"][1], address="10.0.1.3", who="ola") is not None


def test_no_log_no_page_and_no_file_has_a_password_or_a_token(
    enter: Enter, people: People, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    client = enter("ola")
    client.post("/sign-in", data={"who": "ola", "password": "a wrong secret"})
    refused = client.post("/people", data={"who": "x y", "role": "boss", "password": "a secret not kept"})
    secrets = [WORDS_OF["ola"][1], "a wrong secret", "a secret not kept", client.cookies[COOKIE]]
    pages = [refused.text, client.get("/people").text, client.get("/own-password").text]
    kept = b"".join(path.read_bytes() for path in people.path.parent.rglob("*") if path.is_file()).decode("latin-1")
    app: Any = client.app
    held = str(vars(app.state.door)) + repr(people.all())
    assert [one for one in secrets for text in (caplog.text, kept, held, *pages) if one in text] == []


def test_people_without_pins_stand_at_the_floor_by_their_sign_in(enter: Enter) -> None:
    """Nobody with a password set is believed on their word, and a station's session is nobody."""
    tap = {
        "id": "8a8a8a8a-0000-4000-8000-000000000000", "at": "2027-03-01T07:00:00Z", "station": "saw", "batch": "",
        "of": {"what": "moved", "to_place": "shelf"},
    }  # fmt: skip
    mara, station = enter("mara"), enter("")
    assert "Mara" in mara.get("/floor").text
    assert mara.post("/floor/events", json=tap | {"person": "ola"}).json()["what"] == "Somebody else is signed in"
    agreed = tap | {"of": {"what": "set up agreed", "step": "op1", "set_up": "x", "why": "looked at it myself"}}
    assert "not for you" in mara.post("/floor/events", json=agreed | {"person": "mara"}).json()["what"]
    refused = station.post("/floor/events", json=tap | {"person": "ola"})
    assert (refused.status_code, "No PINs are set" in refused.json()["what"]) == (409, True)
    fields = {"who": "ola", "pin": "", "id": tap["id"], "station": "saw", "batch": "", "of.what": "moved"}
    assert "No PINs are set" in mara.post("/floor/by-another", data=fields).text


def test_a_table_of_cutters_among_designs_needs_the_right_to_change_the_shop(enter: Enter, home: Home) -> None:
    given = {"files": ("crib.csv", b"id,diameter\nE6,6\n")}
    answer = enter("rut").post("/designs", files=given)
    assert (answer.status_code, "becomes a shop file" in answer.text) == (403, True)
    assert not home.shop_path.exists()
    assert enter("ola").post("/designs", files=given).status_code != 403


def test_with_a_broken_file_of_people_nothing_is_shown_and_it_is_said_why(enter: Enter, people: People) -> None:
    client, station = enter("ola"), enter("")
    people.path.write_text("{")
    for one in (client, station):
        answer = one.get("/")
        assert (answer.status_code, "The file of people is broken" in answer.text) == (500, True)
    assert client.post("/shop/undo").status_code == 500
    assert "The file of people is broken" in enter(None).get("/sign-in").text


def test_a_password_is_set_kept_and_wanted_by_rule(tmp_path: Path) -> None:
    people = People(tmp_path / "people.json")
    with pytest.raises(BadInput, match="Nothing is set by which they are known"):
        people.put("ola", name="Ola", role="owner")
    people.put("ola", name="Ola", role="owner", pin="8204")
    of_ola, of_rut = WORDS_OF["ola"][1], WORDS_OF["rut"][1]
    with pytest.raises(BadInput, match="set the owner's password first"):
        people.put("rut", name="Rut", role="office", password=of_rut)
    people.put("ola", name="Ola", role="owner", password=of_ola)
    assert people.matches("ola", "8204")
    people.put("rut", name="Rut", role="office", password=of_rut)
    assert people.matches_password("rut", of_rut)
    assert not people.matches("rut", "")
    assert not people.matches("rut", of_rut)
    people.put("rut", name="Rut N.", role="office")
    assert people.matches_password("rut", of_rut)
    text = people.path.read_text()
    people.path.write_text(text.replace('"n":16', '"n":2'))
    with pytest.raises(Unreadable, match="broken"):
        people.all()
    people.path.write_text('{"people": [{"who": "x", "name": "x", "role": "owner"}]}')
    with pytest.raises(Unreadable, match="broken"):
        people.all()


def test_the_verb_sets_a_password_and_keeps_the_pin(
    home: Home, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at = ["--home", str(home.root)]
    for typed, more in (("8204\n", []), ("three plain words\n", ["--password"])):
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        assert main(["people", "set", "ola", *(more or ["--role", "owner"]), *at]) == 0
    assert main(["people", "list", *at]) == 0
    told = capsys.readouterr().out
    assert "ola\towner\tola\tPIN, password" in told
    assert "three plain words" not in told
    people = People(people_path(home))
    assert (people.matches("ola", "8204"), people.matches_password("ola", "three plain words")) == (True, True)
