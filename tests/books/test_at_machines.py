"""What is noted at a machine changes no count, and belongs to a step of a mill at its own station."""

from __future__ import annotations

import math

import pytest
from batch_story import BARS, Teller, batch_after_all
from msgspec.structs import replace

from proveout.model.batch_events import Counted, Done, Started
from proveout.model.events import Event
from proveout.model.floor_events import (
    Measure,
    OffsetAdvised,
    OffsetAnswered,
    PhotoTaken,
    SetUpAgreed,
    SetUpMeasured,
    SpindleMeterRead,
)
from proveout.quantities.errors import BadInput, Refused

MEASURED = SetUpMeasured(step="op1", program="ab" * 6, revision="B", measures=(Measure(name="zero X", value_mm=1.0),))
AGREED = SetUpAgreed(step="op1", set_up="x", why="looked at it, dry run")
ADVISED = OffsetAdvised(step="op1", offset="D2", shift_mm=-0.01, why="creeps")
ANSWERED = OffsetAnswered(step="op1", advice="x", is_taken=True)
METER = SpindleMeterRead(step="op1", cut="c1/up/EM12/rough/levels", load=2.4, idle=0.5, smallest=0.1)
PHOTO = PhotoTaken(step="bench", photo="ab" * 32, about="burr")


def at_the_mill(teller: Teller) -> list[Event]:
    return [teller(BARS), *teller.release(), *teller.sawn(10), teller(Done(step="saw"))]


def test_what_is_noted_at_a_machine_changes_no_count() -> None:
    teller = Teller()
    before = at_the_mill(teller)
    noted = [teller(one) for one in (MEASURED, AGREED, PHOTO)]
    assert batch_after_all([*before, *noted]) == batch_after_all(before)
    begun = [*before, teller(Started(step="op1"))]
    noted = [teller(ADVISED), teller(ANSWERED, station="desk"), teller(METER)]
    assert batch_after_all([*begun, *noted]) == batch_after_all(begun)


def test_what_is_noted_at_a_mill_belongs_to_its_step() -> None:
    teller = Teller()
    before = at_the_mill(teller)
    begun = [*before, teller(Started(step="op1"))]
    done = [*begun, teller(Counted(step="op1", good_count=10)), teller(Done(step="op1"))]
    assert batch_after_all([*done, teller(METER)]) == batch_after_all(done)  # written down when there was time
    for events, of, station, words in (
        (before, METER, "mill-5", "not started"),
        (begun, METER, "bench", "another station"),
        (done, SpindleMeterRead(step="bench", cut="p", load=2.0, idle=1.0), "bench", "Only a mill"),
        (before, MEASURED, "bench", "another station"),
        (before, ADVISED, "bench", "another station"),
        (done, MEASURED, "mill-5", "is done"),
        (done, AGREED, "mill-5", "is done"),
        (done, ADVISED, "mill-5", "is done"),
        (before, SetUpAgreed(step="bench", set_up="x", why="looked at it, dry run"), "bench", "Only a mill"),
        (before, OffsetAdvised(step="none", offset="D2", shift_mm=0.1, why="x"), "mill-5", "no such step"),
    ):
        with pytest.raises(Refused, match=words):
            batch_after_all([*events, teller(of, station=station)])


def test_what_cannot_be_is_not_even_an_event() -> None:
    measure = Measure(name="zero X", value_mm=1.0)
    for make, words in (
        (lambda: SetUpMeasured(step="op1", program="12 34", revision="B"), "fingerprint"),
        (lambda: SetUpMeasured(step="op1", program="", revision="B", measures=(measure, measure)), "twice"),
        (lambda: SetUpAgreed(step="op1", set_up="x", why="ok"), "written reason"),
        (lambda: OffsetAdvised(step="op1", offset="D2", shift_mm=0.0, why="x"), "by nothing"),
        (lambda: OffsetAdvised(step="op1", offset="D2", shift_mm=-0.101, why="x"), "by too much"),
        (lambda: OffsetAdvised(step="op1", offset="D2", shift_mm=math.nan, why="x"), "by too much"),
        (lambda: PhotoTaken(step="op1", photo="ab", about="x"), "fingerprint"),
        (lambda: replace(METER, load=0.5), "above that in the air"),
        (lambda: replace(METER, idle=-0.1), "above that in the air"),
        (lambda: replace(METER, load=math.nan), "above that in the air"),
        (lambda: replace(METER, load=151.0), "beyond what meters show"),
        (lambda: replace(METER, load=201.0, unit="%"), "beyond what meters show"),
        (lambda: replace(METER, smallest=2.0), "So coarse a meter"),
        (lambda: replace(METER, smallest=0.0), "So coarse a meter"),
        (lambda: replace(METER, edge_min=-1.0), "cuts so long"),
        (lambda: replace(METER, feed_percent=0.0), "such a feed"),
        (lambda: replace(METER, speed_percent=math.inf), "such a speed"),
        (lambda: replace(METER, cut=" "), "pass"),
    ):
        with pytest.raises(BadInput, match=words):
            make()
