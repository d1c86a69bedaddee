"""Invented batches over the planned demo order, so that pictures of the desk have something to show.

    python scripts/desk_story.py HOME

HOME as for `desk_pictures.py`. A batch of the ready part is released, sawn, milled and begun at the bench, a second one
is asked for, and a revision ends. People, days and readings are invented; the records of HOME are written anew.
"""

from __future__ import annotations

import argparse
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path

import proveout.jobs.signed as clock
from proveout.jobs.changes import note
from proveout.jobs.home import Home
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.records import records_of_home
from proveout.jobs.releasing import ask, release
from proveout.jobs.signed import Signed
from proveout.jobs.store import Store, default_folder
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Bad, Counted, Done, ReadingTaken, Started
from proveout.model.events import Stating
from proveout.model.stock_events import BarReceived, Sawn
from proveout.records.records import Records

PART, BATCH, NEXT = "order:EX-102", "26-001", "26-002"
WHO = {"mill": "Jon Berg", "saw": "Sam Ost"}
OFFICE, BENCH = "Mara Lind", "Ida Voss"
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
        why="the pivot hole moves by half a millimetre", signed=mara,
    )  # fmt: skip


def main() -> None:
    """Write the records of a home anew."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("home", type=Path, help="a folder of designs and orders with their plans beside it")
    home = Home(parser.parse_args().home)
    for old in home.plans.glob("records.sqlite*"):
        old.unlink()
    clock.datetime = Clock  # type: ignore[assignment] - invented time in place of now
    with Records(records_of_home(home), asks_for_plans=True) as records:
        tell(home, records)


if __name__ == "__main__":
    main()
