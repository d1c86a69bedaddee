"""What every test rests on: the code under test is that of this checkout, and random draws are the same every time."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import hypothesis
import pytest

import proveout

ROOT = Path(__file__).resolve().parent.parent
PLANTINGS, DEMO = "test_planted_faults.py", "test_demo_order.py"
WITHOUT_KERNELS = {
    "books",
    "contracts",
    "intake",
    "intake_files",
    "model",
    "programs",
    "published",
    "records",
    "sheets",
    "solids",
}

os.environ["TZ"] = "UTC"  # a day is told by the zone of the machine: the same on every one
time.tzset()
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # many tests run the command line: it need not be read anew each time

if not Path(proveout.__file__).is_relative_to(ROOT / "src"):
    message = f"the tests of {ROOT} would run against {proveout.__file__}"
    raise RuntimeError(message)

# where a fault is planted nobody reads the example that a failing test found: it need not be made smaller
PHASES = [
    phase for phase in hypothesis.Phase if "FAULT_PLANTED" not in os.environ or phase is not hypothesis.Phase.shrink
]
hypothesis.settings.register_profile("same every time", derandomize=True, deadline=None, database=None, phases=PHASES)
hypothesis.settings.load_profile("same every time")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of two workers, each of whom is given one half, the second begins with the longest test and compiles on its way.

    The first begins with what needs nothing compiled, then plants the faults with what has been compiled by then.
    """
    demo = [item for item in items if item.path.name == DEMO]
    folder = {item: item.path.relative_to(ROOT / "tests").parts[0] for item in items}
    others = [item for item in items if item.path.name != DEMO]
    others.sort(key=lambda item: 1 if item.path.name == PLANTINGS else 0 if folder[item] in WITHOUT_KERNELS else 2)
    half = len(items) // 2
    items[:] = others[:half] + demo + others[half:]


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print which faults were planted and caught."""
    passed = [value for report in terminalreporter.getreports("passed") for value in report.user_properties]
    rows = [row for name, found in passed if name == "planted faults" for row in found]
    if rows:
        terminalreporter.section("planted faults")
        terminalreporter.write_line("\n".join([*rows, f"{len(rows)} planted faults caught"]))


@pytest.fixture(scope="session")
def root() -> Path:
    """The folder of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this run share."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "flows"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def store(shared: Path) -> Path:
    """Decisions kept during this run, so that what one test has decided the next need not decide again.

    While faults are planted they are kept from one run of the very same code to the next.
    """
    kept = os.environ.get("DECISIONS_KEPT", "")
    return Path(kept) if kept else shared / "store"


@pytest.fixture(scope="session")
def planned_plate(shared: Path, store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small part of tests/flows with its programs, planned once a run: a folder with `home` and `home-plans`.

    The home holds plate.toml, plate.step and shop.toml; its plan lies in home-plans/plate. Not to be written into.
    """
    from flows.small import plan, write_job, write_shop

    done = shared / "planned-plate"
    if not done.is_dir():
        made = tmp_path_factory.mktemp("planned")
        home = made / "home"
        plan(write_job(home), made / "home-plans" / "plate", shop=write_shop(home / "shop.toml"), store=store)
        try:
            made.rename(done)
        except OSError:  # another worker was quicker
            if not done.is_dir():
                raise
    return done


@pytest.fixture(scope="session")
def outside_data() -> Path:
    """The folder of data that others made; its tests are skipped with this reason where it is absent."""
    named = os.environ.get("PROVEOUT_DATA", "")
    if not named:
        pytest.skip("PROVEOUT_DATA is not set: no outside data on this machine")
    folder = Path(named)
    if not folder.is_dir():
        pytest.fail(f"PROVEOUT_DATA names {folder}, which is no folder")
    return folder
