"""What one event makes of a batch."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.books import bars, lots, release, settling, steps
from proveout.books.at_machines import noted
from proveout.model.batch import Batch
from proveout.model.batch_events import (
    Asked,
    Closed,
    Counted,
    Done,
    Packed,
    Planned,
    Ran,
    ReadingTaken,
    Released,
    Resumed,
    Started,
    Stopped,
    Waived,
)
from proveout.model.change_events import PiecesSettled
from proveout.model.events import Event, Stating
from proveout.model.floor_events import (
    OffsetAdvised,
    OffsetAnswered,
    PhotoTaken,
    SetUpAgreed,
    SetUpMeasured,
    SpindleMeterRead,
)
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, Rejected, SentOut
from proveout.model.stock_events import Moved, Sawn
from proveout.quantities.errors import Refused


def batch_after(batch: Batch | None, event: Event, of: Stating) -> Batch:
    """The batch once this has happened.

    Raises:   Refused when it cannot follow what happened before.
    """
    if isinstance(of, Asked):
        return release.asked(batch, event.batch, of)
    if batch is None:
        raise Refused("There is no such batch", where=event.batch or "no batch named", do="ask for it first")
    if batch.is_closed:
        raise Refused("The batch is closed", where=batch.batch)
    match of:
        case Planned():
            return release.planned(batch, of)
        case Waived():
            return release.waived(batch, event.person, of)
        case Released():
            return release.released(batch, of)
        case Closed():
            return _closed(batch)
        case Moved():
            return replace(batch, place=of.to_place)
    if not batch.is_released:
        raise Refused("The batch is not released", where=batch.batch, value=batch.state, do="release it first")
    if isinstance(of, PiecesSettled):
        return settling.settled(batch, of)
    return _at_work(batch, event, of)


def _at_work(batch: Batch, event: Event, of: Stating) -> Batch:
    """The released batch after something at one of its steps or lots."""
    match of:
        case Started():
            return steps.started(batch, of, station=event.station)
        case Counted():
            return _counted(batch, event, of)
        case Sawn():
            return _sawn(batch, event, of)
        case Packed():
            number = steps.at_work(batch, of.step, station=event.station)
            _of_kind(batch, number, "packing")
            return steps.passed_on(batch, number, good_count=of.count)
        case ReadingTaken():
            _read(batch, event, of)
        case SetUpMeasured() | SetUpAgreed() | OffsetAdvised() | OffsetAnswered() | PhotoTaken() | SpindleMeterRead():
            return noted(batch, event, of)
        case Ran():
            _ran(batch, event, of)
        case Stopped() | Resumed():
            if isinstance(of, Resumed):
                return steps.resumed(batch, of)
            return steps.stopped(batch, of, station=event.station)
        case Done():
            step = batch.steps[steps.index_of(batch, of.step)]
            return steps.done(batch, of, station=step.station if step.kind == "outside" else event.station)
        case _:
            return _outside(batch, event, of)
    return batch


def _outside(batch: Batch, event: Event, of: Stating) -> Batch:
    """The released batch after something with one of its lots at a finisher."""
    match of:
        case SentOut():
            return lots.sent_out(batch, of)
        case CameBack():
            return lots.came_back(batch, of)
        case CountedIn():
            return lots.counted_in(batch, of)
        case Rejected():
            return lots.rejected(batch, of)
        case GivenUp():
            return lots.given_up(batch, of)
        case _:
            raise Refused("This does not happen to a batch", where=batch.batch, value=event.kind)


def _counted(batch: Batch, event: Event, of: Counted) -> Batch:
    number = steps.at_work(batch, of.step, station=event.station)
    kind = batch.steps[number].kind
    if kind in ("saw", "outside"):
        words = "what was sawn of which bars" if kind == "saw" else "which lot was counted in"
        raise Refused("This step is not counted so", where=f"{batch.batch}, step {of.step}", do=f"say {words}")
    return steps.passed_on(batch, number, good_count=of.good_count, bad=of.bad, rework=of.rework)


def _sawn(batch: Batch, event: Event, of: Sawn) -> Batch:
    number = steps.at_work(batch, of.step, station=event.station)
    _of_kind(batch, number, "saw")
    bars.of_its_plan(batch, of)
    batch = steps.passed_on(batch, number, good_count=of.good_count, bad=of.bad)
    return replace(batch, heats=tuple(sorted({*batch.heats, of.heat})))


def _of_kind(batch: Batch, number: int, kind: str) -> None:
    if batch.steps[number].kind != kind:
        raise Refused(
            "This is not written at such a step", where=f"{batch.batch}, step {batch.steps[number].id}",
            value=batch.steps[number].kind, limit=kind,
        )  # fmt: skip


def _read(batch: Batch, event: Event, of: ReadingTaken) -> None:
    """Refuse a reading of what is not measured there."""
    number = steps.index_of(batch, of.step)
    if batch.steps[number].kind != "outside":
        steps.at_its_station(batch, number, event.station)
    steps.begun(batch, number)
    checks = {check.mark: check for check in batch.checks if check.step == of.step}
    where = f"{batch.batch}, step {of.step}"
    if of.mark not in checks:
        raise Refused("Nothing of this mark is measured at this step", where=where,
                      value=of.mark, limit=", ".join(checks) or "nothing is measured here")  # fmt: skip
    if checks[of.mark].names_gauge and not of.gauge:
        raise Refused("Nobody said by which gauge this was read", where=where, do="name the gauge")
    if of.lot:
        lots.lot_of(batch, of.lot)


def _ran(batch: Batch, event: Event, of: Ran) -> None:
    """Refuse a cycle of a step that is not started, or of another machine."""
    number = steps.index_of(batch, of.step)
    _of_kind(batch, number, "mill")
    steps.at_its_station(batch, number, event.station)
    steps.begun(batch, number)


def _closed(batch: Batch) -> Batch:
    if batch.is_released and batch.state not in ("counted", "released"):
        raise Refused("Pieces of this batch wait or are away", where=batch.batch, value=batch.state,
                      do="count them first")  # fmt: skip
    return replace(batch, is_closed=True)
