"""What a page does by itself while somebody is on it: drawings that come, and a session that ends."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
import worked_home
from desk.browser.watching import Look
from desk_browser import served
from playwright.sync_api import Browser, Page, Route

from proveout.desk.page import STATIC
from proveout.jobs.plan_drawings import Drawer, PlanDrawings

ROUTE = f"/parts/{worked_home.ADDRESS}"
COMING_MS = 30_000


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a desk over the one part whose metal is counted by hand."""
    with served(worked_home.write_home(tmp_path_factory.mktemp("meanwhile"))) as address:
        yield address


class Coming:
    """The drawings of a page as a test wants them: not there, until it says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.is_coming = True
        monkeypatch.setattr(Drawer, "drawn", lambda *_, **__: PlanDrawings(is_coming=self.is_coming))


def marked(page: Page) -> Page:
    """So that a page that was loaded again would be known."""
    page.evaluate("window.isStillHere = true")
    return page


def test_drawings_are_put_into_the_page_that_is_open(look: Look, monkeypatch: pytest.MonkeyPatch) -> None:
    coming = Coming(monkeypatch)
    page = marked(look(ROUTE))
    page.evaluate("document.querySelector('#drawn').firstElementChild.dataset.old = 'yes'")
    coming.is_coming = False
    page.wait_for_selector("[data-drawn]", state="detached", timeout=COMING_MS)
    assert page.inner_text("p.note") == "The line drawings are ready and shown."
    assert page.query_selector("#drawn [data-old]") is None
    assert page.evaluate("document.querySelectorAll('#drawn a').length") > 3
    assert page.evaluate("window.isStillHere") is True


def test_drawings_take_nothing_away_from_whoever_is_among_them(look: Look, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tabbing through the route: what has the focus stays, and a link says that the drawings are there."""
    coming = Coming(monkeypatch)
    page = marked(look(ROUTE))
    page.focus("#drawn a")
    page.evaluate("document.activeElement.dataset.old = 'yes'")
    coming.is_coming = False
    page.wait_for_selector("[data-drawn]", state="detached", timeout=COMING_MS)
    assert page.evaluate("document.activeElement.dataset.old") == "yes"
    assert page.get_attribute("p.note", "role") == "status"
    page.click("p.note a:has-text('The drawings are ready: show them')")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("window.isStillHere === undefined")
    assert page.url.endswith(ROUTE)


def test_who_is_signed_out_is_told_and_asked_for_no_more(
    browser: Browser, desk: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The session ends while drawings are waited for: the page says so once, with the way back in, and asks no more."""
    Coming(monkeypatch)
    page = browser.new_page()
    page.goto(f"{desk}{ROUTE}")
    asked: list[str] = []

    def unknown(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(status=401, body=json.dumps("Sign in first."))

    page.context.route("**/drawn?*", unknown)
    page.wait_for_selector("#signed-out", timeout=COMING_MS)
    assert page.get_attribute("#signed-out a", "href") == "/sign-in?next=%2Fparts%2Fblock"
    assert page.get_attribute("#signed-out", "role") == "alert"
    page.wait_for_timeout(2500)
    assert len(asked) == 1
    page.close()


WAITING = """<!doctype html><html lang="en"><title>t</title><main id="main">
<div id="waiting" data-renew="0.1" data-gone="reload"><p role="status">{said}</p><p class="soft">{at}</p></div></main>
<script type="module" src="/static/renew.js"></script></html>"""


def test_progress_is_read_aloud_once_for_each_stage(browser: Browser, desk: str) -> None:
    """What is shown beside the stage changes all the time; the line that is read aloud changes with the stage alone."""
    page = browser.new_page()
    told = [("Under way: passes", "1 of 3"), ("Under way: passes", "2 of 3"), ("Under way: loads", "1 of 3")]
    now = 0
    page.route("**/waits", lambda route: route.fulfill(
        content_type="text/html", body=WAITING.format(said=told[now][0], at=told[now][1])
    ))  # fmt: skip
    page.goto(f"{desk}/waits")
    page.evaluate("""() => {
        window.line = document.querySelector('[role=status]');
        window.heard = [];
        new MutationObserver(() => window.heard.push(window.line.textContent))
            .observe(window.line, { childList: true, characterData: true, subtree: true });
    }""")
    for now in (1, 2):
        page.wait_for_function(
            "([said, at]) => document.querySelector('[role=status]').textContent === said "
            "&& document.querySelector('.soft').textContent === at", arg=told[now],
        )  # fmt: skip
        assert page.evaluate("document.querySelector('[role=status]') === window.line")
        assert page.evaluate("document.querySelectorAll('#waiting > p').length") == 2
    assert page.evaluate("window.heard") == ["Under way: loads"]
    page.close()


def test_a_desk_that_is_busy_is_asked_again_and_takes_no_page_away(browser: Browser, desk: str) -> None:
    page = browser.new_page()
    status, asked = 200, 0

    def answer(route: Route) -> None:
        nonlocal asked
        asked += 1
        body = WAITING.format(said="Under way", at=str(asked)) if status == 200 else "<p>The desk is busy</p>"
        route.fulfill(status=status, content_type="text/html", body=body)

    page.route("**/waits", answer)
    page.goto(f"{desk}/waits")
    marked(page)
    status, before = 503, asked
    page.wait_for_timeout(600)
    assert asked > before + 1
    assert page.evaluate("window.isStillHere") is True
    status = 200
    page.wait_for_function("n => Number(document.querySelector('.soft').textContent) > n", arg=asked)
    page.close()


TASK = """<!doctype html><html lang="en"><title>t</title><main id="main"><p role="status" id="aloud">Under way</p>
<form id="cancel"><button>Cancel it</button></form><form id="again" hidden><button>Plan it again</button></form>
<div id="state" data-task="t-1" data-open="yes"></div><p id="lost" hidden></p></main>
<script type="module" src="/static/task.js"></script></html>"""


@pytest.mark.parametrize(
    ("goal", "reached"), [('<p class="goals"><a href="/">Go</a></p>', "Go"), ("", "Plan it again")]
)
def test_whoever_stands_on_cancel_when_the_work_ends_is_led_on(
    browser: Browser, desk: str, goal: str, reached: str
) -> None:  # fmt: skip
    page = browser.new_page()
    page.route("**/waits", lambda route: route.fulfill(content_type="text/html", body=TASK))
    page.route("**/tasks/t-1/state", lambda route: route.fulfill(json={"open": False, "said": "ready", "html": goal}))
    page.goto(f"{desk}/waits")
    page.focus("#cancel button")
    page.wait_for_selector("#cancel", state="hidden")
    page.wait_for_function("told => document.activeElement.textContent === told", arg=reached)
    assert page.inner_text("#aloud") == "ready"
    page.close()


def test_every_script_that_asks_again_looks_whether_it_is_signed_out() -> None:
    asking = [
        path for path in sorted(STATIC.glob("*.js"))
        # the one keeps what is refused, and its page says who must sign in; the other hands on what it is asked for
        if path.name not in ("floor_queue.js", "floor_kept.js")
        and "fetch(" in path.read_text("utf-8") and "setTimeout" in path.read_text("utf-8")
    ]  # fmt: skip
    assert {"coming.js", "renew.js", "shelf.js", "task.js"} <= {path.name for path in asking}
    assert [path.name for path in asking if "isSignedOut(answer)" not in path.read_text("utf-8")] == []
