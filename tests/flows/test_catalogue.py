"""A folder of parts: what is found in it, the same bytes from every crew, nothing lost when a process is killed."""

from __future__ import annotations

import json
import signal
from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, digests, write_plates
from two_workers import lost_when, two_workers

from proveout.cli import main as door
from proveout.jobs import catalogue, crew
from proveout.jobs.catalogue import DONE, CatalogueOutcome, Told, found_in, plan_all
from proveout.jobs.crew import Done, Task, run_here, run_on_cluster
from proveout.jobs.writing import plan_bytes
from proveout.model.run import Run
from proveout.quantities.errors import BadInput, Interrupted

ORDER = 'name = "both"\n[[item]]\njob = "a.toml"\nquantity = 5\n[[item]]\njob = "sub/b.toml"\nquantity = 6\n'


def named(job: str, step: str) -> str:
    return JOB.replace('"T-1"', f'"{job}"').replace("plate.step", step)


@pytest.fixture
def mixed(tmp_path: Path) -> Path:
    """An order of two jobs, a job by itself, a bare solid, a broken file, a shop file, a hidden folder, a result."""
    folder = tmp_path / "mixed"
    (folder / "sub").mkdir(parents=True)
    for name in ("a.step", "c.step", "sub/b.stp", "bare.STEP"):
        (folder / name).write_bytes(b"ISO-10303-21;")
    (folder / "a.toml").write_text(named("A", "a.step"))
    (folder / "sub" / "b.toml").write_text(named("B", "b.stp"))
    (folder / "c.toml").write_text(named("C", "c.step"))
    (folder / "two.toml").write_text(ORDER)
    (folder / "broken.toml").write_text("[part\n")
    (folder / "shop.toml").write_bytes(SHOP.read_bytes())
    (folder / "notes.txt").write_text("not for us")
    for place, name in ((".hidden", "x.step"), ("old-plan", "x.step")):
        (folder / place).mkdir()
        (folder / place / name).write_bytes(b"ISO-10303-21;")
    (folder / "old-plan" / "plan.json").write_text("{}")
    return folder


def test_what_an_order_or_a_job_names_is_not_planned_by_itself(mixed: Path) -> None:
    (mixed / "out").mkdir()
    (mixed / "out" / "y.step").write_bytes(b"ISO-10303-21;")
    entries, notes = found_in(mixed, out=mixed / "out")
    assert [(entry.path, entry.kind) for entry in entries] == [
        ("bare.STEP", "solid"), ("broken.toml", "job"), ("c.toml", "job"), ("two.toml", "order"),
    ]  # fmt: skip
    files = {entry.path: {file.name for file in entry.files} for entry in entries}
    assert files["two.toml"] == {"two.toml", "a.toml", "b.toml", "a.step", "b.stp"}
    assert files["broken.toml"] == {"broken.toml"}
    assert "by itself" in notes[0]


@pytest.mark.parametrize("place", ["nothing", "empty"])
def test_a_folder_without_parts_is_refused(tmp_path: Path, place: str) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(BadInput, match=place):
        found_in(tmp_path / place, out=tmp_path / "out")


def test_a_folder_that_holds_something_else_is_not_written_into(mixed: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("dear")
    with pytest.raises(BadInput, match="something else"):
        plan_all(mixed, shop_path=SHOP, out=other, workers_count=1, run=Run())
    assert [path.name for path in other.iterdir()] == ["letter.txt"]


PLANNED: list[str] = []


def by_hand(tasks: Sequence[Task], *, workers_count: int, run: Run) -> Iterator[Done]:  # noqa: ARG001 - a crew's shape
    """A crew that writes the invented plan of the papers' tests for whatever is asked."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    for task in tasks:
        if "broken" in task.name:
            yield Done(name=task.name, status=2, folder="", said="The file is no TOML", seconds=0.1)
            continue
        PLANNED.append(task.name)
        result = Path(task.beside) / task.name.replace("/", "-") / "result"
        result.mkdir(parents=True)
        plan = example_plan()
        part = msgspec.structs.replace(plan.part, number=task.name.split(".")[0])
        (result / "plan.json").write_bytes(plan_bytes(msgspec.structs.replace(plan, part=part)))
        yield Done(name=task.name, status=3, folder=str(result), said="", seconds=2.0)


@pytest.fixture
def hand_made(monkeypatch: pytest.MonkeyPatch) -> None:
    PLANNED.clear()
    monkeypatch.setattr(catalogue, "run_here", by_hand)


def planned(
    folder: Path, out: Path, told: list[Told] | None = None, *, is_fresh: bool = False
) -> CatalogueOutcome:  # fmt: skip
    return plan_all(
        folder, shop_path=SHOP, out=out, workers_count=2, is_fresh=is_fresh, run=Run(),
        tell=None if told is None else told.append,
    )  # fmt: skip


@pytest.mark.usefixtures("hand_made")
def test_what_was_finished_is_taken_as_it_is_until_something_of_it_changes(mixed: Path, tmp_path: Path) -> None:
    out = tmp_path / "plans"
    first = planned(mixed, out)
    assert PLANNED == ["bare.STEP", "c.toml", "two.toml"]
    written = digests(out)
    told: list[Told] = []
    again = planned(mixed, out, told)
    assert (PLANNED[3:], again.taken_count, first.taken_count) == ([], 3, 0)
    assert [one.path for one in told if one.seconds is None] == ["bare.STEP", "c.toml", "two.toml"]
    assert digests(out) == written
    with (mixed / "sub" / "b.stp").open("ab") as file:  # the order is read from it
        file.write(b" ")
    (out / "c" / "plan.json").write_bytes((out / "c" / "plan.json").read_bytes() + b" ")  # somebody touched a result
    planned(mixed, out)
    assert PLANNED[3:] == ["c.toml", "two.toml"]
    planned(mixed, out, is_fresh=True)
    assert PLANNED[5:] == ["bare.STEP", "c.toml", "two.toml"]


@pytest.mark.usefixtures("hand_made")
def test_another_shop_or_start_takes_nothing_from_before(mixed: Path, tmp_path: Path) -> None:
    planned(mixed, tmp_path / "plans")
    shop = tmp_path / "shop.toml"
    shop.write_text(SHOP.read_text("utf-8").replace("kerf_mm = 1.8", "kerf_mm = 1.9"), encoding="utf-8")
    assert shop.read_bytes() != SHOP.read_bytes()
    assert plan_all(mixed, shop_path=shop, out=tmp_path / "plans", workers_count=1, run=Run()).taken_count == 0
    dated = plan_all(
        mixed, shop_path=shop, out=tmp_path / "plans", workers_count=1, start="2026-02-02", run=Run()
    )  # fmt: skip
    assert dated.taken_count == 0


@pytest.mark.usefixtures("hand_made")
def test_the_page_and_the_verdict_tell_of_every_file(
    mixed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "plans"
    assert door.main(["plan-all", str(mixed), "--shop", str(SHOP), "--out", str(out)]) == 2  # one file is broken
    said = capsys.readouterr()
    assert "broken.toml: refused: The file is no TOML" in said.out
    assert "4 of 4" in said.err
    assert f"Written: {out}" in said.out
    page = (out / "catalogue.html").read_text("utf-8")
    assert "The file is no TOML" in page
    assert 'href="two/plan.html"' in page
    found = json.loads((out / "catalogue.json").read_bytes())
    assert [entry["state"] for entry in found["entries"]] == ["not ready", "refused", "not ready", "not ready"]
    assert not (out / ".tries").exists()
    (mixed / "broken.toml").unlink()
    assert door.main(["plan-all", str(mixed), "--shop", str(SHOP), "--out", str(out), "--quiet"]) == 3
    assert capsys.readouterr().err == ""


def missing(tmp_path: Path, count: int) -> list[Task]:
    """Tasks that end at once: they name a file that is not there."""
    return [
        Task(name=f"t{k}", arguments=(str(tmp_path / f"no{k}.step"),), beside=str(tmp_path), surroundings={})
        for k in range(count)
    ]


def test_a_killed_process_is_begun_again_and_given_up_after_three_tries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begin = crew._begin

    def killed(task: Task, number: int) -> crew._Child:
        child = begin(task, number)
        if task.name == "t1" or number == 1:
            child.process.kill()
        return child

    monkeypatch.setattr(crew, "_begin", killed)
    found = {done.name: done for done in run_here(missing(tmp_path, 2), workers_count=2, run=Run())}
    assert (found["t0"].status, found["t0"].tries_count) == (2, 2)
    assert "There is no such file" in found["t0"].said
    assert (found["t1"].status, found["t1"].tries_count) == (-signal.SIGKILL, 3)


def test_an_interrupt_ends_every_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begin, children = crew._begin, []

    def seen(task: Task, number: int) -> crew._Child:
        children.append(begin(task, number))
        return children[-1]

    monkeypatch.setattr(crew, "_begin", seen)
    run = Run()
    crew_at_work = run_here(missing(tmp_path, 9), workers_count=2, run=run)
    next(crew_at_work)
    run.cancel()
    with pytest.raises(Interrupted):  # what has ended by then is still told
        list(crew_at_work)
    assert len(children) >= 2
    assert all(child.process.poll() is not None for child in children)


def test_no_scheduler_is_said_in_words(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"127\.0\.0\.1:9"):
        next(run_on_cluster(missing(tmp_path, 1), address="tcp://127.0.0.1:9", run=Run()))


def test_one_process_two_and_a_cluster_that_loses_a_worker_write_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    parts = write_plates(tmp_path / "parts", 2)
    found = {}
    for name, workers in (("one", 1), ("two", 2)):
        plan_all(parts, shop_path=SHOP, out=tmp_path / name, workers_count=workers, run=Run())
        found[name] = digests(tmp_path / name)
    told: list[Told] = []
    out = tmp_path / "three"
    with two_workers() as (address, pids), lost_when(lambda: begun_count(out) == 2, pids[0]) as lost:
        plan_all(parts, shop_path=SHOP, out=out, workers_count=1, cluster=address, run=Run(), tell=told.append)
        assert lost.is_set()
    assert [one.state for one in told] == ["ready"] * 2
    assert found["one"] == found["two"] == digests(out)
    assert DONE in found["one"]


def begun_count(out: Path) -> int:
    """Plans that are at work or were given up."""
    return len(list((out / ".tries").glob("*/stderr")))
