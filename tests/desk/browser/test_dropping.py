"""A file dropped on the shelf, and the page that tells by itself what became of it."""

from __future__ import annotations

from pathlib import Path

from desk.browser.watching import Watch
from desk.homes import STEP
from desk_browser import served
from playwright.sync_api import Browser

from proveout.jobs.home import Home


def test_a_file_that_is_dropped_is_taken_in_and_its_page_tells_on(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    watch = Watch()
    with served(Home(tmp_path / "home")) as address:
        page = browser.new_page(base_url=address)
        watch.over(page)
        page.goto("/")
        dropped = page.evaluate_handle(
            "text => { const it = new DataTransfer(); it.items.add(new File([text], 'Träger 5.step')); return it }",
            STEP,
        )
        page.dispatch_event("#take-in", "drop", {"dataTransfer": dropped})
        page.wait_for_url("**/entries/Trager-5")
        page.get_by_label("Pieces").fill("20")
        page.get_by_text("The solid cannot be read").wait_for(timeout=60_000)
        assert page.get_by_label("Pieces").input_value() == "20"
        page.close()
    assert watch.faults == []
    assert (tmp_path / "home" / "Trager-5" / "Trager-5.step").read_text() == STEP
