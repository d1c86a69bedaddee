"""What every test rests on: the code under test is that of this checkout, and random draws are the same every time."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import hypothesis
import pytest

import proveout

ROOT = Path(__file__).resolve().parent.parent
FIRST, SECOND = "test_planted_faults.py", "test_demo_order.py"  # these take longest

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
    """Of two workers, each of whom is given one half, one begins with the longest test, the other with the next."""
    by_file: dict[str, list[pytest.Item]] = {FIRST: [], SECOND: [], "": []}
    for item in items:
        by_file[item.path.name if item.path.name in by_file else ""].append(item)
    half = max(len(items) // 2 - len(by_file[FIRST]), 0)
    others = by_file[""]
    items[:] = by_file[FIRST] + others[:half] + by_file[SECOND] + others[half:]


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print which faults were planted and caught."""
    for report in terminalreporter.getreports("passed"):
        for name, text in report.user_properties:
            if name == "planted faults":
                terminalreporter.section(name)
                terminalreporter.write_line(text)


@pytest.fixture(scope="session")
def root() -> Path:
    """The folder of the checkout."""
    return ROOT


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
