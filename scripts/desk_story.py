"""Invented batches over the planned demo order, so that pictures of the desk have something to show.

    python scripts/desk_story.py HOME

HOME as for `desk_pictures.py`. A batch of the ready part is released, sawn, milled and begun at the bench, a second one
is asked for, and a revision ends. Then the desk is asked for what takes long: two changes are tried, an edited program
is checked, and a solid whose tapped hole lies elsewhere is held against the plan. People, days and readings are
invented; the records of HOME are written anew.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path

import proveout.jobs.signed as clock
from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.changes import note
from proveout.jobs.checks import begin_check, choices_of
from proveout.jobs.home import Home
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.records import records_of_home
from proveout.jobs.releasing import ask, release
from proveout.jobs.result_files import programs_of
from proveout.jobs.revising import begin_revision
from proveout.jobs.signed import Signed
from proveout.jobs.store import Store, default_folder
from proveout.jobs.tasks import Tasks, tasks_folder
from proveout.jobs.trying import begin_try, wanted_try
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Bad, Counted, Done, ReadingTaken, Started
from proveout.model.changes import Change
from proveout.model.events import Stating
from proveout.model.stock_events import BarReceived, Sawn
from proveout.records.records import Records

PART, BATCH, NEXT = "order:EX-102", "26-001", "26-002"
WHO = {"mill": "Jon Berg", "saw": "Sam Ost"}
OFFICE, BENCH = "Mara Lind", "Ida Voss"
TOO_MUCH_N_M, MORE_PIECES = "130", "300"
FLOOR, DEEPER_MM, MOVED_MM = "FINISH FLOOR", 2.0, 0.5
WAIT_S = 900.0
SOLIDS = Path(__file__).resolve().parent.parent / "examples" / "solids"
MINUTES = (11.6, 2.9, 1.2)
"""Of a piece at each operation in turn: the second takes longer than planned."""


class Clock:
    """Time that goes on by seven seconds whenever it is asked for, and by what `wait` says."""

    at = datetime(2026, 1, 5, 7, 0, tzinfo=UTC)

    @classmethod
    def now(cls, zone: tzinfo | None = None) -> datetime:
        """The invented time."""
        cls.at += timedelta(seconds=7)
        return cls.at.astimezone(zone)

    @classmethod
    def wait(cls, *, minutes: float) -> None:
        """Let time pass."""
        cls.at += timedelta(minutes=minutes)


class Story:
    """A released batch and who does what at it."""

    def __init__(self, records: Records, batch: Batch) -> None:
        self.records, self.batch = records, batch

    def say(self, of: Stating, step: StepCount) -> None:
        """An event at the station of a step, by who works there."""
        who = Signed(person=WHO.get(step.kind, BENCH), station=step.station)
        self.records.post(who.says(of, batch=BATCH))

    def read(self, step: StepCount, piece: int) -> None:
        """What is to be gauged on a piece at a step, each reading in the middle of its limits."""
        for check in self.batch.checks:
            if check.step == step.id and check.low is not None and check.high is not None:
                middle = (check.low + check.high) / 2.0
                self.say(ReadingTaken(step=step.id, mark=check.mark, value=middle, piece=str(piece)), step)


def tell(home: Home, records: Records) -> None:
    """All of it, in order of time."""
    mara, plan = Signed(person=OFFICE), home.place(PART).plan
    alloy, section = plan.part.alloy, plan.blank.chosen.bar_id
    bars = BarReceived(
        item="B-14", alloy=alloy, section=section, heat="H77", lot="D-9", length_mm=3000.0, count=8, place="rack 1"
    )
    records.post(mara.says(bars, batch=""))
    ask(home, records, PART, batch=BATCH, wanted_count=150, due="2026-02-16", signed=mara)
    drawer = Drawer(Store(default_folder()))
    batch = release(home, records, drawer, batch=BATCH, signed=mara, today=date(2026, 1, 5))
    story = Story(records, batch)
    saw = next(step for step in batch.steps if step.kind == "saw")
    mills = [step for step in batch.steps if step.kind == "mill"]
    bench = next(step for step in batch.steps if step.kind == "bench")
    story.say(Started(step=saw.id), saw)
    Clock.wait(minutes=95)
    sawn = Sawn(
        step=saw.id, item="B-14", alloy=alloy, section=section, heat="H77", place="rack 1", bars_count=4,
        good_count=157,
    )  # fmt: skip
    story.say(sawn, saw)
    story.say(Done(step=saw.id), saw)
    for step in mills:  # the first piece through all operations
        story.say(Started(step=step.id), step)
        Clock.wait(minutes=35)
        story.read(step, 1)
        story.say(Counted(step=step.id, good_count=1), step)
    left = 156
    for step, minutes in zip(mills, MINUTES, strict=True):
        Clock.wait(minutes=14 * 60)
        story.say(Started(step=step.id), step)
        is_last = step is mills[-1]
        for some in [30, 30, 30, 20] if is_last else [40, 40, 40, left - 121]:
            Clock.wait(minutes=minutes * some)
            story.read(step, some)
            story.say(Counted(step=step.id, good_count=some), step)
        if not is_last:
            story.say(Counted(step=step.id, bad=(Bad(reason="scratched", count=1),)), step)
            story.say(Done(step=step.id), step)
            left -= 1
    Clock.wait(minutes=120)
    story.say(Started(step=bench.id), bench)
    Clock.wait(minutes=75)
    story.say(Counted(step=bench.id, good_count=60), bench)
    ask(home, records, PART, batch=NEXT, wanted_count=150, due="2026-03-16", signed=mara)
    note(
        records, part="EX-102", ends="A", begins="B", from_day="2026-12-14",
        why="the tapped hole moves by half a millimetre", signed=mara,
    )  # fmt: skip


def ask_for_long_work(home: Home) -> None:
    """What the desk works out in the background, and keeps: tries, a check of an edited program, a new solid."""
    place, tasks = home.place(PART), Tasks(tasks_folder(home.plans))
    torque = Change(file="job", path=("pins", "torque_n_m"), value=TOO_MUCH_N_M)
    pieces = Change(file="order", path=("item", 1, "quantity"), value=MORE_PIECES)
    for change, is_as_cut, said in ((torque, True, "closing torque"), (pieces, False, "pieces")):
        begun = begin_try(tasks, home, wanted_try(home, place, [change], is_as_cut=is_as_cut), said=said)
        if begun is not None:
            _ended(tasks, tasks.get(begun))
    texts = {
        one: (place.folder / "programs" / one.file).read_text("ascii")
        for one in programs_of(place.folder, place.plan) if one.is_of_work
    }  # fmt: skip
    one = next(one for one, text in texts.items() if FLOOR in text)
    text = edited(texts[one])
    choice = next(choice for choice in choices_of(place.plan) if choice.clamping.id == one.clamping_ids[0])
    _ended(tasks, begin_check(tasks, place, choice, name="edited-at-the-machine.nc", text=text.encode("ascii")))
    with tempfile.TemporaryDirectory(dir=tasks.folder) as folder:
        solid = _moved_hole(Path(folder))
        _ended(tasks, begin_revision(tasks, home, place, solid, name=solid.name, is_given=True))


def edited(program: str) -> str:
    """The program with one floor cut below where it belongs."""
    lines = program.split("\n")
    at = next(k for k, line in enumerate(lines) if FLOOR in line)
    at = next(k for k in range(at, len(lines)) if re.search(r"G1 Z-?\d", lines[k]))
    lines[at] = re.sub(r"Z(-?[\d.]+)", lambda found: f"Z{float(found[1]) - DEEPER_MM:.3f}", lines[at])
    return "\n".join(lines)


def _moved_hole(folder: Path) -> Path:
    """The jaw whose tapped hole lies elsewhere."""
    sys.path.insert(0, str(SOLIDS))
    import clamp_jaw  # pyright: ignore[reportMissingImports] - found by the path above

    clamp_jaw.TAPPED_X_MM += MOVED_MM
    return clamp_jaw.main(str(folder / "EX-102-B.step"))


def _ended(tasks: Tasks, task: BackgroundTask) -> None:
    ended = tasks.wait(task.id, most_s=WAIT_S)
    print(f"{ended.title}: {ended.state} {ended.said}")


def main() -> None:
    """Write the records of a home anew, and have done what takes long."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("home", type=Path, help="a folder of designs and orders with their plans beside it")
    home = Home(parser.parse_args().home)
    for old in home.plans.glob("records.sqlite*"):
        old.unlink()
    clock.datetime = Clock  # type: ignore[assignment] - invented time in place of now
    with Records(records_of_home(home), asks_for_plans=True) as records:
        tell(home, records)
    ask_for_long_work(home)


if __name__ == "__main__":
    main()
