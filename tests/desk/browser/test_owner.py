"""The whole way of an owner in a browser: from a bare STEP file to its papers, with every page on the way."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from desk.browser.watching import DESK, Watch
from desk_browser import served
from flows.small import write_plate, write_shop
from playwright.sync_api import Browser, Page, expect

from proveout.jobs.home import Home

PLAN_LIMIT_MS = 300_000
TRY_LIMIT_MS = 180_000
SOON_MS = 90_000
PAST_RATING_N_M = 150
"""The small shop closes its vise with 60 N m; so much more is beyond the 30 kN that it is rated for."""


def test_an_owner_goes_from_a_bare_solid_to_papers_and_tries_too_much_torque(
    browser: Browser, tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is asked outside and no script complains on the way."""
    monkeypatch.setenv("PROVEOUT_STORE", str(store))
    home = tmp_path / "home"
    home.mkdir()
    write_shop(home / "shop.toml")
    write_plate(tmp_path / "plate.step")
    watch = Watch()
    with served(Home(home)) as address:
        page = browser.new_page(base_url=address, viewport={"width": DESK[0], "height": DESK[1]})
        watch.over(page)
        _put_on_the_shelf(page, tmp_path / "plate.step")
        _answer(page, home / "plate" / "plate.toml")
        _plan(page)
        _open_every_station(page)
        _walk_the_work(page)
        _try_torque_past_the_rating(page)
        _compare(page)
        _print(page)
        _check_an_edited_program(page, home.with_name("home-plans") / "plate" / "programs" / "clamping-1.nc", tmp_path)
        page.close()
    assert watch.faults == []


def _put_on_the_shelf(page: Page, step: Path) -> None:
    page.goto("/")
    page.get_by_label("Put a design on the shelf").set_input_files(step)
    page.get_by_role("button", name="Take in").click()
    page.wait_for_url("**/entries/plate")


def _answer(page: Page, job: Path) -> None:
    page.get_by_role("link", name="Its sizes, coat and metal").click(timeout=SOON_MS)
    expect(page.get_by_role("heading", name="Is the part coated, how thick")).to_be_visible(timeout=SOON_MS)
    page.get_by_label("quantity", exact=True).fill("40")
    page.get_by_label("assumed so far: alloy is true as it stands").check()
    page.get_by_label("assumed so far: coated is true as it stands").check()
    page.get_by_role("button", name="Write the answers into plate.toml").click()
    expect(page.get_by_role("heading", name="How many are wanted")).to_have_count(0, timeout=SOON_MS)
    said = tomllib.loads(job.read_text(encoding="utf-8"))
    assert said["order"]["quantity"] == 40
    assert said["coated"] is False
    assert 'alloy = "6061-T6"  # assumed' not in job.read_text(encoding="utf-8")


def _plan(page: Page) -> None:
    """Begun, watched, cancelled, begun again, reloaded, and seen to its end."""
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_url("**/tasks/*")
    expect(page.get_by_role("row", name=re.compile("^reading"))).to_be_visible(timeout=SOON_MS)
    page.get_by_role("button", name="Cancel it").click()
    expect(page.locator("p.state[data-state=cancelled]")).to_be_visible(timeout=SOON_MS)
    page.get_by_role("button", name="Plan it again").click()
    page.wait_for_url("**/tasks/plate-2")
    page.reload()
    expect(page.get_by_role("heading", name="First look")).to_be_visible(timeout=PLAN_LIMIT_MS)
    page.get_by_role("link", name="To the route").click(timeout=PLAN_LIMIT_MS)
    page.wait_for_url("**/parts/plate")


def _open_every_station(page: Page) -> None:
    stations = page.locator("main a[href*='/stations/']")
    addresses = list(dict.fromkeys(stations.nth(k).get_attribute("href") for k in range(stations.count())))
    assert len(addresses) >= 5
    for address in addresses:
        assert address is not None
        answer = page.goto(address)
        assert answer is not None
        assert answer.ok, address
        expect(page.locator("h1")).to_be_visible()
        expect(page.get_by_role("heading", name=re.compile("Proofs"))).to_be_visible()


def _walk_the_work(page: Page) -> None:
    page.goto("/parts/plate/work?pass=1")
    page.wait_for_selector("#work[data-whole]", state="attached", timeout=SOON_MS)
    for word in ("next", "next", "weakest"):
        page.click(f"[data-step={word}]")
        page.wait_for_selector("#work:not([aria-busy])", timeout=SOON_MS)
    face = page.locator("#face option").nth(1).get_attribute("value")
    page.select_option("#face", face)
    expect(page.locator("#face-told dl")).to_be_visible(timeout=SOON_MS)


def _try_torque_past_the_rating(page: Page) -> None:
    page.get_by_role("link", name="Try a change").click()
    page.get_by_label(re.compile("torque", re.IGNORECASE)).first.fill(str(PAST_RATING_N_M))
    page.get_by_role("button", name="Try it").click()
    expect(page.get_by_role("heading", name="What the change does")).to_be_visible(timeout=TRY_LIMIT_MS)
    moved = page.get_by_role("region", name="Proofs that moved")
    expect(moved.get_by_text("fails").first).to_be_visible()


def _compare(page: Page) -> None:
    page.goto("/parts/plate/compare")
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("region", name="Proofs that moved")).to_be_visible(timeout=SOON_MS)


def _print(page: Page) -> None:
    page.get_by_role("link", name="Papers").click()
    ticket = page.get_by_role("link", name="Saw ticket")
    address = ticket.get_attribute("href")
    assert address is not None
    answer = page.request.get(address)
    assert answer.body().startswith(b"%PDF-")


def _check_an_edited_program(page: Page, program: Path, folder: Path) -> None:
    text = program.read_text(encoding="ascii")
    assert "G90" in text
    (folder / "edited.nc").write_text(text.replace("G54", "G55"), encoding="ascii")
    page.get_by_role("link", name="Check a program", exact=True).click()
    page.get_by_label("The file that the machine is to run").set_input_files(folder / "edited.nc")
    page.get_by_label("For which operation").select_option("1")
    page.get_by_role("button", name="Check it").click()
    expect(page.get_by_text(re.compile("^(FAILS|NOT SHOWN): "))).to_be_visible(timeout=TRY_LIMIT_MS)
    expect(page.locator("ol.found a").first).to_be_visible()
