"""The page of the work at any moment, and what its script asks for."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
import worked_home
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app

OWN = "http://127.0.0.1:8417"
HERE = f"/parts/{worked_home.ADDRESS}/work"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    root: Path = tmp_path_factory.mktemp("desk")
    return TestClient(desk_app(worked_home.write_home(root)), base_url=OWN, raise_server_exceptions=False)


@pytest.fixture(autouse=True)
def _without_store(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PROVEOUT_STORE", "off")


def unpacked(whole: bytes) -> tuple[dict[str, object], dict[str, np.ndarray]]:
    """As the page reads it."""
    size = int.from_bytes(whole[:4], "little")
    head = json.loads(whole[4 : 4 + size])
    assert (4 + size) % 4 == 0
    arrays = {
        one["name"]: np.frombuffer(whole, f"<{ {'int16': 'i2', 'uint32': 'u4', 'float32': 'f4'}[one['kind']] }",
                                   one["count"], 4 + size + one["at"])
        for one in head["arrays"]
    }  # fmt: skip
    return head, arrays


def test_the_page_works_before_any_script(client: TestClient) -> None:
    """Steps are links, all passes are listed, and the operator's drawing stands for the picture."""
    text = client.get(HERE, params={"pass": "2"}).text
    assert f'href="{HERE}?pass=1">previous pass' in text
    assert f'href="{HERE}?pass=3">next pass' in text
    assert f'href="{HERE}?pass=3">next cutter' in text
    assert f'href="{HERE}?pass=2">weakest move' in text
    assert text.count('<th scope="row">') == 4
    assert f'src="{HERE}/clamping-1.svg"' in text
    assert "margin 0.050" in text
    assert client.get(f"{HERE}/clamping-1.svg").headers["content-type"] == "image/svg+xml"
    assert not re.search(r"<script(?![^>]*src=)|style=|<style|onclick", text)


def test_the_ends_lead_nowhere(client: TestClient) -> None:
    first, last = client.get(HERE).text, client.get(HERE, params={"pass": "4"}).text
    assert 'data-step="previous" aria-disabled="true"' in first
    assert 'data-step="next" aria-disabled="true"' in last
    assert f'src="{HERE}/clamping-2.svg"' in last


@pytest.mark.parametrize("asked", ["5", "-1", "x", "1.5", "\u00b2"])
def test_a_pass_that_is_not_there_is_refused_in_plain_words(client: TestClient, asked: str) -> None:
    answer = client.get(HERE, params={"pass": asked})
    assert answer.status_code == 400
    assert "The plan has no such pass" in answer.text


@pytest.mark.parametrize("asked", ["2", "-0.1", "nan", "inf", "half"])
def test_a_share_that_is_none_is_refused(client: TestClient, asked: str) -> None:
    assert client.get(f"{HERE}/metal", params={"pass": "1", "share": asked}).status_code == 400


def test_the_metal_comes_as_whole_steps_of_its_box(client: TestClient) -> None:
    head, arrays = unpacked(client.get(f"{HERE}/metal", params={"pass": "2"}).content)
    points = arrays["points"].reshape(-1, 4)[:, :3] * head["step_mm"] + np.array(head["middle_mm"])
    assert points.min(axis=0) == pytest.approx([0.0, 0.0, 0.0], abs=0.01)
    assert points.max(axis=0) == pytest.approx([60.0, 40.0, 20.0], abs=0.01)
    corners = points[arrays["triangles"].reshape(-1, 3)]
    volume = float((corners[:, 0] * np.cross(corners[:, 1], corners[:, 2])).sum() / 6.0)
    assert volume == pytest.approx(60.0 * 40.0 * 20.0 - 60.0 * 12.0 * 6.0, rel=0.003)
    assert arrays["edges"].max() < len(points)


def test_the_scene_tells_passes_clampings_and_the_weakest_move(client: TestClient) -> None:
    told = client.get(f"{HERE}/scene").json()
    assert [one["number"] for one in told["blocks"]] == [1, 2, 3, 4]
    assert told["weakest"]["number"] == 2
    assert 0.0 < told["weakest"]["share"] < 1.0
    assert [one["number"] for one in told["stands"]] == [1, 2]


def test_the_way_tells_rapid_moves_from_cutting_ones(client: TestClient) -> None:
    _, arrays = unpacked(client.get(f"{HERE}/way", params={"pass": "1"}).content)
    assert arrays["points"].reshape(-1, 3)[1] == pytest.approx([80.0, 20.0, 17.0])
    assert arrays["rapid"].tolist() == [0, 1]
    _, arrays = unpacked(client.get(f"{HERE}/way", params={"pass": "0"}).content)
    assert len(arrays["rapid"]) == 0
