"""What may be posted from the floor, and by whom: the one place where that is decided.

What can follow what is known to the books; here stands what needs the packet, other events or the person: whether a
mill may be started, whether the next piece may be counted, who is the second one to look at an offset.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import get_args

from msgspec.structs import replace

from proveout.books.folding import gauge_key
from proveout.books.gauges import refuse_gauge
from proveout.books.stretches import Told
from proveout.jobs.edges_used import edges_used
from proveout.jobs.ended import refuse_work
from proveout.jobs.first_off import FirstOff, first_off
from proveout.jobs.floor_told import standing, told_at_machines
from proveout.jobs.held_back import (
    is_measured_since_stop,
    moved_words,
    other_work_since,
    refuse_next_piece,
)
from proveout.jobs.home import Home
from proveout.jobs.meter_cuts import refuse_meter
from proveout.jobs.people import Role
from proveout.jobs.photos import photo_path
from proveout.jobs.place import Place
from proveout.jobs.program_now import steps_together
from proveout.jobs.releasing import packet_place
from proveout.jobs.set_up import Hindrance, clamping_of, hindrances, refuse_start
from proveout.jobs.shop_day import shop_day, shop_today
from proveout.jobs.start_again import start_again
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Counted, Done, Packed, ReadingTaken, Resumed, Started, Stopped
from proveout.model.events import Event
from proveout.model.floor_events import (
    OffsetAdvised,
    OffsetAnswered,
    PhotoTaken,
    SetUpAgreed,
    SetUpMeasured,
    SpindleMeterRead,
)
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, Rejected, SentOut
from proveout.model.shop import Noun
from proveout.model.stock_events import BarReceived, EdgeChanged, Moved, RemnantPut, Sawn
from proveout.model.stock_kept import Gauge
from proveout.quantities.errors import ProveoutError, Refused
from proveout.records.records import Records
from proveout.records.writing import Answer

ByFloor = (
    Started | Counted | Sawn | RemnantPut | BarReceived | Packed | ReadingTaken | Stopped | Done | SentOut | CameBack
    | CountedIn | Moved | EdgeChanged | SetUpMeasured | OffsetAdvised | OffsetAnswered | PhotoTaken
    | SpindleMeterRead
)  # fmt: skip
ByInspection = Resumed | Rejected
ByOffice = SetUpAgreed | GivenUp
Tapped = ByFloor | ByInspection | ByOffice
MAY: dict[Role, tuple[type, ...]] = {
    "floor": get_args(ByFloor),
    "inspection": get_args(ByFloor | ByInspection),
    "planning": get_args(ByFloor | ByInspection),
    "office": get_args(Tapped),
    "owner": get_args(Tapped),
}
"""What each role may post from the floor."""

LOOKED_AT = (Started, Counted, Resumed, SetUpMeasured, SetUpAgreed, OffsetAdvised, OffsetAnswered, SpindleMeterRead)
"""What is held against more than the books."""

LastSetUp = tuple[Event, SetUpMeasured, SetUpAgreed | None]
"""The event of a measured set-up, what it says, and by what somebody answers for it."""


class Tap(Noun, frozen=True, kw_only=True):
    """One event as a tablet posts it: as Event, of what happens on the floor alone."""

    id: str
    at: datetime
    person: str
    station: str
    batch: str
    of: Tapped

    @property
    def event(self) -> Event:
        """The same as an event.

        Raises:   BadInput where it is none.
        """
        return Event(id=self.id, at=self.at, person=self.person, station=self.station, batch=self.batch, of=self.of,
                     day=shop_day(self.at).isoformat())  # fmt: skip


class Taps:
    """Takes taps of any station, one after the other: what is looked at stands until it is written.

    today: tells the day on which a tap comes.
    """

    def __init__(self, home: Home, records: Records, *, today: Callable[[], date] = shop_today) -> None:
        self._home, self._records, self._today = home, records, today
        self._one_at_a_time = threading.Lock()

    def post(self, tap: Tap, *, role: Role) -> Answer:
        """Write a tap; the answer is the same however often it is posted.

        Raises:   Refused when its person may not post it or it cannot follow; NotKept when it is not known to be kept.
        """
        event = tap.event
        if not isinstance(tap.of, MAY[role]):
            allowed = [one for one in MAY if isinstance(tap.of, MAY[one])]
            raise Refused("This is not for you to write", where=f"{tap.person}, {role}", value=event.kind,
                          limit=", ".join(allowed), do="ask one of them")  # fmt: skip
        with self._one_at_a_time:
            if not self._records.holds(event.id):  # else it is told what it was told before
                self._check(event, tap.of)
                return self._records.post(self._with_more(event, tap.of))
            try:
                return self._records.post(self._with_more(event, tap.of))
            except Refused:  # it was written while its packet could not be read
                return self._records.post(event)

    def _with_more(self, event: Event, of: Tapped) -> Event:
        """An event with what its tablet need not know: what boxed pieces are, what a count took of the cutters."""
        if isinstance(of, Packed):
            if of.part or (batch := self._records.batch(event.batch)) is None:
                return event
            place = of.place.strip() or event.station
            boxed = replace(of, code=of.code.strip(), place=place, part=batch.part, revision=batch.revision)
            return replace(event, of=boxed)
        return self._with_edges(event, of)

    def _with_edges(self, event: Event, of: Tapped) -> Event:
        """A count at a mill with what it took of the cutters, so that minutes left go down with every piece."""
        if not isinstance(of, Counted) or of.used or (batch := self._records.batch(event.batch)) is None:
            return event
        if not any(step.id == of.step and step.kind == "mill" for step in batch.steps):
            return event
        try:
            plan = packet_place(self._home, batch).plan
        except ProveoutError:
            return event
        clamping = clamping_of(plan, of.step)
        if clamping is None:
            return event
        return replace(event, of=replace(of, used=edges_used(plan, clamping, pieces_count=of.pieces_count)))

    def _check(self, event: Event, of: Tapped) -> None:
        day = max(shop_day(event.at), self._today())
        refuse_work(self._records, event.batch, of, day=day)
        if isinstance(of, ReadingTaken) and of.gauge:
            found = self._records.book(gauge_key(of.gauge))
            refuse_gauge(found if isinstance(found, Gauge) else None, of.gauge, day=day.isoformat())
        if isinstance(of, PhotoTaken):
            photo_path(self._home, of.photo)
        if not isinstance(of, LOOKED_AT):
            return
        batch = self._records.batch(event.batch)
        step = None if batch is None else next((one for one in batch.steps if one.id == of.step), None)
        if batch is None or step is None:
            return  # the books say so
        where = f"{batch.batch}, step {step.id}"
        if isinstance(of, Started) and step.kind == "mill":
            self._start(batch, step, where)
        elif isinstance(of, Resumed) and step.kind == "mill" and step.stopped:
            self._go_on(batch, step, where)
        elif isinstance(of, SetUpMeasured | SetUpAgreed):
            self._set_up(of, batch, step, where)
        elif isinstance(of, Counted):
            self._count(event, of, batch, step, where)
        elif isinstance(of, OffsetAdvised | OffsetAnswered):
            self._offset(event, of, batch, step, where)
        elif isinstance(of, SpindleMeterRead) and step.kind == "mill":
            refuse_meter(packet_place(self._home, batch).plan, of, where=where)

    def _last(self, batch: Batch, step: StepCount) -> LastSetUp | None:
        return last_set_up(standing(self._records, batch.batch), step.id)

    def _set_up(self, of: SetUpMeasured | SetUpAgreed, batch: Batch, step: StepCount, where: str) -> None:
        """Refuse a set-up while work goes on, and to answer for another one than the last."""
        told = told_at_machines(self._records, batch, starting=step.id)
        if step.is_started and not step.stopped and not step.is_done and not start_again(self._home, batch, step, told):
            raise Refused("This step is started already", where=where, do="stop it, and say why")
        if isinstance(of, SetUpMeasured):
            return
        last = self._last(batch, step)
        if last is None or last[0].id != of.set_up:
            raise Refused("Another set-up was measured since", where=where, do="look at that one")
        bound = [one for one in found_of(self._home, batch, step, last[1]) if not one.may_agree]
        refuse_start(tuple(bound), where=where)

    def _start(self, batch: Batch, step: StepCount, where: str) -> None:
        """Refuse a start before the first piece is through, or with a set-up that is not as planned."""
        told = told_at_machines(self._records, batch, starting=step.id)
        if step.is_started and not start_again(self._home, batch, step, told):
            raise Refused("This step is started already", where=where)
        refuse_next_piece(batch, step, told, good_count=0)
        refuse_start(open_hindrances(self._home, batch, step, told), where=where)

    def _go_on(self, batch: Batch, step: StepCount, where: str) -> None:
        """Refuse to go on after something moved, or other work, until the set-up was measured anew, and is right."""
        told = told_at_machines(self._records, batch, starting=step.id)
        if words := moved_words(batch, step, told):
            raise Refused(words, where=where, do="measure the set-up on the page of this step, then go on")
        refuse_start(hindrances_to_go_on(self._home, batch, step, told), where=where)

    def _count(self, event: Event, of: Counted, batch: Batch, step: StepCount, where: str) -> None:
        if of.good_count and step.kind == "packing":
            raise Refused("Pieces go into boxes here", where=where, do="say how many were packed")
        if not of.good_count or step.kind != "mill":
            return
        told = told_at_machines(self._records, batch, starting=step.id)
        if words := moved_words(batch, step, told):
            raise Refused(words, where=where, do="stop with the same reason, measure the set-up, then go on")
        first = first_off_now(self._home, batch, step, told, now=event.at)
        if first.words:
            raise Refused(first.words, where=where, do="measure it, or count it bad with its reason")
        refuse_next_piece(batch, step, told, good_count=of.good_count)
        if words := start_again(self._home, batch, step, told, good_count=of.good_count):
            raise Refused(words, where=where, do="start this step")
        if (advice := open_advice(standing(self._records, batch.batch), step.id)) is not None:
            raise Refused("An offset advice waits for a second person", where=where, value=advice_words(advice[1]),
                          do="have a second person look at it, take it or drop it")  # fmt: skip

    def _offset(
        self, event: Event, of: OffsetAdvised | OffsetAnswered, batch: Batch, step: StepCount, where: str
    ) -> None:  # fmt: skip
        advice = open_advice(standing(self._records, batch.batch), step.id)
        if isinstance(of, OffsetAdvised):
            if advice is not None:
                raise Refused("An offset advice waits already", where=where, value=advice_words(advice[1]),
                              do="answer that one first")  # fmt: skip
            marks = [check.mark for check in batch.checks if check.step == step.id]
            if of.mark and of.mark not in marks:
                raise Refused("Nothing of this mark is measured at this step", where=where, value=of.mark,
                              limit=", ".join(marks) or "nothing is measured here")  # fmt: skip
            return
        if advice is None or advice[0].id != of.advice:
            raise Refused("No such advice waits for an answer", where=where)
        if of.is_taken and event.person.casefold() == advice[0].person.casefold():
            raise Refused("A second person must look at an offset", where=where, value=event.person,
                          limit=f"anybody but {advice[0].person}", do="hand the tablet to a colleague")  # fmt: skip


def last_set_up(told: Told, step: str) -> LastSetUp | None:
    """What was measured last before a step, and whether anybody answers for it; None when nothing was."""
    last: LastSetUp | None = None
    for event, of in told:
        if isinstance(of, SetUpMeasured) and of.step == step:
            last = event, of, None
        elif isinstance(of, SetUpAgreed) and last is not None and of.set_up == last[0].id:
            last = last[0], last[1], of
    return last


def open_advice(told: Told, step: str) -> tuple[Event, OffsetAdvised] | None:
    """The offset advice that waits for a second person; None when none does."""
    waiting: tuple[Event, OffsetAdvised] | None = None
    for event, of in told:
        if isinstance(of, OffsetAdvised) and of.step == step:
            waiting = event, of
        elif isinstance(of, OffsetAnswered) and waiting is not None and of.advice == waiting[0].id:
            waiting = None
    return waiting


def advice_words(advice: OffsetAdvised) -> str:
    """An advice in words, with its sign."""
    return f"{advice.offset} by {advice.shift_mm:+g} mm: {advice.why}"


def open_hindrances(home: Home, batch: Batch, step: StepCount, told: Told) -> tuple[Hindrance, ...]:
    """What stands in the way of a mill's start, as far as nobody answers for it. told: as `told_at_machines`."""
    last = last_set_up(told, step.id)
    if last is None:
        return (
            Hindrance("The set-up was not measured", "nothing", "all of it", "Measure it, and type what you find."),
        )
    return not_answered_for((*found_of(home, batch, step, last[1]), *_since(home, batch, step, told)), last)


def _since(home: Home, batch: Batch, step: StepCount, told: Told) -> Iterator[Hindrance]:
    """That other work was set up on the machine since: what was measured before it stands there no more."""
    plan = packet_place(home, batch).plan
    clamping = clamping_of(plan, step.id)
    together = frozenset({step.id}) if clamping is None else steps_together(plan, clamping)
    if words := other_work_since(batch, step, told, together=together):
        yield Hindrance("Other work was started on this machine since its set-up was measured", words,
                        "nothing between", "Set this step up, and measure it anew.")  # fmt: skip


def hindrances_to_go_on(home: Home, batch: Batch, step: StepCount, told: Told) -> tuple[Hindrance, ...]:
    """What stands in the way of going on after a stop: all, once the set-up was measured since; else other work alone.

    told: as `told_at_machines` of this step.
    """
    if is_measured_since_stop(batch, step, told):
        return open_hindrances(home, batch, step, told)
    return tuple(_since(home, batch, step, told))


def first_off_now(home: Home, batch: Batch, step: StepCount, told: Told, *, now: datetime) -> FirstOff:
    """How far the first piece of a step is at a time. told: as `told_at_machines`."""
    has_edges = any(isinstance(of, EdgeChanged) for _, of in told)
    cutters = _cutters_of(home, batch, step) if has_edges else None
    return first_off(batch, step, told, cutters=cutters, now=now)


def _cutters_of(home: Home, batch: Batch, step: StepCount) -> frozenset[str] | None:
    """The cutters of a step; None where its packet cannot be read, as any of the machine may be of it."""
    try:
        plan = packet_place(home, batch).plan
    except ProveoutError:
        return None
    clamping = clamping_of(plan, step.id)
    return None if clamping is None else frozenset(o.cutter_id for o in plan.passes if o.clamping_id == clamping.id)


def not_answered_for(found: tuple[Hindrance, ...], last: LastSetUp) -> tuple[Hindrance, ...]:
    """What was found of the last set-up, as far as nobody answers for it."""
    return tuple(one for one in found if not (one.may_agree and last[2] is not None))


def found_of(home: Home, batch: Batch, step: StepCount, of: SetUpMeasured) -> tuple[Hindrance, ...]:
    """What a measured set-up says against the packet, answered for or not.

    Raises:   Refused when the packet is not as it was released; BadInput when there is none.
    """
    place: Place = packet_place(home, batch)
    clamping = clamping_of(place.plan, step.id)
    if clamping is None:
        return (Hindrance("The packet has no clamping for this step", step.id, "one of its own", "Ask the office."),)
    return hindrances(of, plan=place.plan, shop=place.shop, clamping=clamping, batch=batch)
