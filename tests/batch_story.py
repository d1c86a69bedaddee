"""A batch told event by event, for tests: short words, ids and times that follow from a number."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from proveout.books.folding import AnyBook, book_after, keys_of, stated
from proveout.model.batch import Batch
from proveout.model.batch_events import (
    Asked,
    Bad,
    Check,
    Counted,
    Done,
    OpenProof,
    Planned,
    Released,
    Rework,
    RouteStep,
    Started,
)
from proveout.model.events import Corrected, Event, Stating
from proveout.model.stock_events import BarReceived, Sawn

PLAN = "ab" * 32
BEGIN = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)
ROUTE = (
    RouteStep(id="saw", station="saw", kind="saw", text="saw blanks"),
    RouteStep(id="op1", station="mill-5", kind="mill", text="first clamping"),
    RouteStep(id="bench", station="bench", kind="bench", text="break edges"),
    RouteStep(id="coat", station="coater", kind="outside", text="hard coat"),
    RouteStep(id="look", station="inspection", kind="inspection", text="measure"),
    RouteStep(id="pack", station="packing", kind="packing", text="pack"),
)
CHECKS = (
    Check(step="op1", mark="7", text="20 H8", low=20.05, high=20.07, react_low=20.053, react_high=20.067),
    Check(step="look", mark="7", text="20 H8", low=20.0, high=20.033),
)
BARS = BarReceived(
    item="B-1", alloy="6061-T6", section="120x30", heat="H77", lot="D-9", length_mm=3000.0, count=10, place="rack 1"
)


class Teller:
    """Makes events one after the other. batch: which they are about."""

    def __init__(self, batch: str = "100", *, seed: int = 0) -> None:
        self.batch = batch
        self.number = seed * 1_000_000

    def __call__(self, of: Stating | Corrected, *, station: str = "desk", person: str = "mara") -> Event:
        """The next event; of a step its own station unless another is named."""
        self.number += 1
        step = getattr(of, "step", "")
        own = next((one.station for one in ROUTE if one.id == step), station)
        return Event(
            id=str(uuid.UUID(int=self.number, version=4)), at=BEGIN + timedelta(seconds=self.number % 1_000_000),
            person=person, station=own if station == "desk" else station, batch=self.batch, of=of,
        )  # fmt: skip

    def release(self, *, blanks_count: int = 10, wanted_count: int = 8) -> list[Event]:
        """Asked, planned and released."""
        return [
            self(Asked(part="EX-101", revision="B", wanted_count=wanted_count)),
            self(Planned(plan=PLAN)),
            self(self.released(blanks_count=blanks_count)),
        ]

    @staticmethod
    def released(*, blanks_count: int = 10) -> Released:
        """The release of the usual route."""
        return Released(
            plan=PLAN, revision="B", blanks_count=blanks_count, route=ROUTE, checks=CHECKS,
            papers={"route-card.pdf": "cd" * 32},
        )  # fmt: skip

    def sawn(self, good_count: int = 10, *, bars_count: int = 1) -> list[Event]:
        """The saw started, and blanks sawn from the usual bars."""
        sawn = Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=bars_count, good_count=good_count)
        return [self(Started(step="saw")), self(sawn)]


def open_proof(id: str = "bench:edges:time", *, may_waive: bool = True) -> OpenProof:
    """A proof that blocks release and is not shown."""
    return OpenProof(id=id, claim="the edges are broken in time", verdict="not shown", may_waive=may_waive)


def books_after(events: list[Event]) -> dict[str, AnyBook]:
    """All books once the events have happened, none of which corrects another."""
    books: dict[str, AnyBook] = {}
    for event in events:
        for key in keys_of(event.batch, stated(event)):
            books[key] = book_after(key, books.get(key), event, stated(event))
    return books


def batch_after_all(events: list[Event], batch: str = "100") -> Batch:
    """The batch once the events have happened."""
    found = books_after(events)[f"batch:{batch}"]
    assert isinstance(found, Batch)
    return found


def balance(batch: Batch) -> None:
    """What goes in comes out, is lost, waits or is away: at each step, from step to step, in each lot, and in all."""
    for step in batch.steps:
        assert step.waiting_count >= 0
        assert step.away_count >= 0
        lots = [lot for lot in batch.lots if lot.step == step.id]
        assert sum(lot.away_count for lot in lots) == step.away_count
        assert all(lot.uncounted_count >= 0 for lot in lots)
    for before, after in zip(batch.steps, batch.steps[1:], strict=False):
        assert after.in_count == before.good_count + after.returned_count + after.brought_count
    everywhere = sum(
        step.waiting_count + step.away_count + step.bad_count + step.unmade_count + step.taken_count
        for step in batch.steps
    )  # fmt: skip
    brought = sum(step.brought_count for step in batch.steps)
    assert batch.steps[-1].good_count + everywhere == batch.blanks_count + brought
    assert all(0 <= step.kept_count <= step.waiting_count + step.away_count for step in batch.steps)
    assert sum(one.count for one in batch.bad) == sum(step.bad_count for step in batch.steps)


def to_coat(teller: Teller) -> list[Event]:
    """Ten blanks through mill and bench, one lost at the mill and one sent back from the bench to it."""
    return [
        teller(BARS), *teller.release(), *teller.sawn(10), teller(Done(step="saw")),
        teller(Started(step="op1")),
        teller(Counted(step="op1", good_count=9, bad=(Bad(reason="wall too thin", count=1),))),
        teller(Started(step="bench")),
        teller(Counted(step="bench", good_count=8, rework=(Rework(to_step="op1", reason="burr", count=1),))),
        teller(Counted(step="op1", good_count=1)),
        teller(Counted(step="bench", good_count=1)),
    ]  # fmt: skip
