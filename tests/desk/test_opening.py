"""One desk a home: a second one is told where the first answers, until that one is gone, however it went."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from proveout.cli.main import main
from proveout.jobs import changed_together
from proveout.jobs.changed_together import Replacing, replace_together
from proveout.jobs.home import Home
from proveout.jobs.opening import LOCK, opened
from proveout.jobs.tasks import tasks_folder
from proveout.quantities.errors import BadInput

FIRST = "http://127.0.0.1:8417/"
DESK = f"""
import os, sys, time
from pathlib import Path
from proveout.jobs.home import Home
from proveout.jobs.opening import opened
with opened(Home(Path(sys.argv[1])), address="{FIRST}"):
    child = os.fork()
    if not child:
        time.sleep(60)
        os._exit(0)
    print(child, flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


@pytest.fixture
def first(root: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that has the home open, with a process of its own that outlives it."""
    desk = subprocess.Popen(
        [sys.executable, "-c", DESK, str(root)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )  # fmt: skip
    assert desk.stdout is not None
    child = int(desk.stdout.readline())
    yield desk
    for id in (desk.pid, child):
        with contextlib.suppress(ProcessLookupError):
            os.kill(id, signal.SIGKILL)
    desk.communicate()


def test_a_second_desk_is_told_where_the_first_one_is(
    root: Path, first: subprocess.Popen[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """The first dies without a word, and what it began lives on: the home is free at once."""
    with pytest.raises(BadInput, match="Another desk serves this folder") as refused, opened(Home(root), address="x"):
        pass
    assert FIRST in refused.value.message
    assert main(["serve", str(root), "--port", "8418"]) == 2
    said = capsys.readouterr()
    assert FIRST in said.err
    assert "8418" not in said.out
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    with opened(Home(root), address="http://127.0.0.1:8418/"):
        assert (tasks_folder(Home(root).plans) / LOCK).read_text() == "http://127.0.0.1:8418/"


def test_a_home_that_is_opened_finishes_what_was_cut_short(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class CutShort(BaseException):
        pass

    path, rename = root / "a.toml", changed_together._rename
    path.write_text("a = 1\n")
    monkeypatch.setattr(changed_together, "_rename", lambda *_: (_ for _ in ()).throw(CutShort))
    with pytest.raises(CutShort):
        replace_together([Replacing(path, b"a = 2\n")])
    monkeypatch.setattr(changed_together, "_rename", rename)
    with opened(Home(root), address="x") as left:
        assert left == ()
        assert path.read_text() == "a = 2\n"


def test_a_folder_that_cannot_be_written_is_opened_all_the_same(root: Path) -> None:
    root.with_name("home-plans").write_text("no folder")
    with opened(Home(root), address="x") as left:
        assert left == ()
