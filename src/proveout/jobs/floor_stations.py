"""The stations of a floor and what waits at each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from proveout.jobs.floor_told import told_at_machines
from proveout.jobs.held_back import first_piece_way, is_held
from proveout.jobs.home import Home
from proveout.jobs.start_again import start_again
from proveout.model.batch import Batch, OutsideLot, StepCount
from proveout.model.batch_events import StepKind
from proveout.model.shop import Shop
from proveout.model.written import NO_DAY
from proveout.quantities.errors import BadInput
from proveout.records.records import Records

OUTSIDE = "outside"
NAMES: dict[str, tuple[StepKind, str]] = {
    "saw": ("saw", "Saw"), "bench": ("bench", "Bench"), "cabinet": ("cabinet", "Cabinet"),
    "inspection": ("inspection", "Inspection"), "packing": ("packing", "Packing"),
    OUTSIDE: (OUTSIDE, "Outside: out and in"),
}  # fmt: skip
OPEN = ("released", "running", "away", "counted")
State = Literal["stands still", "under way", "waits", "waits again", "held", "away", "to finish"]
"""waits again: it was started, and needs another start before its next piece.   held: the first piece comes first."""


@dataclass(frozen=True)
class FloorStation:
    """A place of work that a tablet stands at. id: as events name it; one for all finishers."""

    id: str
    kind: StepKind
    name: str


@dataclass(frozen=True)
class Waiting:
    """One step of a batch at its station. lots: of it, at a finisher."""

    batch: Batch
    step: StepCount
    state: State
    lots: tuple[OutsideLot, ...] = ()

    @property
    def order(self) -> tuple[str, int, str, str]:
        """What is wanted first comes first; of one day that with most pieces."""
        return self.batch.due or NO_DAY, -self.step.waiting_count, self.batch.batch, self.step.id


def stations_of(shop: Shop, records: Records) -> tuple[FloorStation, ...]:
    """The saw, every mill by its name, the other stations, and what batches name beside those."""
    found = {"saw": FloorStation("saw", "saw", NAMES["saw"][1])}
    for machine in shop.machines:
        found[machine.id] = FloorStation(machine.id, "mill", machine.name)
    for id, (kind, name) in NAMES.items():
        found.setdefault(id, FloorStation(id, kind, name))
    for row in records.rows("counts"):
        if row["kind"] != OUTSIDE:
            found.setdefault(row["station"], FloorStation(row["station"], row["kind"], row["station"]))
    return tuple(found.values())


def station_of(id: str, shop: Shop, records: Records) -> FloorStation:
    """The station of that id.

    Raises:   BadInput when there is none.
    """
    stations = stations_of(shop, records)
    for one in stations:
        if one.id == id:
            return one
    raise BadInput("There is no such station", where="floor", value=id[:80], do="choose one of these",
                   limit=", ".join(one.id for one in stations))  # fmt: skip


def waiting_at(station: FloorStation, batches: Iterable[Batch]) -> tuple[Waiting, ...]:
    """What there is to do at a station, first what is wanted first. batches: those that are open."""
    found = [one for batch in batches for one in steps_at(batch, station)]
    return tuple(sorted(found, key=lambda one: one.order))


def as_at_machine(home: Home, records: Records, rows: Iterable[Waiting]) -> tuple[Waiting, ...]:
    """The same rows, those of clampings that cannot go on as they were started told apart from those that can."""
    return tuple(replace(one, state=_at_machine(home, records, one)) for one in rows)


def _at_machine(home: Home, records: Records, one: Waiting) -> State:
    if one.step.kind != "mill" or one.state not in ("under way", "waits"):
        return one.state
    told = told_at_machines(records, one.batch, starting=one.step.id)
    if first_piece_way(one.batch, one.step.id, told):
        return "held"
    return "waits again" if start_again(home, one.batch, one.step, told) else one.state


def open_batches(records: Records) -> list[Batch]:
    """Every batch that is released and not closed."""
    named = [row["batch"] for row in records.rows("batches") if row["state"] in OPEN]
    return [batch for name in named if (batch := records.batch(name)) is not None]


def steps_at(batch: Batch, station: FloorStation) -> list[Waiting]:
    """The steps of a batch at which a station has something to do."""
    found: list[Waiting] = []
    for step in batch.steps:
        own = step.kind == OUTSIDE if station.kind == OUTSIDE else step.station == station.id
        if not own or step.is_done:
            continue
        state = _state(batch, step)
        if state is not None:
            lots = tuple(lot for lot in batch.lots if lot.step == step.id)
            found.append(Waiting(batch=batch, step=step, state=state, lots=lots))
    return found


def _state(batch: Batch, step: StepCount) -> State | None:
    if step.stopped:
        return "stands still"
    if step.waiting_count:
        return "under way" if step.is_started and not is_held(batch, step) else "waits"
    if step.away_count:
        return "away"
    # all are counted on, and nobody said that the step is done
    before = batch.steps[: batch.steps.index(step)]
    return "to finish" if step.is_started and all(one.is_done for one in before) else None
