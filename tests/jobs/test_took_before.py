"""How long work takes is told from the last run of the same, stage by stage, and from nothing else."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from proveout.jobs.background_task import BackgroundTask, Kind, State
from proveout.jobs.found_files import told_bytes
from proveout.jobs.home_at import HomeAt
from proveout.jobs.tasks import Tasks
from proveout.jobs.told_lines import EndLine, Heard, LinesTeller, StageLine, heard
from proveout.jobs.took_before import elapsed_s, last_plan, left_s, took_before
from proveout.jobs.trying import TryAsked
from proveout.model.changes import Change

BEGUN = "2027-01-05T08:00:00.000000+00:00"
ROUNDS = (("reading", 0.0), ("passes", 10.0), ("loads", 50.0), ("passes", 60.0), ("loads", 80.0), ("writing", 100.0))
"""Stages as they came up, and seconds since the start: 10 s of reading, 60 of passes, 30 of loads, 20 of writing."""


@pytest.fixture
def tasks(tmp_path: Path) -> Tasks:
    return Tasks(tmp_path / "tasks")


def write(
    tasks: Tasks, id: str, *, subject: str = "lid", state: State = "ready", kind: Kind = "plan", took_s: int = 120,
    arguments: tuple[str, ...] = (), day: int = 5, told: tuple[tuple[str, float], ...] = ROUNDS,
) -> BackgroundTask:  # fmt: skip
    """A task of that day as it lies in the folder."""
    tasks.folder.mkdir(exist_ok=True)
    begun = BEGUN.replace("-05T", f"-{day:02d}T")
    ended = begun.replace("08:00:00", f"08:{took_s // 60:02d}:{took_s % 60:02d}")
    task = BackgroundTask(
        id=id, subject=subject, title=id, arguments=arguments, out="", kind=kind, state=state, asked_at=begun,
        begun_at=begun, ended_at="" if state == "under way" else ended,
    )  # fmt: skip
    (tasks.folder / f"{id}.json").write_bytes(msgspec.json.encode(task))
    lines = [StageLine(stage=stage, text="", share=0.0, at_s=at_s) for stage, at_s in told]
    ends = [] if state == "under way" else [EndLine(status=0, said="", at_s=float(took_s))]
    (tasks.folder / f"{id}.lines").write_bytes(b"\n".join(msgspec.json.encode(one) for one in [*lines, *ends]) + b"\n")
    return task


def write_try(tasks: Tasks, id: str, *path: str, day: int, is_as_cut: bool = False) -> BackgroundTask:
    task = write(tasks, id, subject="try on lid", state="done", kind="try", day=day)
    asked = TryAsked(
        home=HomeAt(root="/h", shop="/h/shop.toml", plans="/h-plans"), address="lid", id=id,
        changes=(Change(file="job", path=path, value="3"),), is_as_cut=is_as_cut,
    )  # fmt: skip
    (tasks.folder / f"{id}.asked").write_bytes(told_bytes(asked))
    return task


def so_far(*told: tuple[str, float], folder: Path) -> Heard:
    path = folder / "so-far.lines"
    path.write_bytes(
        b"".join(msgspec.json.encode(StageLine(stage=s, text="", share=0.0, at_s=at)) + b"\n" for s, at in told)
    )
    return heard(path)


def test_time_is_spent_in_the_stage_that_was_at_work(tasks: Tasks) -> None:
    write(tasks, "lid-1")
    found = tasks.heard("lid-1").stages
    assert [(one.stage, one.spent_s, one.times_count) for one in found] == [
        ("reading", 10.0, 1), ("passes", 60.0, 2), ("loads", 30.0, 2), ("writing", 20.0, 1),
    ]  # fmt: skip


def test_an_end_of_an_earlier_version_adds_no_time(tmp_path: Path) -> None:
    """Its line said no moment: what is not known is left out, and nothing is subtracted."""
    path = tmp_path / "old.lines"
    path.write_bytes(msgspec.json.encode(StageLine(stage="reading", text="", share=0.0, at_s=0.0))
                     + b'\n{"type":"stage","stage":"reading","text":"","share":0.5,"at_s":7.0}'
                     + b'\n{"type":"end","status":0,"said":""}\n')  # fmt: skip
    (only,) = heard(path).stages
    assert (only.spent_s, only.last_s) == (7.0, 7.0)


def test_the_teller_says_when_it_ended(tmp_path: Path) -> None:
    teller = LinesTeller(tmp_path / "one.lines")
    teller.tell("reading", "", 0.0)
    teller.end(0, "")
    found = heard(tmp_path / "one.lines")
    assert found.end is not None
    assert found.end.at_s >= found.stages[0].begun_s
    assert found.told_at > 0.0


def test_of_the_same_the_newest_that_came_to_something_counts(tasks: Tasks) -> None:
    write(tasks, "lid-1", took_s=100, day=5)
    write(tasks, "lid-2", took_s=200, day=6, state="not ready")
    write(tasks, "lid-3", took_s=300, day=7, state="cancelled")
    write(tasks, "cap-1", took_s=400, day=8, subject="cap")
    found = took_before(tasks, write(tasks, "lid-4", day=9, state="ready"))
    assert found is not None
    assert (found.task.id, found.took_s, found.spent_s("loads"), found.spent_s("coat")) == ("lid-2", 200.0, 30.0, None)
    alone = last_plan(tasks, "bolt")
    assert alone is None


def test_what_reuses_nothing_is_told_by_what_reused_nothing(tasks: Tasks) -> None:
    write(tasks, "lid-1", took_s=300, day=5, arguments=("lid.toml", "--fresh"))
    write(tasks, "lid-2", took_s=20, day=6, arguments=("lid.toml",))
    fresh = took_before(tasks, write(tasks, "lid-3", day=7, arguments=("lid.toml", "--fresh")))
    stored = last_plan(tasks, "lid")
    assert fresh is not None
    assert stored is not None
    assert (fresh.took_s, stored.took_s) == (300.0, 20.0)


def test_a_try_is_told_by_tries_of_the_same_keys(tasks: Tasks) -> None:
    """A grip's torque takes seconds and its depth minutes: neither says anything of the other."""
    write_try(tasks, "try-1", "pins", "grip_mm", day=5)
    write_try(tasks, "try-2", "pins", "torque_n_m", day=6)
    write_try(tasks, "try-3", "pins", "grip_mm", day=7, is_as_cut=True)
    found = took_before(tasks, write_try(tasks, "try-4", "pins", "grip_mm", day=8))
    assert found is not None
    assert found.task.id == "try-1"
    assert took_before(tasks, write_try(tasks, "try-5", "pins", "bar", day=9)) is None


def test_what_is_left_is_what_the_stages_to_come_took(tasks: Tasks, tmp_path: Path) -> None:
    write(tasks, "lid-1")
    before = last_plan(tasks, "lid")
    assert before is not None
    nothing = so_far(folder=tmp_path)
    assert left_s(before, nothing, elapsed_s=0.0) == 120.0
    first = so_far(("reading", 0.0), ("passes", 4.0), folder=tmp_path)  # reading was quicker: that is not owed
    assert left_s(before, first, elapsed_s=4.0) == 60.0 + 30.0 + 20.0
    assert left_s(before, first, elapsed_s=9.0, quiet_s=5.0) == 55.0 + 30.0 + 20.0
    second = so_far(("reading", 0.0), ("passes", 10.0), ("loads", 50.0), folder=tmp_path)  # passes come up again
    assert left_s(before, second, elapsed_s=50.0) == 20.0 + 30.0 + 20.0
    last = so_far(*ROUNDS, folder=tmp_path)
    assert left_s(before, last, elapsed_s=100.0) == 20.0
    assert left_s(before, last, elapsed_s=150.0, quiet_s=50.0) == 0.0
    other = so_far(("coat", 0.0), folder=tmp_path)  # a stage the last run did not have
    assert left_s(before, other, elapsed_s=20.0) == 100.0
    assert left_s(before, other, elapsed_s=500.0) == 0.0


def test_time_goes_by_from_the_begin_to_the_end_or_now(tasks: Tasks) -> None:
    now = datetime(2027, 1, 5, 8, 0, 30, tzinfo=UTC)
    assert elapsed_s(write(tasks, "lid-1", took_s=90), now=now) == 90.0
    assert elapsed_s(write(tasks, "lid-2", state="under way"), now=now) == 30.0
    waiting = BackgroundTask(id="x", subject="lid", title="", arguments=(), out="")
    assert elapsed_s(waiting, now=now) is None
