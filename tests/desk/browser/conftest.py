"""A desk over a home of its own, a browser, and the watch on every page that a test opens."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from desk.browser.watching import DESK, Look, Watch
from desk_browser import NoBrowser, chromium, served
from playwright.sync_api import Browser, BrowserContext, Page

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.check_plan import read_plan
from proveout.jobs.home import Home
from proveout.jobs.records import records_of_home
from proveout.jobs.releasing import ask
from proveout.jobs.sawn import sawn_together
from proveout.jobs.signed import Signed
from proveout.jobs.tasks import BackgroundTask, tasks_folder
from proveout.jobs.told_lines import LinesTeller
from proveout.jobs.writing import write_order
from proveout.model.order import OrderedPart
from proveout.model.stock_events import BarReceived
from proveout.records.records import Records
from proveout.stages.schedule.decide import decide as decide_schedule


@pytest.fixture(scope="session")
def home(planned_plate: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home of these tests' own: the small plate with its plan beside it, and an order of it."""
    folder = tmp_path_factory.mktemp("desk")
    for name in ("home", "home-plans"):
        shutil.copytree(planned_plate / name, folder / name)
    tell_of_a_task(folder / "home-plans")
    _add_order(folder / "home", folder / "home-plans")
    _ask_for_a_batch(Home(folder / "home"))
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
        return page

    yield opened
    for context in contexts:
        context.close()
    assert watch.faults == []
