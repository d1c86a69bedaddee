"""Cutting pressure by meters that were read in batches: shown, accepted into the shop file, or declined."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
import run_batches
from fastapi.testclient import TestClient

from proveout.cli.main import main
from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.desk.app import desk_app
from proveout.intake.shop_file import read_shop
from proveout.jobs.home import Home
from proveout.jobs.pressure import pressure_words
from proveout.jobs.records import records_of_home
from proveout.model.events import Event
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.plan import Plan
from proveout.model.shop_events import ValueAccepted
from proveout.records.records import Records

OWN = "http://127.0.0.1:8417"
KEY = "pressure.6061-T6"


def plan() -> Plan:
    base, push = run_batches.plan(), run_batches.worked_home.steady_push
    return msgspec.structs.replace(base, pass_pushes=(push(base.passes[0].id),))


def read(number: int) -> SpindleMeterRead:
    """At 750 MPa, 0.9 of the power at a used edge; six readings within a share of 0.005."""
    one, cut = plan().passes[0], run_batches.worked_home.STEADY
    chip = mean_chip_thickness_mm(
        feed_per_tooth_mm=cut.tooth_feed_mm, radial_engagement_mm=cut.radial_mm, diameter_mm=12.0
    )  # fmt: skip
    feed = cut.tooth_feed_mm * 3 * one.speed_rad_per_s / 6.283185307
    power = 750.0 * chip**-0.25 * cut.radial_mm * cut.axial_mm * feed / 0.9e6 * (1.0 + 0.001 * number)
    return SpindleMeterRead(step="c1", cut=one.id, load=0.5 + power, idle=0.5, smallest=0.001, edge="used")


class Metered(run_batches.Run):
    """A batch in whose first clamping two meters are read; begins after the bars of the first came."""

    def milled(self, step: str, *given: Any, **more: Any) -> None:
        super().milled(step, *given, **more)
        for k in range(2) if step == "c1" else ():
            self(read(self.number // 10_000 * 2 + k), run_batches.MILL)


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A desk over three batches that are over."""
    (tmp_path / "home").mkdir()
    home = Home(tmp_path / "home")
    (home.root / "shop.toml").write_text(run_batches.SHOP_TEXT, encoding="utf-8")
    with_meters = plan()
    monkeypatch.setattr(run_batches, "plan", lambda: with_meters)
    run_batches.write_plans(home.plans)
    with Records(str(records_of_home(home))) as records:
        for number in range(3):
            Metered(records.post, f"B{number}", number=number).whole()
    app = desk_app(home)
    with TestClient(app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5)) as found:
        yield found
    app.state.desk.close()


def offer(client: TestClient) -> dict[str, str]:
    text = client.get("/lessons").text
    found = re.search(rf'name="key" value="{re.escape(KEY)}"><input type="hidden" name="offered" value="(\w+)"', text)
    assert found is not None
    return {"key": KEY, "offered": found[1], "person": "Mara Lind"}


def test_it_stands_before_and_after_and_is_written_as_readings(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    path = desk.home.shop_path
    before = path.read_text(encoding="utf-8")
    page = html.unescape(client.get("/lessons").text)
    part = page[page.index("Cutting pressure of 6061-T6") :]
    part = part[: part.index("</section>")]
    assert "800 (560 to 1040)" in part
    assert "6 spindle readings of batches B0, B1, B2 of this shop beside 0 in the shop file, of 1 cutter;" in part
    assert "the high end is not lowered" in part
    row = "B0, step c1, mara: EM12 on mill-3, 4 mm wide, 3 mm deep, 0.05 mm an edge at "
    assert part.count("mm wide, 3 mm deep") == 6
    assert row in part
    shown = re.search(r"<strong>(\d[\d.]*) \((\d[\d.]*) to (\d[\d.]*)\)</strong>", part)
    assert shown is not None, part
    assert float(shown[2]) < 750.0
    assert float(shown[3]) > 1040.0  # of one cutter alone no end comes down
    form = offer(client)
    assert client.post("/lessons/accept", data=form, follow_redirects=False).status_code == 303
    after = path.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n")[:400])
    assert [line for line in before.splitlines() if line not in after] == []
    shop = read_shop(path)
    assert [one.source for one in shop.spindle_readings] == [
        f"batch B{number}, step c1, mara" for number in (0, 0, 1, 1, 2, 2)
    ]
    (words,) = pressure_words(shop)
    assert f"by 6 readings of its own: {float(shown[2]):.0f} to {float(shown[3]):.0f} MPa" in words
    events: list[Event] = [event for _, event in desk.records.events(batch="")]
    assert [(one.person, one.of.key) for one in events if isinstance(one.of, ValueAccepted)] == [("Mara Lind", KEY)]
    assert KEY not in client.get("/lessons").text
    assert client.post("/lessons/accept", data=form).status_code == 400
    given = ["learn", "--records", str(records_of_home(desk.home)), "--shop", str(path), "--plans",
             str(desk.home.plans)]  # fmt: skip
    assert main(given) == 0
    assert KEY not in capsys.readouterr().out
    path.write_text(before, encoding="utf-8")  # the owner took the rows away: they are told anew
    assert main(given) == 0
    said = capsys.readouterr().out
    assert f"{KEY}: 800 (560 to 1040) -> {shown[1]} ({shown[2]} to {shown[3]}) MPa" in said
    assert row in said
    assert main([*given, "--accept", KEY, "--person", "mara"]) == 0
    assert len(read_shop(path).spindle_readings) == 6


def test_declined_it_changes_nothing_and_is_told(client: TestClient) -> None:
    desk = client.app.state.desk  # pyright: ignore[reportAttributeAccessIssue] - desk_app sets it
    before = desk.home.shop_path.read_bytes()
    done = client.post("/lessons/decline", data=offer(client) | {"why": "that meter sticks"}, follow_redirects=False)
    assert done.status_code == 303
    page = client.get("/lessons").text
    assert f'value="{KEY}"' not in page
    assert "Mara Lind:</strong> that meter sticks" in page
    assert desk.home.shop_path.read_bytes() == before
