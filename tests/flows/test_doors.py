"""The command line as its users meet it: exit status, result folder, interruption, time limit, help, schemas."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from flows.small import SHOP, command, environment, plan, proveout, write_job

from proveout.cli import main as door
from proveout.jobs import interrupts
from proveout.jobs.results import result_folder
from proveout.model.plan import Plan
from proveout.quantities.errors import BadInput, InternalError, Interrupted, OutOfRange, OutOfTime, Unreadable


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_job(tmp_path_factory.mktemp("part"))


@pytest.fixture(scope="module")
def result(job: Path, store: Path) -> Path:
    """The small part planned by the library into its store."""
    plan(job, job.parent / "out", store=store)
    return job.parent / "out"


@pytest.mark.parametrize(
    ("fault", "status"),
    [
        (BadInput("x"), 2),
        (Unreadable("x"), 2),
        (OutOfRange("x"), 2),
        (PermissionError(13, "Permission denied", "x"), 2),
        (InternalError("x"), 1),
        (ValueError("x"), 1),
        (MemoryError(), 1),
        (Interrupted("x"), 130),
        (KeyboardInterrupt(), 130),
        (OutOfTime("x"), 124),
    ],
)
def test_each_kind_of_fault_has_its_exit_status_and_one_line(
    fault: BaseException, status: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_given: object) -> int:
        raise fault

    monkeypatch.setattr(door, "_check_shop", fail)
    assert door.main(["check-shop", "x.toml"]) == status
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "Traceback" not in said.err


def test_a_ready_plan_ends_with_0_and_prints_where_it_lies(result: Path, job: Path, store: Path) -> None:
    assert result.is_dir()
    ran = proveout("plan", job, "--shop", SHOP, "--out", job.parent / "again", PROVEOUT_STORE=str(store))
    assert ran.returncode == 0, ran.stderr
    assert "READY" in ran.stdout
    assert f"Written: {job.parent / 'again'}" in ran.stdout
    assert ran.stderr.splitlines()[0] == "reading: plate.step"
    assert [line.split(":")[0] for line in ran.stderr.splitlines()[-2:]] == ["schedule", "papers"]


def test_another_start_prints_other_dates(result: Path, job: Path, store: Path) -> None:
    assert result.is_dir()
    ends = []
    starts = {
        "2026-01-05": ("On time: not shown", "even"),  # nobody said which days are off
        "2026-02-13": ("On time: not shown", "from"),
        "2026-02-23": ("LATE", "by"),
    }
    for start, (late, more) in starts.items():
        ran = proveout(
            "plan", job, "--shop", SHOP, "--out", job.parent / "dated", "--start", start, "--quiet",
            PROVEOUT_STORE=str(store),
        )  # fmt: skip
        assert ran.returncode == 0, ran.stderr
        assert ran.stderr == ""
        said = rf"{late} \(from {start}, due 2026-02-16[^)]*\):\s{more}"
        assert re.search(said, ran.stdout), ran.stdout
        assert json.loads((job.parent / "dated" / "plan.json").read_bytes())["start"] == start
        ends.append(next(line for line in ran.stdout.splitlines() if "Machine mill-3" in line))
    assert len(set(ends)) == 3


def test_another_quantity_and_an_unknown_solid(result: Path, job: Path, store: Path) -> None:
    assert result.is_dir()
    ran = proveout(
        "plan", job, "--shop", SHOP, "--out", job.parent / "more", "--quantity", "90", PROVEOUT_STORE=str(store)
    )
    assert ran.returncode in {0, 3}, ran.stderr
    found = json.loads((job.parent / "more" / "plan.json").read_bytes())
    # worked: 94 pieces with 4 spares (90 / 0.96 = 93.75 at 4 % lost); 45 go into a bar of 3 m and 76 into one of 5 m
    assert found["bars"]["pieces_count"] == 94
    assert found["part"]["quantity"] == 90
    wrong = proveout("plan", job, "--shop", SHOP, "--out", job.parent / "no", "--solid", "lid", PROVEOUT_STORE="off")
    assert wrong.returncode == 2
    assert "lid" in wrong.stderr
    assert not (job.parent / "no").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan"], "PATH"),
        (["plan", "no.step"], "There is no such file"),
        (["plan", "plate.toml", "--quantity", "0"], "whole number"),
        (["plan", "plate.toml", "--time-limit", "-3"], "above 0"),
        (["plan", "plate.toml", "--start", "soon"], "no date"),
        (["plan", "plate.toml", "--shop", "no.toml"], "no.toml"),
        (["plan", "plate.toml", "--out", "full"], "holds something else"),
        (["plan", "plate.toml", "--out", "plate.step"], "must be a folder"),
        (["schema", "bar"], "invalid choice"),
        (["wish"], "invalid choice"),
        (["new-job", "plate.step"], "there already"),
    ],
)
def test_bad_input_ends_with_2_and_touches_nothing(
    arguments: list[str], words: str, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    for name in ("plate.step", "plate.toml"):
        (tmp_path / name).write_bytes((job.parent / name).read_bytes())
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("mine")
    before = sorted(p.name for p in tmp_path.rglob("*"))
    monkeypatch.chdir(tmp_path)
    assert door.main(arguments) == 2
    assert words in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.rglob("*")) == before


def _leftovers(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir() if p.name not in {"plate.step", "plate.toml"})


def _hears_interrupts() -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # these tests may themselves run where it is ignored


def _ignores_interrupts() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # as a shell does to what it starts in the background


def _started(folder: Path, store: Path, *options: str) -> Any:
    write_job(folder)
    flags: dict[str, Any] = {"start_new_session": True, "preexec_fn": _hears_interrupts}
    if sys.platform == "win32":
        flags = {"creationflags": 0x200}
    return subprocess.Popen(
        command("plan", "plate.toml", "--shop", SHOP, "--out", "out", *options), cwd=folder,
        env=environment(PROVEOUT_STORE=str(store)), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **flags,
    )  # fmt: skip


def _is_gone(session: int) -> bool:
    """Whether no child is left in a session; one that was killed may take a moment to be reaped."""
    if sys.platform == "win32":
        return True
    for _ in range(100):
        try:
            os.killpg(session, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


@pytest.mark.parametrize("stage", ["reading", "clampings", "passes", "papers"])
def test_an_interrupt_at_any_moment_leaves_nothing(stage: str, tmp_path: Path, store: Path, result: Path) -> None:
    """`result` has filled the store, so that the papers come soon; all before them is told to be fresh."""
    assert result.is_dir()
    running = _started(tmp_path, store, *(["--fresh"] if stage != "papers" else []))
    assert running.stderr is not None
    for line in running.stderr:
        if line.startswith(stage):
            break
    else:
        pytest.fail(f"{stage} was never told")
    time.sleep(0.05)
    sent = time.monotonic()
    running.send_signal(signal.CTRL_BREAK_EVENT if sys.platform == "win32" else signal.SIGINT)
    out, err = running.communicate(timeout=120)
    assert running.returncode == 130, err
    assert "nothing was written" in err
    assert "Traceback" not in err
    assert out == ""
    assert _leftovers(tmp_path) == []
    assert time.monotonic() - sent < 60.0
    assert _is_gone(running.pid)


def test_a_time_limit_ends_with_124_and_leaves_nothing(tmp_path: Path) -> None:
    begun = time.monotonic()
    running = _started(tmp_path, tmp_path.parent / "no store yet", "--fresh", "--time-limit", "1.5")
    _, err = running.communicate(timeout=120)
    assert running.returncode == 124, err
    assert "time limit" in err
    assert "Traceback" not in err
    assert _leftovers(tmp_path) == []
    assert time.monotonic() - begun < 60.0


LONG_WORK = """
import sys, time
from proveout.cli import main as door

def work(given):
    end = time.monotonic() + 20.0
    while time.monotonic() < end:
        time.sleep(0.01)
    return 0

door._plan = work
sys.exit(door.main(["plan", "x.toml", "--time-limit", "0.5"]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no shell there starts programs with the interrupt ignored")
@pytest.mark.parametrize("before", [_ignores_interrupts, _hears_interrupts])
def test_the_time_limit_rings_in_the_background_too(before: Callable[[], None], tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", LONG_WORK], env=environment(), cwd=tmp_path, capture_output=True, text=True,
        check=False, timeout=120, preexec_fn=before,
    )  # fmt: skip
    assert ran.returncode == 124, ran.stderr
    assert ran.stderr.startswith("The time limit has passed")


def test_the_time_limit_rings_where_no_handler_could_be_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a thread of another program only its own SIGTERM is there, which is never sent."""
    rung: list[int] = []
    watch = interrupts.Watch()
    monkeypatch.setattr(interrupts, "_send", rung.append)
    monkeypatch.setattr(interrupts.signal, "getsignal", lambda _name: signal.SIG_DFL)
    watch.ring()
    monkeypatch.setattr(interrupts.signal, "getsignal", lambda _name: interrupts.as_interrupt)
    watch.ring()
    assert watch.has_rung
    assert rung == [signal.SIGINT, signal.SIGTERM]


INTERRUPTED_WORK = """
import signal, sys, time, types
from proveout.cli import main as door

compiler = types.ModuleType("llvmlite.binding.executionengine")
compiler.time = time
exec(
    "def hand_over(call):\\n"
    "    call()\\n"
    "    time.sleep(0.1)\\n"
    "    print('handed over', flush=True)\\n",
    compiler.__dict__,
)

def interrupt():
    signal.raise_signal(signal.SIGINT)

class Kept:
    def __del__(self):
        interrupt()

def work(given):
    if given.quantity == 1:
        compiler.hand_over(interrupt)
    else:
        kept = Kept()
        del kept
        print("let go", flush=True)
    time.sleep(20.0)
    return 0

door._plan = work
sys.exit(door.main(["plan", "x.toml", "--quantity", sys.argv[1]]))
"""


def _interrupted(quantity: int, folder: Path) -> subprocess.CompletedProcess[str]:
    begun = time.monotonic()
    ran = subprocess.run(
        [sys.executable, "-c", INTERRUPTED_WORK, str(quantity)], env=environment(), cwd=folder, capture_output=True,
        text=True, check=False, timeout=120, preexec_fn=None if sys.platform == "win32" else _hears_interrupts,
    )  # fmt: skip
    assert time.monotonic() - begun < 15.0, "it worked on to its end"
    return ran


def test_an_interrupt_waits_until_the_compiler_has_left(tmp_path: Path) -> None:
    """An exception on the way from machine code through Python would end the process with a fault of memory."""
    ran = _interrupted(1, tmp_path)
    assert ran.returncode == 130, ran.stderr
    assert ran.stdout == "handed over\n"
    assert ran.stderr.startswith("Interrupted; nothing was written")


def test_an_interrupt_that_a_finalizer_swallows_comes_again(tmp_path: Path) -> None:
    ran = _interrupted(2, tmp_path)
    assert ran.returncode == 130, ran.stderr
    assert ran.stdout == "let go\n"
    assert ran.stderr.startswith("Interrupted; nothing was written")


def test_an_earlier_result_is_replaced_whole(tmp_path: Path) -> None:
    with result_folder(tmp_path / "out") as part:
        (part / "plan.json").write_text("1")
        (part / "old.svg").write_text("old")
        assert not (tmp_path / "out").exists()
    with result_folder(tmp_path / "out") as part:
        (part / "plan.json").write_text("2")
        assert (tmp_path / "out" / "plan.json").read_text() == "1"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["plan.json"]
    assert (tmp_path / "out" / "plan.json").read_text() == "2"


def test_a_folder_that_holds_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(BadInput, match="something else"), result_folder(tmp_path):
        pass
    assert [p.name for p in tmp_path.iterdir()] == ["letter.txt"]


def test_an_empty_folder_becomes_the_result(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    with result_folder(tmp_path / "out") as part:
        (part / "plan.json").write_text("1")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert (tmp_path / "out" / "plan.json").read_text() == "1"


def test_a_failed_run_leaves_the_earlier_result(tmp_path: Path) -> None:
    with result_folder(tmp_path / "out") as part:
        (part / "plan.json").write_text("1")

    def interrupted() -> None:
        with result_folder(tmp_path / "out") as part:
            (part / "plan.json").write_text("2")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert (tmp_path / "out" / "plan.json").read_text() == "1"


def test_an_interrupt_between_the_two_renames_puts_the_earlier_result_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with result_folder(tmp_path / "out") as part:
        (part / "plan.json").write_text("1")
    real, calls = Path.replace, []

    def once_interrupted(self: Path, target: Path) -> Path:
        calls.append(target)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return real(self, target)

    def interrupted() -> None:
        with result_folder(tmp_path / "out") as part:
            (part / "plan.json").write_text("2")
            monkeypatch.setattr(Path, "replace", once_interrupted)

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    monkeypatch.undo()
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert (tmp_path / "out" / "plan.json").read_text() == "1"


def test_the_plan_reads_back_strictly_as_its_schema_says(result: Path) -> None:
    content = (result / "plan.json").read_bytes()
    read = msgspec.json.decode(content, type=Plan, strict=True)
    assert read.ready
    top = set(json.loads(content))
    assert {
        "schema_version",
        "ready",
        "part",
        "blank",
        "clampings",
        "bars",
        "time",
        "cost",
        "questions",
        "proofs",
    } < top
    changed = content.replace(b'"ready": true', b'"ready": "true"', 1)
    assert changed != content
    with pytest.raises(msgspec.ValidationError, match="ready"):
        msgspec.json.decode(changed, type=Plan, strict=True)


@pytest.mark.parametrize("kind", ["plan", "job", "shop"])
def test_a_schema_is_whole_json_whose_references_all_lead_somewhere(
    kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert door.main(["schema", kind]) == 0
    whole = json.loads(capsys.readouterr().out)
    kinds = {"object", "array", "string", "number", "integer", "boolean", "null"}

    def look(at: Any) -> None:
        if isinstance(at, list):
            for one in at:
                look(one)
        if not isinstance(at, dict):
            return
        if isinstance(at.get("$ref"), str):
            target = whole
            for step in at["$ref"].removeprefix("#/").split("/"):
                target = target[step]
        if isinstance(at.get("type"), str):
            assert at["type"] in kinds
        if isinstance(at.get("properties"), dict) and isinstance(at.get("required"), list):
            assert set(at["required"]) <= set(at["properties"])
        for one in at.values():
            look(one)

    look(whole)
    assert whole["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_help_is_light(job: Path) -> None:
    code = (
        "import sys; from proveout.cli.main import main; status = main(['--help']); "
        "print([m for m in ('OCP', 'numba', 'scipy', 'ortools', 'typst', 'manifold3d', 'shapely', 'numpy', 'msgspec') "
        "if m in sys.modules], status, file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], env=environment(), capture_output=True, text=True, check=True, cwd=job.parent
    )
    assert ran.stderr.strip() == "[] 0"
    for verb in ("plan", "new-job", "new-shop", "check-shop", "schema"):
        assert verb in ran.stdout
