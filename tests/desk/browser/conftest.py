"""A desk over a home of its own, a browser, and the watch on every page that a test opens."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from desk.browser.watching import CHANGE, DESK, Look, Watch
from desk_browser import NoBrowser, chromium, served
from floor_home import BARS, Floor
from playwright.sync_api import Browser, BrowserContext, Page, expect

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.batch_route import route_steps
from proveout.jobs.bought import bought_together, order_money
from proveout.jobs.changes import note
from proveout.jobs.check_plan import read_plan
from proveout.jobs.home import Home
from proveout.jobs.packets import freeze
from proveout.jobs.records import records_of_home
from proveout.jobs.releasing import ask
from proveout.jobs.sawn import sawn_together
from proveout.jobs.signed import Signed
from proveout.jobs.tasks import tasks_folder
from proveout.jobs.told_lines import LinesTeller
from proveout.jobs.writing import write_order
from proveout.model.batch_events import Asked, Check, Planned, Released, Started
from proveout.model.order import OrderedPart
from proveout.model.stock_events import BarReceived, Sawn
from proveout.quantities.canonical import digest_of
from proveout.records.records import Records
from proveout.stages.schedule.decide import decide as decide_schedule

ERRAND_LIMIT_MS = 120_000
BEING_WORKED_OUT = "main [data-gone], figure[data-renew]"


def settle(page: Page) -> None:
    """Wait until what is being worked out has become a page of its own, and its pictures are drawn."""
    for _ in range(2):
        expect(page.locator(BEING_WORKED_OUT)).to_have_count(0, timeout=ERRAND_LIMIT_MS)
        page.wait_for_load_state("networkidle")


@pytest.fixture(scope="session")
def home(planned_plate: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home of these tests' own: the small plate with its plan beside it, and an order of it."""
    folder = tmp_path_factory.mktemp("desk")
    for name in ("home", "home-plans"):
        shutil.copytree(planned_plate / name, folder / name)
    tell_of_a_task(folder / "home-plans")
    _add_order(folder / "home", folder / "home-plans")
    _release_a_batch(Home(folder / "home"))
    _ask_for_a_batch(Home(folder / "home"))
    _end_a_revision(Home(folder / "home"))
    return folder / "home"


def _ask_for_a_batch(home: Home) -> None:
    """A batch of the plate, and bars for it."""
    bars = BarReceived(item="T-1", alloy="6061-T6", section="45x20", heat="H1", lot="", length_mm=3000.0, count=4,
                       place="rack")  # fmt: skip
    signed = Signed(person="Mara Lind")
    with Records(records_of_home(home), asks_for_plans=True) as records:
        wanted_count = home.place("plate").plan.part.quantity
        ask(home, records, "plate", batch="B-1", wanted_count=wanted_count, signed=signed)
        records.post(signed.says(bars))


def _end_a_revision(home: Home) -> None:
    """A change of the plate, whose day no test comes to."""
    part = home.place("plate").plan.part
    with Records(records_of_home(home)) as records:
        note(records, part=part.number, ends=part.revision or "-", begins="Z", from_day="2999-01-01",
             why="the window gets wider", signed=Signed(person="Mara Lind", id=CHANGE))  # fmt: skip


def _add_order(home: Path, plans: Path) -> None:
    """An order of the plate alone, laid out on the calendar from the plan that is there."""
    shutil.copyfile(home / "plate.toml", home / "ordered.toml")
    (home / "order.toml").write_text(
        'name = "Plates"\n[[item]]\njob = "ordered.toml"\nquantity = 40\n', encoding="utf-8"
    )
    shutil.copytree(plans / "plate", plans / "order" / "T-1")
    plan, shop = read_plan(plans / "plate"), read_shop(home / "shop.toml")
    ordered = [OrderedPart(plan=plan, job=read_job(home / "plate.toml"))]
    sawing, sawing_proofs = sawn_together([plan], shop)
    write_order(
        plans / "order", order_file=home / "order.toml", name="Plates", parts=[(ordered[0], "T-1")],
        load=decide_schedule(parts=ordered, shop=shop), shop=shop, sawing=sawing, sawing_proofs=sawing_proofs,
        buying=bought_together([plan], sawing, shop), money=order_money([plan], sawing),
    )  # fmt: skip


def _release_a_batch(home: Home) -> None:
    """A batch of the plate with its packet, whose blanks are sawn; nobody asks for its open proofs."""
    place = home.place("plate")
    plan, route = place.plan, route_steps(place.plan)
    papers = freeze(home, "B1", place, anew={})
    checks = (Check(step="op1", mark="1", text="20 H8", low=20.0, high=20.033, react_low=20.003),)
    blanks, mark, revision = plan.bars.blanks_count, digest_of(plan), plan.part.revision or "-"
    floor = Floor(home)
    floor.post(BARS, batch="")
    floor.post(
        Asked(part=plan.part.number, revision=revision, wanted_count=1, due="2027-04-12"), Planned(plan=mark),
        Released(plan=mark, revision=revision, blanks_count=blanks, route=route, checks=checks, papers=papers),
        Started(step="saw"),
        Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=blanks),
        station="saw",
    )  # fmt: skip


def tell_of_a_task(plans: Path) -> None:
    """A task that has ended, with what it told of itself."""
    folder = tasks_folder(plans)
    folder.mkdir()
    task = BackgroundTask(
        id="plate-1", subject="plate", title="Plan plate", arguments=(), out=str(plans / "plate"), state="ready",
        asked_at="2026-01-05T08:00:00+00:00", ended_at="2026-01-05T08:01:00+00:00",
    )  # fmt: skip
    (folder / "plate-1.json").write_bytes(msgspec.json.encode(task))
    teller = LinesTeller(folder / "plate-1.lines")
    for stage in ("reading", "survey", "passes", "loads", "passes"):
        teller.tell(stage, "", 0.0)
    teller.look([("Bar", "flat 45 x 20, 63.00 mm sawn off"), ("", "First look")])
    teller.end(0, "")


@pytest.fixture(scope="session")
def desk(home: Path) -> Iterator[str]:
    """Address of a desk over that home."""
    with served(Home(home)) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium; a machine without it fails, for nothing would have been seen."""
    try:
        with chromium() as launched:
            yield launched
    except NoBrowser as fault:
        pytest.fail(str(fault))


@pytest.fixture
def look(browser: Browser, desk: str) -> Iterator[Look]:
    """Opens a page of the desk at a size; a test whose pages asked outside or complained fails at its end."""
    watch = Watch()
    contexts: list[BrowserContext] = []

    def opened(path: str, size: tuple[int, int] = DESK, *, script: bool = True) -> Page:
        context = browser.new_context(
            base_url=desk, viewport={"width": size[0], "height": size[1]}, java_script_enabled=script,
            has_touch=size != DESK,
        )  # fmt: skip
        contexts.append(context)
        page = context.new_page()
        watch.over(page)
        answer = page.goto(path, wait_until="networkidle")
        assert answer is not None
        assert answer.ok, f"{path}: {answer.status}"
        if script:
            settle(page)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert watch.faults == []
