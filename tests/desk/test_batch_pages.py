"""Batches and stock on the desk: asked, answered for, released and written down by people with names."""

# pyright: reportMissingImports=false
from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from example_home import OWN, example, fixture_shop
from fastapi.testclient import TestClient
from msgspec.structs import replace
from runnable_home import REASON, WRONG_LOADS, open_plan, runnable_home, with_quick_papers
from sound_page import sound

from proveout.books.first_piece import FIRST_PIECE
from proveout.desk.app import desk_app
from proveout.desk.page import Desk
from proveout.jobs.left_packets import LEFT
from proveout.jobs.packets import freeze
from proveout.jobs.place import Place
from proveout.jobs.results import PACKETS
from proveout.jobs.signed import Signed
from proveout.jobs.writing import plan_bytes
from proveout.model.batch_events import Bad, Counted, Started
from proveout.model.events import Stating
from proveout.model.stock_events import Sawn
from proveout.quantities.errors import Refused

ASKED = {"batch": "B-1", "wanted": "150", "due": "2027-03-01", "person": "Mara Lind", "event": ""}
BARS = {
    "item": "T-1", "alloy": "6061-T6", "section": "square-25", "heat": "H77", "lot": "D-1", "length": "3000",
    "count": "6", "place": "rack 1", "person": "Jon Berg", "event": "",
}  # fmt: skip


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.setattr(Place, "shop", property(lambda _: fixture_shop.example_shop()))
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    with_quick_papers(monkeypatch)
    app = desk_app(runnable_home(tmp_path, open_plan()))
    with TestClient(app, base_url=OWN, headers={"origin": OWN}, raise_server_exceptions=False) as made:
        yield made
    app.state.desk.close()


def desk_of(client: TestClient) -> Desk:
    app: Any = client.app
    desk: Desk = app.state.desk
    return desk


def send(client: TestClient, path: str, **fields: str) -> str:
    """A form sent, and the page that it leads to."""
    answer = client.post(path, data=fields)
    assert answer.status_code == 200, answer.text
    sound(answer.text)
    return answer.text


def post(client: TestClient, of: Stating, station: str) -> None:
    """Something that happened to the batch at a station."""
    desk_of(client).records.post(Signed(person="Jon Berg", station=station).says(of, batch="B-1"))


def wrote(client: TestClient, form: str, **fields: str) -> None:
    """A form of the stock page that was taken."""
    answer = client.post(f"/stock/{form}", data={"person": "Jon Berg", "event": "", **fields}, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/stock#{form}")


def released(client: TestClient) -> str:
    send(client, "/parts/jaw/batch", **ASKED)
    send(client, "/batches/B-1/waive", proof=WRONG_LOADS, reason=REASON, person="Jon Berg", event="")
    return send(client, "/batches/B-1/release", person="Mara Lind", event="")


def test_a_batch_goes_from_the_route_page_to_its_release(client: TestClient) -> None:
    assert 'href="/parts/jaw/batch"' in client.get("/parts/jaw").text
    sound(client.get("/parts/jaw/batch").text)
    page = send(client, "/parts/jaw/batch", **ASKED)
    assert "planned" in page
    assert "Answer for it in writing" in page
    assert "Release the batch" not in page
    page = send(client, "/batches/B-1/waive", proof=WRONG_LOADS, reason=REASON, person="Jon Berg", event="")
    assert "Jon Berg answers for it" in page
    page = send(client, "/batches/B-1/release", person="Mara Lind", event="")
    assert "155 wait at saw" in page
    assert re.findall(r"<td>(asked|planned|waived|released)</td>", page) == ["released", "waived", "planned", "asked"]
    assert 'href="/parts/@B-1/papers"' in page


def test_every_page_of_a_part_shows_its_packet_until_a_program_in_it_is_edited(client: TestClient) -> None:
    released(client)
    route = client.get("/parts/@B-1").text
    assert 'href="/parts/@B-1/papers"' in route
    assert "/parts/@B-1/try" not in route
    for tail in ("", "/papers", "/proofs", "/files/programs/op1.nc", "/stations/bench"):
        assert client.get(f"/parts/@B-1{tail}").status_code == 200, tail
    program = desk_of(client).home.place("@B-1").folder / "programs" / "op1.nc"
    program.chmod(0o644)
    program.write_text("%\nO1\nM99\n%\n")
    answer = client.get("/parts/@B-1/files/programs/op1.nc")
    assert (answer.status_code, "edited program" in answer.text) == (400, True)
    assert "edited program" in client.get("/batches/B-1").text


def test_a_packet_that_no_event_released_is_not_shown(client: TestClient) -> None:
    """A release that was killed before its event left one: nobody prints papers of it."""
    send(client, "/parts/jaw/batch", **ASKED)
    home = desk_of(client).home
    freeze(home, "B-1", home.place("jaw"), anew={})
    assert "Do not work from it" in client.get("/batches/B-1").text
    for tail in ("", "/papers", "/files/programs/op1.nc"):
        answer = client.get(f"/parts/@B-1{tail}")
        assert (answer.status_code, "No event released this packet" in answer.text) == (400, True), tail
    send(client, "/batches/B-1/waive", proof=WRONG_LOADS, reason=REASON, person="Jon Berg", event="")
    page = send(client, "/batches/B-1/release", person="Mara Lind", event="")
    assert "was cut short once" in page
    assert "packets/.left/B-1@1" in page
    (home.plans / PACKETS / LEFT / "B-1@2").mkdir()
    twice = client.get("/batches/B-1").text
    assert "cut short 2 times" in twice
    assert f"set aside in {home.plans / PACKETS / LEFT}: B-1@1, B-1@2. Do not work from them." in twice
    assert twice.count(str(home.plans)) == 1
    assert client.get("/parts/@B-1/papers").status_code == 200


def test_what_nobody_can_waive_has_no_form(client: TestClient) -> None:
    result = desk_of(client).home.plans / "jaw" / "plan.json"
    plan = desk_of(client).home.place("jaw").plan
    holding = tuple(proof for proof in example().proofs if proof.id == "holding/slip/op2")
    result.write_bytes(plan_bytes(msgspec.structs.replace(plan, proofs=(*plan.proofs, *holding))))
    page = send(client, "/parts/jaw/batch", **ASKED)
    assert page.count("Answer for it in writing") == 1
    assert page.count("Nobody can answer for this one") == 1
    answer = client.post("/batches/B-1/waive", data={"proof": "holding/slip/op2", "reason": REASON, "person": "Jon"})
    assert (answer.status_code, "Nobody can waive holding" in answer.text) == (400, True)


@pytest.mark.parametrize(
    ("path", "fields", "says"),
    [
        ("/batches/B-1/waive", {"proof": WRONG_LOADS, "reason": "ok", "person": "Jon"}, "A written reason is needed"),
        ("/batches/B-1/waive", {"proof": WRONG_LOADS, "reason": REASON, "person": " "}, "A name is needed"),
        ("/batches/B-1/release", {"person": "Jon"}, "Something stands open"),
        ("/batches/B-1/plan", {"address": "nowhere", "person": "Jon"}, "no such design or order"),
        ("/batches/B-1/correct", {"wrong": "x", "why": "y", "person": "Jon"}, "no event of this id"),
    ],
)
def test_what_is_refused_says_why_and_loses_nothing(
    client: TestClient, path: str, fields: dict[str, str], says: str
) -> None:
    send(client, "/parts/jaw/batch", **ASKED)
    answer = client.post(path, data={**fields, "event": ""})
    sound(answer.text)
    assert (answer.status_code, says in answer.text) == (400, True)
    assert fields.get("reason", "") in answer.text


@pytest.mark.parametrize("wanted", ["140", "3²", "many"])
def test_a_batch_of_another_quantity_comes_back_with_what_was_typed(client: TestClient, wanted: str) -> None:
    answer = client.post("/parts/jaw/batch", data={**ASKED, "wanted": wanted})
    sound(answer.text)
    assert answer.status_code == 400
    assert f'value="{wanted}"' in answer.text
    assert 'value="Mara Lind"' in answer.text
    assert desk_of(client).records.rows("batches") == []


def test_the_list_shows_where_the_pieces_stand_to_scale(client: TestClient) -> None:
    page = released(client)
    assert "Piece one goes through op1, op2, op3 and is read in each" in page
    page = send(client, "/batches/B-1/waive", proof=FIRST_PIECE, reason=REASON, person="Mara Lind", event="")
    assert f"Pieces may be cut before the first one went through all clampings. Mara Lind: {REASON}" in page
    send(client, "/stock/receive", **BARS)
    post(client, Started(step="saw"), "saw")
    bars = Sawn(step="saw", item="T-1", heat="H77", place="rack 1", bars_count=5, good_count=93, alloy="6061-T6",
                section="square-25", bad=(Bad(reason="short", count=31),))  # fmt: skip
    with pytest.raises(Refused, match="another section"):
        post(client, replace(bars, section="square-30"), "saw")
    post(client, bars, "saw")
    post(client, Started(step="op1"), "mill3")
    post(client, Counted(step="op1", good_count=31), "mill3")
    page = client.get("/batches").text
    sound(page)
    assert "31 wait at saw, 62 wait at op1, 31 wait at op2, 31 bad" in page
    drawn = re.search(r'<svg class="pieces".*?</svg>', page, re.DOTALL)
    assert drawn is not None
    wide = [float(number) for number in re.findall(r'<rect [^>]*width="([0-9.]+)"', drawn[0])]
    assert wide == [120.0, 240.0, 120.0, 120.0]
    text = client.get("/batches/B-1").text
    sound(text)
    assert "H77" in text
    assert re.search(r"<td>short</td><td class=\"n\">31</td>", text)


def test_stock_is_written_down_by_forms(client: TestClient) -> None:
    sound(client.get("/stock").text)
    wrote(client, "receive", **BARS)
    wrote(client, "remnant", item="R-1", of="T-1", length="410.5", place="rack 9")
    wrote(client, "move", item="T-1", count="2", from_place="rack 1", to_place="saw")
    wrote(client, "put", item="K-1", sort="kit", name="nylon tip", count="20", place="shelf")
    wrote(client, "take", item="K-1", count="1", place="shelf", way="scrap", why="bent")
    wrote(client, "count", item="K-1", count="18", place="shelf")
    wrote(client, "reorder", item="K-1", count="30")
    wrote(client, "edge", machine="mill3", cutter="mill-6", life="60", why="")
    wrote(client, "coolant", machine="mill3", reading="4.2", factor="1.7", ph="9.1", added="12", note="foam")
    page = client.get("/stock").text
    sound(page)
    for said in ("To be ordered", "7.1 %", "foam; 4.2 read, factor 1.7"):
        assert said in page
    rows = {(row["item"], row["place"]): row for row in desk_of(client).records.rows("stock")}
    assert {key: row["count"] for key, row in rows.items()} == {
        ("T-1", "rack 1"): 4, ("T-1", "saw"): 2, ("R-1", "rack 9"): 1, ("K-1", "shelf"): 18
    }  # fmt: skip
    left = rows["R-1", "rack 9"]
    assert (left["alloy"], left["section"], left["heat"], left["length_mm"]) == ("6061-T6", "square-25", "H77", 410.5)
    assert '<td class="n">60</td>' in page


def test_a_stock_form_that_is_refused_comes_back_open_with_what_was_typed(client: TestClient) -> None:
    answer = client.post("/stock/receive", data={**BARS, "length": "three"})
    sound(answer.text)
    assert answer.status_code == 400
    assert "A number is needed" in answer.text
    assert '<details class="inner" id="receive" open>' in answer.text
    assert 'value="three"' in answer.text
    assert client.post("/stock/nothing", data=BARS).status_code == 400
    desk_of(client).home.shop_path.write_text("machine = 7\n")
    assert client.get("/stock").status_code == 200


def test_the_mix_for_a_sump_is_reckoned(client: TestClient) -> None:
    page = client.get("/stock/mix", params={"sump": "200", "now": "6", "wanted": "7", "adding": "50"}).text
    sound(page)
    assert "<strong>11.0 %</strong>" in page
    answer = client.get("/stock/mix", params={"sump": "200", "now": "6", "wanted": "7", "adding": "1"})
    assert (answer.status_code, "still too little" in answer.text) == (400, True)
    answer = client.get("/stock/mix", params={"sump": "nan", "now": "6", "wanted": "7", "adding": "1"})
    assert (answer.status_code, "A number is needed" in answer.text) == (400, True)


def test_an_event_that_did_not_happen_is_corrected_and_stays_visible(client: TestClient) -> None:
    released(client)
    post(client, Started(step="saw"), "saw")
    started = re.search(r'<option value="([^"]+)">\d+: started', client.get("/batches/B-1").text)
    assert started is not None
    page = send(client, "/batches/B-1/correct", wrong=started[1], why="the wrong batch", person="Mara Lind", event="")
    assert re.search(r"<del>step saw</del> <strong>corrected by \d+:</strong> did not happen", page)
    batch = desk_of(client).records.batch("B-1")
    assert batch is not None
    assert batch.state == "released"


def test_a_batch_is_closed_with_what_is_to_be_remembered(client: TestClient) -> None:
    released(client)
    page = send(client, "/batches/B-1/close", why="ordered twice", person="Mara Lind", event="")
    assert "ordered twice" in page
    assert "Close the batch" not in page
