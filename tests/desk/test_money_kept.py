"""Who may not see money sees none: not on a page, in a file or in what scripts ask for, over every address there is."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from desk.test_rights import STATIONS, WORDS_OF, address_of, routes, with_people
from fastapi.testclient import TestClient
from floor_home import MILL, PROGRAM, Floor, floor_home
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from proveout.desk.app import OWN_NAMES, desk_app
from proveout.desk.door import Door
from proveout.desk.rights_of_routes import READS, right_of
from proveout.desk.signed_in import SignedInOnly
from proveout.jobs import password as password_module
from proveout.jobs.password import Password, kept_of, kept_password
from proveout.jobs.people import People, people_path
from proveout.jobs.rights import MAY_DO, OF_A_STATION
from proveout.model.batch_events import Started
from proveout.model.stock_events import Sawn

OWN = "http://mill.local:8417"
PACKET = "@B1"
HAVE = {"address": PACKET, "batch": "B1", "name": "B1", "station": MILL, "step": "op1", "number": "1", "id": "x",
        "digest": "0" * 64}  # fmt: skip
MONEY = re.compile(r"\b(EUR|USD|CHF|price|prices|cost|costs|invoice|hourly)\b|[€$£]", re.IGNORECASE)
SEES_NONE = ("mara", "ivo", "")
Enter = Callable[[str], TestClient]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    floor = floor_home(tmp_path_factory.mktemp("money"))
    floor.post(Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1,
                                         good_count=8))  # fmt: skip
    return floor


@pytest.fixture(scope="module")
def enter(made: Floor) -> Iterator[Enter]:
    """Makes clients of one desk; signed in by name, or as a station with an empty one."""
    with pytest.MonkeyPatch.context() as cheap:
        cheap.setattr(password_module, "COST_N", 2**4)
        cheap.setattr("proveout.jobs.people._NOBODY", kept_of("nobody's"))
        people: People = with_people(made.home)
        app = desk_app(
            made.home, hosts=(*OWN_NAMES, "mill.local"), door=Door(Password(kept_password(STATIONS)), people)
        )  # fmt: skip
        clients: dict[str, TestClient] = {}

        def signed_in(who: str) -> TestClient:
            if who not in clients:
                client = TestClient(app, base_url=OWN, headers={"origin": OWN, "accept": "text/html"},
                                    follow_redirects=False, raise_server_exceptions=False)  # fmt: skip
                password = WORDS_OF[who][1] if who else STATIONS
                assert client.post("/sign-in", data={"who": who, "password": password}).status_code == 303
                clients[who] = client
            return clients[who]

        yield signed_in
        app.state.desk.close()
        people_path(made.home).unlink()


def sampled(path: str) -> str:
    return re.sub(r"\{(\w+)(?::\w+)?\}", lambda found: HAVE.get(found[1], "1"), path)


def reads() -> list[str]:
    return sorted(route.path for route in routes() if "GET" in (route.methods or ()))


@pytest.mark.parametrize("who", [*WORDS_OF, ""])
def test_each_role_reads_what_it_may_and_is_refused_the_rest(enter: Enter, who: str) -> None:
    """Over every address that answers: of a packet, and of a plan that nobody released. What stands behind is empty."""
    session = enter(who).cookies
    app: Any = enter(who).app
    behind = Starlette(routes=[Route("/{path:path}", lambda _: PlainTextResponse("shown"))])
    client = TestClient(SignedInOnly(behind, door=app.state.door), base_url=OWN, cookies=session)
    may = MAY_DO[WORDS_OF[who][0]] if who else OF_A_STATION
    shown = {address for path in reads() for address in (sampled(path), address_of(path))
             if client.get(address).text == "shown"}  # fmt: skip
    everything = {address for path in reads() for address in (sampled(path), address_of(path))}
    expected = {address for address in everything if right_of("GET", address) in {*may, "open"}}
    assert shown == expected
    assert ("/" in shown, "/parts/1" in shown, "/shop" in shown, "/lessons" in shown) == ("money" in may,) * 4
    assert {"/floor", "/stock", "/batches", f"/parts/{PACKET}/papers"} <= shown


@pytest.mark.parametrize("who", SEES_NONE)
def test_the_desk_itself_refuses_whatever_shows_money(enter: Enter, who: str) -> None:
    client = enter(who)
    asked = {address for path in reads() for address in (sampled(path), address_of(path))
             if right_of("GET", address) in ("money", "people") and address != "/"}  # fmt: skip
    assert len(asked) > 40
    assert {address: client.get(address).status_code for address in asked} == dict.fromkeys(asked, 403)
    assert client.head("/shop").status_code == 403


@pytest.mark.parametrize("who", SEES_NONE)
def test_no_page_that_everybody_reads_tells_of_money(enter: Enter, who: str) -> None:
    client = enter(who)
    seen = 0
    for path, needed in READS.items():
        if needed != "read" or path.startswith(("/parts/{address}/files", "/parts/{address}/work/")):
            continue
        answer = client.get(sampled(path))
        if answer.status_code == 200 and not path.endswith(".js"):
            seen += 1
            assert MONEY.findall(re.sub(r"<(script|style)\b.*?</\1>", "", answer.text, flags=re.DOTALL)) == [], path
    assert seen >= 12
    assert client.get("/", headers={"accept": "text/html"}).headers["location"] == "/floor"


@pytest.mark.parametrize("who", SEES_NONE)
def test_of_a_packet_they_are_given_the_files_without_money(enter: Enter, who: str) -> None:
    client = enter(who)
    given = client.get(f"/parts/{PACKET}/files/programs/clamping-1.nc")
    assert (given.status_code, given.text) == (200, PROGRAM)
    for name in ("plan.json", "manifest.json", "papers.pdf", "purchases.csv", "lists.xlsx", "inputs/shop.toml",
                 "inputs/floor-papers.pdf", "programs/../plan.json", "a/programs/x.nc"):  # fmt: skip
        assert client.get(f"/parts/{PACKET}/files/{name}").status_code == 403, name
    for address in ("/parts/block/files/programs/clamping-1.nc", "/parts/block/papers", "/parts/block/work"):
        assert client.get(address).status_code == 403, address
    listed = client.get(f"/parts/{PACKET}/papers").text
    assert "programs/clamping-1.nc" in listed
    assert "plan.json" not in listed
    assert "floor-papers.pdf" in listed
    whole = enter("ola").get(f"/parts/{PACKET}/papers").text
    assert "plan.json" in whole
    assert enter("ola").get(f"/parts/{PACKET}/files/plan.json").status_code == 200


def test_pages_lead_nobody_where_they_may_not_go(enter: Enter) -> None:
    """Every link of every page that the floor may read is one that it may follow."""
    client = enter("mara")
    refused = set()
    for path, needed in READS.items():
        is_asked = needed == "read" and not path.startswith("/parts/{address}/work/")
        answer = client.get(sampled(path)) if is_asked else None
        if answer is None or "text/html" not in answer.headers.get("content-type", ""):
            continue
        for address in set(re.findall(r'(?:href|src)="(/[^"#]*)', answer.text)):
            needs = right_of("GET", address.partition("?")[0])
            if needs == "money" and not address.startswith("/static/"):
                refused.add((path, address))
    assert refused == set()
