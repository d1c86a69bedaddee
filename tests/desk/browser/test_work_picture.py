"""The turning picture of the work, seen at work in a browser that draws by software."""

from __future__ import annotations

from pathlib import Path

import pytest
import worked_home
from desk.browser.watching import Watch
from desk_ import pockets, write_home
from desk_browser import served
from playwright.sync_api import Browser, Page, Request, Route

DRAWN = "window.proveoutWork.picture.renderer.info.render.frame"


def test_a_moment_is_drawn_stepped_through_picked_and_measured(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plate with two pockets: its picture comes, follows the keys, stands still otherwise, and names its faces."""
    monkeypatch.setenv("PROVEOUT_STORE", str(tmp_path / "store"))
    home, faces = write_home(tmp_path, pockets(2, 1))
    watch = Watch()
    page = browser.new_page(viewport={"width": 1600, "height": 1000}, reduced_motion="reduce")
    watch.over(page)
    with served(home) as address:
        page.goto(f"{address}/parts/{worked_home.ADDRESS}/work?pass=1")
        page.wait_for_selector("#work[data-whole]", state="attached", timeout=60_000)
        assert page.is_visible("#picture")
        assert not page.is_visible("#still")
        page.wait_for_timeout(300)
        frames = page.evaluate(DRAWN)
        page.wait_for_timeout(300)
        assert page.evaluate(DRAWN) == frames, "nothing changed, and yet it was drawn"
        page.focus("#picture")
        page.keyboard.press("ArrowLeft")
        page.wait_for_timeout(300)
        assert page.evaluate(DRAWN) > frames
        page.keyboard.press("Home")
        page.click("[data-step=next]")
        page.wait_for_selector("#work:not([aria-busy])", timeout=30_000)
        assert page.url.endswith("?pass=2")
        assert "pocket 1" in page.inner_text("#said")
        assert len(page.query_selector_all("#face option")) == faces + 1
        box = page.query_selector("#picture").bounding_box()  # type: ignore[union-attr]
        assert box is not None
        page.mouse.click(box["x"] + 0.55 * box["width"], box["y"] + 0.45 * box["height"])
        page.wait_for_selector("#face-told dl", timeout=30_000)
        assert "plane facing +z, at z 25.000" in page.inner_text("#face-told")
        other = page.evaluate(
            "[...document.querySelectorAll('#other option')].find(one => one.textContent.includes('facing −z')).value"
        )
        page.select_option("#other", other)
        page.wait_for_selector("#distance:not(:empty)", timeout=30_000)
        assert page.inner_text("#distance").startswith("25.000 mm, from plane to plane")
        assert watch.faults == []
        only_the_newest_moment_is_asked_for(page)
        a_busy_desk_is_asked_again(page)
    page.close()
    assert [one for one in watch.faults if "503" not in one] == []  # of which the browser complains by itself


def test_the_picture_is_as_sharp_as_the_screen(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PROVEOUT_STORE", str(tmp_path / "store"))
    home, _ = write_home(tmp_path, pockets(2, 1))
    context = browser.new_context(viewport={"width": 820, "height": 700}, device_scale_factor=2)
    page = context.new_page()
    with served(home) as address:
        page.goto(f"{address}/parts/{worked_home.ADDRESS}/work?pass=1")
        page.wait_for_selector("#work[data-whole]", state="attached", timeout=60_000)
        points, pixels = page.evaluate(
            "(() => { const of = document.querySelector('#picture canvas') || document.querySelector('#picture');"
            " return [of.clientWidth, of.width] })()"
        )
    context.close()
    assert pixels == pytest.approx(2 * points, abs=2)


def only_the_newest_moment_is_asked_for(page: Page) -> None:
    """Three moments one after the other, whose answers tarry: the first two are given up, and the third is shown."""
    given_up: list[str] = []
    waiting: list[Route] = []

    def failed(request: Request) -> None:
        given_up.append(request.url.partition("share=")[2])

    page.on("requestfailed", failed)
    page.route("**/work/metal*", lambda route: waiting.append(route))  # noqa: PLW0108 - playwright marks the handler
    for share in (0.31, 0.32, 0.33):
        page.evaluate(f"void window.proveoutWork.show(1, {share})")
        page.wait_for_timeout(50)
    assert [one.request.url.partition("share=")[2] for one in waiting] == ["0.31", "0.32", "0.33"]
    assert given_up == ["0.31", "0.32"]
    assert page.get_attribute("#work", "aria-busy") == "true"
    waiting[-1].continue_()
    page.wait_for_selector("#work:not([aria-busy])", timeout=30_000)
    assert "33 of 100" in page.inner_text("#said")
    assert "did not come" not in page.inner_text("#said")
    page.unroute("**/work/metal*")
    page.remove_listener("requestfailed", failed)


def a_busy_desk_is_asked_again(page: Page) -> None:
    """A desk that says that it is busy: so it is said, asked again, and the moment is shown."""
    asked: list[str] = []

    def busy_once(route: Route) -> None:
        asked.append(route.request.url)
        if len(asked) == 1:
            route.fulfill(status=503, headers={"retry-after": "1"}, body="busy")
        else:
            route.continue_()

    page.route("**/work/metal*", busy_once)
    page.evaluate("void window.proveoutWork.show(1, 0.41)")
    page.wait_for_selector("#said:has-text('busy: asked again')")
    page.wait_for_selector("#work:not([aria-busy])", timeout=30_000)
    assert len(asked) == 2
    assert "busy" not in page.inner_text("#said")
    page.unroute("**/work/metal*")
