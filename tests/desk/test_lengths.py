"""Lengths in mm or in inches: as the shop reads them, until a browser is told otherwise."""

# pyright: reportMissingImports=false
from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
import worked_home
from desk.test_plan_pages import PAGES, full
from example_home import OWN, desk_of, example, write_home, write_order
from fastapi.testclient import TestClient
from test_calendar import planned

from proveout.desk.app import desk_app
from proveout.desk.lengths import COOKIE
from proveout.jobs.home import Home
from proveout.jobs.stock_forms import FORMS
from proveout.sheets.ink import IN_INCHES
from proveout.sheets.route_html import LENGTHS, LENGTHS_IN_INCHES

SAME_ORIGIN = {"origin": OWN}
MM = re.compile(r"(?<![\w:])mm(?![\w²³])")


def told(html: str) -> list[str]:
    """The words of a page, without forms and what the note on units says itself."""
    html = re.sub(r"<(form|style)\b.*?</\1>", "", html, flags=re.DOTALL)
    words = [unescape(one).strip() for one in re.split(r"<[^>]*>", html)]
    return [one for one in words if one and one != LENGTHS_IN_INCHES]


def reading(client: TestClient, lengths: str) -> TestClient:
    """The same browser, told to read these."""
    client.cookies.set(COOKIE, lengths)
    return client


@pytest.mark.parametrize("tail", [*PAGES, f"/proofs/{full().proofs[0].id}", "/work"])
def test_a_page_of_a_plan_is_in_inches_for_who_reads_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tail: str
) -> None:
    """Every length: what is left in mm would be read as inches."""
    address = f"/parts/jaw{tail}"
    client = desk_of(write_home(tmp_path, full()), monkeypatch, units="inch")
    page = client.get(address).text
    assert [one for one in told(page) if MM.search(one)] == []
    assert IN_INCHES not in page
    if tail != "/work":
        assert unescape(page).count(LENGTHS_IN_INCHES) == 1
        kept = reading(client, "mm").get(address).text
        assert (LENGTHS_IN_INCHES in unescape(kept), kept.count(LENGTHS)) == (False, 1)


def test_a_shop_of_mm_says_nothing_of_units_until_a_browser_asks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = desk_of(write_home(tmp_path, full()), monkeypatch)
    page = unescape(client.get("/parts/jaw").text)
    assert (LENGTHS in page, LENGTHS_IN_INCHES in page) == (False, False)
    answer = client.post(
        "/lengths", data={"lengths": "in", "next": "/parts/jaw?wait=1"}, headers=SAME_ORIGIN, follow_redirects=False
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/parts/jaw?wait=1")
    assert LENGTHS_IN_INCHES in unescape(client.get("/parts/jaw").text)


@pytest.mark.parametrize(("lengths", "after"), [("in", "https://elsewhere.example/"), ("mm", "//elsewhere.example")])
def test_choosing_units_leads_nowhere_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lengths: str, after: str
) -> None:
    client = desk_of(write_home(tmp_path, full()), monkeypatch)
    answer = client.post(
        "/lengths", data={"lengths": lengths, "next": after}, headers=SAME_ORIGIN, follow_redirects=False
    )
    assert answer.headers["location"] == "/"


def test_no_other_unit_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_of(write_home(tmp_path, full()), monkeypatch)
    answer = client.post("/lengths", data={"lengths": "furlong"}, headers=SAME_ORIGIN, follow_redirects=False)
    assert answer.status_code == 400
    assert COOKIE not in client.cookies


def test_an_order_is_in_inches_and_its_clock_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_of(write_order(tmp_path, example(), planned()), monkeypatch, units="inch")
    words = told(client.get("/orders/order").text)
    assert [one for one in words if MM.search(one)] == []
    assert any("h:mm" in one for one in words)


def test_words_of_the_picture_follow_the_browser(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    client = TestClient(desk_app(worked_home.write_home(tmp_path)), base_url=OWN)
    asked = {"id": worked_home.plan().survey.faces[0].face_id}
    address = f"/parts/{worked_home.ADDRESS}/work/face"
    said = client.get(address, params=asked).json()["lines"]
    again = reading(client, "in").get(address, params=asked).json()["lines"]
    assert any(MM.search(line["said"]) for line in said)
    assert not any(MM.search(line["said"]) for line in again)


def test_what_was_typed_in_mm_is_not_taken_for_inches(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another tab may have been told of inches while somebody typed: the form says itself what it asked for."""
    home = write_home(tmp_path, full())
    client = reading(desk_of(home, monkeypatch), "mm")
    assert client.get("/stock").text.count('<input type="hidden" name="unit" value="mm">') == len(FORMS)
    bars = {
        "person": "Jon Berg", "event": "", "item": "T-1", "alloy": "6061-T6", "section": "45x20", "heat": "H1",
        "length": "3000", "count": "4", "place": "rack", "unit": "mm",
    }  # fmt: skip
    answer = reading(client, "in").post("/stock/receive", data=bars, headers=SAME_ORIGIN, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    assert "3000 mm" in reading(client, "mm").get("/stock").text


def test_a_home_is_read_as_its_shop_reads(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('units = "inch"\n', encoding="utf-8")
    assert not Home(tmp_path).is_inch  # such a file cannot be read: mm
