"""The pages that show a plan: they answer for every plan, are sound HTML, and do without any script."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set here)
from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from urllib.parse import quote

import msgspec
import pytest
from desk.homes import desk_behind
from example_home import desk_of, example, write_home, write_order
from fastapi.testclient import TestClient
from fixture_names import OPS
from sound_page import sound
from test_calendar import planned
from test_route_page import sent_to, without_clampings

from proveout.jobs.plan_drawings import PlanDrawings
from proveout.model.order import OrderLoad
from proveout.model.plan import Plan
from proveout.model.schedule import MovedStep, Replanned, Trouble
from proveout.sheets import cautions as c

PAGES = (
    "", "/stations/buying", "/stations/saw", *(f"/stations/{id}" for id in OPS), "/stations/bench",
    "/stations/coat-house", "/stations/inspection", "/stations/packing", "/proofs", "/charts",
)  # fmt: skip

LEFT_OPEN = "What fails or is not shown without holding the release back"


def full() -> Plan:
    return msgspec.structs.replace(example(), finish_orders=(sent_to("coat-house", coat=True),))


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    return desk_of(write_home(tmp_path, full()), monkeypatch)


@pytest.mark.parametrize("tail", PAGES)
def test_every_page_of_a_plan_is_sound(client: TestClient, tail: str) -> None:
    answer = client.get(f"/parts/jaw{tail}")
    assert answer.status_code == 200
    sound(answer.text)
    assert not re.search(r"\bsafe", answer.text, re.IGNORECASE)


@pytest.mark.parametrize("tail", [tail for tail in PAGES if not any(id in tail for id in OPS)])
def test_every_page_answers_for_a_part_that_cannot_be_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tail: str
) -> None:
    answer = desk_of(write_home(tmp_path, without_clampings(full())), monkeypatch).get(f"/parts/jaw{tail}")
    assert answer.status_code == 200
    sound(answer.text)


@pytest.mark.parametrize("tail", PAGES)
def test_every_page_answers_for_an_unknown_metal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tail: str) -> None:
    unknown = msgspec.structs.replace(full(), metal_unknown="nobody said for which alloys its figures are")
    answer = desk_of(write_home(tmp_path, unknown), monkeypatch).get(f"/parts/jaw{tail}")
    assert answer.status_code == 200
    sound(answer.text)
    if tail == "":
        assert "Times and money are not shown" in answer.text


def test_the_verdict_stands_first_and_on_every_station(client: TestClient) -> None:
    route = client.get("/parts/jaw").text
    assert route.index("Not ready - do not cut.") < route.index("Route, from bar to box")
    assert "do not cut" in client.get(f"/parts/jaw/stations/{OPS[0]}").text
    assert LEFT_OPEN not in route
    for tail in ("batch", "revision", "compare"):  # whoever holds a new solid looks for it here
        assert f'href="/parts/jaw/{tail}"' in route


def test_what_is_open_without_holding_the_release_back_is_led_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    """A ready plan whose verdict counts proofs that fail says where they are; one whose proofs all hold does not."""
    ready, place = msgspec.structs.replace(full(), ready=True), "/parts/jaw"
    for name in ("open", "holding"):
        (tmp_path / name).mkdir()
    text = desk_of(write_home(tmp_path / "open", ready), monkeypatch).get(place).text
    assert f'href="/parts/jaw/proofs">{LEFT_OPEN}' in text
    holding = msgspec.structs.replace(ready, proofs=tuple(one for one in ready.proofs if one.verdict == "holds"))
    assert LEFT_OPEN not in desk_of(write_home(tmp_path / "holding", holding), monkeypatch).get(place).text


def told(client: TestClient, page: str) -> list[str]:
    """What a page cautions of."""
    text = client.get(f"/parts/jaw{page}").text
    return [unescape(line) for box in re.findall(r'<div class="cautions".*?</div>', text, re.DOTALL)
            for line in re.findall(r"<li>(.*?)</li>", box)]  # fmt: skip


def test_verdicts_stand_beside_what_can_hurt_somebody(client: TestClient) -> None:
    assert told(client, "/proofs") == [c.HOLDING, c.GRIP, c.LOADS, c.PROVE, c.SPEED, c.NO_RESPONSE]
    for proof in full().proofs:
        wanted = {"holding": [c.HOLDING, c.GRIP], "loads": [c.LOADS, c.SPEED, c.SLENDER, c.PROVE]}.get(proof.stage)
        if wanted is not None:
            assert told(client, f"/proofs/{quote(proof.id)}") == wanted, proof.id
    assert {"holding", "loads"} <= {proof.stage for proof in full().proofs}
    assert c.LOADS in unescape(client.get(f"/parts/jaw/stations/{OPS[0]}").text)


def test_the_route_leads_to_every_station_and_they_to_each_other(client: TestClient) -> None:
    links = re.findall(r'href="(/parts/jaw/stations/[^"]*)"', client.get("/parts/jaw").text)
    assert len(links) == 9
    for link in links:
        assert client.get(link).status_code == 200
    beside = client.get(f"/parts/jaw/stations/{OPS[0]}").text
    assert "/parts/jaw/stations/saw" in beside
    assert f"/parts/jaw/stations/{OPS[1]}" in beside


def shown(client: TestClient, query: str) -> list[str]:
    return re.findall(r'<li class="(holds|fails|not-shown)"', client.get(f"/parts/jaw/proofs{query}").text)


def test_proofs_are_chosen_by_station_and_verdict_without_a_script(client: TestClient) -> None:
    plan = full()
    everything = shown(client, "")
    assert len(everything) == len(plan.proofs)
    for verdict in ("holds", "fails", "not shown"):
        own = shown(client, f"?verdict={verdict.replace(' ', '+')}")
        assert own == [verdict.replace(" ", "-")] * sum(p.verdict == verdict for p in plan.proofs)
    at_saw = shown(client, "?station=saw")
    assert 0 < len(at_saw) < len(everything)
    both = shown(client, "?station=saw&verdict=holds")
    assert both == [one for one in at_saw if one == "holds"]
    page = client.get("/parts/jaw/proofs?station=saw&verdict=holds").text
    assert '<option value="saw" selected>' in page
    assert '<option value="holds" selected>' in page
    assert shown(client, "?station=whole")
    assert "No proof is left by this choice" in client.get("/parts/jaw/proofs?station=buying").text


@pytest.mark.parametrize("query", ["?station=nowhere", "?verdict=perhaps"])
def test_an_unknown_choice_is_refused_in_words(client: TestClient, query: str) -> None:
    answer = client.get(f"/parts/jaw/proofs{query}")
    assert answer.status_code == 400
    assert query.split("=")[1] in answer.text


def test_every_proof_has_its_own_page(client: TestClient) -> None:
    links = re.findall(r'href="(/parts/jaw/proofs/[^"]*)"', client.get("/parts/jaw/proofs").text)
    assert len(links) == len(full().proofs)
    for link in links[::7]:
        page = client.get(link)
        assert page.status_code == 200
        assert "How it was found" in page.text
        sound(page.text)


@pytest.mark.parametrize("tail", ["/stations/nowhere", "/proofs/no-such-proof"])
def test_an_unknown_station_or_proof_is_one_plain_sentence(client: TestClient, tail: str) -> None:
    answer = client.get(f"/parts/jaw{tail}")
    assert answer.status_code == 400
    assert tail.rsplit("/", 1)[1] in answer.text


def test_a_part_without_its_file_says_that_nothing_is_drawn(client: TestClient) -> None:
    page = client.get("/parts/jaw").text
    assert "The STEP file that it was planned from is not in the result folder." in page
    assert client.get("/parts/jaw/drawn").json() == {"is_coming": False}
    assert "drawn.js" not in page


def test_a_page_whose_drawings_are_coming_waits_with_or_without_a_script(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def coming(_self: object, _what: object, _needs: object, *, is_waiting: bool = False) -> PlanDrawings:
        asked.append(is_waiting)
        return PlanDrawings(is_coming=True)

    monkeypatch.setattr("proveout.jobs.plan_drawings.Drawer.drawn", coming)
    page = client.get("/parts/jaw").text
    assert "The line drawings are being made" in page
    assert 'role="status"' in page
    assert '<script type="module" src="/static/drawn.js">' in page
    assert '<a href="?wait=1">' in page
    client.get("/parts/jaw?wait=1")
    assert asked[-2:] == [False, True]
    assert client.get("/parts/jaw/drawn").json() == {"is_coming": True}


def test_an_order_shows_its_parts_calendar_and_ways_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_of(write_order(tmp_path, full(), planned()), monkeypatch)
    answer = client.get("/orders/order")
    assert answer.status_code == 200
    sound(answer.text)
    assert "<h1>Order Spring</h1>" in answer.text
    assert 'href="/parts/order:EX-102"' in answer.text
    assert "tcalendar" in answer.text
    assert client.get("/parts/order:EX-102").status_code == 200
    home = desk_behind(client).home
    order = home.entry("order").path
    order.write_text(order.read_text() + "# typed since\n")
    changed = client.get("/orders/order").text
    assert "This plan is stale:" in changed
    assert 'action="/entries/order/plan"><button>Plan it again' in changed


def test_an_order_gives_its_papers_and_lists(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of its parts stay with the parts, and what it was read from is no paper."""
    home = write_order(tmp_path, full(), planned())
    client = desk_of(home, monkeypatch)
    assert "None are there: plan it again." in client.get("/orders/order").text
    result = home.entry("order").result
    for name in ("papers.pdf", "purchases.csv", "lists.xlsx", "rhythm.csv", "EX-102/bars.csv"):
        (result / name).write_bytes(b"%")
    listed = client.get("/orders/order").text.split('id="files"')[1]
    for name in ("papers.pdf", "purchases.csv", "lists.xlsx", "rhythm.csv"):
        assert f'href="/orders/order/files/{name}" download' in listed
        assert client.get(f"/orders/order/files/{name}").status_code == 200
    assert "order.json" not in listed
    assert "bars.csv" not in listed


def test_an_order_is_replanned_after_a_bad_morning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page asks of the stations that the schedule uses, hands on what was typed, and tells what moved and why."""
    client = desk_of(write_order(tmp_path, full(), planned()), monkeypatch)
    asked: list[Trouble] = []
    moved = MovedStep(id="EX-1 op 1", what="EX-1 lot 1, op 1", station="mill3", was_day="2026-03-02",
                      was_into_shift="2:00", day="2026-03-04", into_shift="2:00", by_s=57600.0,
                      why="mill3 stands")  # fmt: skip

    def replanned(folder: Path, *, trouble: Trouble) -> tuple[OrderLoad, Replanned]:
        assert (folder / "order.json").is_file()
        asked.append(trouble)
        return planned(), Replanned(
            trouble=trouble, steps=(), moved=(moved,), was_done="2026-03-06", done="2026-03-10", late_days=3.0,
            moved_s=57600.0, bound_s=57600.0, gap_ratio=0.0, status="proved", faults=(), notes=("done 2026-03-10",),
        )  # fmt: skip

    monkeypatch.setattr("proveout.desk.replanning.replanned_order", replanned)
    assert 'href="/orders/order/replan"' in client.get("/orders/order").text
    form = client.get("/orders/order/replan").text
    assert 'name="down-mill3"' in form
    assert not asked
    told = client.get("/orders/order/replan?at=2026-03-03&down-mill3=2&away=1&away-days=3")
    assert told.status_code == 200
    assert asked == [Trouble(at="2026-03-03", down_days={"mill3": 2}, away_count=1, away_days=3)]
    for words in ("Done 2026-03-10, was 2026-03-06.", "EX-1 lot 1, op 1", "2026-03-04 +2:00", "mill3 stands"):
        assert words in told.text
    wrong = client.get("/orders/order/replan?at=2026-03-03&down-mill3=two")
    assert wrong.status_code == 400
    assert "A whole number is wanted" in wrong.text
    assert len(asked) == 1


def test_an_order_that_was_not_scheduled_says_why_it_cannot_be_replanned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load = msgspec.structs.replace(planned(), schedule=None)
    client = desk_of(write_order(tmp_path, full(), load), monkeypatch)
    assert "/replan" not in client.get("/orders/order").text
    answer = client.get("/orders/order/replan")
    assert answer.status_code == 400
    assert "The order was not scheduled" in answer.text


def test_an_order_without_a_plan_is_one_plain_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_of(write_home(tmp_path, full()), monkeypatch)
    answer = client.get("/orders/nothing")
    assert answer.status_code == 400
    assert "There is no such design or order here" in answer.text
