"""Other stations come in with the password alone; nothing gives it away, and nobody may guess for long."""

from __future__ import annotations

import argparse
import io
import logging
import stat
import threading
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from proveout.cli import serve_verb
from proveout.cli.main import main
from proveout.desk import door as door_module
from proveout.desk.app import OWN_NAMES, desk_app
from proveout.desk.door import COOKIE, PAUSE_S, SIGNED_IN_S, WRONG_MOST, WRONG_OF_ALL_MOST, WRONG_WITHIN_S, Door
from proveout.desk.serving import names_of_this_machine
from proveout.desk.sign_in import own_address
from proveout.jobs import certificate as certificate_module
from proveout.jobs import password as password_module
from proveout.jobs.home import Home
from proveout.jobs.password import Password, read_password, set_password
from proveout.jobs.people import People, people_path
from proveout.quantities.errors import BadInput, Busy, Unreadable

RIGHT = "three plain words"
OWN = "http://mill.local:8417"


@pytest.fixture
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Guesses that cost little, so that tests are quick."""
    monkeypatch.setattr(password_module, "COST_N", 2**4)


@pytest.fixture
def password(tmp_path: Path, cheap: None) -> Password:  # noqa: ARG001 - it makes the guesses cheap
    set_password(RIGHT, tmp_path / "password.json")
    return read_password(tmp_path / "password.json")


class Clock:
    def __init__(self) -> None:
        self.at_s = 1000.0

    def __call__(self) -> float:
        return self.at_s


@pytest.fixture
def door(password: Password) -> Door:
    return Door(password, now=Clock())


def station(tmp_path: Path, door: Door, *, base: str = OWN) -> TestClient:
    app = desk_app(Home(tmp_path), hosts=(*OWN_NAMES, "mill.local"), door=door)
    return TestClient(
        app, base_url=base, headers={"origin": base, "accept": "text/html"}, follow_redirects=False,
        raise_server_exceptions=False,
    )  # fmt: skip


@pytest.mark.usefixtures("cheap")
def test_the_file_holds_a_hash_that_only_its_owner_reads(tmp_path: Path) -> None:
    path = tmp_path / "own" / "password.json"
    set_password(RIGHT, path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    text = path.read_text()
    assert RIGHT not in text
    first = read_password(path)
    assert (first.matches(RIGHT), first.matches(f"{RIGHT} "), first.matches("")) == (True, False, False)
    assert RIGHT not in repr(first)
    set_password(RIGHT, path)
    assert path.read_text() != text  # another salt


@pytest.mark.usefixtures("cheap")
def test_a_short_password_and_a_broken_file_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "password.json"
    for typed in ("", "nine lett", "x" * 201):
        with pytest.raises(BadInput, match="letters") as refused:
            set_password(typed, path)
        assert not typed or typed not in refused.value.message
    with pytest.raises(BadInput, match="No password was set"):
        read_password(path)
    set_password(RIGHT, path)
    for text in (
        "",
        "{}",
        path.read_text().replace('"n":16', '"n":2'),
        path.read_text().replace('"salt":"', '"salt":"zz'),
    ):
        (tmp_path / "broken.json").write_text(text)
        with pytest.raises(Unreadable, match="broken"):
            read_password(tmp_path / "broken.json")


def test_nothing_is_shown_before_the_sign_in(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    for path in ("/", "/work", "/no-such-page", "/entries/x/drawing.svg"):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["location"].split("?")[0]) == (303, "/sign-in")
        assert str(tmp_path) not in answer.text
    assert client.get("/shelf/drawn", headers={"accept": "*/*"}).status_code == 401
    for path in ("/designs", "/sign-out", "/tasks/x/cancel"):
        assert client.post(path).status_code == 401
    assert client.get("/static/desk.css").status_code == 200
    assert client.get("/", headers={"cookie": f"{COOKIE}=made-up"}).status_code == 303
    assert client.get("/", headers={"cookie": f'{COOKIE}="\\x'}).status_code == 303


def test_who_is_not_signed_in_may_send_little(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    assert client.post("/sign-in", data={"password": "x" * 60_000}).status_code == 401
    assert client.post("/sign-in", data={"password": "x" * 70_000}).status_code == 413
    many = {f"f{number}": (f"{number}.step", b"x" * 1000) for number in range(80)}
    assert client.post("/sign-in", files=many).status_code == 413


def test_the_password_opens_the_page_that_was_wanted_until_the_session_ends(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    wanted = client.get("/?q=lid").headers["location"]
    assert 'name="next" value="/?q=lid"' in client.get(wanted).text
    answer = client.post("/sign-in", data={"password": RIGHT, "next": "/?q=lid"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/?q=lid")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "secure" not in cookie
    assert "Sign out" in client.get("/").text
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    clock.at_s += SIGNED_IN_S - 1.0
    assert client.get("/").status_code == 200
    clock.at_s += 2.0
    assert client.get("/").status_code == 303


def test_a_sign_out_ends_the_session_for_good(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    token = client.post("/sign-in", data={"password": RIGHT}).cookies[COOKIE]
    assert client.get("/", headers={"cookie": f"{COOKIE}={token}"}).status_code == 200
    assert client.post("/sign-out").status_code == 303
    assert client.get("/", headers={"cookie": f"{COOKIE}={token}"}).status_code == 303


def test_over_https_the_cookie_goes_nowhere_else(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door, base="https://mill.local:8417")
    assert "secure" in client.post("/sign-in", data={"password": RIGHT}).headers["set-cookie"].lower()


def test_who_guesses_waits_and_the_right_one_does_not_help_meanwhile(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    for _ in range(WRONG_MOST):
        answer = client.post("/sign-in", data={"password": "guess"})
        assert answer.status_code in (401, 429)
    answer = client.post("/sign-in", data={"password": RIGHT})
    assert answer.status_code == 429
    assert "Wait 15 minutes" in answer.text
    assert door.enter(RIGHT, address="another") is not None
    clock: Clock = door._now  # pyright: ignore[reportAssignmentType]
    clock.at_s += WRONG_WITHIN_S + 1.0
    assert client.post("/sign-in", data={"password": RIGHT}).status_code == 303


def test_many_addresses_together_guess_slowly_and_lock_nobody_out(password: Password) -> None:
    """After as many wrong ones every guess is kept back, the right one too; then it opens."""
    paused: list[float] = []
    door = Door(password, now=Clock(), pause=paused.append)
    for number in range(WRONG_OF_ALL_MOST):
        assert door.enter("guess", address=f"10.0.0.{number}") is None
    assert paused == []
    assert door.enter("guess", address="10.0.1.1") is None
    assert paused == [PAUSE_S]
    assert door.enter(RIGHT, address="10.0.1.2") is not None
    assert paused == [PAUSE_S] * 2
    assert door.enter(RIGHT, address="127.0.0.1") is not None  # whatever others do
    assert paused == [PAUSE_S] * 2


@pytest.mark.parametrize("address", ["127.0.0.1", "127.0.0.2", "::1", "::ffff:127.0.0.1"])
def test_this_machine_is_never_locked_out_and_yet_guesses_slowly(password: Password, address: str) -> None:
    paused: list[float] = []
    door = Door(password, now=Clock(), pause=paused.append)
    for _ in range(2 * WRONG_OF_ALL_MOST):
        assert door.enter("guess", address=address) is None
    assert len(paused) == 2 * WRONG_OF_ALL_MOST - WRONG_MOST
    assert door.wait_s(address) == 0.0
    assert door.enter(RIGHT, address=address) is not None


def test_a_flood_of_guesses_is_told_to_wait_and_this_machine_comes_in_meanwhile(
    password: Password, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One guess is under way and as many wait as may: the next is told so at once, and takes no thread of the desk."""
    begun, go = threading.Event(), threading.Event()
    matches = Password.matches

    def slow(self: Password, typed: str) -> bool:
        if typed == "guess":
            begun.set()
            go.wait(10.0)
        return matches(self, typed)

    monkeypatch.setattr(Password, "matches", slow)
    monkeypatch.setattr(door_module, "WAITING_MOST", 0)
    door = Door(password, now=Clock(), pause=lambda _: None)
    first = threading.Thread(target=lambda: door.enter("guess", address="10.0.0.1"))
    first.start()
    assert begun.wait(10.0)
    with pytest.raises(Busy):
        door.enter(RIGHT, address="10.0.0.2")
    assert door.enter(RIGHT, address="127.0.0.1") is not None
    go.set()
    first.join()


def test_another_site_and_another_name_are_refused_at_the_door_too(tmp_path: Path, door: Door) -> None:
    client = station(tmp_path, door)
    sent = {"password": RIGHT}
    assert client.post("/sign-in", data=sent, headers={"origin": "http://evil.example"}).status_code == 403
    assert client.post("/sign-in", data=sent, headers={"host": "evil.example"}).status_code == 421


@pytest.mark.parametrize(
    ("asked", "taken"),
    [
        ("/parts/lid?a=b", "/parts/lid?a=b"),
        ("//evil.example", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example", "/"),
        ("", "/"),
        ("/a\r\nset-cookie: x", "/"),
        ("/sign-in?next=/", "/"),
    ],
)
def test_after_the_sign_in_nobody_is_sent_elsewhere(asked: str, taken: str) -> None:
    assert own_address(asked) == taken


def test_no_log_has_the_password_or_a_token(tmp_path: Path, door: Door, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    client = station(tmp_path, door)
    client.post("/sign-in", data={"password": "a wrong secret"})
    token = client.post("/sign-in", data={"password": RIGHT}).cookies[COOKIE]
    client.get("/")
    for secret in ("a wrong secret", RIGHT, token):
        assert secret not in caplog.text
        assert secret not in str(vars(door))


def test_without_a_password_no_other_station_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(password_module, "default_path", lambda: tmp_path / "password.json")
    assert main(["serve", str(tmp_path), "--lan"]) == 2
    assert "No password was set" in capsys.readouterr().err
    assert main(["serve", str(tmp_path), "--name", "mill"]) == 2
    assert "give --lan" in capsys.readouterr().err
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{RIGHT}\n"))
    assert main(["serve", "--set-password"]) == 0
    assert RIGHT not in "".join(capsys.readouterr())
    assert read_password(tmp_path / "password.json").matches(RIGHT)
    given = argparse.Namespace(lan=True, name=["Mill"], certificate=None, key=None, http=True)
    stations = serve_verb._stations(given, Home(tmp_path))
    assert stations is not None
    assert (stations.names, stations.scheme) == (("mill", *names_of_this_machine()), "http")
    alone = argparse.Namespace(lan=False, name=[], certificate=None, key=None, http=False)
    assert serve_verb._stations(alone, Home(tmp_path)) is None


@pytest.mark.usefixtures("cheap")
def test_other_stations_come_by_https_and_by_their_own_passwords_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the stations' password, once somebody has an own one; with a certificate that was made on the spot."""
    monkeypatch.setattr(password_module, "default_path", lambda: tmp_path / "none.json")
    monkeypatch.setattr(certificate_module, "default_path", lambda: tmp_path / "none.json")
    home = Home(tmp_path)
    given = argparse.Namespace(lan=True, name=[], certificate=None, key=None, http=False)
    with pytest.raises(BadInput, match="No password was set"):
        serve_verb._stations(given, home)
    People(people_path(home)).put("ola", name="Ola", role="owner", password=RIGHT)
    stations = serve_verb._stations(given, home)
    assert stations is not None
    assert (stations.password, stations.scheme) == (None, "https")
    assert stations.certificate == tmp_path / "desk-certificate" / "certificate.pem"
    with pytest.raises(BadInput, match="leave one of them out"):
        serve_verb._stations(
            argparse.Namespace(**vars(given) | {"http": True, "certificate": stations.certificate}), home
        )


def test_this_machine_alone_asks_for_no_password(tmp_path: Path) -> None:
    client = TestClient(desk_app(Home(tmp_path)), base_url="http://127.0.0.1:8417")
    text = client.get("/").text
    assert "Sign out" not in text
    assert client.get("/sign-in").status_code == 404
