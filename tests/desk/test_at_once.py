"""No page waits for slow work: it is done by errands, and a page says that it is under way."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import worked_home
from desk.errands_here import held
from desk.homes import STEP
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from proveout.desk import comparing, moments, questions, revision, trying
from proveout.desk.app import ROUTERS, desk_app
from proveout.intake import step
from proveout.jobs import asked_part, compared_folders, errands, revising
from proveout.jobs import trying as tries

OWN = "http://127.0.0.1:8417"
PART = f"/parts/{worked_home.ADDRESS}"
AT_ONCE_S = 5.0
"""A machine that has much else to do takes longer than a moment for a page; slow work would take longer still."""
SLOW_S = 60.0
SLOW = (
    (step, "Child"), (asked_part, "read_part"), (compared_folders, "decide_schedule"), (compared_folders, "compare"),
    (errands, "check_against_plan"), (tries, "plan_job"), (revising, "solid_change"),
)  # fmt: skip
"""Where the reading and drawing of solids, schedules, plans, replays of programs and comparisons are begun."""
SAMPLES = {"address": "block", "name": "block", "entry": "block", "kind": "machine", "number": "1"}
OF_REQUESTS = "AnyIO"
"""How the threads are called in which a request is answered."""


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A desk whose errands come to no end, and on which slow work in a request is slow."""

    def slowed(name: str) -> Any:
        def slow(*_: object, **__: object) -> None:
            if threading.current_thread().name.startswith(OF_REQUESTS):
                time.sleep(SLOW_S)
            raise OSError(f"{name} is not to be waited for")

        return slow

    for place, name in SLOW:
        monkeypatch.setattr(place, name, slowed(name))
    for place in (comparing, questions, revision, trying):
        monkeypatch.setattr(place, "WAIT_S", 0.05)
    home = worked_home.write_home(tmp_path)
    worked_home.write_result(home.plans / "lid")
    (home.root / "lid.step").write_text(STEP)
    with held(monkeypatch):
        yield TestClient(
            desk_app(home), base_url=OWN, headers={"origin": OWN}, follow_redirects=False, raise_server_exceptions=False
        )


def asked_for(client: TestClient) -> dict[str, str]:
    """Addresses of what somebody asked for, by the kind of errand."""
    posts: dict[str, dict[str, Any]] = {
        f"{PART}/try": {"data": {"file1": "shop", "path1": "saw / kerf_mm", "value1": "2.9"}},
        f"{PART}/check": {"data": {"clamping": "1"}, "files": {"program": ("a.nc", b"G21\n", "text/plain")}},
        f"{PART}/revision": {"data": {"chosen": "lid.step"}},
    }
    found = {"reading": f"{PART}/questions", "comparison": f"{PART}/compare?with=lid"}
    for path, given in posts.items():
        begin = time.monotonic()
        answer = client.post(path, **given)
        assert time.monotonic() - begin < AT_ONCE_S, path
        assert answer.status_code == 303, answer.text
        found[path.rpartition("/")[2]] = answer.headers["location"]
    return found


def test_what_takes_long_is_under_way_at_once(client: TestClient) -> None:
    for kind, path in asked_for(client).items():
        begin = time.monotonic()
        answer = client.get(path)
        assert time.monotonic() - begin < AT_ONCE_S, path
        assert answer.status_code == 200, path
        assert re.search("under way: passes", answer.text, re.IGNORECASE), kind
        assert '<p class="soft">one of many</p>' in answer.text, kind
        assert '<noscript><meta http-equiv="refresh"' in answer.text, kind
        assert 'data-gone="reload"' in answer.text, kind
        assert kind == "reading" or "How long it takes is not known yet: " in answer.text, kind
    listed = client.get("/work").text
    for path in asked_for(client).values():
        assert f'href="{path}"' in listed


def test_every_page_answers_at_once(client: TestClient) -> None:
    """Whatever is asked: also pages of what is not there, which say so.

    Of the metal at a moment, which the picture of the work asks for, the time is bounded by itself.
    """
    ids = {path.rpartition("/")[0].replace("block", "{address}"): path.rpartition("/")[2]
           for path in asked_for(client).values()}  # fmt: skip
    walked = 0
    for router in ROUTERS:
        for route in [] if router is moments.router else router.routes:
            if not isinstance(route, APIRoute) or "GET" not in (route.methods or ()):
                continue
            words = SAMPLES | {"id": ids.get(route.path.rpartition("/")[0], "1")}
            path = re.sub(r"\{(\w+)(?::\w+)?\}", lambda word: words.get(word[1], "1"), route.path)  # noqa: B023 - filled in at once
            begin = time.monotonic()
            status = client.get(path).status_code
            assert time.monotonic() - begin < AT_ONCE_S, path
            assert status < 500 or status == 503, path
            walked += 1
    assert walked > 30
