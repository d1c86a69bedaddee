"""Long work in the background: it is counted, queued, found again, cancelled and told of truly."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import pytest
from desk.errands_here import held

from proveout.jobs import errand_process
from proveout.jobs import tasks as tasks_module
from proveout.jobs.background_task import ROOMS, BackgroundTask
from proveout.jobs.compared_folders import Comparison
from proveout.jobs.errand_process import Standing
from proveout.jobs.errand_sheet import Sheet
from proveout.jobs.found_files import told_bytes
from proveout.jobs.processes import birth_of, is_alive
from proveout.jobs.tasks import GONE, Tasks
from proveout.jobs.told_lines import TELL, LinesTeller, heard

# what stands in for a plan: tells a stage, then waits for a file, then tells its end
STAND_IN = """
import os, sys, time
told, go, status = os.environ["PROVEOUT_TELL"], sys.argv[1], sys.argv[2]
with open(told, "a") as f:
    f.write('{"type":"stage","stage":"reading","text":"plate.step","share":0.0,"at_s":0.1}\\n')
while not os.path.exists(go):
    time.sleep(0.02)
with open(told, "a") as f:
    f.write('{"type":"end","status":%s,"said":"as asked"}\\n' % status)
"""


@pytest.fixture
def began(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Plans are stood in for by a short program: arguments are the file that it waits for, and its status."""
    children: list[subprocess.Popen[bytes]] = []

    def begin(
        arguments: Sequence[str], *, out: Path, said: Path, surroundings: Mapping[str, str], is_lasting: bool
    ) -> subprocess.Popen[bytes]:
        assert is_lasting
        assert out.name == "out"
        with said.open("wb") as told:
            child = subprocess.Popen(
                [sys.executable, "-S", "-c", STAND_IN, *arguments], env=os.environ | dict(surroundings), stderr=told,
                start_new_session=True,
            )  # fmt: skip
        children.append(child)
        return child

    monkeypatch.setattr(tasks_module, "begin_plan", begin)
    yield children
    for child in children:
        child.kill()
        child.wait()


def asked(tasks: Tasks, subject: str, go: Path, status: int = 0) -> BackgroundTask:
    return tasks.ask(subject=subject, title=subject, arguments=(str(go), str(status)), out=go.parent / "out")


def until(what: Callable[[], bool]) -> None:
    end = time.monotonic() + 10.0
    while not what():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_the_same_twice_is_one_and_what_has_no_core_waits(
    tmp_path: Path, began: list[subprocess.Popen[bytes]]
) -> None:  # fmt: skip
    tasks = Tasks(tmp_path / ".tasks", at_once=1)
    first, second = asked(tasks, "plate", tmp_path / "go"), asked(tasks, "knob", tmp_path / "go 2", 3)
    assert asked(tasks, "plate", tmp_path / "elsewhere").id == first.id
    assert (first.state, second.state) == ("under way", "waiting")
    assert len(began) == 1
    (tmp_path / "go").touch()
    until(lambda: tasks.get(second.id).state == "under way")
    assert tasks.get(first.id).state == "ready"
    (tmp_path / "go 2").touch()
    assert tasks.wait(second.id, most_s=10.0).state == "not ready"
    assert [task.id for task in tasks.all()] == [second.id, first.id]
    assert asked(tasks, "plate", tmp_path / "go").id != first.id


def test_a_server_that_begins_later_finds_the_work_again(
    tmp_path: Path, began: list[subprocess.Popen[bytes]]
) -> None:  # fmt: skip
    one = asked(Tasks(tmp_path / ".tasks"), "plate", tmp_path / "go", 2)
    later = Tasks(tmp_path / ".tasks")
    later.take_up()
    assert later.get(one.id).state == "under way"
    assert asked(later, "plate", tmp_path / "go").id == one.id
    until(lambda: later.heard(one.id).now == "reading")
    (tmp_path / "go").touch()
    began[0].wait()
    ended = later.get(one.id)
    assert (ended.state, ended.said) == ("refused", "as asked")


def test_what_was_killed_is_told_as_stopped_and_can_be_begun_again(
    tmp_path: Path, began: list[subprocess.Popen[bytes]]
) -> None:  # fmt: skip
    one = asked(Tasks(tmp_path / ".tasks"), "plate", tmp_path / "go")
    os.kill(one.pid, signal.SIGKILL)
    began[0].wait()
    left = tmp_path / ".out-abcd1234"
    left.mkdir()
    other = tmp_path / ".out-2-abcd1234"
    other.mkdir()
    later = Tasks(tmp_path / ".tasks")
    ended = later.get(one.id)
    assert (ended.state, ended.said) == ("stopped", GONE)
    again = later.again(one.id)
    assert (again.arguments, again.state) == (one.arguments, "under way")
    assert not left.exists()
    assert other.exists()


def test_a_cancel_ends_the_process_and_what_waits_never_begins(
    tmp_path: Path, began: list[subprocess.Popen[bytes]]
) -> None:  # fmt: skip
    tasks = Tasks(tmp_path / ".tasks", at_once=1)
    first, second = asked(tasks, "plate", tmp_path / "go"), asked(tasks, "knob", tmp_path / "go")
    assert tasks.cancel(second.id).state == "cancelled"
    later = Tasks(tmp_path / ".tasks", at_once=1)  # a server that did not begin it can end it too
    later.cancel(first.id)
    assert later.wait(first.id, most_s=10.0).state == "cancelled"
    assert len(began) == 1
    assert began[0].wait() == -signal.SIGTERM


def test_a_process_of_the_same_number_is_not_ours() -> None:
    assert is_alive(os.getpid(), birth_of(os.getpid()))
    assert not is_alive(os.getpid(), "1")
    assert not is_alive(0, "")


def test_lines_are_read_while_they_are_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "lines"
    monkeypatch.setenv(TELL, str(path))
    teller = LinesTeller.of_environment()
    for stage in ("passes", "loads", "passes"):
        teller.tell(stage, f"{stage} text", 0.5)
    teller.look([("Bar", "flat 40 x 20"), ("", "First look")])
    with path.open("ab") as file:
        file.write(b'{"type":"stage","sta')
    found = heard(path)
    assert [(told.stage, told.times_count) for told in found.stages] == [("passes", 2), ("loads", 1)]
    assert (found.now, found.end) == ("passes", None)
    assert found.looks[0].rows == (("Bar", "flat 40 x 20"), ("", "First look"))
    teller.end(3, "")
    assert heard(path).end is None  # it hangs on the broken line
    teller.end(3, "")
    end = heard(path).end
    assert end is not None
    assert end.status == 3


def test_a_real_plan_that_is_refused_says_its_whole_sentence(tmp_path: Path) -> None:
    job = tmp_path / "lid.toml"
    job.write_text('[part]\nnumber = "lid"\nstep = "lid.step"\nalloy = "6061-T6"\n\n[order]\nquantity = 3\n')
    tasks = Tasks(tmp_path / ".tasks")
    one = tasks.ask(subject="lid", title="lid", arguments=(str(job),), out=tmp_path / "plans" / "lid")
    ended = tasks.wait(one.id, most_s=30.0)
    assert ended.state == "refused"
    assert ended.said.startswith("The job names a STEP file that is not there; where: lid.toml: part step")


def comparison(number: int) -> bytes:
    """What is asked of an errand that is refused at once: there are no such plans."""
    return told_bytes(Comparison(old="no such folder", new=f"nor {number}", old_digest="", new_digest=""))


def test_a_standing_process_forks_what_is_asked_and_dies_with_its_server(tmp_path: Path) -> None:
    """The whole way: it forks what is asked, which tells its end, and what stands is gone when it is let go."""
    standing = Standing()
    standing.start()
    try:
        assert standing.wait(most_s=60.0)
        stands = standing.process_number or 0
        birth = birth_of(stands)
        tasks = Tasks(tmp_path / ".tasks", standing=standing)
        tasks.ask_errand("comparison", comparison(1), id="c-1", subject="s", title="Compare", page="/c")
        ended = tasks.wait("c-1", most_s=20.0)
        assert (ended.state, ended.said) == (
            "refused", "This was changed since it was asked; where: nor 1; do: ask again on what is there now"
        )  # fmt: skip
        assert ended.pid not in (0, os.getpid(), stands)
        assert is_alive(stands, birth)
        standing.let_go()  # as when the server is killed: its end of the pipe is closed, and nothing is said
        until(lambda: not is_alive(stands, birth))
    finally:
        standing.end()


SLOW = """
import os, sys, time
from pathlib import Path
import msgspec
from proveout.jobs.errand_sheet import READY, Sheet, take
print(READY, flush=True)
sheet = msgspec.json.decode(sys.stdin.readline(), type=Sheet)
if os.fork() == 0:
    os.setsid()
    time.sleep({begins_after_s})
    Path(sheet.found).write_text(f"{{os.getpid()}} {{take(sheet)}}")
    os._exit(0)
time.sleep(60.0)
"""
"""Stands for a process that forks and answers too late; its fork tells whether the errand is its own."""


@pytest.mark.parametrize(("begins_after_s", "is_its_own"), [(0.0, True), (2.0, False)])
def test_what_answers_too_late_never_has_an_errand_done_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, begins_after_s: float, is_its_own: bool
) -> None:
    """A fork that began in time is the one that does it; one that comes later finds it taken back."""
    program = tmp_path / "slow.py"
    program.write_text(SLOW.format(begins_after_s=begins_after_s))
    monkeypatch.setattr(errand_process, "COMMAND", [sys.executable, str(program)])
    monkeypatch.setattr(errand_process, "ANSWER_WITHIN_S", 0.8)
    paths = {name: str(tmp_path / f"c-1.{name}") for name in ("asked", "found", "lines", "log")}
    standing = Standing()
    standing.start()
    try:
        assert standing.wait(most_s=30.0)
        number = standing.begin(Sheet(limit_s=None, **paths))
        until(lambda: Path(paths["found"]).is_file() and bool(Path(paths["found"]).read_text()))
        fork, took = Path(paths["found"]).read_text().split()
        assert took == str(is_its_own)
        assert number == (int(fork) if is_its_own else None)
        assert [path.name for path in tmp_path.glob(".ticket-*")] == []
    finally:
        standing.end()


def test_what_stands_ready_has_loaded_every_stage_the_solvers_and_compiled_code() -> None:
    """Else every fork loads what is missing for itself, and whoever waits for it waits longer."""
    told = (
        "import pkgutil, sys; from proveout import stages; from proveout.jobs.errand_child import load; load();"
        "print([one.name for one in pkgutil.iter_modules(stages.__path__)"
        " if f'proveout.stages.{one.name}.decide' not in sys.modules]"
        " + [name for name in ('ortools.sat.python.cp_model', 'numba.np.arraymath') if name not in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_without_one_that_stands_ready_an_errand_has_a_process_of_its_own(tmp_path: Path) -> None:
    tasks = Tasks(tmp_path / ".tasks")
    tasks.ask_errand("comparison", comparison(2), id="c-2", subject="s", title="Compare", page="/c")
    ended = tasks.wait("c-2", most_s=30.0)
    assert ended.state == "refused"
    assert ended.said.startswith("This was changed since it was asked")


def test_old_errands_are_forgotten_and_never_a_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tasks_module, "begin_errand", lambda *_, **__: (0, None))
    tasks = Tasks(tmp_path / ".tasks", at_once=0)
    plan = asked(tasks, "plate", tmp_path / "go")
    tasks.cancel(plan.id)
    most = ROOMS["comparison"].kept_most
    for number in range(most + 3):
        tasks.ask_errand("comparison", b"", id=f"c-{number}", subject="s", title="Compare", page="/c")
    kept = [task.id for task in tasks.all(kind="comparison")]
    assert len(kept) == most + 1  # the one that was asked for last was open when the others were counted
    assert "c-0" not in kept
    assert not list((tmp_path / ".tasks").glob("c-0.*"))
    assert tasks.get(plan.id).state == "cancelled"


def test_a_server_that_begins_clears_up_what_killed_ones_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half-made files and given ones of a day ago go; those of now, the lock and all that is told stay."""
    monkeypatch.setattr(tasks_module, "begin_errand", lambda *_, **__: (0, None))
    tasks = Tasks(tmp_path, at_once=0)
    done = tasks.ask_errand("comparison", b"", id="c-1", subject="s", title="Compare", page="/c")
    with tasks.given() as folder:
        assert folder.parent == tmp_path
    assert not folder.exists()
    old, new = tmp_path / ".given-a1b2c3d4", tmp_path / ".given-e5f6g7h8"
    for place in (old, new):
        place.mkdir()
        (place / "new.step").write_bytes(b"ISO-10303-21;")
    half, lock, lost = tmp_path / ".c-0.found-a1b2c3d4", tmp_path / ".lock", tmp_path / "c-0.found"
    half.write_bytes(b"half")
    lost.write_bytes(b"forgotten meanwhile")
    for path in (old, half, lock):
        os.utime(path, (1e9, 1e9))
    Tasks(tmp_path, at_once=0).take_up()
    assert [path.exists() for path in (old, half, lost, new, lock)] == [False, False, False, True, True]
    assert tasks.asked(done.id) == b""


def test_plans_leave_room_for_what_somebody_waits_for(
    tmp_path: Path, began: list[subprocess.Popen[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    tasks = Tasks(tmp_path / ".tasks", at_once=ROOMS["try"].at_once)
    asked(tasks, "plate", tmp_path / "go")
    asked(tasks, "knob", tmp_path / "go")
    with held(monkeypatch) as begun:
        tasks.ask_errand("try", b"", id="try-1", subject="try on plate", title="Try", page="/t")
        assert [len(began), len(begun)] == [ROOMS["try"].at_once, 1]
        waits = asked(tasks, "try on plate", tmp_path / "go")
        assert (waits.kind, waits.state) == ("plan", "waiting")
        tasks.cancel(waits.id)
        tasks.forget("try-1")
        until(lambda: tasks.known("try-1") is None)


def test_the_door_and_the_desk_know_one_name_for_where_progress_goes() -> None:
    from proveout.cli import main as door
    from proveout.jobs import told_lines

    assert door.TELL == told_lines.TELL
