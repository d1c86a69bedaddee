"""Who may ask the desk, and who may write to it."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.desk.guard import FORBIDDEN, MISDIRECTED
from proveout.jobs.home import Home

OWN = "http://127.0.0.1:8417"


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    return TestClient(desk_app(Home(tmp_path)), base_url=OWN, raise_server_exceptions=False)


def test_a_strange_host_name_is_refused(client: TestClient) -> None:
    assert client.get("/").status_code == 200
    for host in ("evil.example", "127.0.0.1.evil.example:8417", "", "10.0.0.1:8417"):
        assert client.get("/", headers={"host": host}).status_code == MISDIRECTED


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "null"},
        {},
        {"origin": OWN, "sec-fetch-site": "cross-site"},
    ],
)
def test_writing_from_another_site_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/designs", headers=headers).status_code == FORBIDDEN


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_of_another_site_fetches_nothing_but_may_lead_here(client: TestClient, site: str) -> None:
    for mode, dest in (("no-cors", "image"), ("cors", "empty"), ("navigate", "iframe")):
        headers = {"sec-fetch-site": site, "sec-fetch-mode": mode, "sec-fetch-dest": dest}
        assert client.get("/", headers=headers).status_code == FORBIDDEN
    headers = {"sec-fetch-site": site, "sec-fetch-mode": "navigate", "sec-fetch-dest": "document"}
    assert client.get("/", headers=headers).status_code == 200


def test_writing_from_a_page_of_the_desk_reaches_it(client: TestClient) -> None:
    answer = client.post("/no-such-page", headers={"origin": OWN, "sec-fetch-site": "same-origin"})
    assert answer.status_code == 404
    assert "script-src 'self'" in answer.headers["content-security-policy"]


def test_an_unknown_part_is_one_plain_sentence(client: TestClient) -> None:
    answer = client.get("/no-such-page")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
