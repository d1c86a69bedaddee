"""The shop's pages: every kind is there, a refused form comes back as typed, and ten answers make a first file."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from desk.typed_pages import client_of, form_of

from proveout.intake.shop_file import read_shop

EXAMPLE = Path(__file__).parents[2] / "examples" / "shop.toml"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = tmp_path / "home"
    home.mkdir()
    shutil.copy(EXAMPLE, home / "shop.toml")
    return home


def test_the_page_lists_every_kind_and_draws_every_cutter(folder: Path) -> None:
    text = client_of(folder).get("/shop").text
    shop = read_shop(folder / "shop.toml")
    for one in (*shop.machines, *shop.vises, *shop.jaws, *shop.cutters, *shop.bars, *shop.finishers, *shop.gauges):
        assert f">{one.id}</a>" in text
    assert all(f">{cutter.id}</text>" in text for cutter in shop.cutters)
    assert "Example Lamp Works: people here use mm" in text
    assert " style=" not in text
    assert "<script>" not in text


@pytest.mark.parametrize("address", ["machine/1", "vise/2", "crib.cutter/31", "crib/1", "finisher/1", "shop/1",
                                     "material/1", "supply/3"])  # fmt: skip
def test_a_form_sent_as_it_came_changes_nothing(folder: Path, address: str) -> None:
    client = client_of(folder)
    page = client.get(f"/shop/{address}")
    assert page.status_code == 200
    answer = client.post(f"/shop/{address}", data=form_of(page.text))
    assert (answer.status_code, answer.headers["location"]) == (303, f"/shop#{address.partition('/')[0]}")
    assert (folder / "shop.toml").read_bytes() == EXAMPLE.read_bytes()


def test_a_change_is_written_and_can_be_put_back(folder: Path) -> None:
    client = client_of(folder)
    form = form_of(client.get("/shop/finisher/1").text)
    assert form["pickup"] == ["", "Thu"]
    form |= {"pickup": ["", "Mon", "Thu"], "process": ['hard <coat> & "more"']}
    assert client.post("/shop/finisher/1", data=form).status_code == 303
    finisher = read_shop(folder / "shop.toml").finishers[0]
    assert (finisher.pickup_weekdays, finisher.process) == ((0, 3), 'hard <coat> & "more"')
    page = client.get("/shop").text
    assert "hard &lt;coat&gt;" in page
    digest = re.findall(r'name="digest" value="([0-9a-f]{64})"', page)[-1]
    assert client.post("/shop/undo", data={"digest": digest}).status_code == 303
    assert (folder / "shop.toml").read_bytes() == EXAMPLE.read_bytes()
    assert client.post("/shop/undo", data={"digest": "0"}).status_code == 400


def test_a_refused_form_comes_back_as_it_was_typed(folder: Path) -> None:
    client = client_of(folder)
    form = form_of(client.get("/shop/crib.cutter/3").text) | {"flutes": ["three <b>"], "price": ["45"]}
    answer = client.post("/shop/crib.cutter/3", data=form)
    assert answer.status_code == 400
    assert form_of(answer.text) == form
    assert "Not written: flutes has the wrong kind of value" in answer.text
    assert re.search(r'<input id="flutes"[^>]*aria-invalid="true"', answer.text)
    assert answer.text.count('aria-invalid="true"') == 1
    assert 'href="#at-flutes"' in answer.text
    assert 'id="at-flutes"' in answer.text
    assert (folder / "shop.toml").read_bytes() == EXAMPLE.read_bytes()


def test_an_old_page_writes_nothing(folder: Path) -> None:
    client = client_of(folder)
    form = form_of(client.get("/shop/people/1").text) | {"count": ["3"]}
    with (folder / "shop.toml").open("a", encoding="utf-8") as file:
        file.write("# by hand\n")
    answer = client.post("/shop/people/1", data=form)
    assert answer.status_code == 400
    assert "has changed since the page was shown" in answer.text
    assert "In the file now: 2." in answer.text
    assert (folder / "shop.toml").read_text(encoding="utf-8").endswith("# by hand\n")
    gone = client.post("/shop/gauge/1/remove", data={"digest": form["digest"][0]})
    assert gone.status_code == 400


def test_a_row_is_added_like_another_and_taken_out(folder: Path) -> None:
    client = client_of(folder)
    form = form_of(client.get("/shop/crib.cutter/new?like=3").text)
    assert form["id"] == [""]
    assert form["diameter_mm"] == ["12"]
    assert client.post("/shop/crib.cutter/new", data=form).status_code == 400
    assert client.post("/shop/crib.cutter/new", data=form | {"id": ["EM12b"]}).status_code == 303
    assert read_shop(folder / "shop.toml").cutters[-1].id == "EM12b"
    page = client.get("/shop/crib.cutter/32")
    digest = form_of(page.text)["digest"][0]
    assert client.post("/shop/crib.cutter/32/remove", data={"digest": digest}).status_code == 303
    assert read_shop(folder / "shop.toml") == read_shop(EXAMPLE)


def test_a_broken_file_is_told_and_can_be_mended_here(folder: Path) -> None:
    path = folder / "shop.toml"
    path.write_text(EXAMPLE.read_text(encoding="utf-8").replace("kerf_mm = 1.8", "kerf_mm = 18"), encoding="utf-8")
    client = client_of(folder)
    assert "kerf_mm is outside its plausible range" in client.get("/shop").text
    form = form_of(client.get("/shop/saw/1").text)
    assert client.post("/shop/saw/1", data=form | {"kerf_mm": ["1.8"]}).status_code == 303
    assert path.read_bytes() == EXAMPLE.read_bytes()


@pytest.mark.parametrize("address", ["nix/1", "machine/0", "machine/99", "machine.rotary/1", "..%2Fx/1"])
def test_what_is_not_there_is_said_so(folder: Path, address: str) -> None:
    client = client_of(folder)
    assert client.get(f"/shop/{address}").status_code in (400, 404)
    assert client.post(f"/shop/{address}", data={"digest": ""}).status_code in (400, 404)


def test_ten_answers_make_the_first_file(tmp_path: Path) -> None:
    client = client_of(tmp_path)
    page = client.get("/shop").text
    assert page.count('class="typed"') == 10
    form = form_of(page)
    refused = client.post("/shop/new", data=form | {"speed": ["fast"], "name": ["Ours & <co>"]})
    assert refused.status_code == 400
    assert form_of(refused.text)["name"] == ["Ours & <co>"]
    assert re.search(r'<input id="speed"[^>]*value="fast"[^>]*aria-invalid', refused.text)
    assert not (tmp_path / "shop.toml").exists()
    form |= {"name": ["Ours & <co>"], "units": ["inch"], "travels": ["24 x 16 x 18"], "speed": ["12000"]}
    assert client.post("/shop/new", data=form).status_code == 303
    shop = read_shop(tmp_path / "shop.toml")
    assert (shop.name, shop.units, shop.machines[0].travel_mm[0]) == ("Ours & <co>", "inch", pytest.approx(609.6))
    assert client.post("/shop/new", data=form).status_code == 400
    assert "Unknown: the preload of" in client.get("/shop").text
    assert "Unknown: the preload of" in client.get("/shop/vise/1").text
