"""A page of the floor that is loaded anew while the office machine does not answer, and taps made on it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk.browser.test_floor_queue import KEPT, MILLED, all_sent, places
from desk_browser import served
from floor_home import Floor, floor_home
from playwright.sync_api import Browser, Page, expect

STEP = "/floor/bench/bench/B1"
IS_KEPT = """async (path) => {
  const kept = await caches.open('proveout-floor-pages');
  return (await kept.keys()).some((one) => new URL(one.url).pathname === path);
}"""
TAP = """import('/static/floor_queue.js').then(queue => queue.keep({person: 'Mara', station: 'bench', batch: 'B1',
         of: {what: 'moved', to_place: 'place 0'}}))"""


@pytest.fixture
def floor(tmp_path: Path) -> Floor:
    floor = floor_home(tmp_path)
    floor.post(*MILLED)
    return floor


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
    yield context.new_page()
    context.close()


def until_kept(page: Page, *paths: str) -> None:
    """Wait until pages lie in the tablet."""
    end = time.monotonic() + 20.0
    while not all(page.evaluate(IS_KEPT, path) for path in paths):
        assert time.monotonic() < end, paths
        page.wait_for_timeout(100)


def test_without_the_office_machine_pages_are_shown_as_they_were_and_taps_sent_later(floor: Floor, page: Page) -> None:
    with served(floor.home) as address:
        page.context.add_cookies([{"name": "proveout-person", "value": "Mara", "url": address}])
        page.goto(f"{address}/floor/bench")
        until_kept(page, "/floor/bench", STEP)  # what waits at the station is kept before anybody opens it
        expect(page.locator("#kept-page")).to_have_count(0)
    page.reload()
    expect(page.locator("#kept-page")).to_contain_text("this page is as it was at")
    page.goto(f"{address}{STEP}")
    expect(page.locator("#kept-page")).to_be_visible()
    expect(page.locator("h1")).to_contain_text("EX")
    page.evaluate(TAP)
    assert len(page.evaluate(KEPT)) == 1
    page.goto(f"{address}/floor/packing")
    expect(page.locator("h1")).to_have_text("No answer from the office machine")
    page.goto(f"{address}{STEP}")
    with served(floor.home, port=int(address.rpartition(":")[2])):
        page.reload()
        expect(page.locator("#kept-page")).to_have_count(0)
        all_sent(page)
    assert places(floor) == ["place 0"]


def test_whoever_comes_takes_the_pages_of_the_one_before_with_them(floor: Floor, page: Page) -> None:
    with served(floor.home) as address:
        page.goto(f"{address}/floor/bench")
        until_kept(page, "/floor/bench")
        page.goto(f"{address}/floor-people")
        page.locator("input[name=who]").fill("Jon")
        page.locator("input[name=who]").press("Enter")
        page.wait_for_url(f"{address}/floor")
    page.goto(f"{address}/floor/bench")
    expect(page.locator("h1")).to_have_text("No answer from the office machine")
    expect(page.locator("#kept-page")).to_have_count(0)
