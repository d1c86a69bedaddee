"""Errands of tests: done at once in this very process, or held for as long as a test wishes."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from proveout.jobs import ending
from proveout.jobs import tasks as tasks_module
from proveout.jobs.errand_child import do
from proveout.jobs.errand_sheet import Sheet
from proveout.jobs.told_lines import LinesTeller


def done_at_once(monkeypatch: pytest.MonkeyPatch) -> list[Sheet]:
    """Whatever is asked is done before anybody hears that it was begun; all that was."""
    begun: list[Sheet] = []

    def begin(sheet: Sheet, **_: object) -> tuple[int, None]:
        begun.append(sheet)
        do(sheet)
        return 0, None

    monkeypatch.setattr(ending, "listen", lambda: None)
    monkeypatch.setattr(tasks_module, "begin_errand", begin)
    return begun


@contextmanager
def held(monkeypatch: pytest.MonkeyPatch, *, stage: str = "passes", text: str = "one of many") -> Iterator[list[Sheet]]:
    """Whatever is asked tells of one stage and comes to no end by itself; all that was begun."""
    begun: list[Sheet] = []
    children: list[subprocess.Popen[bytes]] = []

    is_over = False

    def begin(sheet: Sheet, **_: object) -> tuple[int, subprocess.Popen[bytes]]:
        if is_over:  # what waited has its turn now, and nobody looks any more
            raise OSError("the test is over")
        begun.append(sheet)
        LinesTeller(Path(sheet.lines)).tell(stage, text, 0.25)
        children.append(subprocess.Popen([sys.executable, "-S", "-c", "import time; time.sleep(60)"]))
        return children[-1].pid, children[-1]

    monkeypatch.setattr(tasks_module, "begin_errand", begin)
    try:
        yield begun
    finally:
        is_over = True
        for child in children:
            child.kill()
            child.wait()
