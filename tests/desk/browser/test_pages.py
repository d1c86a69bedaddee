"""Every page of the desk, seen in a browser: nothing from outside, no complaint, readable by all, by keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_type_hints
from urllib.parse import quote

import pytest
from desk.browser.watching import CHANGE, DESK, LARGE, PHONE, TABLET, Look, Watch, told
from fastapi.responses import HTMLResponse
from fastapi.routing import APIRoute
from playwright.sync_api import Browser, Page

from proveout.desk.app import ROUTERS

TABS_MOST = 30
READABLE_PX, READABLE_LARGE_PX = 16.0, 24.0
DRAWN_MS = 120_000
WORD = re.compile(r"\{(\w+)(?::\w+)?\}")
SAMPLES = {"address": "plate", "entry": "order", "name": "plate"}
"""What stands for a word in braces of a page's address, in the home of these tests."""
SAMPLES_OF = {
    "/orders/{name}": {"name": "order"},
    "/orders/{name}/replan": {"name": "order"},
    "/parts/{address}/stations/{id}": {"id": "c1-z+"},
    "/parts/{address}/proofs/{id:path}": {"id": "bars:45x20:pieces-suffice"},
    "/tasks/{id}": {"id": "plate-1"},
    "/batches/{name}": {"name": "B-1"},
    "/batches/{batch}/charts": {"batch": "B-1"},
    "/batches/{batch}/close-out": {"batch": "B1"},
    "/batches/{batch}/again": {"batch": "B1"},
    "/changes/{id}": {"id": CHANGE},
    "/shop/{kind}/new": {"kind": "crib.cutter"},
    "/shop/{kind}/{number}": {"kind": "machine", "number": "1"},
    "/floor/{station}": {"station": "mill-3"},
    "/floor/{station}/{step}/{batch}": {"station": "mill-3", "step": "op1", "batch": "B1"},
}
"""The same for one page."""
OF_ITS_OWN = {
    "/parts/{address}/check/{id}", "/parts/{address}/tries/{id}", "/parts/{address}/revision/{id}", "/sign-in",
    "/own-password",
}  # fmt: skip
"""Pages that are there only after something was asked for, or where people sign in: test_story.py and test_https.py."""


def addresses() -> Iterator[str]:
    """Every page of the desk by its address in the home of these tests."""
    for router in ROUTERS:
        for route in router.routes:
            if not isinstance(route, APIRoute) or "GET" not in (route.methods or ()) or route.path in OF_ITS_OWN:
                continue
            if get_type_hints(route.endpoint).get("return") is HTMLResponse:
                samples = SAMPLES | SAMPLES_OF.get(route.path, {})
                yield WORD.sub(lambda found: quote(samples[found[1]], safe=":"), route.path)  # noqa: B023 - at once


PAGES = tuple(addresses())


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_whole_at_every_size_and_reached_by_keyboard(look: Look, path: str) -> None:
    """No complaint and no outside request (the fixture), nothing serious for axe, no sideways scroll on any screen.

    Tab goes through every link and field that is seen, in order, and each shows that it is there.
    """
    page = look(path)
    page.wait_for_selector("p[data-drawn]", state="detached", timeout=DRAWN_MS)  # what it still draws is put into it
    assert told(page) == [], f"{path} at {DESK}"
    by_keyboard(page, path)
    for size in (LARGE, TABLET, PHONE):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        wide = page.evaluate("document.scrollingElement.scrollWidth")
        assert wide <= size[0], f"{path} scrolls sideways at {size}: {wide}"
        letter = page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
        assert letter >= (READABLE_LARGE_PX if size == LARGE else READABLE_PX), f"{path} at {size}"
    assert told(page) == [], f"{path} at {PHONE}"


def by_keyboard(page: Page, path: str) -> None:
    """Press Tab through the first things that can be reached."""
    wanted = page.evaluate(
        "[...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex=\"0\"]')]"
        ".filter(one => !one.disabled && one.type !== 'hidden' && one.type !== 'radio' && one.checkVisibility()"
        " && one.tabIndex >= 0).map((one, k) => { one.dataset.nth = k; return k })"
    )
    met: list[int] = []
    for _ in range(min(len(wanted), TABS_MOST)):
        page.keyboard.press("Tab")
        nth, seen = page.evaluate(
            "(() => { const on = document.activeElement, style = getComputedStyle(on);"
            " return [on.dataset.nth === undefined ? null : +on.dataset.nth,"
            " style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2] })()"
        )
        if nth is not None:
            assert seen, f"{path}: nothing shows that element {nth} is reached"
            met.append(nth)
    assert met == wanted[: len(met)]
    assert len(met) > 1


def test_the_skip_link_leads_to_the_page_itself(look: Look) -> None:
    page = look("/")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#main"


def test_a_request_outside_and_a_complaint_are_seen(browser: Browser, tmp_path: Path) -> None:
    """The watch itself: a page that asks elsewhere, or whose script fails, is told."""
    watch, page = Watch(), browser.new_page()
    watch.over(page)
    (tmp_path / "page.html").write_text("<script>console.error('no'); missing()</script><img src='http://192.0.2.1/x'>")
    page.route("http://192.0.2.1/*", lambda route: route.abort())
    page.set_content((tmp_path / "page.html").read_text())
    page.wait_for_timeout(50)
    page.close()
    said = " ".join(watch.faults)
    assert "asked outside: http://192.0.2.1/x" in said
    assert "console: no" in said
    assert "script: missing is not defined" in said


def test_axe_tells_of_a_picture_without_words(browser: Browser) -> None:
    page = browser.new_page()
    page.set_content("<html lang='en'><title>x</title><main><img src='data:,'></main></html>")
    assert [one.split(":")[0] for one in told(page)] == ["image-alt"]
    page.close()
