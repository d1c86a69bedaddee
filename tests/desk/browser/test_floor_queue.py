"""The queue of a tablet: whatever the network does, each tap arrives once and in the order of tapping."""

from __future__ import annotations

import http.client
import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from desk_browser import served
from floor_home import CHECKS, PNG, Floor, floor_home
from playwright.sync_api import Browser, BrowserContext, Page, Route

from proveout.books.readings import verdict_of
from proveout.jobs import password as password_module
from proveout.jobs.people import People, people_path
from proveout.model.batch_events import Counted, Done, Started
from proveout.model.stock_events import Sawn

MILLED = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"), Started(step="op1"), Counted(step="op1", good_count=8), Done(step="op1"),
)  # fmt: skip
KEPT = "import('/static/floor_queue.js').then(queue => queue.all())"
TAP = """async ([first, last]) => {
  const queue = await import('/static/floor_queue.js');
  for (let number = first; number < last; number += 1) {
    await queue.keep({person: 'Mara', station: 'packing', batch: 'B1',
                      of: {what: 'moved', to_place: `place ${number}`}});
  }
}"""
WITHOUT_LOCKS = "Object.defineProperty(navigator, 'locks', {value: undefined})"


@pytest.fixture
def floor(tmp_path: Path) -> Floor:
    return floor_home(tmp_path)


@pytest.fixture
def address(floor: Floor) -> Iterator[str]:
    with served(floor.home) as found:
        yield found


@pytest.fixture
def context(browser: Browser, address: str) -> Iterator[BrowserContext]:
    made = browser.new_context(
        base_url=address, viewport={"width": 820, "height": 1180}, has_touch=True, service_workers="block"
    )  # requests that a test loses on their way are then seen by it
    made.add_cookies([{"name": "proveout-person", "value": "Mara", "url": address}])
    yield made
    made.close()


def places(floor: Floor) -> list[str]:
    """Where the batch's tray was put, in the order of the records."""
    with floor.records() as records:
        events = records.events(batch="B1")
    return [event.of.to_place for _, event in events if event.kind == "moved"]  # type: ignore[union-attr]


def all_sent(page: Page) -> None:
    end = time.monotonic() + 20.0
    while page.evaluate(KEPT):
        assert time.monotonic() < end, page.evaluate(KEPT)
        page.wait_for_timeout(100)


def expected(count: int) -> list[str]:
    return [f"place {number}" for number in range(count)]


@pytest.mark.parametrize(("has_locks", "count"), [(True, 100), (False, 20)], ids=["Web Locks", "a lease"])
def test_a_hundred_taps_arrive_once_each_and_in_order(
    context: BrowserContext, floor: Floor, address: str, *, has_locks: bool, count: int
) -> None:
    """The network is cut in the middle, and of three taps the answer is lost after the server wrote it."""
    cut_at, back_at, lost_at = count // 3, 2 * count // 3, (2, count // 2, count)
    if not has_locks:
        context.add_init_script(WITHOUT_LOCKS)
    page = context.new_page()
    page.goto("/floor/packing")
    seen: list[str] = []

    def lose(route: Route) -> None:
        seen.append(str(json.loads(route.request.post_data or "{}")["id"]))
        if len(seen) in lost_at:
            _post(address, route.request.post_data or "")  # the server writes it, and nobody hears of it
            route.abort()
        else:
            route.continue_()

    context.route("**/floor/events", lose)
    page.evaluate(TAP, [0, cut_at])
    context.set_offline(True)
    page.evaluate(TAP, [cut_at, back_at])
    page.locator("#floor-waits", has_text="no answer").wait_for()
    assert len(page.evaluate(KEPT)) >= back_at - cut_at
    context.set_offline(False)
    page.evaluate(TAP, [back_at, count])
    all_sent(page)
    assert places(floor) == expected(count)
    assert [len(seen) >= at for at in lost_at] == [True] * len(lost_at)
    assert len(seen) > len(set(seen))  # some were sent again, under their own ids


def test_what_waits_outlives_a_reload_and_two_tabs_send_it_once(context: BrowserContext, floor: Floor) -> None:
    page, other = context.new_page(), context.new_page()
    page.goto("/floor/packing")
    other.goto("/floor/packing")
    context.route("**/floor/events", lambda route: route.abort())
    page.evaluate(TAP, [0, 4])
    other.evaluate(TAP, [4, 8])
    context.unroute("**/floor/events")
    page.reload()
    other.evaluate("import('/static/floor_queue.js').then(queue => queue.send())")
    all_sent(page)
    assert places(floor) == expected(8)


def test_without_locks_two_tabs_send_in_order_and_a_dead_one_holds_nothing_up(
    context: BrowserContext, floor: Floor
) -> None:
    context.add_init_script(WITHOUT_LOCKS)
    page, other = context.new_page(), context.new_page()
    page.goto("/floor/packing")
    other.goto("/floor/packing")
    page.evaluate(TAP, [0, 3])
    other.evaluate(TAP, [3, 6])
    page.evaluate(TAP, [6, 9])
    all_sent(page)
    assert places(floor) == expected(9)
    page.evaluate(
        "new Promise(done => { indexedDB.open('proveout-floor').onsuccess = (event) => {"
        " const to = event.target.result.transaction('lease', 'readwrite');"
        " to.objectStore('lease').put({name: 'sender', holder: 'a tab that is gone', until: Date.now() + 1500});"
        " to.oncomplete = done } })"
    )
    page.evaluate(TAP, [9, 10])
    page.wait_for_timeout(300)
    assert len(places(floor)) == 9  # another tab may still be sending
    all_sent(page)
    assert places(floor) == expected(10)


def test_a_refused_tap_is_told_until_somebody_has_read_it(context: BrowserContext, floor: Floor) -> None:
    page = context.new_page()
    page.goto("/floor/bench")
    page.evaluate(
        "import('/static/floor_queue.js').then(queue => queue.keep({person: 'Mara', station: 'bench', batch: 'B1',"
        " of: {what: 'started', step: 'bench'}}))"
    )
    told = page.locator("#floor-refused li")
    told.wait_for()
    assert "No piece waits at this step" in told.inner_text()
    page.evaluate(TAP, [0, 1])  # what comes after it is not held up
    page.reload()
    told.wait_for()
    told.get_by_role("button", name="I have read this").click()
    told.wait_for(state="detached")
    assert page.evaluate(KEPT) == []
    assert places(floor) == expected(1)


def test_a_tap_of_nobody_signed_in_waits_for_its_person(context: BrowserContext, floor: Floor) -> None:
    page = context.new_page()
    page.goto("/floor/packing")
    context.route("**/floor/events", lambda route: route.fulfill(status=401, body="Sign in first."))
    page.evaluate(TAP, [0, 2])
    page.locator("#floor-waits", has_text="2 wait: Mara signs in again").wait_for()
    context.unroute("**/floor/events")
    page.reload()
    all_sent(page)
    assert places(floor) == expected(2)


BY = """async ([person, of]) => {
  const queue = await import('/static/floor_queue.js');
  await queue.keep({person, station: of.step ?? 'packing', batch: 'B1', of});
}"""
BACK = "import('/static/floor_queue.js').then(queue => queue.stampAnew('Mara', 'a new one'))"


def _knows_no_mara(route: Route) -> None:
    if json.loads(route.request.post_data or "{}")["person"] == "Mara":
        route.fulfill(status=401, body="Sign in first.")
    else:
        route.continue_()


def test_whoever_must_sign_in_again_holds_nobody_else_up(context: BrowserContext, floor: Floor) -> None:
    page = context.new_page()
    page.goto("/floor/packing")
    context.route("**/floor/events", _knows_no_mara)
    for number, who in enumerate(("Mara", "Jon", "Mara", "Jon", "Ivo")):
        page.evaluate(BY, [who, {"what": "moved", "to_place": f"place {number}"}])
    waits = page.locator("#floor-waits")
    waits.filter(has_text="2 wait: Mara signs in again").wait_for()
    _until(page, lambda: places(floor) == ["place 1", "place 3", "place 4"])
    _until(page, lambda: [one["tap"]["person"] for one in page.evaluate(KEPT)] == ["Mara", "Mara"])
    page.reload()  # kept, and still shown as theirs
    waits.filter(has_text="2 wait: Mara signs in again").wait_for()
    context.unroute("**/floor/events")
    page.evaluate(BACK)
    all_sent(page)
    assert places(floor) == ["place 1", "place 3", "place 4", "place 0", "place 2"]


def test_what_may_need_a_tap_set_aside_waits_behind_it_and_is_not_told_as_refused(
    context: BrowserContext, floor: Floor
) -> None:  # fmt: skip
    floor.post(*MILLED)
    page = context.new_page()
    page.goto("/floor/packing")
    context.route("**/floor/events", _knows_no_mara)
    page.evaluate(BY, ["Mara", {"what": "started", "step": "bench"}])
    page.evaluate(BY, ["Jon", {"what": "counted", "step": "bench", "good_count": 3}])
    page.evaluate(BY, ["Jon", {"what": "moved", "to_place": "shelf 2"}])
    page.locator("#floor-waits", has_text="1 waits: Mara signs in again, 1 after that").wait_for(timeout=15_000)
    _until(page, lambda: places(floor) == ["shelf 2"])
    assert page.locator("#floor-refused li").count() == 0
    context.unroute("**/floor/events")
    page.evaluate(BACK)
    all_sent(page)
    with floor.records() as records:
        told = [(event.kind, event.person) for _, event in records.events(batch="B1")][-3:]
    assert told == [("moved", "Jon"), ("started", "Mara"), ("counted", "Jon")]
    page.evaluate(BY, ["Jon", {"what": "started", "step": "packing"}])  # nobody is awaited now: it is told
    page.locator("#floor-refused li", has_text="No piece waits at this step").wait_for()


def _until(page: Page, is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + 15.0
    while not is_so():
        assert time.monotonic() < end
        page.wait_for_timeout(100)


def test_usual_work_is_three_taps_with_and_without_a_network(context: BrowserContext, floor: Floor) -> None:
    """Start, all good, done: the page goes on by itself though nobody answers, and says that it waits."""
    floor.post(*MILLED)
    page = context.new_page()
    page.goto("/floor/bench/bench/B1")
    context.set_offline(True)
    page.get_by_role("button", name="Start", exact=True).click()
    page.get_by_role("button", name="All 8 good").click()
    page.get_by_role("button", name="Done here").click()
    page.get_by_text("What waits next").wait_for()
    page.locator("#floor-waits", has_text="no answer").wait_for()
    context.set_offline(False)
    all_sent(page)
    with floor.records() as records:
        batch = records.batch("B1")
    assert batch is not None
    assert (batch.steps[2].is_done, batch.steps[2].good_count, batch.steps[3].waiting_count) == (True, 8, 8)


def test_a_reading_is_judged_at_once_as_the_books_judge_it(context: BrowserContext, floor: Floor) -> None:
    floor.post(*MILLED[:2], Started(step="op1"))
    page = context.new_page()
    page.goto("/floor/mill-3/op1/B1")
    assert "The first piece is not measured yet: 1, 2" in page.locator("main").inner_text()
    field, said = page.locator("#read-1"), page.locator("[data-verdict]").first
    check = CHECKS[0]
    for typed in ("20.05", "20,0529", "20.053", "20.067", "20.0671", "20.07", "20.0701", "20.0499", "-1", "x"):
        field.fill(typed)
        number = typed.replace(",", ".")
        want = verdict_of(check, float(number)) if number != "x" else ""
        assert said.get_attribute("class") == f"reads {want}".strip()
    page.get_by_label("Piece", exact=True).fill("2")
    field.fill("20,06")
    field.press("Enter")
    page.get_by_role("heading", name="Last readings").wait_for()  # the page anew: it is still the piece that was typed
    page.locator("#read-2").fill("12")
    page.locator("#read-2").press("Enter")
    page.get_by_role("button", name="1 good").wait_for()
    with floor.records() as records:
        found = [(row["mark"], row["value"], row["piece"], row["verdict"]) for row in records.rows("readings")]
    assert found == [("1", 20.06, "2", "within"), ("2", 12.0, "2", "within")]


def test_with_pins_taps_carry_their_person_and_another_one_lets_work_go_on(
    browser: Browser, floor: Floor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Mara starts without a network and stops, with a photo; Ivo steps up to her tablet for once."""
    monkeypatch.setattr(password_module, "COST_N", 2**4)
    floor.post(*MILLED)
    people = People(people_path(floor.home))
    for who, role, pin in (("ola", "owner", "8204"), ("mara", "floor", "4711"), ("ivo", "inspection", "5520")):
        people.put(who, name=who.title(), role=role, pin=pin)
    with served(floor.home) as address:
        context = browser.new_context(base_url=address, has_touch=True)
        page = context.new_page()
        page.goto("/floor-people?next=/floor/bench/bench/B1")
        page.get_by_label("Mara").check()
        page.get_by_label("PIN").fill("4711")
        page.get_by_role("button", name="That is me").click()
        page.wait_for_url("**/floor/bench/bench/B1")
        context.set_offline(True)
        page.get_by_role("button", name="Start", exact=True).click()
        page.get_by_role("button", name="All 8 good").wait_for()
        context.set_offline(False)
        page.get_by_label("Take a photo").set_input_files({"name": "x.png", "mimeType": "image/png", "buffer": PNG})
        page.get_by_label("What it shows").fill("burr")
        page.get_by_role("button", name="Keep").click()
        page.get_by_role("img", name="burr").wait_for()
        page.get_by_role("button", name="Size is off").click()
        page.get_by_role("heading", name="Stands still: Size is off").wait_for()
        page.get_by_label("What was done about it").fill("new edge")
        page.get_by_label("Who", exact=True).select_option("ivo")
        page.get_by_label("PIN").fill("5520")
        page.get_by_role("button", name="Go on").click()
        page.get_by_role("button", name="All 8 good").wait_for()
        context.close()
    with floor.records() as records:
        told = [(event.kind, event.person) for _, event in records.events(batch="B1")][-4:]
    assert told == [("started", "mara"), ("photo taken", "mara"), ("stopped", "mara"), ("resumed", "ivo")]


def _post(address: str, body: str) -> None:
    host = address.removeprefix("http://")
    connection = http.client.HTTPConnection(host, timeout=10)
    connection.request("POST", "/floor/events", body, {"origin": address, "content-type": "application/json"})
    answer = connection.getresponse()
    assert answer.status == 200, answer.read()
    connection.close()
